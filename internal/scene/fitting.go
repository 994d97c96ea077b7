package scene

import (
	"fmt"
	"math"
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/typeface"
)

// Sizes of a fitter's drawing, mm on paper.
const (
	mostPicture  = 64.0 // height of the frame
	leastPicture = 34.0
	fan          = 3.4 // where the leaders turn from the wall to the tags
	wallThick    = 2.8 // least width of the hatched masonry
	mostGap      = 4.4 // a gap is not drawn wider
	goodGap      = 1.6 // and this wide where the drawing may be exaggerated
	mostHidden   = 3.6 // nor what plaster or a check hides of the frame
	rowGap       = 0.6
)

// Fitting is the drawing that a fitter works by: the opening and its frame
// with all that is noted round it.
type Fitting struct {
	window
	// Dropped is how many places there was no room to name.
	Dropped int

	plan  plan.Plan
	place Box // as wide as the drawing may be
	sides map[calc.Side]*noted
	times int      // by how much gaps and lean are exaggerated
	reach float64  // the widest gap on paper
	wall  Box      // outer edge of the hatching
	zone  Box      // where left and right tags stand, Y and H only
	gaps  gaps     // to the masonry, mm
	lines gaps     // to the measured line, mm
	lists []string // what the lights are, when it can't be said in them
}

// noted is what is noted along one side.
type noted struct {
	tags []*tag
	form tagForm
}

// NewFitting is the drawing of a plan that has an order size, as wide as
// place.
func NewFitting(s *Scene, v Voice, p plan.Plan, place Box) *Fitting {
	d := &Fitting{plan: p, place: place, sides: map[calc.Side]*noted{}, window: window{
		Scene: s, voice: v.Opening(p.Opening.Stated()), size: p.Order.Size, layout: p.Layout, glass: p.Glass, profile: p.Crew.Settings,
		marks:   Marks(p.Findings, len(p.Layout.Lights)),
		ways:    []Font{{typeface.Regular, 3.2}, {typeface.Regular, 2.8}, {typeface.Regular, smallest}},
		numbers: []Font{{typeface.Bold, 3.8}, {typeface.Bold, smallest}},
	}}
	if !d.profile.OuterFace.IsPositive() {
		d.profile = calc.DefaultSettings() // a plan made without plan.Make
	}
	for _, side := range sides {
		forms, length := uprightForms, mostPicture
		if level(side) {
			forms, length = levelForms, place.W
		}
		tags, form, left := fitting(tagsOf(p, v, side), forms, length)
		d.Dropped += left
		d.sides[side] = &noted{tags, form}
	}
	d.lines = measured(p.Order)
	d.gaps = toMasonry(p.Order, d.lines)
	return d
}

var (
	listFont = Font{typeface.Regular, 2.8}
	loudFont = Font{typeface.Bold, 2.8}
	seenFont = Font{typeface.Bold, 4.2}
)

// Draw draws the window with all its notes from the top of its place down, and
// above bottom where that can be. It gives where the drawing ends.
func (d *Fitting) Draw(bottom float64) float64 {
	bottom -= seenFont.Line() + listFont.Line()*float64(1+len(listFont.Wrap(d.unasked(), d.place.W))) + 1.6
	d.measure(bottom)
	if !d.told() {
		d.lists = listFont.Wrap(d.list(), d.place.W)
		d.measure(bottom - listFont.Height(d.lists))
	}
	d.part = "wall"
	d.put(Shape{Kind: Hatched, Box: d.wall})
	masonry := d.outline(d.gaps)
	d.put(Shape{Kind: Polygon, Box: d.wall, Corners: masonry, Ink: Paper})
	d.loop(masonry, 0.4, false)
	d.drawFrame()
	if d.hidden() {
		d.part = "measured"
		d.loop(d.outline(d.lines), 0.3, true)
	}
	d.drawPackers()
	for _, side := range sides {
		d.drawTags(side)
	}
	for n := range d.layout.Lights {
		d.drawBars(n)
		if !d.write(n) {
			d.Dropped++
		}
		d.drawBadges(n)
	}
	b := Box{d.place.X, d.zone.Bottom() + fan + d.rowsHeight(calc.Sill) + 0.6, d.place.W, 0}
	b.Y += d.caption(b, seenFont)
	b.Y += d.Lines(d.lists, listFont, b, Black)
	if d.times > 1 {
		b.Y += d.Under(b, d.voice.Say(phrase.Of("card.exaggerated").WithInt("times", d.times)), loudFont)
	}
	return b.Y + d.Lines(listFont.Wrap(d.unasked(), b.W), listFont, b, Black)
}

