package sheet

import (
	"cmp"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
	"sillbot/internal/scene"
)

// Sizes of a line's block, mm.
const (
	pictureWidth = 70.0
	rowsLeft     = left + pictureWidth + 5
	blockGap     = 3.5
)

// line draws one line of the order: its drawing at the left, what it is to be at
// the right, and under both in the whole width what the rules ask, what is not
// known, and who said what. It stands on one page where it can.
func (o *order) line(n int, l job.SheetLine) {
	c := column{rowsLeft, labelWide, right - rowsLeft}
	under := column{left, belowWide, width}
	pic := lineDrawing(o.voice, l, pictureWidth, false)
	size, facts, notes := o.sizeOf(l.Line, c), o.facts(l, pic), o.below(n, l)
	beside := max(pic.Height, size.height+unitsHeight(o.units(facts, c)))
	// What is under them may go on over the page, but not begin there: a block that
	// stays whole would leave much of a page empty.
	least := o.titleHeight(l) + beside
	if whole := least + unitsHeight(o.units(notes, under)); o.room() < (o.bottom()-top)/mostEmpty {
		least = whole
	}
	o.need(max(least, o.titleHeight(l)+beside+firstOf(o.units(notes, under))))
	start := o.lineTitle(n, l, false)
	pic.Draw(o.Scene, scene.Point{X: left, Y: start})
	o.drawSize(size, c, start)
	o.y = start + size.height
	again, page := func() { o.y = o.lineTitle(n, l, true) }, o.begun
	o.flow(facts, c, again)
	if page == o.begun {
		o.y = max(o.y, start+pic.Height)
	}
	o.flow(notes, under, again)
	o.y += blockGap
}

func lineDrawing(v scene.Voice, l job.SheetLine, wide float64, screen bool) *scene.Order {
	return scene.NewOrder(v.Opening(l.Stated), scene.Made{
		Size: l.Size, Layout: l.Layout, Sill: l.Sill.IsPositive(), SillPiece: l.SillPiece, Marks: scene.Marks(l.Safety, len(l.Layout.Lights)), Screen: screen,
	}, wide)
}

// LineDrawing is the drawing of a line for a page, wide mm wide.
func (p Printer) LineDrawing(l job.SheetLine, wide float64) *scene.Order {
	return lineDrawing(scene.NewVoice(p.Say), l, wide, true)
}

// mostEmpty: less than this part of a page may be left empty.
const mostEmpty = 3

// firstOf is the height of a row's first lines.
func firstOf(units []unit) float64 { return unitsHeight(units[:min(len(units), 3)]) }

// facts are what the window is to be, besides its size.
func (o *order) facts(l job.SheetLine, pic *scene.Order) []row {
	rows := []row{
		{label: o.key("sheet.sill"), parts: []part{{o.sillWords(l.Line), say}}},
		{label: o.key("sheet.frame"), parts: []part{{o.frameWords(l.Line), loud}}},
	}
	if words := o.colourWords(l); words != "" {
		rows[1].parts = append(rows[1].parts, part{words, say})
	}
	rows = append(rows, o.layoutRows(l.Line, pic)...)
	rows = append(append(rows, o.glassRows(l)...), o.newVents(l.Line)...)
	if vents := o.ventRow(l.Line); !o.longVents(l.Line) {
		rows = append(rows, vents)
	}
	rows = append(rows, o.hardwareRow(l.Line))
	rows = append(rows, o.workedRows(l.Line)...)
	if l.State == "" {
		return rows
	}
	state := o.stateWords(l)
	if l.Confirmed != nil {
		state = o.confirmed(l)
	}
	if l.Told != nil {
		state += ". " + o.told(l)
	}
	if l.Under != "" {
		state += ". " + o.under(l)
	}
	return append(rows, row{label: o.key("sheet.state"), parts: []part{{state, loud}}})
}

