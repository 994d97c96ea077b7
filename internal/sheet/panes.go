package sheet

import (
	"slices"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/safety"
	"sillbot/internal/scene"
)

// safetyParts are the class that each light's glass must have. What asks for it
// stands in the notes.
func (o *order) safetyParts(l job.Line) []part {
	var parts []part
	for _, class := range classes(l) {
		parts = append(parts, part{o.classWords(class, l), loud})
	}
	parts = append(parts, o.unaskedPanes(l)...)
	switch {
	case len(parts) > 0:
	case slices.ContainsFunc(l.Safety, scene.AsksGlass):
		parts = append(parts, part{o.key("sheet.class_see"), loud})
	case unknown(l):
		parts = append(parts, part{o.key("sheet.class_unknown"), loud})
	default:
		parts = append(parts, part{o.key("sheet.no_class"), say})
	}
	return parts
}

func (o *order) classWords(c lightClass, l job.Line) string {
	t := phrase.Of("sheet.class").Sub1("mark", c.mark.Text())
	if len(l.Layout.Lights) > 1 {
		t = phrase.Of("sheet.class_lights").Sub1("mark", c.mark.Text()).Saying("numbers", scene.Numbers(c.lights))
	}
	return o.words(phrase.Of("sheet.class_glass").Sub1("class", t).Saying("glass", o.paneWords(c.glass)))
}

// unknown tells whether something is missing that safety glass hangs on.
func unknown(l job.Line) bool {
	return slices.ContainsFunc(l.Safety, func(f safety.Finding) bool {
		return f.Severity == safety.Ask && (f.Topic == safety.Missing || f.Topic == safety.Glass || f.Rule == "unverified")
	})
}

// lightClass is the lights of whose glass the same is asked.
type lightClass struct {
	mark   scene.Mark
	glass  string // of what it is, as it was stated
	lights []int
}

// classes are what is asked of the glass with a class, the strictest first.
func classes(l job.Line) []lightClass {
	var out []lightClass
	for n, mark := range scene.Marks(l.Safety, len(l.Layout.Lights)) {
		if mark.Class == 0 {
			continue
		}
		glass := opening.GlassOfLight(l.Stated, n)
		i := slices.IndexFunc(out, func(c lightClass) bool { return c.mark == mark && c.glass == glass })
		if i < 0 {
			i, out = len(out), append(out, lightClass{mark: mark, glass: glass})
		}
		out[i].lights = append(out[i].lights, n)
	}
	slices.SortStableFunc(out, func(a, b lightClass) int { return a.mark.Class - b.mark.Class })
	return out
}

// paneWords are of what the glass of a class is: as it was stated of those lights.
func (o *order) paneWords(glass string) string {
	switch glass {
	case "", opening.Skipped:
		return o.key("sheet.pane.unsaid")
	case opening.DeskSays:
		return o.key("sheet.pane.desk")
	}
	return o.key("sheet.pane." + glass)
}

// unaskedPanes are the lights of which safety glass was stated by number and no rule asks
// for it.
func (o *order) unaskedPanes(l job.Line) (parts []part) {
	list, _ := opening.PanesOf(opening.StatedAs(l.Stated, opening.ByLight))
	for _, p := range list {
		if _, _, asked := l.SafetyClass(p.Light - 1); asked {
			continue
		}
		words := phrase.Of("sheet.pane.own").WithInt("n", p.Light).Word("glass", "sheet.pane."+string(p.Glass))
		parts = append(parts, part{o.words(words), loud})
	}
	return parts
}