// hidden tells whether the masonry stands outside the measured line, so that
// the frame's edge is hidden.
func (d *Fitting) hidden() bool {
	return slices.ContainsFunc(sides[:], func(side calc.Side) bool { return d.plan.Order.Masonry[side].IsPositive() })
}

func (n *noted) extent() tagSize { return n.form.extent(n.tags) }

// rowsHeight is the height of the tags at head or sill.
func (d *Fitting) rowsHeight(side calc.Side) float64 {
	n := d.sides[side]
	return float64(n.form.rows)*n.extent().h + float64(n.form.rows-1)*rowGap
}

// measure finds the scale and every place of the drawing, so that all of it
// ends above bottom.
func (d *Fitting) measure(bottom float64) {
	o := d.plan.Order
	least, most := d.gaps.extent()
	d.reach = max(goodGap, min(mostGap, goodGap*most/max(least, 2)))
	around := wallThick + d.reach
	left := d.place.X + d.sides[calc.Left].extent().w + fan + around
	right := d.place.Right() - d.sides[calc.Right].extent().w - fan - around
	top := d.place.Y + 1 + d.rowsHeight(calc.Head) + fan
	high := bottom - top - fan - d.rowsHeight(calc.Sill) - 2*around
	high = max(leastPicture, min(mostPicture, high))
	d.scale = min((right-left)/float(o.Size.Width), high/float(o.Size.Height.Add(o.SillPiece)))
	d.sill = 0
	if o.SillPiece.IsPositive() {
		d.sill = max(1.2, d.mm(o.SillPiece))
	}
	d.times = d.exaggeration()
	w, h := d.mm(o.Size.Width), d.mm(o.Size.Height)
	picture := h + d.sill + 2*around
	tall := picture
	for _, side := range []calc.Side{calc.Left, calc.Right} {
		tall = max(tall, d.sides[side].form.need(d.sides[side].tags))
	}
	d.zone = Box{Y: top, H: tall}
	d.frame = Box{(left + right - w) / 2, top + (tall-picture)/2 + around, w, h}
	d.wall = Box{d.frame.X - around, d.frame.Y - around, w + 2*around, picture}
	d.settle()
}

// niceTimes are the exaggerations that may be drawn.
var niceTimes = []int{20, 15, 12, 10, 8, 6, 5, 4, 3, 2}

// exaggeration is by how much gaps and lean are drawn too large: enough to
// see them, and never past the wall.
func (d *Fitting) exaggeration() int {
	least, most := d.gaps.extent()
	hidden, _ := d.lines.extent()
	for _, times := range niceTimes {
		drawn := d.scale * float64(times)
		if most*drawn <= d.reach && max(least, 2)*drawn <= goodGap && -hidden*drawn <= mostHidden {
			return times
		}
	}
	return 1
}

// out is a distance outwards from the frame on paper.
func (d *Fitting) out(mm float64) float64 {
	return max(-mostHidden, min(d.reach, mm*d.scale*float64(d.times)))
}

// outline is the line at the given distances round the frame and the sill
// piece, from the bottom left corner against the clock.
func (d *Fitting) outline(g gaps) []Point {
	x0, x1 := d.frame.X, d.frame.Right()
	y0, y1 := d.frame.Bottom()+d.sill, d.frame.Y
	l, r, h, b := g[calc.Left], g[calc.Right], g[calc.Head], g[calc.Sill]
	mx, my := (x0+x1)/2, (y0+y1)/2
	return []Point{
		{x0 - d.out(l[0]), y0 + d.out(b[0])}, {mx, y0 + d.out(b[1])}, {x1 + d.out(r[0]), y0 + d.out(b[2])},
		{x1 + d.out(r[1]), my}, {x1 + d.out(r[2]), y1 - d.out(h[2])},
		{mx, y1 - d.out(h[1])}, {x0 - d.out(l[2]), y1 - d.out(h[0])}, {x0 - d.out(l[1]), my},
	}
}

