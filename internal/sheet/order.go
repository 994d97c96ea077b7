package sheet

import (
	"strconv"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
)

// order is an order sheet being laid out.
type order struct {
	*layout
	sheet job.OrderSheet
	zone  *time.Location
	made  time.Time
}

func (p Printer) orderLayout(s job.OrderSheet) *layout {
	o := &order{layout: newLayout(p.Say), sheet: s, zone: p.At.Location(), made: p.At}
	o.head = func(*layout) {}
	o.newPage()
	o.front()
	o.head = func(*layout) { o.runningHead() }
	o.changes()
	o.summary()
	o.signOff()
	for i, l := range s.Lines {
		o.line(i, l)
	}
	o.foot(o.name())
	return o.layout
}

// title is what the document is called in a reader's window.
func (l *layout) title() string { return l.said["title"] }

// foot ends every page with its number and whose word counts.
func (l *layout) foot(name string) {
	l.said["title"] = name
	const countWide = 44.0
	h := lowest - footTop
	all := l.pages
	for i, p := range all {
		l.pages = []*page{p}
		l.level(left, footTop-1.2, width, 0.2, black)
		count := l.words(phrase.Of("sheet.page").WithInt("page", i+1).WithInt("pages", len(all)))
		f, lines := l.squeezed(count, countWide, h, regulars(8, 7, 6, 5)...)
		for n, line := range lines {
			l.ended(line, f, box{right - countWide, footTop + float64(n)*f.line(), countWide, f.line()}, black)
		}
		b := box{left, footTop, width - countWide - 4, h * 0.6}
		advice, lines := l.squeezed(l.key("card.advice"), b.w, b.h, bolds(8, 7, 6, 5)...)
		l.lines(lines, advice, b, black)
		b.y += float64(len(lines)) * advice.line()
		b.h = lowest - b.y
		l.under(b, name, regulars(8, 7, 6, 5, 4)...)
	}
	l.pages = all
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
	f := bold(9)
	o.within(f, o.name())
	if warning := o.warning(); warning != "" {
		o.band(warning, 9)
	}
	o.level(left, o.y+1, width, 0.5, black)
	o.y += 4
}

func (l *layout) within(f font, words string) {
	for _, line := range l.wrap(f, words, width) {
		l.text(line, f, left, l.y, black, box{left, l.y, width, f.line()})
		l.y += f.line()
	}
}

// band is white words on black across the page.
func (l *layout) band(words string, size float64) {
	f := bold(size)
	lines := l.wrap(f, words, width-6)
	b := box{left, l.y, width, float64(len(lines))*f.line() + 2.4}
	l.fill(b, black)
	for n, line := range lines {
		l.centred(line, f, box{left + 3, l.y + 1.2 + float64(n)*f.line(), width - 6, f.line()}, paper)
	}
	l.y += b.h + 1
}

// front is the head of the first page.
func (o *order) front() {
	s := o.sheet
	o.revisionBox()
	roomy := width - 52
	for _, part := range []struct {
		words string
		f     font
	}{{o.key("sheet.order.title"), bold(20)}, {o.reference(), bold(15)}} {
		for _, line := range o.wrap(part.f, part.words, roomy) {
			o.text(line, part.f, left, o.y, black, box{left, o.y, roomy, part.f.line()})
			o.y += part.f.line()
		}
	}
	o.y += 2
	if s.Revision != "" {
		o.y = max(o.y, top+26)
	}
	windows := 0
	for _, l := range s.Lines {
		windows += l.Quantity
	}
	facts := []row{}
	add := func(key, words string) {
		if words != "" {
			facts = append(facts, row{label: o.key(key), parts: []part{{words, regular(9.5)}}})
		}
	}
	add("sheet.label", s.Label)
	add("sheet.address", s.Address)
	add("sheet.fitter", s.Fitter)
	if !s.Sent.IsZero() {
		add("sheet.sent", o.day(s.Sent))
	}
	add("sheet.printed", o.day(o.made))
	add("sheet.windows", o.words(phrase.Of("sheet.windows_lines").WithInt("lines", len(s.Lines)).WithInt("count", windows)))
	o.flow(facts, column{left, 34, width}, func() {})
	o.y += 3
	if warning := o.warning(); warning != "" {
		o.band(warning, 13)
		o.y += 1
	}
	o.band(o.key("card.seen_from_outside"), 14)
	o.paragraph(o.key("sheet.order.how_to_read"), regular(9.5))
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
	b := box{right - 48, top, 48, 24}
	o.frame(b, 0.7, black)
	o.into(box{b.x + 1, b.y + 0.8, b.w - 2, 4.6}, o.key("sheet.revision"), black, regulars(9.5, 8, 6, 5, 4)...)
	o.centred(clean(o.sheet.Revision), o.fitting(clean(o.sheet.Revision), b.w-4, 26, 22, 18), box{b.x, b.y + 6, b.w, 11.5}, black)
	if before := previous(o.sheet.Revision); before != "" {
		words := o.words(phrase.Of("sheet.replaces").Saying("revision", before))
		o.into(box{b.x + 1, b.y + 18, b.w - 2, 5}, words, black, regulars(8, 7, 6, 5, 4)...)
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
		o.paragraph(o.key("sheet.changes.none"), regular(9.5))
	}
	f := regular(9.5)
	for _, c := range o.sheet.Changes {
		for n, line := range o.wrap(f, o.words(c.Text()), width-6) {
			if o.need(f.line()) {
				o.heading(heading, 12)
			}
			if n == 0 {
				o.fill(box{left + 1, o.y + f.line()/2 - 0.6, 1.2, 1.2}, black)
			}
			o.text(line, f, left+6, o.y, black, box{left + 6, o.y, width - 6, f.line()})
			o.y += f.line()
		}
		o.y += 0.8
	}
	o.y += 4
}

