package card

import (
	"image"
	"math"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/typeface"
)

// Sizes of the drawing, in pixels.
const (
	mostPicture  = 640 // height of the frame
	leastPicture = 120
	fan          = 34 // where the leaders turn from the wall to the tags
	wall         = 28 // least width of the hatched masonry
	mostGap      = 44 // a gap is not drawn wider
	goodGap      = 16 // and this wide where the drawing may be exaggerated
	mostHidden   = 36 // nor what plaster or a check hides of the frame
	rowGap       = 6
)

// window is the drawing of the opening and its frame with all that is noted
// round it.
type window struct {
	s     *sheet
	p     plan.Plan
	sides map[calc.Side]*noted
	frame image.Rectangle // the frame's outside on the canvas
	scale float64         // pixels a millimetre
	times int             // by how much gaps and lean are exaggerated
	reach int             // the widest gap on the canvas
	below int             // height of the sill piece on the canvas
	wall  image.Rectangle // outer edge of the hatching
	zone  image.Rectangle // where left and right tags stand, y only
	gaps  gaps            // to the masonry, mm
	lines gaps            // to the measured line, mm
	lists []string        // what the lights are, when it can't be said in them
	// profile has the face widths of the profiles, mm. The plan says where the
	// glass is; these only fill what lies between.
	profile calc.Settings
}

// noted is what is noted along one side.
type noted struct {
	tags []*tag
	form tagForm
}

func newWindow(s *sheet, p plan.Plan) *window {
	w := &window{s: s, p: p, sides: map[calc.Side]*noted{}, profile: p.Crew.Settings}
	if !w.profile.OuterFace.IsPositive() {
		w.profile = calc.DefaultSettings() // a plan made without plan.Make
	}
	for _, side := range sides {
		forms, length := uprightForms, mostPicture
		if level(side) {
			forms, length = levelForms, cardWidth-2*margin
		}
		tags, form, left := fitting(tagsOf(p, side), forms, length)
		s.dropped += left
		w.sides[side] = &noted{tags, form}
	}
	w.lines = measured(p.Order)
	w.gaps = toMasonry(p.Order, w.lines)
	return w
}

// gaps are the distances in mm from the frame (or the sill piece under it)
// outwards, at three places of each side: jambs from the bottom up, head and
// sill from the left.
type gaps map[calc.Side][3]float64

// measured are the distances to the line that was measured. A plan without a
// figure is drawn with the gaps that the table asks for.
func measured(o calc.Order) gaps {
	f := o.Figure
	if f.TopRight.X.IsZero() {
		g := gaps{}
		for _, side := range sides {
			d := float(o.Gap[side])
			g[side] = [3]float64{d, d, d}
		}
		return g
	}
	left, bottom := o.Place.X, o.Place.Y.Sub(o.SillPiece)
	right, top := left.Add(o.Size.Width), o.Place.Y.Add(o.Size.Height)
	return gaps{
		calc.Left:  {float(left.Sub(f.BottomLeft.X)), float(left.Sub(f.MidLeft.X)), float(left.Sub(f.TopLeft.X))},
		calc.Right: {float(f.BottomRight.X.Sub(right)), float(f.MidRight.X.Sub(right)), float(f.TopRight.X.Sub(right))},
		calc.Head:  {float(f.TopLeft.Y.Sub(top)), float(f.MidHead.Y.Sub(top)), float(f.TopRight.Y.Sub(top))},
		calc.Sill:  {float(bottom.Sub(f.BottomLeft.Y)), float(bottom.Sub(f.MidSill.Y)), float(bottom.Sub(f.BottomRight.Y))},
	}
}

func float(d decimal.Decimal) float64 { return d.InexactFloat64() }

