package scene

import (
	"fmt"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/plan"
	"sillbot/internal/typeface"
)

// tag is one place on a side of the frame and what is written of it: the
// distance from the side's corner, a dot when a screw goes there or a hollow
// square for a bracket, a short bar at the middle of a mullion or transom, the
// packers in a box when there are any. All distances of a side run on from one
// corner, which has the origin's mark, a small ring (ISO 129-1, from memory).
type tag struct {
	side    calc.Side
	at      decimal.Decimal
	number  string
	screw   bool // a fixing goes here
	bracket bool // and it is a bracket, not a frame screw
	bar     bool // the middle of a mullion or transom
	end     bool // the side's far corner
	packer  bool
	bed     bool // they carry the frame
	stack   string
	trouble bool // no packers, or no published gap, can be given here
}

// name tells the places of a side apart.
func (t *tag) name(i int) string { return fmt.Sprintf("%s %s %d", t.side, t.at, i) }

func (t *tag) heavy() bool { return t.screw || t.end }

// signed tells whether a sign stands before the number.
func (t *tag) signed() bool { return t.screw || t.bar }

// besides is how near to a screw a packer still counts as beside it, mm.
var besides = decimal.NewFromInt(25)

// tagsOf are the places of one side from its corner on, the corner itself
// first; none when nothing goes on that side.
func tagsOf(p plan.Plan, v Voice, side calc.Side) []*tag {
	var tags []*tag
	for _, f := range p.Fixings.Sides {
		if f.Side != side {
			continue
		}
		for _, at := range f.At {
			tags = append(tags, &tag{side: side, at: at, screw: true, bracket: p.Bracketed(side)})
		}
	}
	for _, place := range p.Packers.Places {
		if place.Side == side {
			tags = withPacker(tags, place)
		}
	}
	if side != calc.Sill { // there each bar stands on its own bed packer
		for _, at := range barsOf(p.Layout, side) {
			tags = append(tags, &tag{side: side, at: at, bar: true})
		}
	}
	if end := p.Order.Size.Height; side == calc.Left {
		tags = append(tags, &tag{side: side, at: end, end: true})
	} else if end = p.Order.Size.Width; side == calc.Head {
		tags = append(tags, &tag{side: side, at: end, end: true})
	}
	if len(tags) == 0 {
		return nil
	}
	slices.SortStableFunc(tags, func(a, b *tag) int { return a.at.Cmp(b.at) })
	if !tags[0].at.IsZero() {
		tags = slices.Insert(tags, 0, &tag{side: side})
	}
	for _, t := range tags {
		t.number = v.Number(t.at)
	}
	return tags
}

// barsOf are the places of the bars' middles that stand on a side: mullions at the
// head, transoms at the jamb that they are nearer to, each once.
func barsOf(l calc.Layout, side calc.Side) []decimal.Decimal {
	if side == calc.Head {
		return l.Mullions
	}
	var left, right []decimal.Decimal
	for column, at := range l.Transoms {
		switch {
		case !at.IsPositive() || slices.ContainsFunc(left, at.Equal) || slices.ContainsFunc(right, at.Equal):
		case 2*column < max(1, l.Columns()):
			left = append(left, at)
		default:
			right = append(right, at)
		}
	}
	if side == calc.Left {
		return left
	}
	return right
}

func withPacker(tags []*tag, place calc.PackerPlace) []*tag {
	t := &tag{side: place.Side, at: place.At}
	for _, screw := range tags {
		if screw.screw && !screw.packer && screw.at.Sub(place.At).Abs().LessThanOrEqual(besides) {
			t = screw
			break
		}
	}
	t.packer, t.bed, t.stack, t.trouble = true, place.Bed, joined(place.Stack, 0, "+"), place.Trouble != nil
	if place.Unseen {
		t.trouble, t.stack = true, "?"
		return withTag(tags, t)
	}
	if t.trouble || t.stack == "" {
		t.trouble, t.stack = true, strings.TrimSpace("! "+t.stack)
	}
	return withTag(tags, t)
}

