package sheet

import (
	"slices"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
	"sillbot/internal/scene"
)

// What is true of many lines is said once, with the lines.

// note keeps what is said once for all lines: what a line has of the whole house, what
// is not known of it, and its part of the sums.
func (o *order) note(n int, l job.SheetLine) {
	o.sum.add(l)
	o.noteVents(n, l.Line)
	o.noteOpen(n, l)
	for _, f := range l.Safety {
		if !scene.OfJob(f) || f.Severity == safety.Stop {
			continue
		}
		words := o.finding(f)
		if source, ok := plan.SourceText(f); ok {
			words += " " + o.words(source)
		}
		o.all = noted(o.all, words, n)
	}
}

// noteOpen keeps what is not known of a line, by question.
func (o *order) noteOpen(n int, l job.SheetLine) {
	ask := func(key string, names ...string) {
		for _, name := range names {
			o.open = notedOf(o.open, key, o.words(phrase.Of(name)), n)
		}
	}
	ask("sheet.open.decides", fieldNames(l.DeskDecides)...)
	for _, key := range l.NotKnown {
		if key != "vents" || !asksVents(l.Line) {
			ask("sheet.open.unknown", "name."+key)
		}
	}
	ask("sheet.open.unsaid", fieldNames(l.NotSaid)...)
	if l.MakeUp == "" && !slices.Contains(l.DeskDecides, "glass") {
		ask("sheet.open.unsaid", "sheet.glass")
	}
	if uncoloured(l.Line) && colourLeft(l.Line) == "" && !slices.Contains(l.NotSaid, colourKey) {
		ask("sheet.open.unsaid", "name.colour")
	}
	o.noteExamples(n, l.Worked)
}

// fieldNames are the catalogue's names of fields.
func fieldNames(keys []opening.Key) []string {
	names := make([]string, len(keys))
	for i, key := range keys {
		names[i] = "name." + key
	}
	return names
}

// notSaid says what is not known and what the desk decides, each once.
func (o *order) notSaid() {
	shares := o.shareWords()
	if len(o.open)+len(shares) == 0 {
		return
	}
	f := scene.Regular(8.5)
	o.heading(o.key("sheet.open"), f.Line())
	for _, a := range o.together(o.open) {
		key := "sheet.open.lines"
		if len(a.lines) == o.sum.lines {
			key = "sheet.open.all"
		}
		o.paragraph(o.words(phrase.Of(key).Saying("what", a.words).WithInt("count", len(a.lines)).Saying("numbers", ranges(a.lines))), f)
	}
	for _, words := range shares {
		o.paragraph(words, f)
	}
	o.y += 3
}

// together puts what is open in the same way on the same lines into one sentence.
func (o *order) together(open []ofAll) []ofAll {
	var list []ofAll
	for _, a := range open {
		i := slices.IndexFunc(list, func(b ofAll) bool { return a.ask != "" && a.ask == b.ask && slices.Equal(a.lines, b.lines) })
		if i < 0 {
			list = append(list, a)
			continue
		}
		list[i].words += ", " + a.words
	}
	for i, a := range list {
		if a.ask != "" {
			list[i].words = o.words(phrase.Of(a.ask).Saying("name", a.words))
		}
	}
	return list
}

// noteExamples keeps what of a line rests on somebody's example.
func (o *order) noteExamples(n int, w *job.Worked) {
	if w == nil {
		return
	}
	if w.GlassByExamples() {
		o.open = noted(o.open, o.key("sheet.open.glass_sizes"), n)
	}
	if w.IsExample("depth") {
		o.open = notedOf(o.open, "sheet.open.unsaid", o.key("setting.depth"), n)
	}
	if w.IsExample("profile") {
		o.open = noted(o.open, o.words(phrase.Of("sheet.open.weight").With("each", w.Profile)), n)
	}
}

// noteVents keeps which lines are in a room whose windows share vents.
func (o *order) noteVents(n int, l job.Line) {
	for _, f := range l.Safety {
		area, has := f.Figures["area"]
		if !has || !asksVentArea(f) || f.Words["room"] == "" {
			continue
		}
		i := slices.IndexFunc(o.shares, func(s share) bool { return s.room == f.Words["room"] && s.area.Equal(area) })
		if i < 0 {
			i, o.shares = len(o.shares), append(o.shares, share{room: f.Words["room"], area: area})
		}
		o.shares[i].windows += l.Quantity
		o.shares[i].lines = append(o.shares[i].lines, n)
		return
	}
}

// shareWords share the vents of a room out over its windows of this order.
func (o *order) shareWords() []string {
	var all []string
	for _, s := range o.shares {
		each, err := calc.VentShare(s.area, s.windows)
		if err != nil || s.windows < 2 || s.windows > mostShared {
			continue
		}
		all = append(all, o.words(phrase.Of("sheet.vents.share").Word("room", s.room).With("area", s.area).WithInt("count", s.windows).
			Saying("numbers", ranges(s.lines)).With("each", each)))
	}
	return all
}