// toMasonry are the distances to the masonry behind plaster or a check, where
// the line that was measured stands in front of it.
func toMasonry(o calc.Order, line gaps) gaps {
	out := gaps{}
	for _, side := range sides {
		d := line[side]
		for i := range d {
			d[i] += float(o.Masonry[side])
		}
		out[side] = d
	}
	if !o.Inner.Width.IsPositive() || !o.Inner.Height.IsPositive() {
		return out
	}
	beside := float(o.Inner.Width.Sub(o.Size.Width)) / 2
	above := float(o.Inner.Height.Sub(o.Size.Height).Sub(o.SillPiece)) - line[calc.Sill][1]
	out[calc.Left], out[calc.Right] = [3]float64{beside, beside, beside}, [3]float64{beside, beside, beside}
	out[calc.Head] = [3]float64{above, above, above}
	return out
}

// extent is the least and the most of the distances.
func (g gaps) extent() (least, most float64) {
	least, most = math.Inf(1), math.Inf(-1)
	for _, side := range sides {
		for _, d := range g[side] {
			least, most = min(least, d), max(most, d)
		}
	}
	return least, most
}

// at is the distance along a side, part being 0 at its corner and 1 at its
// end.
func (g gaps) at(side calc.Side, part float64) float64 {
	d := g[side]
	if part < 0.5 {
		return d[0] + (d[1]-d[0])*2*max(0, part)
	}
	return d[1] + (d[2]-d[1])*(2*min(1, part)-1)
}

// draw draws the window with all its notes, so that after is left under them on
// the card where that can be.
func (w *window) draw(after int) {
	bottom := tallest - after - lineHeight(listFace()) - 16
	w.measure(bottom)
	if !w.wordsFit() {
		w.lists = w.lightList()
		w.measure(bottom - len(w.lists)*lineHeight(listFace()))
	}
	s := w.s
	s.reserve(w.zone.Max.Y + fan + w.rowsHeight(calc.Sill) - s.y + len(w.lists)*lineHeight(listFace()) + 200)
	s.hatch(w.wall)
	masonry := w.outline(w.gaps)
	s.shape(masonry, paper)
	s.loop(masonry, 4, false)
	w.drawFrame()
	if w.hidden() {
		s.loop(w.outline(w.lines), 3, true)
	}
	w.drawPackers()
	for _, side := range sides {
		w.drawTags(side)
	}
	w.drawLights()
	s.y = w.zone.Max.Y + fan + w.rowsHeight(calc.Sill) + 4
	s.lines(w.lists, listFace(), black)
	if w.times > 1 {
		s.paragraph(s.say(phrase.Of("card.exaggerated").WithInt("times", w.times)), typeface.Bold, 28)
	}
	s.reserve(after)
}

func listFace() *typeface.Face { return typeface.At(typeface.Regular, 28) }

// hidden tells whether the masonry stands outside the measured line, so that
// the frame's edge is hidden.
func (w *window) hidden() bool {
	for _, side := range sides {
		if w.p.Order.Masonry[side].IsPositive() {
			return true
		}
	}
	return false
}

// rowsHeight is the height of the tags at head or sill.
func (w *window) rowsHeight(side calc.Side) int {
	n := w.sides[side]
	return n.form.rows*n.form.extent(n.tags).Y + (n.form.rows-1)*rowGap
}

// measure finds the scale and every place of the drawing, so that all of it
// ends above bottom.
func (w *window) measure(bottom int) {
	size := w.p.Order.Size
	w.reach = w.widestGap()
	around := wall + w.reach
	left := margin + w.tagsWidth(calc.Left) + fan + around
	right := cardWidth - margin - w.tagsWidth(calc.Right) - fan - around
	top := w.s.y + 10 + w.rowsHeight(calc.Head) + fan
	high := bottom - top - fan - w.rowsHeight(calc.Sill) - 2*around
	high = max(leastPicture, min(mostPicture, high))
	w.scale = min(float64(right-left)/float(size.Width), float64(high)/float(size.Height.Add(w.p.Order.SillPiece)))
	w.below = 0
	if w.p.Order.SillPiece.IsPositive() {
		w.below = max(12, w.px(float(w.p.Order.SillPiece)))
	}
	w.times = w.exaggeration()
	width, height := int(float(size.Width)*w.scale), int(float(size.Height)*w.scale)
	picture := height + w.below + 2*around
	tall := max(picture, w.sides[calc.Left].form.need(w.sides[calc.Left].tags), w.sides[calc.Right].form.need(w.sides[calc.Right].tags))
	w.zone = image.Rect(0, top, cardWidth, top+tall)
	x, y := (left+right-width)/2, top+(tall-picture)/2+around
	w.frame = image.Rect(x, y, x+width, y+height)
	w.wall = image.Rect(x-around, y-around, x+width+around, y+height+w.below+around)
}

