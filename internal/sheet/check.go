package sheet

import (
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/scene"
)

// checkSheet is a check sheet being laid out.
type checkSheet struct {
	*layout
	sheet job.CheckSheet
}

// readings are the lengths that a lead takes, in the order of the tape. The
// catalogue names them "reading." + key.
var readings = []string{
	"width.top", "width.middle", "width.bottom", "height.left", "height.middle", "height.right",
	"diagonal.rising", "diagonal.falling", "sill_fall",
}

func (p Printer) checkLayout(s job.CheckSheet, both map[int]job.Comparison) *layout {
	c := &checkSheet{layout: newLayout(p), sheet: s}
	c.newPage()
	c.front()
	c.head = func() {
		c.paragraph(c.name(), scene.Bold(9))
		c.level(left, c.y+1, width, 0.5)
		c.y += 4
	}
	for i, o := range s.Openings {
		if compared, ok := both[o.ID]; ok {
			c.compared(i, o, compared)
		} else {
			c.blank(i, o)
		}
	}
	c.foot(c.name())
	return c.layout
}

func (c *checkSheet) name() string {
	return c.words(phrase.Of("sheet.check.name").Saying("ref", c.sheet.Ref))
}

// front is the head of the first page, with a drawing of where the tape goes.
func (c *checkSheet) front() {
	const drawing = 62.0
	roomy := width - drawing - 8
	start := c.y
	put := func(words string, f scene.Font, gap float64) {
		c.y += c.Under(box(left, c.y, roomy, pageHeight), words, f)
		if words != "" {
			c.y += gap
		}
	}
	put(c.key("sheet.check.title"), scene.Bold(20), 0)
	put(c.words(phrase.Of("sheet.job").Saying("ref", c.sheet.Ref)), scene.Bold(15), 2)
	for _, fact := range [][2]string{{"sheet.label", c.sheet.Label}, {"sheet.address", c.sheet.Address}, {"sheet.check.first_by", c.sheet.FirstBy}} {
		if words := clean(fact[1]); words != "" {
			put(c.words(phrase.Of("sheet.fact").Word("name", fact[0]).Saying("words", words)), scene.Regular(9.5), 0)
		}
	}
	put(c.words(phrase.Of("sheet.fact").Word("name", "sheet.printed").Sub1("words", phrase.Day(c.made))), scene.Regular(9.5), 2)
	put(c.key("sheet.check.blind"), scene.Bold(10.5), 1.5)
	put(c.key("sheet.check.how"), scene.Regular(9.5), 0)
	c.drawTape(box(right-drawing, start, drawing, 52))
	c.Into(box(right-drawing, start+52.5, drawing, 5), c.key("card.seen_from_outside"), scene.Black, scene.Fonts(scene.Bold, 10, 9, 8, 7)...)
	c.y = max(c.y, start+58) + 3
}

// drawTape shows an opening with the nine places of the tape, numbered as the
// boxes are.
func (c *checkSheet) drawTape(b scene.Box) {
	wall, in := b, b.Inset(9)
	c.Fill(wall, scene.Faint)
	c.Fill(in, scene.Paper)
	c.Frame(in, 0.5, scene.Black)
	n := 0
	number := func(x, y float64) {
		n++
		patch := box(x-2.1, y-2.1, 4.2, 4.2)
		c.Fill(patch, scene.Paper)
		c.Frame(patch, 0.2, scene.Black)
		c.Centred(strconv.Itoa(n), scene.Bold(8), patch, scene.Black)
	}
	for _, part := range []float64{0.1, 0.5, 0.9} {
		y := in.Y + in.H*part
		c.level(in.X, y, in.W, 0.3)
	}
	for _, part := range []float64{0.08, 0.5, 0.92} {
		c.slant(in.X+in.W*part, in.Y, in.X+in.W*part, in.Bottom(), 0.3)
	}
	c.slant(in.X, in.Bottom(), in.Right(), in.Y, 0.3)
	c.slant(in.X, in.Y, in.Right(), in.Bottom(), 0.3)
	for _, part := range []float64{0.1, 0.5, 0.9} {
		number(in.X+in.W*0.7, in.Y+in.H*part)
	}
	for _, part := range []float64{0.08, 0.5, 0.92} {
		number(in.X+in.W*part, in.Y+in.H*0.3)
	}
	number(in.X+in.W*0.18, in.Bottom()-in.H*0.18)
	number(in.X+in.W*0.18, in.Y+in.H*0.18)
	// The level on the sill, and how much its right end is lower.
	y := in.Bottom() + 3
	c.Dashes(scene.Point{X: in.X, Y: y}, scene.Point{X: in.Right(), Y: y}, 0.3)
	c.slant(in.X, y, in.Right(), y+2, 0.3)
	number(in.Right()+2.6, y+1)
}

