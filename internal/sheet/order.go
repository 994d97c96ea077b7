package sheet

import (
	"strconv"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/scene"
)

func (p Printer) orderLayout(s job.OrderSheet) *layout {
	o := &order{layout: newLayout(p), sheet: s}
	var rows [][]string
	for i, l := range s.Lines {
		rows = append(rows, o.summaryRow(i, l))
		o.note(i, l)
	}
	o.newPage()
	o.front()
	o.head = o.runningHead
	o.changes()
	o.overview(rows)
	o.signOff()
	for i, l := range s.Lines {
		o.line(i, l)
	}
	o.foot(o.name())
	return o.layout
}

// name is the sheet's name: what it is, of which job and revision.
func (o *order) name() string {
	switch {
	case o.sheet.Ref == "":
		return o.key("sheet.order.title")
	case o.sheet.Revision == "":
		return o.words(phrase.Of("sheet.order.name").Saying("ref", o.sheet.Ref))
	}
	return o.words(phrase.Of("sheet.order.name_revision").Saying("ref", o.sheet.Ref).Saying("revision", o.sheet.Revision))
}

// warning is why nothing may be made by this sheet; empty when it may.
func (o *order) warning() string {
	switch {
	case o.sheet.Ref == "":
		return o.key("sheet.order.plans_only")
	case o.sheet.Held:
		return o.words(phrase.Of("sheet.order.held").Saying("revision", o.sheet.Revision))
	case o.sheet.Revision == "":
		return o.key("sheet.order.not_sent")
	}
	return ""
}

// runningHead is on every page but the first.
func (o *order) runningHead() {
	o.paragraph(o.name(), scene.Bold(9))
	if warning := o.warning(); warning != "" {
		o.band(warning, 9)
	}
	o.level(left, o.y+1, width, 0.5)
	o.y += 4
}

// front is the head of the first page.
func (o *order) front() {
	s := o.sheet
	end := o.revisionBox()
	roomy := width - 52
	o.y += o.Under(box(left, o.y, roomy, pageHeight), o.key("sheet.order.title"), scene.Bold(20))
	o.y += o.Under(box(left, o.y, roomy, pageHeight), o.reference(), scene.Bold(15)) + 2
	o.y = max(o.y, end)
	facts := []row{}
	add := func(key, words string) {
		if words != "" {
			facts = append(facts, row{label: o.key(key), parts: []part{{words, scene.Regular(9)}}})
		}
	}
	add("sheet.label", s.Label)
	add("sheet.address", s.Address)
	add("sheet.contact", clean(s.Contact))
	add("sheet.fitter", s.Fitter)
	if !s.Sent.IsZero() {
		add("sheet.sent", o.day(s.Sent))
	}
	add("sheet.printed", o.day(o.made))
	add("sheet.windows", o.words(phrase.Of("sheet.windows_lines").WithInt("lines", o.sum.lines).WithInt("count", o.sum.windows)))
	o.sums(add)
	o.flow(facts, column{left, 32, width}, func() {})
	o.y += 2
	if warning := o.warning(); warning != "" {
		o.band(warning, 13)
		o.y += 1
	}
	o.paragraph(o.key("sheet.order.how_to_read"), scene.Regular(8.5))
	o.y += 2.5
}

// sums are what all windows weigh and cost, or those of some lines.
func (o *order) sums(add func(key, words string)) {
	t, weight, price := o.sum, "sheet.weight.all", "sheet.price.sum"
	if t.weighed < t.lines {
		weight = "sheet.weight.all.some"
	}
	if t.priced < t.lines {
		price = "sheet.price.sum.some"
	}
	if t.weighed > 0 {
		add("sheet.weight", o.words(phrase.Of(weight).With("kg", t.mass).WithInt("lines", t.weighed).WithInt("of", t.lines)))
	}
	if t.priced > 0 {
		add("sheet.price.all", o.words(phrase.Of(price).Saying("sum", o.price(t.price)).WithInt("lines", t.priced).WithInt("of", t.lines)))
	}
}

func (o *order) reference() string {
	if o.sheet.Ref == "" {
		return ""
	}
	return o.words(phrase.Of("sheet.job").Saying("ref", o.sheet.Ref))
}