func (w *window) tagsWidth(side calc.Side) int {
	n := w.sides[side]
	return n.form.extent(n.tags).X
}

// niceTimes are the exaggerations that may be drawn.
var niceTimes = []int{20, 15, 12, 10, 8, 6, 5, 4, 3, 2}

// exaggeration is by how much gaps and lean are drawn too large: enough to
// see them, and never past the wall.
func (w *window) exaggeration() int {
	least, most := w.gaps.extent()
	hidden, _ := w.lines.extent()
	for _, times := range niceTimes {
		drawn := w.scale * float64(times)
		if most*drawn <= float64(w.reach) && max(least, 2)*drawn <= goodGap && -hidden*drawn <= mostHidden {
			return times
		}
	}
	return 1
}

// widestGap is the room in pixels that the widest gap gets, when the narrowest
// gets goodGap.
func (w *window) widestGap() int {
	least, most := w.gaps.extent()
	return int(max(goodGap, min(mostGap, math.Ceil(goodGap*most/max(least, 2)))))
}

// out is a distance outwards from the frame in pixels.
func (w *window) out(mm float64) float64 {
	return max(-mostHidden, min(float64(w.reach), mm*w.scale*float64(w.times)))
}

// outline is the line at the given distances round the frame and the sill
// piece, from the bottom left corner against the clock.
func (w *window) outline(g gaps) []point {
	x0, x1 := float64(w.frame.Min.X), float64(w.frame.Max.X)
	y0, y1 := float64(w.frame.Max.Y+w.below), float64(w.frame.Min.Y)
	l, r, h, b := g[calc.Left], g[calc.Right], g[calc.Head], g[calc.Sill]
	mx, my := (x0+x1)/2, (y0+y1)/2
	return []point{
		{x0 - w.out(l[0]), y0 + w.out(b[0])}, {mx, y0 + w.out(b[1])}, {x1 + w.out(r[0]), y0 + w.out(b[2])},
		{x1 + w.out(r[1]), my}, {x1 + w.out(r[2]), y1 - w.out(h[2])},
		{mx, y1 - w.out(h[1])}, {x0 - w.out(l[2]), y1 - w.out(h[0])}, {x0 - w.out(l[1]), my},
	}
}

// loop draws the edge of a closed shape.
func (s *sheet) loop(corners []point, width float64, broken bool) {
	for i, a := range corners {
		b := corners[(i+1)%len(corners)]
		if broken {
			s.dashes(a, b, width, black)
			continue
		}
		s.line(a, b, width, black)
	}
}

// along is how far a place is from its corner on the canvas, and which part of
// the side that is.
func (w *window) along(side calc.Side, at decimal.Decimal) (px, part float64) {
	length := w.p.Order.Size.Height
	if level(side) {
		length = w.p.Order.Size.Width
	}
	return float(at) * w.scale, float(at) / float(length)
}

// edge is the place on the frame's outer edge.
func (w *window) edge(side calc.Side, at decimal.Decimal) point {
	px, _ := w.along(side, at)
	switch side {
	case calc.Left:
		return point{float64(w.frame.Min.X), float64(w.frame.Max.Y) - px}
	case calc.Right:
		return point{float64(w.frame.Max.X), float64(w.frame.Max.Y) - px}
	case calc.Head:
		return point{float64(w.frame.Min.X) + px, float64(w.frame.Min.Y)}
	}
	return point{float64(w.frame.Min.X) + px, float64(w.frame.Max.Y)}
}

// outwards is p moved away from the frame's middle, square to the side.
func outwards(p point, side calc.Side, by float64) point {
	switch side {
	case calc.Left:
		p.x -= by
	case calc.Right:
		p.x += by
	case calc.Head:
		p.y -= by
	default:
		p.y += by
	}
	return p
}

