package sheet

import (
	"slices"
	"strings"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
	"sillbot/internal/scene"
)

// File is the paper for the customer and building control: what was fitted where and
// what was read of it, a part a window, then what holds for all. The error is
// ErrNoLines, ErrNoFrame or ErrNoTime when there is nothing that can be printed.
func (p Printer) File(s job.FileSheet) ([]byte, error) {
	switch {
	case p.At.IsZero():
		return nil, ErrNoTime
	case len(s.Windows) == 0:
		return nil, ErrNoLines
	}
	for _, w := range s.Windows {
		if err := checkLine(w.Line); err != nil {
			return nil, err
		}
	}
	return p.pdf(p.fileLayout(s))
}

func (p Printer) fileLayout(s job.FileSheet) *layout {
	o := &order{layout: newLayout(p), sheet: job.OrderSheet{Ref: s.Ref}}
	o.newPage()
	o.fileHead(s)
	o.head = func() {
		o.paragraph(o.words(phrase.Of("sheet.file.name").Saying("ref", s.Ref)), scene.Bold(9))
		o.level(left, o.y+1, width, 0.5)
		o.y += 4
	}
	for i, w := range s.Windows {
		if i > 0 {
			o.newPage()
		}
		o.fileWindow(i, w)
	}
	if len(s.Windows) > 1 {
		o.newPage()
	}
	o.y += 4
	o.filePaper(s)
	o.fileCare(s)
	o.fileGuarantee()
	o.foot(o.words(phrase.Of("sheet.file.name").Saying("ref", s.Ref)))
	return o.layout
}

// fileHead says which job it is, and what the paper is and is not.
func (o *order) fileHead(s job.FileSheet) {
	o.paragraph(o.key("sheet.file.title"), scene.Bold(18))
	for _, words := range []string{o.reference(), clean(s.Label), clean(s.Address), o.day(o.made)} {
		if words != "" {
			o.paragraph(words, scene.Regular(10))
		}
	}
	o.y += 2
	o.paragraph(o.key("sheet.file.is"), scene.Regular(9))
	o.y += 3
}

// fileWide is the room for the labels of the file.
const fileWide = 40.0

// fileWindow is the part of one window.
func (o *order) fileWindow(n int, w job.FileWindow) {
	l := w.Line
	again := func() {
		o.blockTitle(n, o.words(phrase.Of("sheet.continued").Saying("name", clean(l.Name))), "")
		o.y += 1.4
	}
	o.blockTitle(n, clean(l.Name), o.words(phrase.Of("sheet.title_quantity").WithInt("count", l.Quantity)))
	o.y += 2
	pic := scene.NewOrder(o.voice.Opening(l.Stated), scene.Made{
		Size: l.Size, Layout: l.Layout, Sill: l.Sill.IsPositive(), SillPiece: l.SillPiece, Marks: scene.Marks(l.Safety, len(l.Layout.Lights)),
	}, width*0.45)
	o.need(pic.Height + 10)
	pic.Draw(o.Scene, scene.Point{X: left + width*0.275, Y: o.y})
	o.y += pic.Height + 1
	o.paragraph(o.key("sheet.file.drawing"), scene.Regular(8))
	c := column{left, fileWide, width}
	o.flow(o.fittedRows(w, pic), c, again)
	for _, part := range w.Read {
		o.filePart(o.words(part.Name), o.textRow("", part.Rows), c, again)
	}
	if rows := o.ruleRows(w); rows != nil {
		then := row{parts: []part{{o.key("sheet.file.rules.then"), fileFact}}}
		o.filePart(o.key("sheet.file.rules"), append([]row{then}, rows...), c, again)
	}
	o.filePart(o.key("sheet.file.snags"), o.snagRows(w), c, again)
	o.filePart(o.key("sheet.file.photos"), o.textRow(o.key("sheet.file.photos.kept"), w.Photos), c, again)
	o.filePart(o.key("sheet.file.people"), o.peopleRows(w), c, again)
}

// filePart is a heading with rows under it, and nothing where there are none.
func (o *order) filePart(title string, rows []row, c column, again func()) {
	if len(rows) == 0 {
		return
	}
	o.y += 2.5
	o.heading(title, unitsHeight(o.units(rows[:1], c)))
	o.flow(rows, c, again)
}

// textRow is one row with a text a line; none without texts.
func (o *order) textRow(label string, texts []phrase.Text) []row {
	if len(texts) == 0 {
		return nil
	}
	r := row{label: label}
	for _, t := range texts {
		r.parts = append(r.parts, part{clean(o.words(t)), fileFact})
	}
	return []row{r}
}

