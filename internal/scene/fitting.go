package scene

import (
	"fmt"
	"math"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/typeface"
)

// Sizes of a fitter's drawing, mm on paper.
const (
	mostPicture  = 64.0 // height of the frame
	leastPicture = 12.0
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
		Scene: s, voice: v, size: p.Order.Size, layout: p.Layout, glass: p.Glass, profile: p.Crew.Settings,
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
		tags, form, left := fitting(tagsOf(p, side), forms, length)
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
)

// Draw draws the window with all its notes from the top of its place down, and
// above bottom where that can be. It gives where the drawing ends.
func (d *Fitting) Draw(bottom float64) float64 {
	bottom -= listFont.Line()*float64(1+len(d.unasked(listFont, d.place.W))) + 1.6
	d.measure(bottom)
	if !d.told() {
		d.lists = listFont.Wrap(strings.Join(d.voice.Ways(d.layout), " · "), d.place.W)
		d.measure(bottom - float64(len(d.lists))*listFont.Line())
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
	b := Box{d.place.X, d.zone.Bottom() + fan + d.rowsHeight(calc.Sill) + 0.4, d.place.W, 0}
	under := func(lines []string, f Font) {
		d.Lines(lines, f, b, Black)
		b.Y += float64(len(lines)) * f.Line()
	}
	under(d.lists, listFont)
	if d.times > 1 {
		under(loudFont.Wrap(d.voice.Say(phrase.Of("card.exaggerated").WithInt("times", d.times)), b.W), loudFont)
	}
	under(d.unasked(listFont, b.W), listFont)
	return b.Y
}

// hidden tells whether the masonry stands outside the measured line, so that
// the frame's edge is hidden.
func (d *Fitting) hidden() bool {
	for _, side := range sides {
		if d.plan.Order.Masonry[side].IsPositive() {
			return true
		}
	}
	return false
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
	switch side {
	case calc.Left:
		return Point{d.frame.X, d.frame.Bottom() - d.mm(at)}
	case calc.Right:
		return Point{d.frame.Right(), d.frame.Bottom() - d.mm(at)}
	case calc.Head:
		return Point{d.frame.X + d.mm(at), d.frame.Y}
	}
	return Point{d.frame.X + d.mm(at), d.frame.Bottom()}
}

// outwards is p moved away from the frame's middle, square to the side.
func outwards(p Point, side calc.Side, by float64) Point {
	switch side {
	case calc.Left:
		p.X -= by
	case calc.Right:
		p.X += by
	case calc.Head:
		p.Y -= by
	default:
		p.Y += by
	}
	return p
}

// drawPackers fills the gap with each stack.
func (d *Fitting) drawPackers() {
	const half = 1.3
	for _, place := range d.plan.Packers.Places {
		length := d.frame.H
		if level(place.Side) {
			length = d.frame.W
		}
		p := d.edge(place.Side, place.At)
		if place.Side == calc.Sill {
			p.Y += d.sill
		}
		q := outwards(p, place.Side, max(0.8, d.out(d.gaps.at(place.Side, d.mm(place.At)/length))))
		b := Box{min(p.X, q.X), min(p.Y, q.Y), math.Abs(p.X - q.X), math.Abs(p.Y - q.Y)}
		if level(place.Side) {
			b.X, b.W = b.X-half, 2*half
		} else {
			b.Y, b.H = b.Y-half, 2*half
		}
		d.part = fmt.Sprintf("packer %s %s", place.Side, whole(place.At))
		d.Fill(b, Grey)
		d.Frame(b, 0.2, Black)
	}
	d.part = ""
}

// drawTags draws a side's tags with their leaders and fixings.
func (d *Fitting) drawTags(side calc.Side) {
	n := d.sides[side]
	deep := max(0.6, min(1.6, d.mm(d.profile.OuterFace)/2)) // a screw inside the frame's edge
	for i, p := range d.tagPlaces(side) {
		t := n.tags[i]
		name := fmt.Sprintf("%s %s %d", side, t.number, i)
		d.part = "leader " + name
		from := d.edge(side, t.at)
		last := from
		for _, next := range []Point{d.wallEdge(side, from), d.turn(side, p), p} {
			d.Line(last, next, 0.2)
			last = next
		}
		if t.screw {
			d.part = "screw " + name
			head := outwards(from, side, -deep)
			d.Line(head, from, 0.4)
			d.drawFixing(t.bracket, head, max(0.6, min(0.9, deep-0.1)))
		}
		d.part = "tag " + name
		d.drawTag(t, n.form, outwards(p, side, 0.4))
	}
	d.part = ""
}

// wallEdge is where a leader leaves the picture.
func (d *Fitting) wallEdge(side calc.Side, p Point) Point {
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

// turn is where the leader of a tag at p has done turning: past it, it runs
// straight between the tags of the near row.
func (d *Fitting) turn(side calc.Side, p Point) Point {
	switch side {
	case calc.Head:
		p.Y = d.zone.Y - fan + 0.4
	case calc.Sill:
		p.Y = d.zone.Bottom() + fan - 0.4
	}
	return p
}

// tagPlaces are the ends of a side's leaders, at the edge of each tag that is
// nearest to the frame.
func (d *Fitting) tagPlaces(side calc.Side) []Point {
	n := d.sides[side]
	most := n.extent()
	want := make([]float64, len(n.tags))
	out := make([]Point, len(n.tags))
	if level(side) {
		for i, t := range n.tags {
			want[i] = d.edge(side, t.at).X
		}
		for i, x := range spread(want, n.form.apart(n.tags), d.place.X+most.w/2, d.place.Right()-most.w/2) {
			step := float64(i%n.form.rows)*(most.h+rowGap) - 0.4
			out[i] = Point{x, d.zone.Y - fan - step}
			if side == calc.Sill {
				out[i].Y = d.zone.Bottom() + fan + step
			}
		}
		return out
	}
	x := d.wall.X - fan + 0.4
	if side == calc.Right {
		x = d.wall.Right() + fan - 0.4
	}
	for i, t := range n.tags {
		want[i] = -d.edge(side, t.at).Y
	}
	for i, y := range spread(want, n.form.apart(n.tags), most.h/2-d.zone.Bottom(), -most.h/2-d.zone.Y) {
		out[i] = Point{x, -y}
	}
	return out
}
