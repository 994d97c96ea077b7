package card

import (
	"image"
	"math"
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

// besides is how near to a screw a packer still counts as beside it.
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
			tags = append(tags, &tag{side: side, at: at, number: whole(at), screw: true, bracket: p.Bracketed(side)})
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

func withPacker(tags []*tag, place calc.PackerPlace) []*tag {
	t := &tag{side: place.Side, at: place.At, number: whole(place.At)}
	for _, screw := range tags {
		if screw.screw && !screw.packer && screw.at.Sub(place.At).Abs().LessThanOrEqual(besides) {
			t = screw
			break
		}
	}
	t.packer, t.stack, t.trouble = true, stackWords(place.Stack), place.Trouble != nil
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
	px      int
	oneLine bool // number and packers side by side
	rows    int  // of tags, for head and sill
}

// Gaps between tags and inside them, in pixels.
const (
	tagGap  = 8
	dotGap  = 6
	boxPad  = 7
	boxEdge = 2
	// bracketEdge is thicker than boxEdge, so that a bracket is no empty box.
	bracketEdge = 4
)

func (f tagForm) dot() int { return f.px * 6 / 10 }

func (f tagForm) numberFace(t *tag) *typeface.Face {
	if t.screw {
		return typeface.At(typeface.Bold, f.px)
	}
	return typeface.At(typeface.Regular, f.px)
}

func (f tagForm) boxFace(t *tag) *typeface.Face {
	if t.trouble {
		return typeface.At(typeface.Bold, max(smallest, f.px-4))
	}
	return typeface.At(typeface.Regular, max(smallest, f.px-4))
}

func (f tagForm) numberWidth(t *tag) int {
	w := f.numberFace(t).Width(t.number)
	if t.screw {
		w += f.dot() + dotGap
	}
	return w
}

func (f tagForm) boxWidth(t *tag) int {
	if !t.packer {
		return 0
	}
	return max(f.px, f.boxFace(t).Width(t.stack)+2*boxPad)
}

// size is a tag's width and height.
func (f tagForm) size(t *tag) image.Point {
	number, box := f.numberWidth(t), f.boxWidth(t)
	switch {
	case !t.packer:
		return image.Pt(number, f.px)
	case f.oneLine:
		return image.Pt(number+tagGap+box, f.px+4)
	}
	return image.Pt(max(number, box), 2*f.px+4)
}

// tallest and widest are of the tags of a side.
func (f tagForm) extent(tags []*tag) image.Point {
	var most image.Point
	for _, t := range tags {
		z := f.size(t)
		most = image.Pt(max(most.X, z.X), max(most.Y, z.Y))
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
		a, b := f.size(tags[i]), f.size(tags[i+1])
		switch {
		case level(tags[i].side) && f.rows == 2:
			out[i] = float64(max(a.X, b.X))/2 + tagGap
		case level(tags[i].side):
			out[i] = float64(a.X+b.X)/2 + 2*tagGap
		default:
			out[i] = float64(a.Y+b.Y)/2 + tagGap
		}
	}
	return out
}

// need is the length that the tags take along their side.
func (f tagForm) need(tags []*tag) int {
	most := f.extent(tags)
	if len(tags) > 0 && level(tags[0].side) {
		return int(math.Ceil(room(f.apart(tags)))) + most.X
	}
	return int(math.Ceil(room(f.apart(tags)))) + most.Y
}

func level(s calc.Side) bool { return s == calc.Head || s == calc.Sill }

// The forms that are tried in turn, the most readable first.
var (
	levelForms   = []tagForm{{36, false, 1}, {34, false, 2}, {30, false, 2}, {smallest, false, 2}}
	uprightForms = []tagForm{{34, false, 1}, {34, true, 1}, {30, true, 1}, {smallest, true, 1}}
)

// fitting is the first form that lets the tags stand in length. When even the
// last does not, tags are left out from the far end, those without a screw
// first, and their number is given.
func fitting(tags []*tag, forms []tagForm, length int) (kept []*tag, form tagForm, left int) {
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
func (s *sheet) drawTag(t *tag, f tagForm, p point) image.Rectangle {
	z := f.size(t)
	x, y := int(math.Round(p.x)), int(math.Round(p.y))
	var r image.Rectangle
	switch t.side {
	case calc.Left:
		r = image.Rect(x-z.X, y-z.Y/2, x, y-z.Y/2+z.Y)
	case calc.Right:
		r = image.Rect(x, y-z.Y/2, x+z.X, y-z.Y/2+z.Y)
	case calc.Head:
		r = image.Rect(x-z.X/2, y-z.Y, x-z.X/2+z.X, y)
	default:
		r = image.Rect(x-z.X/2, y, x-z.X/2+z.X, y+z.Y)
	}
	s.labels = append(s.labels, label{text: t.number + " " + t.stack, box: r, mark: t})
	if !t.packer {
		s.drawNumber(t, f, r)
		return r
	}
	if f.oneLine {
		s.drawNumber(t, f, image.Rect(r.Min.X, r.Min.Y, r.Min.X+f.numberWidth(t), r.Max.Y))
		s.drawStack(t, f.boxFace(t), image.Rect(r.Max.X-f.boxWidth(t), r.Min.Y, r.Max.X, r.Max.Y))
		return r
	}
	s.drawNumber(t, f, image.Rect(r.Min.X, r.Min.Y, r.Max.X, r.Min.Y+f.px-2))
	half := (r.Dx() - f.boxWidth(t)) / 2
	s.drawStack(t, f.boxFace(t), image.Rect(r.Min.X+half, r.Min.Y+f.px, r.Max.X-half, r.Max.Y))
	return r
}

func (s *sheet) drawNumber(t *tag, f tagForm, r image.Rectangle) {
	if t.screw {
		left := r.Min.X + (r.Dx()-f.numberWidth(t))/2
		radius := float64(f.dot()) / 2
		s.drawFixing(t, point{float64(left) + radius, float64(r.Min.Y+r.Max.Y) / 2}, radius)
		r.Min.X, r.Max.X = left+f.dot()+dotGap, left+f.numberWidth(t)
	}
	s.inside(t.number, f.numberFace(t), r, black)
}

// drawFixing draws the mark of a screw or of a bracket. Both are this card's
// own invention; full and hollow tell them apart without any colour.
func (s *sheet) drawFixing(t *tag, m point, radius float64) {
	if !t.bracket {
		s.disc(m, radius, black)
		return
	}
	r := rectOf(point{m.x - radius, m.y - radius}, point{m.x + radius, m.y + radius})
	s.fill(r, paper)
	s.outline(r, bracketEdge, black)
}

// drawStack draws the box with the packers in it. Where there is trouble the
// box is black.
func (s *sheet) drawStack(t *tag, face *typeface.Face, r image.Rectangle) {
	if t.trouble {
		s.fill(r, black)
		s.inside(t.stack, face, r, paper)
		return
	}
	s.fill(r, paper)
	s.outline(r, boxEdge, black)
	s.inside(t.stack, face, r, black)
}
