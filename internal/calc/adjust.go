package calc

// mostApart is how many standard deviations the diagonals may miss the sides by and
// still be adjusted with them. Readings that miss each other by more hold a mistake,
// which must not be shared out.
const mostApart = 4

// adjusted are the six readings adjusted together by least squares, all of the same
// weight: four sides and two diagonals of a quadrilateral bind each other by one
// condition, so that there is one misclosure to share out. In a nearly square figure
// the diagonals change by a quarter of it each, and each side by a quarter of it times
// its length over the diagonal. Rounded to the micrometre. The misclosure is what the
// diagonals are together too long, µm.
//
// The readings are as they were where they miss each other by more than mostApart
// standard deviations, or make no upright figure.
func (t tape) adjusted(variance int64) (out tape, misclosure int64) {
	out = t
	for i := range 3 {
		o, ok := out.outline()
		if !ok {
			return t, misclosure
		}
		miss := out.rising + out.falling - o.bl.to(o.tr) - o.tl.to(o.br)
		if i == 0 {
			misclosure = miss
			if miss*miss > mostApart*mostApart*4*variance {
				return t, misclosure
			}
		}
		diagonals := out.rising + out.falling
		side := func(length int64) int64 { return length + divNear(miss*length, 2*diagonals) }
		out = tape{
			top: side(out.top), bottom: side(out.bottom), left: side(out.left), right: side(out.right),
			rising: out.rising - divNear(miss, 4), falling: out.falling - divNear(miss, 4),
		}
	}
	return out, misclosure
}

// shape is an outline by what it is out of a rectangle by, in µm: lean is how far the
// head's middle stands to the right of the sill's, fall how much lower the head's
// right end is than its left end, taper how much longer the head is than the sill.
type shape struct {
	width, height     int64 // mean of two
	lean, fall, taper int64
	sill              int64 // how much lower the sill's right end is
}

func (o outline) shape() shape {
	top, bottom := o.tr.x-o.tl.x, o.br.x-o.bl.x
	return shape{
		width:  divNear(top+bottom, 2),
		height: divNear(o.tl.y+o.tr.y-o.bl.y-o.br.y, 2),
		lean:   divNear(o.tl.x+o.tr.x-o.bl.x-o.br.x, 2),
		fall:   o.tl.y - o.tr.y,
		taper:  top - bottom,
		sill:   o.bl.y - o.br.y,
	}
}

// outline is the quadrilateral of the shape, its bottom left corner at the origin.
func (s shape) outline() outline {
	bottom := s.width - divNear(s.taper, 2)
	top := bottom + s.taper
	left := divNear(bottom, 2) + s.lean - divNear(top, 2)
	head := s.height - divNear(s.sill, 2) // of the head's middle
	o := outline{
		br: spot{bottom, -s.sill},
		tl: spot{left, head + divNear(s.fall, 2)},
	}
	o.tr = spot{left + top, o.tl.y - s.fall}
	return o
}

// beyondTape takes out of the shape what the tape's own error explains.
func (s shape) beyondTape(variance int64) shape {
	s.lean = beyond(s.lean, s.leanVariance(variance))
	s.fall = beyond(s.fall, 2*variance)
	s.taper = beyond(s.taper, 2*variance)
	return s
}

// leanVariance is that of a lean taken from two diagonals and two heights, µm²: with
// D the diagonal, W the width and H the height, lean = (D·(rising − falling) −
// H·(right − left)) / 2W.
func (s shape) leanVariance(variance int64) int64 {
	w, h := s.width, s.height
	return variance * ((w*w + 2*h*h) / (w*w/500 + 1)) / 1000
}
