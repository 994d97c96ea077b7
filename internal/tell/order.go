package tell

import (
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/talk"
)

// mostLines is how many lines of an order are written out in a message; of a
// longer order the sheet says the rest.
const mostLines = 12

// orderLines is the order for the desk, with buttons to confirm and to ask.
func (v View) orderLines(lines []phrase.Text) ([]phrase.Text, [][]talk.Button) {
	sheet := v.Job.OrderCopy()
	if sheet.Revision == "" {
		return append(lines, phrase.Of("job.order.none").Saying("ref", sheet.Ref)), nil
	}
	lines = append(lines, phrase.Of("job.order.title").Saying("ref", sheet.Ref).Saying("revision", sheet.Revision))
	if sheet.Address != "" {
		lines = append(lines, phrase.Of("job.address").Saying("address", sheet.Address))
	}
	if sheet.Contact != "" {
		lines = append(lines, phrase.Of("job.contact").Saying("contact", sheet.Contact))
	}
	common := job.Common(sheet.Lines)
	if items, ok := statedLine("job.order.items", common, nil); ok {
		lines = append(lines, items)
	}
	if len(sheet.Lines) > mostLines {
		long, buttons := v.longOrder(append(lines, leftLines(sheet.Lines)...), sheet)
		return long, append(buttons, v.paperButtons())
	}
	for _, l := range sheet.Lines {
		lines = append(lines, v.lineTexts(l, common)...)
	}
	return append(lines, leftLines(sheet.Lines)...), append(v.confirmButtons(sheet), v.paperButtons())
}

// paperButtons give the order as other papers than the one that came with it.
func (v View) paperButtons() []talk.Button {
	return []talk.Button{v.Button("job.csv", "", "orderpaper", string(talk.OrderCSV)), v.Button("job.json", "", "orderpaper", string(talk.OrderJSON))}
}

// confirmButtons confirm the lines that wait for it, or ask about them. There are
// none under an order that no longer stands.
func (v View) confirmButtons(sheet job.OrderSheet) (buttons [][]talk.Button) {
	for _, l := range sheet.Lines {
		waits := l.State == job.Ordered || l.State == job.Queried || l.State == job.Confirmed && l.Confirmed == nil
		if sheet.Held || !waits || len(buttons) >= mostRows {
			continue
		}
		row := []talk.Button{
			v.Button("job.confirm", "", "confirm", sheet.Revision, l.Opening),
			v.Button("job.query", "", "askquery", l.Opening, sheet.Revision),
		}
		row[0].Label, row[1].Label = row[0].Label.WithInt("n", l.Opening), row[1].Label.WithInt("n", l.Opening)
		if buttons == nil {
			buttons = [][]talk.Button{{v.Button("job.confirmall", "", "confirmall", sheet.Revision)}}
		}
		buttons = append(buttons, row)
	}
	return buttons
}

// OrderLine is one line of the order: what it is, then all that is said of it.
func (v View) OrderLine(l job.SheetLine) []phrase.Text { return v.lineTexts(l, nil) }

// LeftOpen says of the whole order what nobody said, what is not known and what the desk
// decides.
func LeftOpen(lines []job.SheetLine) []phrase.Text { return leftLines(lines) }