// below are what the rules ask of this window and why, what is not known of it,
// what was said of it, and who measured it. What holds for the house stands once
// on the first page.
func (o *order) below(n int, l job.SheetLine) []row {
	rows := o.addParts(nil, "sheet.against", o.againstParts(l))
	rows = o.addParts(rows, "sheet.safety_glass", o.foundParts(l.Line, scene.AsksGlass))
	if o.longVents(l.Line) {
		vents := o.ventRow(l.Line)
		if words := o.shareOf(n, l.Line); words != "" {
			vents.parts = append(vents.parts, part{words, say})
		}
		rows = append(rows, vents)
	}
	rows = o.addParts(rows, "sheet.also_asked", o.foundParts(l.Line, func(f safety.Finding) bool {
		return f.Severity == safety.Must && !scene.OfJob(f) && !scene.AsksGlass(f) && f.Topic != safety.Vents && f.Topic != safety.Paper
	}))
	rows = o.addParts(rows, "sheet.not_known", o.foundParts(l.Line, notKnown))
	var said []part
	for _, n := range l.Notes {
		said = append(said, part{o.noteWords(n), say})
	}
	rows = o.addParts(rows, "sheet.notes", said)
	return append(rows, row{label: o.key("sheet.measured"), parts: []part{{o.peopleWords(l), say}}})
}

// longVents tells whether a rule says something of the vents.
func (o *order) longVents(l job.Line) bool {
	return slices.ContainsFunc(l.Safety, func(f safety.Finding) bool { return asksVentArea(f) || asksVentsHere(f) })
}

// notKnown tells whether a finding says that something of this window is not
// known. The row of the vents says it of their area, and a stop stands over it all.
func notKnown(f safety.Finding) bool {
	return f.Severity == safety.Ask && !scene.OfJob(f) && f.Topic != safety.Vents
}

// asksVentsHere tells whether a finding asks of this window or room what vents
// there were.
func asksVentsHere(f safety.Finding) bool {
	return f.Topic == safety.Vents && f.Severity == safety.Ask && !scene.OfJob(f)
}

// asksVentArea tells whether a finding says what vents a window or its room is to
// have.
func asksVentArea(f safety.Finding) bool {
	_, area := f.Figures["area"]
	return f.Topic == safety.Vents && (f.Severity == safety.Must || f.Severity == safety.Ask && area)
}

func (o *order) sillWords(l job.Line) string {
	switch {
	case !l.Sill.IsPositive():
		return o.key("sheet.sill.none")
	case l.SillPiece.IsPositive():
		return o.words(phrase.Of("sheet.sill.over").With("depth", l.Sill).With("width", l.Size.Width).With("over", l.Size.Height.Add(l.SillPiece)))
	}
	return o.words(phrase.Of("sheet.sill.depth").With("depth", l.Sill))
}

// layoutRows say how the frame is divided and how each light opens.
func (o *order) layoutRows(l job.Line, pic *scene.Order) []row {
	var rows []row
	if len(l.Layout.Mullions) > 0 {
		rows = append(rows, row{label: o.key("sheet.mullions"), parts: []part{
			{o.words(phrase.Of("sheet.mullions_at").WithNumbers("at", l.Layout.Mullions)), say},
		}})
		if words := o.evenWords(l); words != "" {
			rows[0].parts = append(rows[0].parts, part{words, say})
		}
	}
	if words := o.transomWords(l.Layout); words != "" {
		parts := []part{{words, say}}
		if l.Worked != nil && l.Worked.TwoThirds {
			parts = append(parts, part{o.key("sheet.transoms_taken"), say})
		}
		rows = append(rows, row{label: o.key("sheet.transoms"), parts: parts})
	}
	parts := []part{{strings.Join(o.voice.Opening(l.Stated).Ways(l.Layout), " · "), loud}}
	if len(l.Layout.Lights) > 1 && !pic.Numbered() {
		parts = append(parts, part{o.words(phrase.Of("sheet.lights_are").WithRow("places", lightPlaces(l.Layout)...)), say})
	}
	return append(rows, row{label: o.key("sheet.lights"), parts: parts})
}

