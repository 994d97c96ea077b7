package sheet

import (
	"cmp"
	"slices"
	"strconv"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
	"sillbot/internal/scene"
)

// Sizes of a line's block, mm.
const (
	pictureWidth = 84.0
	rowsLeft     = left + pictureWidth + 5
	blockGap     = 6.0
)

// line draws one line of the order: its drawing at the left and what it says
// at the right. It stands on one page where it can.
func (o *order) line(n int, l job.SheetLine) {
	c := column{rowsLeft, 27, right - rowsLeft}
	under := column{left, 27, pictureWidth}
	pic := scene.NewOrder(o.voice, l.Size, l.Layout, l.Sill.IsPositive(), pictureWidth)
	sizeLabel := labelFont.Wrap(o.key("sheet.size_label"), c.width)
	sizeWords := o.size(l.Line)
	sizeFont := scene.Largest(sizeWords, c.width, scene.Fonts(scene.Bold, 21, 18, 15, 12, 9, 7)...)
	sizeHeight := labelFont.Height(sizeLabel) + sizeFont.Line()
	rows, people, h := o.balanced(o.rows(l, pic), o.peopleRows(l), c, under, sizeHeight, pic.Height)
	h += o.titleHeight(l)
	o.need(h)
	whole := h <= o.room()
	start := o.lineTitle(n, l, false)
	pic.Draw(o.Scene, scene.Point{X: left, Y: start})
	end := start + pic.Height
	if whole {
		o.y = end
		o.flow(people, under, func() {})
		end = o.y
	} else {
		// Too much for a page: one column, as far as it goes.
		rows = append(rows, people...)
	}
	o.y = start + o.Lines(sizeLabel, labelFont, box(c.x, start, c.width, sizeHeight), scene.Black)
	o.Text(sizeWords, sizeFont, box(c.x, o.y, c.width, sizeHeight), scene.Black)
	o.y = start + sizeHeight
	page := o.begun
	o.flow(rows, c, func() { o.y = o.lineTitle(n, l, true) })
	if page == o.begun {
		o.y = max(o.y, end)
	}
	o.y += blockGap
}

// mostMoved is how many rows may stand under the drawing instead of at its
// right. What the window is made of is never among them.
const mostMoved = 3

// balanced moves the last rows at the right under the drawing as long as that
// makes the block lower. It gives the height of the block without its heading.
func (o *order) balanced(rows, people []row, c, under column, size, drawing float64) (atRight, atLeft []row, h float64) {
	high := func(rows []row, c column) float64 { return unitsHeight(o.units(rows, c)) }
	h = max(size+high(rows, c), drawing+high(people, under))
	for range mostMoved {
		last := rows[len(rows)-1]
		moved := append([]row{last}, people...)
		next := max(size+high(rows[:len(rows)-1], c), drawing+high(moved, under))
		if next >= h || last.fixed {
			break
		}
		rows, people, h = rows[:len(rows)-1], moved, next
	}
	return rows, people, h
}

const titlePad = 1.4

var titleFont = scene.Bold(12)

// lineTitle is the heading of a block: number, name and quantity. It gives
// where the block goes on.
func (o *order) lineTitle(n int, l job.SheetLine, again bool) float64 {
	name, quantity := o.titleWords(l, again)
	o.blockTitle(n, name, quantity)
	if words := o.dont(l); words != "" {
		o.y += 0.6
		o.band(words, 10)
	}
	o.y += 2
	return o.y
}

// countWide is the room for the quantity in a block's heading.
const countWide = 52.0

// blockTitle draws the heading of a block: its number, a name and a quantity.
func (l *layout) blockTitle(n int, name, quantity string) {
	h := l.blockTitleHeight(name)
	b := box(left, l.y, width, h)
	l.Fill(b, scene.Faint)
	number := box(left, l.y, 13, h)
	l.Fill(number, scene.Black)
	l.Into(number, strconv.Itoa(n+1), scene.Paper, titleFont)
	l.Lines(titleFont.Wrap(name, nameWide), titleFont, box(left+16, l.y+titlePad, nameWide, h), scene.Black)
	f, lines := scene.Squeezed(quantity, countWide, h, scene.Fonts(scene.Bold, 12, 10, 8, 7, 6, 5, 4)...)
	y := l.y + titlePad
	if len(lines) > 1 {
		y = l.y + (h-f.Height(lines))/2
	}
	for i, line := range lines {
		l.Ended(line, f, box(right-3-countWide, y+float64(i)*f.Line(), countWide, f.Line()), scene.Black)
	}
	l.y += h
}

