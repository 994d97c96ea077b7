package scene

import (
	"slices"

	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// Mark is what is asked of the glass of one light.
type Mark struct {
	Asked  bool   // it has to be safety glass
	Class  int    // of BS EN 12600, 1 the strictest; 0: none is named
	Sheets Sheets // of the unit
}

// Sheets are which sheets of a unit have to be safety glass.
type Sheets int

// The sheets, the weakest demand first.
const (
	Unsaid Sheets = iota
	Inner         // at least
	Both
)

// sheetsOf says which sheets a rule asks for, as its sentence does.
var sheetsOf = map[string]Sheets{
	"glass_window": Both, "glass_door": Both, "glass_beside_door": Both, "glass_beside_any": Both, "glass_window_inner": Inner,
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
			out[light].Sheets = max(out[light].Sheets, sheetsOf[f.Rule])
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

// Short is the mark where there is no room for more, of a light that has one.
func (m Mark) Short() phrase.Text {
	if m.Class == 0 {
		return phrase.Of("card.safety")
	}
	return phrase.Of("card.safety.short").WithInt("class", m.Class)
}

// Text is the mark as it stands on the pane, of a light that has one.
func (m Mark) Text() phrase.Text {
	switch {
	case m.Class == 0:
		return phrase.Of("card.safety")
	case m.Sheets == Both:
		return phrase.Of("card.safety.both").WithInt("class", m.Class)
	case m.Sheets == Inner:
		return phrase.Of("card.safety.inner").WithInt("class", m.Class)
	}
	return phrase.Of("card.safety.class").WithInt("class", m.Class)
}