// heading begins a part of the sheet, with follows mm of what comes after it on
// the same page.
func (l *layout) heading(words string, follows float64) {
	f := bold(12)
	l.need(float64(len(l.wrap(f, words, width)))*f.line() + 1 + follows)
	l.paragraph(words, f)
	l.y += 1
}

// summary is the table of all lines.
func (o *order) summary() {
	t := table{
		columns: []tableColumn{
			{"sheet.number", 11, true}, {"sheet.opening", 47, false}, {"sheet.quantity", 19, true},
			{"sheet.size", 37, true}, {"sheet.frame", 34, false}, {"sheet.state", width - 148, false},
		},
	}
	for i, l := range o.sheet.Lines {
		t.rows = append(t.rows, []string{
			strconv.Itoa(i + 1), clean(l.Name), strconv.Itoa(l.Quantity), o.size(l.Line), o.frameWords(l.Line), o.stateWords(l),
		})
	}
	o.heading(o.key("sheet.all_lines"), o.tableStart(t))
	o.table(t)
	o.y += 4
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
		o.level(x, o.y, part.w, 0.25, black)
		o.under(box{x, o.y + 0.5, part.w, 7}, o.key(part.key), regulars(8, 7, 6, 5)...)
		x += part.w + 6
	}
	o.y += 9
}

// day is a day in words, in the reader's zone.
func (o *order) day(t time.Time) string { return o.words(dayText(t.In(o.zone))) }

func dayText(t time.Time) phrase.Text {
	return phrase.Of("date.day").WithInt("day", t.Day()).Saying("year", strconv.Itoa(t.Year())).
		Word("month", "month."+strconv.Itoa(int(t.Month())))
}

// by is who did something and when.
func (l *layout) by(s job.Stamp, zone *time.Location) string {
	t := phrase.Of("sheet.by")
	if s.Name != "" {
		t = phrase.Of("sheet.by_name").Saying("name", s.Name)
	}
	return l.words(t.Word("role", "sheet.role."+string(s.Role)).Sub1("day", dayText(s.At.In(zone))))
}

// due is a day as the desk promised it, in words where it is one.
func (o *order) due(day string) string {
	t, err := time.Parse(plan.DateForm, day)
	if err != nil {
		return clean(day)
	}
	return o.words(dayText(t))
}

func (o *order) size(l job.Line) string {
	return o.words(phrase.Of("card.size").With("width", l.Size.Width).With("height", l.Size.Height))
}

// frameWords are the material and the colour.
func (o *order) frameWords(l job.Line) string {
	words := ""
	if l.Material != "" {
		words = o.key("card.material." + string(l.Material))
	}
	// White PVC-U needs no word that says it is white.
	if colour := clean(l.Colour); colour != "" && !strings.HasPrefix(strings.ToLower(words), strings.ToLower(colour)+" ") {
		words = strings.TrimPrefix(words+", "+colour, ", ")
	}
	return words
}

// stateWords are how far the line has come.
func (o *order) stateWords(l job.SheetLine) string {
	if l.State == "" {
		return o.key("sheet.state.none")
	}
	return o.key("sheet.state." + stateKey(l.State))
}

// stateKey is what a desk has to tell apart of the states.
func stateKey(s job.State) string {
	switch s {
	case job.Ordered, job.Queried, job.Confirmed, job.Deleted, job.Changed:
		return string(s)
	case job.Delivered, job.Out, job.Fitted, job.Glazed, job.Sealed, job.Handed:
		return "delivered"
	}
	return string(job.Changed)
}

// price is an amount as the desk gave it, in whole units and hundredths.
func (l *layout) price(d decimal.Decimal) string {
	if d.IsInteger() || !d.Equal(d.Round(2)) {
		return l.number(d)
	}
	return strings.Replace(d.StringFixed(2), ".", l.key("number.comma"), 1)
}

// number is a figure as the reader writes it.
func (l *layout) number(d decimal.Decimal) string {
	return l.words(phrase.Of("number").With("n", d))
}
