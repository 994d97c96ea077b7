package scene

import (
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/plan"
	"sillbot/internal/typeface"
)

// tag is one place on a side of the frame and what is written of it: the
// distance from the side's corner, a dot when a screw goes there or a hollow
// square for a bracket, the packers in a box when there are any.
type tag struct {
	side    calc.Side
	at      decimal.Decimal
	number  string
	screw   bool // a fixing goes here
	bracket bool // and it is a bracket, not a frame screw
	packer  bool
	stack   string
	trouble bool // no packers, or no published gap, can be given here
}

// besides is how near to a screw a packer still counts as beside it, mm.
var besides = decimal.NewFromInt(25)

// tagsOf are the places of one side from its corner on, the corner itself
// first; none when nothing goes on that side.
func tagsOf(p plan.Plan, side calc.Side) []*tag {
	var tags []*tag
	for _, f := range p.Fixings.Sides {
		if f.Side != side {
			continue
		}
		for _, at := range f.At {
			tags = append(tags, &tag{side: side, at: at, number: at.String(), screw: true, bracket: p.Bracketed(side)})
		}
	}
	for _, place := range p.Packers.Places {
		if place.Side == side {
			tags = withPacker(tags, place)
		}
	}
	if len(tags) == 0 {
		return nil
	}
	slices.SortStableFunc(tags, func(a, b *tag) int { return a.at.Cmp(b.at) })
	if tags[0].number != "0" {
		tags = slices.Insert(tags, 0, &tag{side: side, number: "0"})
	}
	return tags
}

// whole is a length as it stands on the drawing; only a screw in the very middle
// keeps its half millimetre.
func whole(d decimal.Decimal) string { return d.Round(0).String() }

func withPacker(tags []*tag, place calc.PackerPlace) []*tag {
	t := &tag{side: place.Side, at: place.At, number: whole(place.At)}
	for _, screw := range tags {
		if screw.screw && !screw.packer && screw.at.Sub(place.At).Abs().LessThanOrEqual(besides) {
			t = screw
			break
		}
	}
	t.packer, t.stack, t.trouble = true, joined(place.Stack, 0, "+"), place.Trouble != nil
	if t.trouble || t.stack == "" {
		t.trouble, t.stack = true, strings.TrimSpace("! "+t.stack)
	}
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
	if t.screw {
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
	if t.screw {
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
	switch {
	case !t.packer:
		return tagSize{number, f.size}
	case f.oneLine:
		return tagSize{number + tagGap + box, f.size + 0.4}
	}
	return tagSize{max(number, box), 2*f.size + 0.4}
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
// last does not, tags are left out from the far end, those without a screw
// first, and their number is given.
func fitting(tags []*tag, forms []tagForm, length float64) (kept []*tag, form tagForm, left int) {
	for _, form = range forms {
		if form.need(tags) <= length {
			return tags, form, 0
		}
	}
	kept = slices.Clone(tags)
	for form.need(kept) > length {
		out := len(kept) - 1
		for i := out; i > 0; i-- {
			if !kept[i].screw {
				out = i
				break
			}
		}
		kept = slices.Delete(kept, out, out+1)
	}
	return kept, form, len(tags) - len(kept)
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
	if t.screw {
		radius := f.dot() / 2
		s.drawFixing(t.bracket, Point{b.X + radius, b.Y + b.H/2}, radius)
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

// drawStack draws the box with the packers in it. Where there is trouble the
// box is black.
func (s *Scene) drawStack(t *tag, f tagForm, b Box) {
	if t.trouble {
		s.Fill(b, Black)
		s.inside(t.stack, f.boxFont(t), b, Paper)
		return
	}
	s.Fill(b, Paper)
	s.Frame(b, 0.2, Black)
	s.inside(t.stack, f.boxFont(t), b, Black)
}
