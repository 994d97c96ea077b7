package scene

import (
	"slices"

	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// Mark is what is asked of the glass of one light.
type Mark struct {
	Asked bool // it has to be safety glass
	Class int  // of BS EN 12600, 1 the strictest; 0: none is named
}

// Marks are what findings ask of the glass of n lights.
func Marks(findings []safety.Finding, n int) []Mark {
	out := make([]Mark, n)
	for _, f := range findings {
		if !AsksGlass(f) {
			continue
		}
		for light := range out {
			if len(f.Lights) > 0 && !slices.Contains(f.Lights, light) {
				continue
			}
			out[light].Asked = true
			if class := int(f.Figures["class"].IntPart()); class > 0 && (out[light].Class == 0 || class < out[light].Class) {
				out[light].Class = class
			}
		}
	}
	return out
}

// AsksGlass tells whether a finding asks something of the glass; beside a bath a
// code of practice may advise it with a class.
func AsksGlass(f safety.Finding) bool {
	_, class := f.Figures["class"]
	return f.Severity == safety.Must && f.Topic == safety.Glass || f.Topic == safety.Bath && (class || f.Severity == safety.Must)
}

// words are the mark as it stands on the pane; none where nothing is asked.
func (m Mark) words(v Voice) string {
	switch {
	case !m.Asked:
		return ""
	case m.Class == 0:
		return v.Key("card.safety")
	}
	return v.Say(phrase.Of("card.safety.class").WithInt("class", m.Class))
}