// revisionBox stands in the top right corner; it gives where that ends.
func (o *order) revisionBox() float64 {
	if o.sheet.Revision == "" {
		return o.y
	}
	const wide = 48.0
	stack := func(key phrase.Text) (scene.Font, []string) {
		return scene.Squeezed(o.words(key), wide-2, 5, scene.Fonts(scene.Regular, 9.5, 8, 7)...)
	}
	titleFont, title := stack(phrase.Of("sheet.revision"))
	letter := clean(o.sheet.Revision)
	letterFont := scene.Largest(letter, wide-4, scene.Fonts(scene.Bold, 24, 20, 16)...)
	noteFont, note := scene.Regular(7), []string(nil)
	if before := clean(o.sheet.Replaces); before != "" {
		noteFont, note = stack(phrase.Of("sheet.replaces").Saying("revision", before))
	}
	b := box(right-wide, top, wide, titleFont.Height(title)+letterFont.Line()+noteFont.Height(note)+2)
	o.Frame(b, 0.7, scene.Black)
	y := b.Y + 1
	for _, part := range []struct {
		lines []string
		font  scene.Font
	}{{title, titleFont}, {[]string{letter}, letterFont}, {note, noteFont}} {
		for _, line := range part.lines {
			o.Centred(line, part.font, box(b.X, y, b.W, part.font.Line()), scene.Black)
			y += part.font.Line()
		}
	}
	return b.Bottom() + 1
}

// changes says what is different from the revision before.
func (o *order) changes() {
	before := clean(o.sheet.Replaces)
	if before == "" {
		return
	}
	heading := o.words(phrase.Of("sheet.changes").Saying("revision", before))
	o.heading(heading, 12)
	if len(o.sheet.Changes) == 0 {
		o.paragraph(o.key("sheet.changes.none"), scene.Regular(9.5))
	}
	f := scene.Regular(9.5)
	for _, c := range o.sheet.Changes {
		for n, line := range f.Wrap(o.words(c.Text()), width-6) {
			if o.need(f.Line()) {
				o.heading(heading, 12)
			}
			if n == 0 {
				o.Fill(box(left+1, o.y+f.Line()/2-0.6, 1.2, 1.2), scene.Black)
			}
			o.Text(line, f, box(left+6, o.y, width-6, f.Line()), scene.Black)
			o.y += f.Line()
		}
		o.y += 0.5
	}
	o.y += 3
}

// longTable is how many lines a table has that may fill the first page: what is not
// known then stands before it.
const longTable = 20

// overview is what comes before the lines.
func (o *order) overview(rows [][]string) {
	if len(rows) > longTable {
		o.notSaid()
	}
	o.summary(rows)
	o.general(len(rows))
	if len(rows) <= longTable {
		o.notSaid()
	}
}

// summary is the table of all lines.
func (o *order) summary(rows [][]string) {
	t := table{
		columns: []tableColumn{
			{"sheet.number", 11, true}, {"sheet.opening", 47, false}, {"sheet.quantity", 19, true},
			{"sheet.size", 37, true}, {"sheet.frame", 34, false}, {"sheet.state", width - 148, false},
		},
		rows: rows,
	}
	o.heading(o.key("sheet.all_lines"), o.tableStart(t))
	o.table(t)
	o.y += 3
}

// general says what holds for every line, or for some of them, of the house.
func (o *order) general(lines int) {
	if len(o.all) == 0 {
		return
	}
	f := scene.Regular(8.5)
	o.heading(o.key("sheet.general"), f.Line())
	for _, a := range o.all {
		if len(a.lines) < lines {
			a.words = o.words(phrase.Of("sheet.general.lines").WithInt("count", len(a.lines)).Saying("numbers", ranges(a.lines))) + " " + a.words
		}
		o.paragraph(a.words, f)
	}
	o.y += 3
}

// summaryRow is the row of one line in that table.
func (o *order) summaryRow(i int, l job.SheetLine) []string {
	return []string{
		strconv.Itoa(i + 1), o.named(l.Name, l.Room), strconv.Itoa(l.Quantity), o.size(l.Line), o.frameWords(l.Line), o.stateWords(l),
	}
}

// signOff is where the desk signs when it works on paper.
func (o *order) signOff() {
	if o.sheet.Ref == "" || o.sheet.Held || o.sheet.Revision == "" {
		return
	}
	o.need(22)
	o.y += 7
	x, low := left, o.y+8
	for _, part := range []struct {
		key string
		w   float64
	}{{"sheet.sign.desk", 80}, {"sheet.sign.day", 40}, {"sheet.sign.delivery", 48}} {
		o.level(x, o.y, part.w, 0.25)
		low = max(low, o.y+0.5+o.Under(box(x, o.y+0.5, part.w, 14), o.key(part.key), scene.Fonts(scene.Regular, 8, 7)...))
		x += part.w + 6
	}
	o.y = low
}
