package card

import (
	"image"
	"slices"

	"sillbot/internal/calc"
	"sillbot/internal/typeface"
)

// entry is one line of the legend: a sign, 90 pixels wide at most, and what it
// stands for.
type entry struct {
	lines []string
	sign  func(box image.Rectangle)
}

const (
	signWidth   = 96
	entryHeight = 48
	columnGap   = 24
)

func legendFace() *typeface.Face { return typeface.At(typeface.Regular, smallest+1) }

// legendOf explains the signs that this card uses, and no others.
func (s *sheet) legendOf(w *window) []entry {
	var out []entry
	add := func(wanted bool, key string, sign func(image.Rectangle)) {
		if wanted {
			width := (cardWidth-2*margin-columnGap)/2 - signWidth
			out = append(out, entry{wrap(legendFace(), s.sayKey(key), width), sign})
		}
	}
	form := tagForm{px: 30}
	for _, bracket := range []bool{false, true} {
		key := "card.legend.screw"
		if bracket {
			key = "card.legend.bracket"
		}
		add(w.anyTag(func(t *tag) bool { return t.screw && t.bracket == bracket }), key, func(box image.Rectangle) {
			s.drawNumber(&tag{number: "150", screw: true, bracket: bracket}, form, box)
		})
	}
	add(w.anyTag(func(t *tag) bool { return t.packer && !t.trouble }), "card.legend.packer", func(box image.Rectangle) {
		example := &tag{stack: "4+1"}
		s.drawStack(example, form.boxFace(example), middle(box, 76, 36))
	})
	add(w.anyTag(func(t *tag) bool { return t.trouble }), "card.legend.trouble", func(box image.Rectangle) {
		example := &tag{stack: "!", trouble: true}
		s.drawStack(example, form.boxFace(example), middle(box, 36, 36))
	})
	add(w.opens(), "card.legend.hinges", func(box image.Rectangle) {
		b := middle(box, 70, 40)
		s.fill(image.Rect(b.Min.X, b.Min.Y+19, b.Max.X, b.Min.Y+21), black)
		s.fill(image.Rect(b.Min.X+4, b.Min.Y+14, b.Min.X+26, b.Min.Y+26), black)
		s.fill(image.Rect(b.Max.X-26, b.Min.Y+14, b.Max.X-4, b.Min.Y+26), black)
	})
	for _, role := range []calc.Role{calc.Heel, calc.Toe, calc.Setting, calc.Location} {
		add(w.has(role), "card.legend."+string(role), func(box image.Rectangle) {
			w.drawBadge(role, middle(box, w.badgeWidth(role), badge))
		})
	}
	add(w.hidden(), "card.legend.measured", func(box image.Rectangle) {
		y := float64(box.Min.Y+box.Max.Y) / 2
		s.dashes(point{float64(box.Min.X), y}, point{float64(box.Max.X - 12), y}, 3, black)
	})
	add(w.p.Opening.SillDepth.IsPositive(), "card.legend.sill_piece", func(box image.Rectangle) {
		b := middle(box, 76, 22)
		s.fill(b, grey)
		s.outline(b, 3, black)
	})
	return out
}

// middle is a box of the given size in the middle of another.
func middle(box image.Rectangle, width, height int) image.Rectangle {
	x, y := box.Min.X+(box.Dx()-width)/2, box.Min.Y+(box.Dy()-height)/2
	return image.Rect(x, y, x+width, y+height)
}

// anyTag reports whether any side has such a tag.
func (w *window) anyTag(is func(*tag) bool) bool {
	return slices.ContainsFunc(sides[:], func(side calc.Side) bool { return slices.ContainsFunc(w.sides[side].tags, is) })
}

func (w *window) opens() bool {
	for _, l := range w.p.Layout.Lights {
		if _, ok := l.Hinge.Side(); ok {
			return true
		}
	}
	return false
}

func (w *window) has(r calc.Role) bool {
	for _, g := range w.p.Glass {
		for _, b := range g.Blocks {
			if b.Role == r {
				return true
			}
		}
	}
	return false
}

func (e entry) height() int { return max(entryHeight, len(e.lines)*lineHeight(legendFace())+10) }

// height is of a whole legend, two entries side by side.
func height(legend []entry) int {
	total := 16
	for i := 0; i < len(legend); i += 2 {
		total += rowHeight(legend, i)
	}
	return total
}

func rowHeight(legend []entry, i int) int {
	if i+1 < len(legend) {
		return max(legend[i].height(), legend[i+1].height())
	}
	return legend[i].height()
}

func (s *sheet) drawLegend(legend []entry) {
	f := legendFace()
	s.y += 16
	column := (cardWidth - 2*margin + columnGap) / 2
	for i, e := range legend {
		row := rowHeight(legend, i-i%2)
		x := margin + i%2*column
		e.sign(image.Rect(x, s.y, x+signWidth-12, s.y+row))
		y := s.y + (row-len(e.lines)*lineHeight(f))/2
		for _, line := range e.lines {
			s.text(line, f, x+signWidth, y, black)
			y += lineHeight(f)
		}
		if i%2 == 1 || i == len(legend)-1 {
			s.y += row
		}
	}
}