// lineTexts are one line of the order, without what is common to all of them.
func (v View) lineTexts(l job.SheetLine, common []opening.Pair) []phrase.Text {
	head := phrase.Of("job.line").WithInt("n", l.Opening).Sub1("name", roomed(l)).WithInt("quantity", l.Quantity).
		With("width", l.Size.Width).With("height", l.Size.Height).
		Word("material", "button.material."+string(l.Material)).Saying("colour", spaceBefore(l.Colour)).Sub1("state", l.State.Text())
	if l.Told != nil && l.Confirmed == nil && l.State == job.Confirmed {
		head = head.Word("state", "job.state.told")
	}
	lines := []phrase.Text{head}
	if l.Sill.IsPositive() {
		lines = append(lines, phrase.Of("order.sill").With("depth", l.Sill))
	}
	var lights []phrase.Text
	for i, light := range l.Layout.Lights {
		lights = append(lights, phrase.Of("job.line.light").WithInt("n", i+1).Word("opens", "button.light."+string(light.Hinge)))
	}
	lines = append(lines, phrase.Of("job.line.lights").WithRow("lights", lights...))
	if len(l.Layout.Mullions) > 0 {
		lines = append(lines, phrase.Of("job.line.mullions").WithNumbers("at", l.Layout.Mullions))
	}
	if len(l.Layout.Transoms) > 0 && l.Layout.Transoms[0].IsPositive() {
		lines = append(lines, phrase.Of("job.line.transoms").WithNumbers("at", l.Layout.Transoms))
	}
	if l.MakeUp != "" {
		lines = append(lines, phrase.Of("job.line.glass").Sub1("makeup", plan.GlassText(l.MakeUp)))
	}
	for _, stated := range l.Stated {
		if !opening.Find(stated.Key).Is(opening.Maker) {
			lines = append(lines, phrase.Of("echo").Sub1("name", Name(stated.Key)).Sub1("value", phrase.Of("job.words").Saying("words", stated.Value)))
		}
	}
	if items, ok := statedLine("job.line.items", l.Stated, common); ok {
		lines = append(lines, items)
	}
	if len(l.Wanted) > 0 {
		var wanted []phrase.Text
		for _, w := range l.Wanted {
			wanted = append(wanted, phrase.Of("job.line.words").Saying("words", w))
		}
		lines = append(lines, phrase.Of("job.line.wanted").WithRow("items", wanted...))
	}
	if len(l.Against) > 0 {
		lines = append(append(lines, phrase.Of("job.line.against")), v.standingLines(l.Against)...)
	}
	lines = append(lines, v.confirmedLines(l)...)
	if l.Agreed != nil {
		lines = append(lines, l.Agreed.Text(StoredDay(l.Agreed.Day)))
	}
	return append(lines, safetyLines(l)...)
}

// confirmedLines are who confirmed a line, and under which revision.
func (v View) confirmedLines(l job.SheetLine) (lines []phrase.Text) {
	if l.Confirmed != nil {
		confirmed := phrase.Of("job.line.confirmed")
		if l.Number != "" {
			confirmed = phrase.Of("job.line.confirmed.order").Saying("order", l.Number)
		}
		lines = append(lines, confirmed.Sub1("when", v.When(l.Confirmed.At)))
	}
	if l.Told != nil {
		lines = append(lines, v.told(*l.Told))
	}
	if l.Under != "" {
		lines = append(lines, phrase.Of("job.line.under").Saying("revision", l.Under))
	}
	return lines
}

// roomed is the name of a line and the room that it is for.
func roomed(l job.SheetLine) phrase.Text {
	if l.Room == "" || strings.Contains(strings.ToLower(l.Name), string(l.Room)) {
		return phrase.Of("job.words").Saying("words", l.Name)
	}
	return phrase.Of("job.line.room").Saying("name", l.Name).Word("room", "room."+string(l.Room))
}

// safetyLines are what the building regulations ask of the line: the class of
// glass of each light, and the rest.
func safetyLines(l job.SheetLine) []phrase.Text {
	var lines []phrase.Text
	for _, f := range l.Safety {
		line := phrase.Of("job.line.rule").Sub1("finding", plan.OrderText(f))
		if len(f.Lights) > 0 && len(f.Lights) < len(l.Layout.Lights) {
			var which []phrase.Text
			for _, light := range f.Lights {
				which = append(which, phrase.Of("number").WithInt("n", light+1))
			}
			line = phrase.Of("job.line.rule.lights").Sub1("finding", plan.OrderText(f)).WithRow("lights", which...)
		}
		lines = append(lines, line)
	}
	if l.Due != "" {
		lines = append(lines, phrase.Of("job.line.due").Sub1("day", StoredDay(l.Due)))
	}
	if l.Price != nil {
		lines = append(lines, phrase.Of("job.line.price").Saying("price", l.Price.StringFixed(2)))
	}
	for _, n := range l.Notes {
		lines = append(lines, noteText(l, n))
	}
	return lines
}