// blank is an opening to be measured again, with room to write and none of the
// first figures.
func (c *checkSheet) blank(n int, o job.CheckOpening) {
	const h, perRow = 13.5, 5
	hints := say.Wrap(c.hints(o), width)
	c.need(c.blockTitleHeight(clean(o.Name), c.alike(o)) + say.Height(hints) + 2*(h+1.5) + 8)
	c.openingTitle(n, o)
	c.y += c.Lines(hints, say, box(left, c.y, width, 0), scene.Black) + 1.2
	w := (width - 4*1.5) / perRow
	for i, reading := range readings {
		b := box(left+float64(i%perRow)*(w+1.5), c.y+float64(i/perRow)*(h+1.5), w, h)
		c.Frame(b, 0.3, scene.Black)
		label := c.words(phrase.Of("sheet.check.box").WithInt("n", i+1).Word("reading", "reading."+reading))
		c.Under(box(b.X+1, b.Y+0.6, w-2, 4), label, scene.Fonts(scene.Regular, 7.5, 7)...)
	}
	// The last place is for who measured.
	b := box(left+4*(w+1.5), c.y+h+1.5, w, h)
	c.level(b.X, b.Bottom()-4, b.W, 0.25)
	c.Under(box(b.X, b.Bottom()-3.6, b.W, 4.5), c.key("sheet.check.sign"), scene.Regular(7))
	c.y += 2*h + 1.5 + 5
	if o.Signed != nil {
		c.signed(o)
	}
}

// hints are what has to be known to hold the tape in the right places.
func (c *checkSheet) hints(o job.CheckOpening) string {
	words := ""
	if o.Finish != "" {
		words = c.key("sheet.check.finish." + string(o.Finish))
	}
	if o.NewSill {
		words += " " + c.key("sheet.check.new_sill")
	}
	return words
}

func (c *checkSheet) openingTitle(n int, o job.CheckOpening) {
	c.blockTitle(n, clean(o.Name), c.alike(o))
	c.y += 1.2
}

// alike says of how many windows an opening stands for; empty for one.
func (c *checkSheet) alike(o job.CheckOpening) string {
	if o.Count <= 1 {
		return ""
	}
	return c.words(phrase.Of("sheet.check.alike").WithInt("count", o.Count))
}

// compared is an opening that was measured twice: both measures side by side.
func (c *checkSheet) compared(n int, o job.CheckOpening, both job.Comparison) {
	t := table{columns: []tableColumn{
		{"sheet.check.reading", 36, false}, {"sheet.check.first", 24, true}, {"sheet.check.second", 26, true},
		{"sheet.check.apart", 24, true}, {"sheet.check.likelier", 27, false}, {"sheet.check.settled", width - 137, false},
	}, heavy: map[int]bool{}}
	if len(both.Leads) > 1 {
		t.columns[2].title = "sheet.check.leads"
	}
	for i, d := range both.Differences {
		t.heavy[i] = !d.Within
		all := d.All()
		t.rows = append(t.rows, []string{
			c.key(readingKey(d.Reading)), c.value(all[0]), c.values(all[1:]), c.voice.Number(d.Apart),
			c.likelier(d), c.settled(d),
		})
	}
	h := c.blockTitleHeight(clean(o.Name), c.alike(o)) + 12
	for _, r := range t.rows {
		h += c.cells(t, r, scene.Bold(9)).height
	}
	c.need(h + 20)
	c.openingTitle(n, o)
	c.paragraph(c.words(phrase.Of("sheet.check.tolerance").With("mm", both.Tolerance)), say)
	c.y += 1
	c.table(t)
	c.y += 1
	c.closing(both)
	c.signed(o)
	c.y += 5
}

