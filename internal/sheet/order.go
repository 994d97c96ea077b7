package sheet

import (
	"strconv"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/scene"
)

func (p Printer) orderLayout(s job.OrderSheet) *layout {
	o := &order{layout: newLayout(p), sheet: s}
	windows, rows := 0, [][]string(nil)
	for i, l := range s.Lines {
		windows += l.Quantity
		rows = append(rows, o.summaryRow(i, l))
	}
	o.newPage()
	o.front(len(s.Lines), windows)
	o.head = o.runningHead
	o.changes()
	o.summary(rows)
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
func (o *order) front(lines, windows int) {
	s := o.sheet
	o.revisionBox()
	roomy := width - 52
	o.y += o.Under(box(left, o.y, roomy, bottom), o.key("sheet.order.title"), scene.Bold(20))
	o.y += o.Under(box(left, o.y, roomy, bottom), o.reference(), scene.Bold(15)) + 2
	if s.Revision != "" {
		o.y = max(o.y, top+26)
	}
	facts := []row{}
	add := func(key, words string) {
		if words != "" {
			facts = append(facts, row{label: o.key(key), parts: []part{{words, scene.Regular(9.5)}}})
		}
	}
	add("sheet.label", s.Label)
	add("sheet.address", s.Address)
	add("sheet.fitter", s.Fitter)
	if !s.Sent.IsZero() {
		add("sheet.sent", o.day(s.Sent))
	}
	add("sheet.printed", o.day(o.made))
	add("sheet.windows", o.words(phrase.Of("sheet.windows_lines").WithInt("lines", lines).WithInt("count", windows)))
	o.flow(facts, column{left, 34, width}, func() {})
	o.y += 3
	if warning := o.warning(); warning != "" {
		o.band(warning, 13)
		o.y += 1
	}
	o.band(o.key("card.seen_from_outside"), 14)
	o.paragraph(o.key("sheet.order.how_to_read"), scene.Regular(9.5))
	o.y += 4
}

func (o *order) reference() string {
	if o.sheet.Ref == "" {
		return ""
	}
	return o.words(phrase.Of("sheet.job").Saying("ref", o.sheet.Ref))
}

// revisionBox stands in the top right corner.
func (o *order) revisionBox() {
	if o.sheet.Revision == "" {
		return
	}
	b := box(right-48, top, 48, 24)
	o.Frame(b, 0.7, scene.Black)
	o.Into(box(b.X+1, b.Y+0.8, b.W-2, 4.6), o.key("sheet.revision"), scene.Black, scene.Fonts(scene.Regular, 9.5, 8, 6, 5, 4)...)
	o.Centred(clean(o.sheet.Revision), scene.Largest(clean(o.sheet.Revision), b.W-4, scene.Fonts(scene.Bold, 26, 22, 18)...), box(b.X, b.Y+6, b.W, 11.5), scene.Black)
	if before := previous(o.sheet.Revision); before != "" {
		words := o.words(phrase.Of("sheet.replaces").Saying("revision", before))
		o.Into(box(b.X+1, b.Y+18, b.W-2, 5), words, scene.Black, scene.Fonts(scene.Regular, 8, 7, 6, 5, 4)...)
	}
}

// previous is the revision that this one replaces; empty for the first.
func previous(name string) string {
	n := 0
	for _, r := range name {
		if r < 'A' || r > 'Z' || n > 1_000_000 {
			return ""
		}
		n = n*26 + int(r-'A') + 1
	}
	return job.RevisionName(n - 1)
}

// changes says what is different from the revision before.
func (o *order) changes() {
	before := previous(o.sheet.Revision)
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
		o.y += 0.8
	}
	o.y += 4
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
	o.y += 4
}

// summaryRow is the row of one line in that table.
func (o *order) summaryRow(i int, l job.SheetLine) []string {
	return []string{
		strconv.Itoa(i + 1), clean(l.Name), strconv.Itoa(l.Quantity), o.size(l.Line), o.frameWords(l.Line), o.stateWords(l),
	}
}

// signOff is where the desk signs when it works on paper.
func (o *order) signOff() {
	if o.sheet.Ref == "" || o.sheet.Held || o.sheet.Revision == "" {
		return
	}
	o.need(17)
	o.y += 9
	x := left
	for _, part := range []struct {
		key string
		w   float64
	}{{"sheet.sign.desk", 80}, {"sheet.sign.day", 40}, {"sheet.sign.delivery", 48}} {
		o.level(x, o.y, part.w, 0.25)
		o.Under(box(x, o.y+0.5, part.w, 7), o.key(part.key), scene.Fonts(scene.Regular, 8, 7, 6, 5)...)
		x += part.w + 6
	}
	o.y += 9
}