// lightPlaces say which light is where, for a drawing too small for numbers.
func lightPlaces(l calc.Layout) []phrase.Text {
	out := make([]phrase.Text, len(l.Lights))
	for n, light := range l.Lights {
		key := "sheet.light_is"
		if light.Row == 1 {
			key = "sheet.light_is.upper"
		}
		out[n] = phrase.Of(key).WithInt("n", n+1).WithInt("column", light.Column+1)
	}
	return out
}

// transomWords give the place of the transom in each column, in one sentence
// where it is the same in all.
func (o *order) transomWords(l calc.Layout) string {
	var at []decimal.Decimal
	var each []phrase.Text
	for i, t := range l.Transoms {
		if t.IsZero() {
			continue
		}
		at = append(at, t)
		each = append(each, phrase.Of("sheet.transom_column").WithInt("column", i+1).With("at", t))
	}
	if len(at) == 0 {
		return ""
	}
	same := len(at) == l.Columns() && !slices.ContainsFunc(at, func(d decimal.Decimal) bool { return !d.Equal(at[0]) })
	if same {
		return o.words(phrase.Of("sheet.transom_at").With("at", at[0]))
	}
	return o.words(phrase.Of("sheet.transoms_at").WithRow("columns", each...))
}

// glassRows are the make-up of the glass, and where it has to be safety glass
// and why.
func (o *order) glassRows(l job.SheetLine) []row {
	rows := []row{{label: o.key("sheet.glass"), parts: []part{{o.makeUpWords(l), loud}}}}
	var items []phrase.Text
	for _, stated := range l.Stated {
		if opening.Find(stated.Key).Is(opening.Maker) {
			if stated.Value == opening.DeskSays || ofRows(l.Line, stated.Key) {
				continue // said once for all lines, or in a row of its own
			}
			items = append(items, phrase.Of("before.value").Sub1("name", phrase.Of("name."+stated.Key)).Sub1("value", job.StatedText(stated)))
			continue
		}
		rows = append(rows, row{label: o.key("name." + stated.Key), parts: []part{{clean(stated.Value), loud}}})
	}
	if len(items) > 0 {
		rows = append(rows, row{label: o.key("sheet.items"), parts: []part{{o.words(phrase.Of("sheet.items.list").WithRow("items", items...)), say}}})
	}
	return append(rows, row{label: o.key("sheet.safety_glass"), parts: o.safetyParts(l.Line)})
}

func (o *order) makeUpWords(l job.SheetLine) string {
	switch {
	case slices.Contains(l.DeskDecides, "glass"):
		return o.key("line.desk_decides")
	case l.MakeUp != "":
		return o.words(plan.GlassText(l.MakeUp))
	case len(l.Panes) > 0:
		return o.words(phrase.Of("sheet.panes").WithNumbers("panes", l.Panes))
	}
	return o.key("sheet.no_glass")
}

// findingParts are a finding in words, with the lights it is about, the document
// behind it and how far it may be trusted.
func (o *order) findingParts(f safety.Finding, l job.Line) []part {
	words := o.voice.About(f.Lights, l.Layout) + o.finding(f)
	if source, ok := plan.SourceText(f); ok {
		words += " " + o.words(source)
	}
	return []part{{words, say}}
}

func (o *order) ventRow(l job.Line) row {
	parts := o.foundParts(l, asksVentArea)
	switch {
	case len(parts) > 0:
	case l.OldVents && l.VentArea.IsPositive():
		parts = append(parts, part{o.words(phrase.Of("sheet.vents.old_area").With("area", l.VentArea)), say})
	case l.OldVents:
		parts = append(parts, part{o.key("sheet.vents.old"), say})
	case asksVents(l):
		parts = append(o.foundParts(l, asksVentsHere), part{o.key("sheet.vents.unknown"), say})[:1]
	default:
		parts = append(parts, part{o.key("sheet.vents.none"), say})
	}
	return row{label: o.key("sheet.vents"), parts: parts}
}