// value is a reading, or that it was not taken.
func (c *checkSheet) value(v *decimal.Decimal) string {
	if v == nil {
		return "–"
	}
	return c.voice.Number(*v)
}

// values are the readings of the leads, in the order they began.
func (c *checkSheet) values(list []*decimal.Decimal) string {
	var words []string
	for _, v := range list {
		words = append(words, c.value(v))
	}
	return strings.Join(words, " / ")
}

func readingKey(name string) string {
	if name == "sill.fall" {
		return "reading.sill_fall"
	}
	return "reading." + name
}

func (c *checkSheet) likelier(d job.Difference) string {
	switch {
	case d.Within:
		return c.key("sheet.check.same")
	case d.Likelier == "":
		return c.key("sheet.check.cannot_tell")
	}
	if place := d.Likelier.Place(); place > 1 || len(d.All()) > 2 && place == 1 {
		return c.words(phrase.Of("sheet.check.side.lead").WithInt("n", place).WithInt("chance", d.Chance))
	}
	return c.words(phrase.Of("sheet.check.side."+string(d.Likelier)).WithInt("chance", d.Chance))
}

// settled is what counts now, and who said so.
func (c *checkSheet) settled(d job.Difference) string {
	switch {
	case d.Within:
		return ""
	case d.Settled == nil:
		return c.key("sheet.check.open")
	case d.Settled.Value == nil:
		return c.words(phrase.Of("sheet.check.again").Saying("by", c.by(d.Settled.By)))
	}
	return c.words(phrase.Of("sheet.check.value").With("mm", *d.Settled.Value).Saying("by", c.by(d.Settled.By)))
}

// closing says by how much the figures fail to close, and what only one of the
// two took.
func (c *checkSheet) closing(both job.Comparison) {
	for _, m := range []struct {
		side job.Side
		off  *decimal.Decimal
	}{{job.First, both.FirstMisclosure}, {job.Second, both.SecondMisclosure}} {
		if m.off != nil {
			c.paragraph(c.words(phrase.Of("sheet.check.closes."+string(m.side)).With("mm", m.off.Abs().Round(1))), say)
		}
	}
	for i, m := range both.Leads {
		key := "sheet.check.seen"
		if m.Blind {
			key = "sheet.check.unseen"
		}
		c.paragraph(c.words(phrase.Of(key).WithInt("n", i+1).Saying("by", c.by(m.By))), say)
	}
	if len(both.NotCompared) == 0 {
		return
	}
	var names []phrase.Text
	for _, name := range both.NotCompared {
		names = append(names, phrase.Of(readingKey(name)))
	}
	c.paragraph(c.words(phrase.Of("sheet.check.only_one").WithRow("readings", names...)), say)
}

// signed is who signed, or where to sign.
func (c *checkSheet) signed(o job.CheckOpening) {
	c.y += 1
	if o.Signed != nil {
		c.paragraph(c.words(phrase.Of("sheet.check.signed").Saying("by", c.by(*o.Signed))), loud)
		return
	}
	c.need(13)
	c.y += 8
	c.level(left, c.y, 86, 0.25)
	c.Under(box(left, c.y+0.5, 86, 4.5), c.key("sheet.check.sign_settled"), scene.Fonts(scene.Regular, 8, 7)...)
	c.y += 5
}