const nameWide = width - 16 - 3 - 3 - countWide

func (l *layout) blockTitleHeight(name string) float64 {
	return float64(max(1, len(titleFont.Wrap(name, nameWide))))*titleFont.Line() + 2*titlePad
}

func (o *order) titleWords(l job.SheetLine, again bool) (name, quantity string) {
	name = cmp.Or(clean(l.Name), o.key("sheet.no_name"))
	if again {
		name = o.words(phrase.Of("sheet.continued").Saying("name", name))
	}
	return name, o.words(phrase.Of("sheet.title_quantity").WithInt("count", l.Quantity))
}

func (o *order) titleHeight(l job.SheetLine) float64 {
	name, _ := o.titleWords(l, false)
	h := o.blockTitleHeight(name) + 2
	if words := o.dont(l); words != "" {
		f := scene.Bold(10)
		h += f.Height(f.Wrap(words, width-6)) + 4
	}
	return h
}

// dont is why a line must not be made; empty when it may be.
func (o *order) dont(l job.SheetLine) string {
	if len(o.holds) > 0 {
		return o.words(phrase.Of("sheet.dont.hold").WithLines("reasons", o.holds...))
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
	say   = scene.Regular(9)
	loud  = scene.Bold(9.5)
	small = scene.Regular(7.5)
)

// rows are what the window is to be, besides its size.
func (o *order) rows(l job.SheetLine, pic *scene.Order) []row {
	rows := []row{
		{label: o.key("sheet.sill"), parts: []part{{o.sillWords(l.Line), say}}},
		{label: o.key("sheet.frame"), parts: []part{{o.frameWords(l.Line), loud}}},
	}
	if l.Colour == "" && l.Material != calc.PVCUWhite {
		rows[1].parts = append(rows[1].parts, part{o.key("sheet.no_colour"), say})
	}
	rows = append(rows, o.layoutRows(l.Line, pic)...)
	rows = append(rows, o.glassRows(l)...)
	rows = append(rows, o.ventRow(l.Line))
	rows = o.addParts(rows, "sheet.also_asked", o.foundParts(l.Line, func(f safety.Finding) bool {
		return f.Severity == safety.Must && !asksGlass(f) && f.Topic != safety.Vents && f.Topic != safety.Paper
	}))
	rows = o.addParts(rows, "sheet.not_known", o.notKnownParts(l))
	return append(rows, o.hardwareRow(l.Line))
}

// asksGlass tells whether a finding asks something of the glass.
func asksGlass(f safety.Finding) bool {
	_, class := f.Figures["class"]
	return f.Severity == safety.Must && f.Topic == safety.Glass || f.Topic == safety.Bath && (class || f.Severity == safety.Must)
}

// notKnown tells whether a finding says that something is not known: a reading,
// or the edition of a rule. The row of the vents says it of their area.
func notKnown(f safety.Finding) bool {
	return (f.Severity == safety.Ask || f.Severity == safety.Stop) && !asksVentArea(f)
}

// asksVentArea tells whether a finding says what vents a window or its room is to
// have.
func asksVentArea(f safety.Finding) bool {
	_, area := f.Figures["area"]
	return f.Topic == safety.Vents && (f.Severity == safety.Must || f.Severity == safety.Ask && area)
}

func (o *order) sillWords(l job.Line) string {
	if !l.Sill.IsPositive() {
		return o.key("sheet.sill.none")
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
	}
	if words := o.transomWords(l.Layout); words != "" {
		rows = append(rows, row{label: o.key("sheet.transoms"), parts: []part{{words, say}}})
	}
	var parts []part
	for _, words := range o.voice.Ways(l.Layout) {
		parts = append(parts, part{words, loud})
	}
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
	for _, stated := range l.Stated {
		rows = append(rows, row{label: o.key("name." + stated.Key), parts: []part{{clean(stated.Value), loud}}})
	}
	return append(rows, row{label: o.key("sheet.safety_glass"), parts: o.safetyParts(l.Line)})
}

func (o *order) makeUpWords(l job.SheetLine) string {
	switch {
	case slices.Contains(l.DeskDecides, "glass"):
		return o.key("line.desk_decides")
	case l.MakeUp != "":
		return clean(l.MakeUp)
	case len(l.Panes) > 0:
		return o.words(phrase.Of("sheet.panes").WithNumbers("panes", l.Panes))
	}
	return o.key("sheet.no_glass")
}

// safetyParts are the class that each light's glass must have, and what asks
// for it.
func (o *order) safetyParts(l job.Line) []part {
	var parts []part
	for _, class := range classes(l) {
		parts = append(parts, part{o.classWords(class, l), loud})
	}
	found := false
	for _, f := range l.Safety {
		if asksGlass(f) {
			found = true
			parts = append(parts, o.findingParts(f, l)...)
		}
	}
	switch {
	case found:
	case unknown(l):
		parts = append(parts, part{o.key("sheet.class_unknown"), loud})
	default:
		parts = append(parts, part{o.key("sheet.no_class"), say})
	}
	return parts
}

func (o *order) classWords(c lightClass, l job.Line) string {
	t := phrase.Of("sheet.class").WithInt("class", c.class)
	if len(l.Layout.Lights) > 1 {
		t = phrase.Of("sheet.class_lights").WithInt("class", c.class).Saying("numbers", scene.Numbers(c.lights))
	}
	return o.words(t)
}

// unknown tells whether something is missing that safety glass hangs on.
func unknown(l job.Line) bool {
	return slices.ContainsFunc(l.Safety, func(f safety.Finding) bool {
		return f.Severity == safety.Ask && (f.Topic == safety.Missing || f.Topic == safety.Glass || f.Rule == "unverified")
	})
}

// lightClass is the lights whose glass must have a class.
type lightClass struct {
	class  int
	lights []int
}

// classes are the classes that are asked for, the strictest first.
func classes(l job.Line) []lightClass {
	var out []lightClass
	for n := range l.Layout.Lights {
		class, _, ok := l.SafetyClass(n)
		if !ok {
			continue
		}
		i := slices.IndexFunc(out, func(c lightClass) bool { return c.class == class })
		if i < 0 {
			i, out = len(out), append(out, lightClass{class: class})
		}
		out[i].lights = append(out[i].lights, n)
	}
	slices.SortFunc(out, func(a, b lightClass) int { return a.class - b.class })
	return out
}

// findingParts are a finding in words, with the lights it is about, and the
// document behind it in small letters.
func (o *order) findingParts(f safety.Finding, l job.Line) []part {
	parts := []part{{o.voice.About(f.Lights, l.Layout) + o.words(plan.FindingText(f)), say}}
	if source, ok := plan.SourceText(f); ok {
		parts = append(parts, part{o.words(source), small})
	}
	return parts
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
		parts = append(parts, part{o.key("sheet.vents.unknown"), say})
	default:
		parts = append(parts, part{o.key("sheet.vents.none"), say})
	}
	return row{label: o.key("sheet.vents"), parts: parts, fixed: true}
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
	var parts []part
	for _, words := range o.hardware(l) {
		parts = append(parts, part{words, say})
	}
	if len(parts) == 0 {
		parts = append(parts, part{o.key("sheet.hardware.none"), say})
	}
	return row{label: o.key("sheet.hardware"), parts: parts}
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
	return phrase.Of("sheet.hardware.count").WithInt("n", f.Count).Word("what", "job.hardware."+f.What)
}