// withTag adds a tag, but for that of a screw, which is there.
func withTag(tags []*tag, t *tag) []*tag {
	if t.screw {
		return tags
	}
	return append(tags, t)
}

// tagForm is how the tags of a side are written.
type tagForm struct {
	size    float64 // of the number's letters
	oneLine bool    // number and packers side by side
	rows    int     // of tags, for head and sill
}

// The forms that are tried in turn, the most readable first.
var (
	levelForms   = []tagForm{{3.6, false, 1}, {3.4, false, 2}, {3, false, 2}, {smallest, false, 2}}
	uprightForms = []tagForm{{3.4, false, 1}, {3.4, true, 1}, {3, true, 1}, {smallest, true, 1}}
)

const (
	smallest = 2.6 // no letter on a fitter's drawing is smaller
	tagGap   = 0.8 // between tags and inside them
	dotGap   = 0.6
)

func (f tagForm) dot() float64 { return f.size * 0.6 }

func (f tagForm) numberFont(t *tag) Font {
	if t.heavy() {
		return Font{typeface.Bold, f.size}
	}
	return Font{typeface.Regular, f.size}
}

func (f tagForm) boxFont(t *tag) Font {
	if t.trouble {
		return Font{typeface.Bold, max(smallest, f.size-0.4)}
	}
	return Font{typeface.Regular, max(smallest, f.size-0.4)}
}

func (f tagForm) numberWidth(t *tag) float64 {
	w := f.numberFont(t).Width(t.number)
	if t.signed() {
		w += f.dot() + dotGap
	}
	return w
}

func (f tagForm) boxWidth(t *tag) float64 {
	if !t.packer {
		return 0
	}
	return max(f.size, f.boxFont(t).Width(t.stack)+1.4)
}

// tagSize is a width and a height.
type tagSize struct{ w, h float64 }

func (f tagForm) sizeOf(t *tag) tagSize {
	number, box := f.numberWidth(t), f.boxWidth(t)
	foot := 0.0
	if t.bed {
		foot = footHigh
	}
	switch {
	case !t.packer:
		return tagSize{number, f.size}
	case f.oneLine:
		return tagSize{number + tagGap + box, f.size + 0.4 + foot}
	}
	return tagSize{max(number, box), 2*f.size + 0.4 + foot}
}

// extent is the largest width and height of the tags of a side.
func (f tagForm) extent(tags []*tag) tagSize {
	var most tagSize
	for _, t := range tags {
		z := f.sizeOf(t)
		most = tagSize{max(most.w, z.w), max(most.h, z.h)}
	}
	return most
}

// apart are the least distances between the middles of neighbouring tags. In
// two rows only the leader of the one passes beside the other.
func (f tagForm) apart(tags []*tag) []float64 {
	if len(tags) == 0 {
		return nil
	}
	out := make([]float64, len(tags)-1)
	for i := range out {
		a, b := f.sizeOf(tags[i]), f.sizeOf(tags[i+1])
		switch {
		case level(tags[i].side) && f.rows == 2:
			out[i] = max(a.w, b.w)/2 + tagGap
		case level(tags[i].side):
			out[i] = (a.w+b.w)/2 + 2*tagGap
		default:
			out[i] = (a.h+b.h)/2 + tagGap
		}
	}
	return out
}

// need is the length that the tags take along their side.
func (f tagForm) need(tags []*tag) float64 {
	total := f.extent(tags).h
	if len(tags) > 0 && level(tags[0].side) {
		total = f.extent(tags).w
	}
	for _, apart := range f.apart(tags) {
		total += apart
	}
	return total
}

// fitting is the first form that lets the tags stand in length. When even the
// last does not, tags are left out, those of least worth first, and their number is
// given.
func fitting(tags []*tag, forms []tagForm, length float64) (kept []*tag, form tagForm, left int) {
	for _, form = range forms {
		if form.need(tags) <= length {
			return tags, form, 0
		}
	}
	kept = slices.Clone(tags)
	for form.need(kept) > length {
		out := leastWorth(kept)
		kept = slices.Delete(kept, out, out+1)
	}
	return kept, form, len(tags) - len(kept)
}