// drawPackers fills the gap with each stack.
func (w *window) drawPackers() {
	const half = 13
	for _, place := range w.p.Packers.Places {
		_, part := w.along(place.Side, place.At)
		p := w.edge(place.Side, place.At)
		if place.Side == calc.Sill {
			p.y += float64(w.below)
		}
		q := outwards(p, place.Side, max(8, w.out(w.gaps.at(place.Side, part))))
		r := rectOf(p, q)
		if level(place.Side) {
			r.Min.X, r.Max.X = r.Min.X-half, r.Max.X+half
		} else {
			r.Min.Y, r.Max.Y = r.Min.Y-half, r.Max.Y+half
		}
		w.s.fill(r, grey)
		w.s.outline(r, 2, black)
	}
}

func rectOf(a, b point) image.Rectangle {
	return image.Rect(int(math.Round(a.x)), int(math.Round(a.y)), int(math.Round(b.x)), int(math.Round(b.y)))
}

// drawTags draws a side's tags with their leaders and fixings.
func (w *window) drawTags(side calc.Side) {
	n := w.sides[side]
	for i, p := range w.tagPlaces(side) {
		t := n.tags[i]
		from := w.edge(side, t.at)
		points := []point{from, w.wallEdge(side, from), w.turn(side, p), p}
		for k, b := range points[1:] {
			w.s.line(points[k], b, 2, black)
		}
		w.s.leaders = append(w.s.leaders, leader{points, t})
		if t.screw {
			w.s.line(outwards(from, side, -w.screwDepth()), from, 4, black)
			w.s.drawFixing(t, outwards(from, side, -w.screwDepth()), max(6, min(9, w.screwDepth()-1)))
		}
		w.s.drawTag(t, n.form, outwards(p, side, 4))
	}
}

// screwDepth is how far inside the frame's edge a screw is drawn.
func (w *window) screwDepth() float64 { return max(6, min(16, float(w.profile.OuterFace)/2*w.scale)) }

// wallEdge is where a leader leaves the picture.
func (w *window) wallEdge(side calc.Side, p point) point {
	switch side {
	case calc.Left:
		p.x = float64(w.wall.Min.X)
	case calc.Right:
		p.x = float64(w.wall.Max.X)
	case calc.Head:
		p.y = float64(w.zone.Min.Y)
	default:
		p.y = float64(w.zone.Max.Y)
	}
	return p
}

// turn is where the leader of a tag at p has done turning: past it, it runs
// straight between the tags of the near row.
func (w *window) turn(side calc.Side, p point) point {
	switch side {
	case calc.Head:
		p.y = float64(w.zone.Min.Y - fan + 4)
	case calc.Sill:
		p.y = float64(w.zone.Max.Y + fan - 4)
	}
	return p
}

// tagPlaces are the ends of a side's leaders, at the edge of each tag that is
// nearest to the frame.
func (w *window) tagPlaces(side calc.Side) []point {
	n := w.sides[side]
	most := n.form.extent(n.tags)
	want := make([]float64, len(n.tags))
	out := make([]point, len(n.tags))
	if level(side) {
		for i, t := range n.tags {
			want[i] = w.edge(side, t.at).x
		}
		half := float64(most.X) / 2
		for i, x := range spread(want, n.form.apart(n.tags), margin+half, cardWidth-margin-half) {
			step := float64(i % n.form.rows * (most.Y + rowGap))
			out[i] = point{x, float64(w.zone.Min.Y-fan) - step + 4}
			if side == calc.Sill {
				out[i].y = float64(w.zone.Max.Y+fan) + step - 4
			}
		}
		return out
	}
	for i, t := range n.tags {
		want[i] = -w.edge(side, t.at).y
	}
	half := float64(most.Y) / 2
	x := float64(w.wall.Min.X - fan + 4)
	if side == calc.Right {
		x = float64(w.wall.Max.X + fan - 4)
	}
	for i, y := range spread(want, n.form.apart(n.tags), half-float64(w.zone.Max.Y), -half-float64(w.zone.Min.Y)) {
		out[i] = point{x, -y}
	}
	return out
}