// foundParts are the findings that are wanted.
func (o *order) foundParts(l job.Line, wanted func(safety.Finding) bool) (parts []part) {
	for _, f := range l.Safety {
		if wanted(f) {
			parts = append(parts, o.findingParts(f, l)...)
		}
	}
	return parts
}

// allNotKnown are, for those who read nothing but this line, also what is not known
// of the house, and what stops it.
func (o *order) allNotKnown(l job.SheetLine) []part {
	parts := o.foundParts(l.Line, func(f safety.Finding) bool {
		return (f.Severity == safety.Ask || f.Severity == safety.Stop) && !notKnown(f)
	})
	return append(parts, o.notKnownParts(l)...)
}

// notKnownParts are what a rule asks for and the fields that stand there as not
// known. The row of the vents says it of them, where a rule asks.
func (o *order) notKnownParts(l job.SheetLine) []part {
	parts := o.foundParts(l.Line, notKnown)
	for _, key := range l.NotKnown {
		if key != "vents" || !asksVents(l.Line) {
			parts = append(parts, part{o.key("name." + key), say})
		}
	}
	return parts
}

// asksVents tells whether a rule asks something of the vents that is not known.
func asksVents(l job.Line) bool {
	return slices.ContainsFunc(l.Safety, func(f safety.Finding) bool { return f.Topic == safety.Vents && f.Severity == safety.Ask })
}

func (o *order) addParts(rows []row, key string, parts []part) []row {
	if len(parts) == 0 {
		return rows
	}
	return append(rows, row{label: o.key(key), parts: parts})
}

// hardwareRow is the hardware of one window.
func (o *order) hardwareRow(l job.Line) row {
	words := strings.Join(o.hardware(l), "; ")
	return row{label: o.key("sheet.hardware"), parts: []part{{cmp.Or(words, o.key("sheet.hardware.none")), say}}}
}

func (o *order) hardware(l job.Line) []string {
	var all []string
	for _, f := range l.Hardware {
		all = append(all, o.words(fittingText(f)))
	}
	for _, words := range l.Wanted {
		all = append(all, clean(words))
	}
	return all
}

func fittingText(f job.Fitting) phrase.Text {
	return phrase.Of("sheet.hardware.count").WithInt("n", f.Count).Sub1("what", phrase.Of("job.hardware."+f.What).WithInt("count", f.Count))
}

// measuredWords say who measured, or that nobody did.
func (o *order) measuredWords(l job.SheetLine) string {
	if l.CopiedFrom != 0 {
		return o.words(phrase.Of("sheet.measured.copied").WithInt("n", l.CopiedFrom))
	}
	return cmp.Or(o.byWords(l.Measured), o.key("sheet.measured.unknown"))
}

// peopleWords say who measured and who checked, and what the desk promised.
func (o *order) peopleWords(l job.SheetLine) string {
	checked := o.key("sheet.checked.nobody")
	if by := o.byWords(l.Checked); by != "" {
		checked = o.words(phrase.Of("sheet.fact").Word("name", "sheet.checked").Saying("words", by))
	}
	all := []string{o.measuredWords(l), checked}
	if l.Agreed != nil {
		all = append(all, o.words(l.Agreed.Text(o.daySaid(l.Agreed.Day))))
	}
	if l.Due != "" {
		all = append(all, o.words(phrase.Of("sheet.fact").Word("name", "sheet.due").Saying("words", o.voice.DayAs(l.Due))))
	}
	if l.Price != nil {
		all = append(all, o.words(phrase.Of("sheet.fact").Word("name", "sheet.price").Saying("words", o.priceWords(l))))
	}
	return strings.Join(all, " · ")
}