var fileFact, fileStrong = scene.Regular(9), scene.Bold(9)

// forCustomer are the fields stated on a line that matter after the window is in.
var forCustomer = []opening.Key{"opens", "handle", "locking", "inside", opening.ByClass, "coating", "gas", "spacer", "ug", "trickle", "trickle.place", "trickle.area", "trickle.colour", "stays", "obscure"}

// fittedRows say what was fitted.
func (o *order) fittedRows(w job.FileWindow, pic *scene.Order) []row {
	l := w.Line
	one := func(key, words string) row { return row{label: o.key(key), parts: []part{{words, fileFact}}} }
	size := o.words(phrase.Of("sheet.file.size.ordered").Saying("ordered", o.size(l)))
	if w.Came != nil {
		came := phrase.Of("card.size").With("width", w.Came.Width).With("height", w.Came.Height)
		size = o.words(phrase.Of("sheet.file.size.came").Sub1("came", came).Saying("ordered", o.size(l)))
	}
	rows := []row{one("sheet.customer.size", size), one("sheet.file.state", o.key(w.State)), one("sheet.frame", o.frameWords(l)), one("sheet.sill", o.sillWords(l))}
	if l.Quantity > 1 {
		rows = append(rows, one("sheet.file.alike", o.words(phrase.Of("sheet.file.alike.one").WithInt("count", l.Quantity))))
	}
	rows = append(rows, o.layoutRows(l, pic)...)
	glass := o.key("sheet.file.glass.open")
	if l.MakeUp != "" {
		glass = o.words(phrase.Of("sheet.file.glass").Sub1("glass", plan.GlassText(l.MakeUp)))
	}
	rows = append(rows, one("sheet.glass", glass))
	rows = append(rows, o.markRow(w), one("sheet.file.heat", o.heatWords(w)))
	var open []string
	for _, stated := range l.Stated {
		switch {
		case !slices.Contains(forCustomer, stated.Key):
		case stated.Value == opening.DeskSays:
			open = append(open, o.key("name."+stated.Key))
		default:
			rows = append(rows, one("name."+stated.Key, clean(o.words(job.StatedText(stated)))))
		}
	}
	if len(open) > 0 {
		rows = append(rows, one("sheet.file.left", o.words(phrase.Of("sheet.file.left.say").Saying("names", strings.Join(open, ", ")))))
	}
	return rows
}

// markRow is which glass had to be safety glass, and what was read of its marks.
func (o *order) markRow(w job.FileWindow) row {
	r := row{label: o.key("sheet.safety_glass")}
	found := classes(w.Line)
	for _, class := range found {
		r.parts = append(r.parts, part{o.classWords(class, w.Line), fileFact})
	}
	asked := len(found) > 0 || slices.ContainsFunc(w.Line.Safety, scene.AsksGlass)
	switch {
	case w.Marked != "":
		r.parts = append(r.parts, part{o.key(w.Marked), fileStrong})
	case asked:
		r.parts = append(r.parts, part{o.key("sheet.file.marks.nobody"), fileStrong})
	case unknown(w.Line):
		r.parts = append(r.parts, part{o.key("sheet.file.marks.unknown"), fileStrong})
	default:
		r.parts = append(r.parts, part{o.key("sheet.file.marks.none_asked"), fileFact})
	}
	return r
}

// heatWords say what the window lets out, where it was worked out.
func (o *order) heatWords(w job.FileWindow) string {
	if w.Heat == nil {
		return o.key("sheet.file.heat.open")
	}
	return o.words(phrase.Of("sheet.file.heat.worked").Saying("uw", w.Heat.Uw).Saying("ug", w.Heat.Ug).Saying("uf", w.Heat.Uf))
}

// ruleRows are what the rules say of the window, by weight, with clause and edition.
func (o *order) ruleRows(w job.FileWindow) []row {
	var rows []row
	for _, severity := range []safety.Severity{safety.Stop, safety.Must, safety.Ask, safety.Advise, safety.Clear} {
		r := row{label: o.key("sheet.file.rule." + string(severity))}
		for _, f := range w.Findings {
			if f.Severity == severity && f.Topic != safety.Hazards {
				r.parts = append(r.parts, part{o.findingWords(f, w.Line.Layout), fileFact})
			}
		}
		if r.parts != nil {
			rows = append(rows, r)
		}
	}
	return rows
}