// peopleRows say who measured and checked, and what the desk said.
func (o *order) peopleRows(l job.SheetLine) []row {
	measured := cmp.Or(o.byWords(l.Measured), o.key("sheet.measured.unknown"))
	checked := cmp.Or(o.byWords(l.Checked), o.key("sheet.checked.nobody"))
	rows := []row{
		{label: o.key("sheet.measured"), parts: []part{{measured, say}}},
		{label: o.key("sheet.checked"), parts: []part{{checked, say}}},
	}
	if l.State == "" {
		return rows
	}
	state := o.stateWords(l)
	if l.Confirmed != nil {
		state = o.words(phrase.Of("sheet.confirmed").Saying("by", o.by(*l.Confirmed)))
	}
	rows = append(rows, row{label: o.key("sheet.state"), parts: []part{{state, loud}}})
	if l.Due != "" {
		rows = append(rows, row{label: o.key("sheet.due"), parts: []part{{o.due(l.Due), say}}})
	}
	if l.Price != nil {
		rows = append(rows, row{label: o.key("sheet.price"), parts: []part{{o.price(*l.Price), say}}})
	}
	if len(l.Notes) == 0 {
		return rows
	}
	notes := row{label: o.key("sheet.notes")}
	for _, n := range l.Notes {
		notes.parts = append(notes.parts, part{o.words(phrase.Of("sheet.note").Saying("by", o.by(n.By)).Saying("words", n.Words)), say})
	}
	return append(rows, notes)
}
