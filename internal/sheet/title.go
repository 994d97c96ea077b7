package sheet

import (
	"slices"
	"strconv"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
	"sillbot/internal/scene"
)

// labelWide is the room for the labels beside a drawing, belowWide for those under
// it.
const (
	labelWide = 23.0
	belowWide = 27.0
)

// sized is the order size in large figures, and what it is in small letters
// behind it, or over it where there is no room behind.
type sized struct {
	words  string
	font   scene.Font
	label  []string
	behind bool
	height float64
}

func (o *order) sizeOf(l job.Line, c column) sized {
	s := sized{words: o.size(l), label: labelFont.Wrap(o.key("sheet.size_label"), c.width)}
	s.font = scene.Largest(s.words, c.width, scene.Fonts(scene.Bold, 17, 15, 12, 9, 7)...)
	s.height = s.font.Line()
	s.behind = len(s.label) == 1 && s.font.Width(s.words)+3+labelFont.Width(s.label[0]) <= c.width
	if !s.behind {
		s.height += labelFont.Height(s.label)
	}
	return s
}

func (o *order) drawSize(s sized, c column, y float64) {
	b := box(c.x, y, c.width, s.height)
	if s.behind {
		x := s.font.Width(s.words) + 3
		o.Text(s.words, s.font, b, scene.Black)
		o.Text(s.label[0], labelFont, box(c.x+x, y+labelFont.Beside(s.font), c.width-x, s.height), scene.Black)
		return
	}
	b.Y += o.Lines(s.label, labelFont, b, scene.Black)
	o.Text(s.words, s.font, b, scene.Black)
}

const titlePad = 0.8

var titleFont = scene.Bold(12)

// lineTitle is the heading of a block: number, name and quantity, why it must not
// be made, and what a qualified person said. It gives where the block goes on.
func (o *order) lineTitle(n int, l job.SheetLine, again bool) float64 {
	name, quantity := o.titleWords(l, again)
	o.blockTitle(n, name, quantity)
	if words := o.dont(l); words != "" {
		o.y += 0.6
		o.band(words, 10)
	}
	if lines := o.lifted(l.Line); len(lines) > 0 {
		b := box(left, o.y+0.8, width, loud.Height(lines)+1.6)
		o.Frame(b, 0.4, scene.Black)
		o.Lines(lines, loud, box(left+2, b.Y+0.8, width-4, b.H), scene.Black)
		o.y = b.Bottom()
	}
	o.y += 1.4
	return o.y
}

// lifted is what a qualified person said of the stops of a line.
func (o *order) lifted(l job.Line) (lines []string) {
	for _, f := range l.Safety {
		if scene.Lifts(f) {
			lines = append(lines, loud.Wrap(o.voice.Finding(f), width-4)...)
		}
	}
	return lines
}

// countWide is the room for the quantity in a block's heading.
const countWide = 52.0

// blockTitle draws the heading of a block: its number, a name and a quantity.
func (l *layout) blockTitle(n int, name, quantity string) {
	h := l.blockTitleHeight(name, quantity)
	b := box(left, l.y, width, h)
	l.Fill(b, scene.Faint)
	number := box(left, l.y, 13, h)
	l.Frame(number, 0.5, scene.Black)
	l.Into(number, strconv.Itoa(n+1), scene.Black, titleFont)
	l.Lines(titleFont.Wrap(name, nameWide), titleFont, box(left+16, l.y+titlePad, nameWide, h), scene.Black)
	f, lines := quantityLines(quantity)
	for i, line := range lines {
		l.Ended(line, f, box(right-3-countWide, l.y+titlePad+float64(i)*f.Line(), countWide, f.Line()), scene.Black)
	}
	l.y += h
}

const nameWide = width - 16 - 3 - 3 - countWide

func quantityLines(quantity string) (scene.Font, []string) {
	return scene.Squeezed(quantity, countWide, titleFont.Line(), scene.Fonts(scene.Bold, 12, 10, 8, 7)...)
}

func (l *layout) blockTitleHeight(name, quantity string) float64 {
	f, lines := quantityLines(quantity)
	return max(titleFont.Line(), titleFont.Height(titleFont.Wrap(name, nameWide)), f.Height(lines)) + 2*titlePad
}

func (o *order) titleWords(l job.SheetLine, again bool) (name, quantity string) {
	name = o.named(l.Name, l.Room)
	if again {
		name = o.words(phrase.Of("sheet.continued").Saying("name", name))
	}
	return name, o.words(phrase.Of("sheet.title_quantity").WithInt("count", l.Quantity))
}

func (o *order) titleHeight(l job.SheetLine) float64 {
	h := o.blockTitleHeight(o.titleWords(l, false)) + 1.4
	if words := o.dont(l); words != "" {
		f := scene.Bold(10)
		h += f.Height(f.Wrap(words, width-6)) + 4
	}
	if lines := o.lifted(l.Line); len(lines) > 0 {
		h += loud.Height(lines) + 2.4
	}
	return h
}

// forbids are why a window must not be made as it stands: of a plan all that holds
// it, of a line that was sent its readings and what the rules stop.
func (o *order) forbids(l job.Line) []phrase.Text {
	if len(o.holds) > 0 {
		return o.holds
	}
	holds := slices.Clone(l.Holds)
	for _, f := range l.Safety {
		if f.Severity == safety.Stop {
			holds = append(holds, plan.FindingText(f))
		}
	}
	return holds
}

// dont is why a line must not be made; empty when it may be.
func (o *order) dont(l job.SheetLine) string {
	if holds := o.forbids(l.Line); len(holds) > 0 {
		return o.words(phrase.Of("sheet.dont.hold").WithLines("reasons", holds...))
	}
	switch stateKey(l.State) {
	case string(job.Deleted):
		return o.key("sheet.dont.deleted")
	case string(job.Changed):
		if l.State != "" {
			return o.key("sheet.dont.changed")
		}
	}
	return ""
}

var (
	say  = scene.Regular(8)
	loud = scene.Bold(8.5)
)