// findingWords are a finding with the lights it is about, the document behind it and how
// far that may be trusted.
func (o *order) findingWords(f safety.Finding, l calc.Layout) string {
	words := o.voice.About(f.Lights, l) + o.voice.Finding(f)
	if source, ok := plan.SourceText(f); ok {
		return words + " " + o.words(source)
	}
	return words + " (" + o.key("mark."+string(f.Mark)) + ")"
}

// snagRows are the snags of a window, the open ones first, or that there is none.
func (o *order) snagRows(w job.FileWindow) []row {
	rows := append(o.textRow(o.key("sheet.file.snags.open"), w.Open), o.textRow(o.key("sheet.file.snags.done"), w.Done)...)
	if rows == nil {
		return o.textRow("", []phrase.Text{phrase.Of("sheet.file.snags.none")})
	}
	return rows
}

// peopleRows say who did what on which day, and the certificate's number.
func (o *order) peopleRows(w job.FileWindow) []row {
	var rows []row
	for _, by := range w.People {
		rows = append(rows, row{label: o.key(by.What), parts: []part{{o.by(by.By), fileFact}}})
	}
	words := o.key("sheet.file.certificate.open")
	if w.Certificate != "" {
		words = o.words(phrase.Of("sheet.file.certificate.is").Saying("number", clean(w.Certificate)).Saying("day", o.voice.DayAs(w.CertificateDay)))
	}
	return append(rows, row{label: o.key("sheet.file.certificate"), parts: []part{{words, fileStrong}}})
}

// filePaper is who has to be told by the nation's rules, and what else holds for the
// house.
func (o *order) filePaper(s job.FileSheet) {
	o.heading(o.key("sheet.file.route"), 8)
	var route, other []part
	for _, f := range s.Whole {
		p := part{o.findingWords(f, calc.Layout{}), fileFact}
		if f.Topic == safety.Paper {
			route = append(route, p)
		} else {
			other = append(other, p)
		}
	}
	if route == nil {
		route = []part{{o.key("sheet.file.route.open"), fileFact}}
	}
	rows := []row{{label: o.key("sheet.file.route.told"), parts: route}}
	if other != nil {
		rows = append(rows, row{label: o.key("sheet.file.house"), parts: other})
	}
	o.flow(rows, column{left, fileWide, width}, func() {})
	o.y += 4
}

// fileCare says how the windows work and are kept.
func (o *order) fileCare(s job.FileSheet) {
	o.heading(o.key("sheet.file.care"), 8)
	stays, vents, glass := false, false, false
	for _, w := range s.Windows {
		stays = stays || w.Stays
		glass = glass || slices.ContainsFunc(w.Line.Safety, scene.AsksGlass)
		vents = vents || slices.ContainsFunc(w.Line.Stated, func(p opening.Pair) bool { return p.Key == "trickle" && p.Value != "0" })
	}
	var rows []row
	add := func(wanted bool, code string) {
		if wanted {
			words := o.words(phrase.Of("plan.marked").Word("reason", "sheet.care."+code).Word("mark", "mark.C"))
			rows = append(rows, row{label: o.key("sheet.care." + code + ".name"), parts: []part{{words, fileFact}}})
		}
	}
	add(stays, "stays")
	add(vents, "vents")
	add(true, "way_out")
	add(true, "locks")
	add(true, "drains")
	add(true, "moving")
	add(true, "clean")
	add(true, "mist")
	add(glass, "marks")
	o.flow(rows, column{left, fileWide, width}, func() {})
	o.y += 4
}

// fileGuarantee is what is written in by hand: the guarantees and the signatures.
func (o *order) fileGuarantee() {
	t := table{columns: []tableColumn{
		{title: "sheet.file.guarantee.what", width: 60}, {title: "sheet.file.guarantee.by", width: 70}, {title: "sheet.file.guarantee.until", width: width - 130},
	}}
	for _, what := range []string{"frame", "glass", "work"} {
		t.rows = append(t.rows, []string{o.key("sheet.file.guarantee." + what), "", ""})
	}
	o.heading(o.key("sheet.file.guarantee"), o.tableStart(t)+40)
	o.table(t)
	o.y += 16
	o.signLines("sheet.file.sign.fitter", "sheet.file.sign.customer")
}

// signLines are lines to write on by hand, with words under each.
func (o *order) signLines(keys ...string) {
	for _, key := range keys {
		o.level(left, o.y, 86, 0.25)
		o.Under(box(left, o.y+0.5, 86, 5), o.key(key), scene.Fonts(scene.Regular, 9, 7)...)
		o.y += 16
	}
}