// edge is a place on the frame's outer edge.
func (d *Fitting) edge(side calc.Side, at decimal.Decimal) Point {
	p := Point{d.frame.X, d.frame.Bottom()}
	switch side {
	case calc.Right:
		p.X = d.frame.Right()
	case calc.Head:
		p.Y = d.frame.Y
	}
	if level(side) {
		return Point{p.X + d.mm(at), p.Y}
	}
	return Point{p.X, p.Y - d.mm(at)}
}

// ways are square to the sides, away from the frame's middle.
var ways = map[calc.Side]Point{calc.Left: {-1, 0}, calc.Right: {1, 0}, calc.Head: {0, -1}, calc.Sill: {0, 1}}

func outwards(p Point, side calc.Side, by float64) Point {
	return Point{p.X + ways[side].X*by, p.Y + ways[side].Y*by}
}

// drawPackers fills the gap with each stack.
func (d *Fitting) drawPackers() {
	for _, place := range d.plan.Packers.Places {
		if place.Unseen {
			continue // nobody knows what goes there
		}
		p := d.edge(place.Side, place.At)
		if place.Side == calc.Sill {
			p.Y += d.sill
		}
		q := outwards(p, place.Side, max(0.8, d.out(d.gaps.at(place.Side, d.mm(place.At)/d.frame.along(place.Side)))))
		b := Box{min(p.X, q.X), min(p.Y, q.Y), math.Abs(p.X - q.X), math.Abs(p.Y - q.Y)}
		if level(place.Side) {
			b = b.Middle(2.6, b.H)
		} else {
			b = b.Middle(b.W, 2.6)
		}
		d.part = fmt.Sprintf("packer %s %s", place.Side, place.At)
		d.drawPacker(place.Bed, b)
	}
	d.part = ""
}

// drawPacker draws a packer, like a glass block: solid where it carries, hollow
// where it only keeps the gap.
func (s *Scene) drawPacker(bed bool, b Box) {
	if bed {
		s.Fill(b, Black)
		return
	}
	s.Fill(b, Paper)
	s.Frame(b, 0.3, Black)
}

// drawTags draws a side's tags with their leaders and fixings.
func (d *Fitting) drawTags(side calc.Side) {
	n := d.sides[side]
	deep := max(0.6, min(1.6, d.mm(d.profile.OuterFace)/2)) // a screw inside the frame's edge
	for i, p := range d.tagPlaces(side) {
		t := n.tags[i]
		name := t.name(i)
		d.part = "leader " + name
		from := d.edge(side, t.at)
		last := from
		// Past its last turn it runs straight between the tags of the near row.
		for _, next := range []Point{d.rim(side, from), outwards(d.rim(side, p), side, fan-0.4), p} {
			d.Line(last, next, 0.2)
			last = next
		}
		if t.screw {
			d.part = "screw " + name
			head := outwards(from, side, -deep)
			d.Line(head, from, 0.4)
			d.drawFixing(t.bracket, head, max(0.6, min(0.9, deep-0.1)))
		}
		if t.at.IsZero() {
			d.part = "origin " + name
			d.ring(from)
		}
		d.part = "tag " + name
		d.drawTag(t, n.form, outwards(p, side, 0.4))
	}
	d.part = ""
}

// rim is p moved to where the leaders of a side leave the picture.
func (d *Fitting) rim(side calc.Side, p Point) Point {
	switch side {
	case calc.Left:
		p.X = d.wall.X
	case calc.Right:
		p.X = d.wall.Right()
	case calc.Head:
		p.Y = d.zone.Y
	default:
		p.Y = d.zone.Bottom()
	}
	return p
}

// tagPlaces are the ends of a side's leaders, at the edge of each tag that is
// nearest to the frame.
func (d *Fitting) tagPlaces(side calc.Side) []Point {
	n := d.sides[side]
	most := n.extent()
	want := make([]float64, len(n.tags))
	low, high := most.h/2-d.zone.Bottom(), -most.h/2-d.zone.Y
	if level(side) {
		low, high = d.place.X+most.w/2, d.place.Right()-most.w/2
	}
	for i, t := range n.tags {
		want[i] = -d.edge(side, t.at).Y
		if level(side) {
			want[i] = d.edge(side, t.at).X
		}
	}
	out := make([]Point, len(n.tags))
	for i, at := range spread(want, n.form.apart(n.tags), low, high) {
		step := float64(i%n.form.rows) * (most.h + rowGap)
		out[i] = outwards(d.rim(side, Point{at, -at}), side, fan-0.4+step)
	}
	return out
}