// leastWorth is the tag that is left out first: the last that is neither a screw
// nor packers, else the last without a screw, else the last. The first stays.
func leastWorth(tags []*tag) int {
	for _, spare := range []func(*tag) bool{
		func(t *tag) bool { return !t.screw && !t.packer }, func(t *tag) bool { return !t.screw },
	} {
		for i := len(tags) - 1; i > 0; i-- {
			if spare(tags[i]) {
				return i
			}
		}
	}
	return len(tags) - 1
}

// drawTag draws t with the middle of its edge towards the frame at p.
func (s *Scene) drawTag(t *tag, f tagForm, p Point) {
	z := f.sizeOf(t)
	b := Box{p.X - z.w/2, p.Y - z.h/2, z.w, z.h}
	switch t.side {
	case calc.Left:
		b.X = p.X - z.w
	case calc.Right:
		b.X = p.X
	case calc.Head:
		b.Y = p.Y - z.h
	default:
		b.Y = p.Y
	}
	wide := f.boxWidth(t)
	switch {
	case !t.packer:
		s.drawNumber(t, f, b)
	case f.oneLine:
		s.drawNumber(t, f, Box{b.X, b.Y, f.numberWidth(t), b.H})
		s.drawStack(t, f, Box{b.Right() - wide, b.Y, wide, b.H})
	default:
		s.drawNumber(t, f, Box{b.X, b.Y, b.W, f.size - 0.2})
		s.drawStack(t, f, Box{b.X + (b.W-wide)/2, b.Y + f.size, wide, b.H - f.size})
	}
}

func (s *Scene) drawNumber(t *tag, f tagForm, b Box) {
	b = b.Middle(f.numberWidth(t), b.H)
	if t.signed() {
		radius, middle := f.dot()/2, b.Y+b.H/2
		if t.bar {
			s.drawBarSign(t.side, Point{b.X + radius, middle}, f.dot())
		} else {
			s.drawFixing(t.bracket, Point{b.X + radius, middle}, radius)
		}
		b.X, b.W = b.X+f.dot()+dotGap, b.W-f.dot()-dotGap
	}
	s.inside(t.number, f.numberFont(t), b, Black)
}

// drawFixing draws the mark of a screw or of a bracket. Both are these
// drawings' own invention; full and hollow tell them apart without any colour.
// A bracket's edge is thicker than a packer box's, so that it is no empty box.
func (s *Scene) drawFixing(bracket bool, m Point, radius float64) {
	if !bracket {
		s.disc(m, radius, Black)
		return
	}
	b := Box{m.X - radius, m.Y - radius, 2 * radius, 2 * radius}
	s.Fill(b, Paper)
	s.Frame(b, 0.4, Black)
}

// drawBarSign draws a short piece of a mullion, or of a transom at the jambs.
func (s *Scene) drawBarSign(side calc.Side, m Point, long float64) {
	b := Box{m.X - long/2, m.Y - long/4, long, long / 2}
	if level(side) {
		b = Box{m.X - long/4, m.Y - long/2, long / 2, long}
	}
	s.Fill(b, Pale)
	s.Frame(b, 0.2, Black)
}

// footHigh is how thick the foot is that a bed packer's box stands on, mm.
const footHigh = 0.8

// drawStack draws the box with the packers in it. What carries the frame stands
// on a black foot; where there is trouble the box has a heavy edge.
func (s *Scene) drawStack(t *tag, f tagForm, b Box) {
	s.Fill(b, Paper)
	edge := 0.2
	if t.trouble {
		edge = 0.6
	}
	s.Frame(b, edge, Black)
	if t.bed {
		s.Fill(Box{b.X, b.Bottom() - footHigh, b.W, footHigh}, Black)
		b.H -= footHigh
	}
	s.inside(t.stack, f.boxFont(t), b, Black)
}
