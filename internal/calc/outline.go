package calc

// Limits that keep the arithmetic sound. An opening whose side leans by more
// than one in steepest is no upright window opening, or a reading is wrong.
const (
	steepest    = 5
	longestSide = 20_000_000 // µm
)

// outline is the opening's figure in µm: four corners and the middle of each
// side. A side is two straight pieces, corner to middle to corner.
type outline struct {
	bl, br, tr, tl          spot
	left, right, sill, head spot
}

// straighten puts the middle points on the straight lines between the
// corners.
func (o *outline) straighten() {
	o.left, o.right = middle(o.bl, o.tl), middle(o.br, o.tr)
	o.sill, o.head = middle(o.bl, o.br), middle(o.tl, o.tr)
}

func middle(a, b spot) spot { return spot{divDown(a.x+b.x, 2), divDown(a.y+b.y, 2)} }

// bellyLevel moves the middles of the jambs, level and by the same amount, so
// that they are the measured middle width apart, less what the tape explains of it.
// False when that bends a jamb beyond what a straight opening can have.
func (o *outline) bellyLevel(width, variance int64) bool {
	dy := o.right.y - o.left.y
	in := beyond(o.right.x-o.left.x-shadow(width, dy), variance)
	half := divUp(in, 2)
	o.left.x += half
	o.right.x -= in - half
	return 2*steepest*abs64(half) <= min(o.tl.y-o.bl.y, o.tr.y-o.br.y)
}

// bellyPlumb does the same, plumb, with sill and head and the middle height;
// with a straight sill the head takes it all.
func (o *outline) bellyPlumb(height, variance int64, straightSill bool) bool {
	dx := o.head.x - o.sill.x
	in := beyond(o.head.y-o.sill.y-shadow(height, dx), variance)
	half := divUp(in, 2)
	if straightSill {
		half = 0
	}
	o.sill.y += half
	o.head.y -= in - half
	return steepest*abs64(in) <= min(o.br.x-o.bl.x, o.tr.x-o.tl.x)
}

// turned is the outline turned about its bottom left corner so that the right
// end of its sill, of the given length, lies lower by fall.
func (o outline) turned(fall, sill int64) outline {
	if fall == 0 {
		return o
	}
	level := rootDown(sill*sill - fall*fall)
	for _, s := range []*spot{&o.br, &o.tr, &o.tl, &o.left, &o.right, &o.sill, &o.head} {
		*s = spot{divNear(s.x*level+s.y*fall, sill), divNear(s.y*level-s.x*fall, sill)}
	}
	return o
}

// upright says that no side leans by more than one in steepest from corner to
// corner.
func (o outline) upright() bool {
	near := func(across, along int64) bool { return along > 0 && steepest*abs64(across) <= along }
	return near(o.tl.x-o.bl.x, o.tl.y-o.bl.y) && near(o.tr.x-o.br.x, o.tr.y-o.br.y) &&
		near(o.br.y-o.bl.y, o.br.x-o.bl.x) && near(o.tr.y-o.tl.y, o.tr.x-o.tl.x)
}

// edge is one side as a line of two straight pieces: across, its place in or
// out, changes with along. A piece goes on straight beyond its corner.
type edge struct{ along, across [3]int64 }

// at is the edge's place at a place along it, rounded down or up.
func (e edge) at(along int64, up bool) int64 {
	i := 0
	if along > e.along[1] {
		i = 1
	}
	rise := (e.across[i+1] - e.across[i]) * (along - e.along[i])
	run := e.along[i+1] - e.along[i]
	if up {
		return e.across[i] + divUp(rise, run)
	}
	return e.across[i] + divDown(rise, run)
}

// most is the edge's greatest place between two places along it, rounded up.
func (e edge) most(from, to int64) int64 {
	m := max(e.at(from, true), e.at(to, true))
	if from < e.along[1] && e.along[1] < to {
		m = max(m, e.across[1])
	}
	return m
}

// least is the edge's least place between two places along it, rounded down.
func (e edge) least(from, to int64) int64 {
	m := min(e.at(from, false), e.at(to, false))
	if from < e.along[1] && e.along[1] < to {
		m = min(m, e.across[1])
	}
	return m
}

func (e edge) moved(by int64) edge {
	for i := range e.across {
		e.across[i] += by
	}
	return e
}

// edges are the four sides of the masonry.
type edges struct {
	left, right, sill, head edge
	foot                    int64 // how far what stands under a box reaches down, as long as the box
}

func (o outline) edges() edges {
	upright := func(a, b, c spot) edge {
		return edge{[3]int64{a.y, b.y, c.y}, [3]int64{a.x, b.x, c.x}}
	}
	level := func(a, b, c spot) edge {
		return edge{[3]int64{a.x, b.x, c.x}, [3]int64{a.y, b.y, c.y}}
	}
	return edges{
		left: upright(o.bl, o.left, o.tl), right: upright(o.br, o.right, o.tr),
		sill: level(o.bl, o.sill, o.br), head: level(o.tl, o.head, o.tr),
	}
}

// grown is the masonry that stands further out than the measured line.
func (e edges) grown(left, right, head int64) edges {
	e.left, e.right, e.head = e.left.moved(-left), e.right.moved(right), e.head.moved(head)
	return e
}

// within is the edges moved inwards, each by its gap.
func (e edges) within(left, right, bottom, top int64) edges {
	e.left, e.right = e.left.moved(left), e.right.moved(-right)
	e.sill, e.head = e.sill.moved(bottom), e.head.moved(-top)
	return e
}

// box is an upright, level rectangle in µm.
type box struct{ left, right, bottom, top int64 }

func (b box) width() int64  { return b.right - b.left }
func (b box) height() int64 { return b.top - b.bottom }

// largest is the largest upright, level box inside the edges: of all that fit,
// the one of the greatest area. ok is false when the sides take more than half
// of a dimension, where the greatest box need not touch all four sides.
//
// While the leans are small against the opening, growing towards any side
// gains more than it costs at the others, so the greatest box touches all
// four: it is the one fixed point of "each side as far out as the other three
// allow". Leans below one in steepest make that a contraction, so going round
// converges fast; the last rounds only move inwards, to end inside to the
// micrometre.
func (e edges) largest() (b box, ok bool) {
	b = box{e.left.across[1], e.right.across[1], e.sill.across[1], e.head.across[1]}
	for range 40 {
		next := e.around(b)
		if next == b {
			break
		}
		b = next
	}
	for range 100 {
		next := e.around(b)
		next = box{
			left: max(next.left, b.left), right: min(next.right, b.right),
			bottom: max(next.bottom, b.bottom), top: min(next.top, b.top),
		}
		if next == b {
			break
		}
		b = next
	}
	wide := max(e.right.across[0], e.right.across[2]) - min(e.left.across[0], e.left.across[2])
	high := max(e.head.across[0], e.head.across[2]) - min(e.sill.across[0], e.sill.across[2])
	return b, 2*b.width() > wide && 2*b.height() > high
}

// around moves each side of b as far out as its edge allows along the others.
func (e edges) around(b box) box {
	b.left, b.right = e.left.most(b.bottom-e.foot, b.top), e.right.least(b.bottom-e.foot, b.top)
	b.bottom, b.top = e.sill.most(b.left, b.right), e.head.least(b.left, b.right)
	return b
}

// shadow is the length along the plumb or the level of a side that leans off
// it, rounded down.
func shadow(side, lean int64) int64 { return rootDown(side*side - lean*lean) }
