package sheet

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/job"
)

// jsonGlass is what is worked out of a light. With by_examples it is nothing to cut
// by: order the glass by the maker's own deductions.
type jsonGlass struct {
	Width      decimal.Decimal `json:"width"`  // mm
	Height     decimal.Decimal `json:"height"` // mm
	Weight     decimal.Decimal `json:"weight_kg,omitzero"`
	Sash       decimal.Decimal `json:"sash_weight_kg,omitzero"`  // with its glass
	Hinges     decimal.Decimal `json:"hinge_rating_kg,omitzero"` // at least, for the glass alone
	ByExamples bool            `json:"by_examples"`
}

// jsonProfile are the crew's figures of the profile, mm. Examples names those that
// are nobody's figure.
type jsonProfile struct {
	Depth     decimal.Decimal `json:"frame_depth"`
	Outer     decimal.Decimal `json:"outer_face"`
	Sash      decimal.Decimal `json:"sash_face"`
	Mullion   decimal.Decimal `json:"mullion_face"`
	Cover     decimal.Decimal `json:"edge_cover"`
	Mass      decimal.Decimal `json:"profile_mass"` // kg a metre
	Examples  []string        `json:"examples,omitempty"`
	Even      bool            `json:"mullions_placed_evenly,omitempty"` // nobody gave a place
	TwoThirds bool            `json:"transoms_two_thirds_up,omitempty"` // nobody gave a place
}

func jsonGlassOf(w *job.Worked, light int) *jsonGlass {
	if w == nil || light >= len(w.Glass) {
		return nil
	}
	g := w.Glass[light]
	return &jsonGlass{g.Size.Width, g.Size.Height, g.Mass, g.Sash, g.Hang, w.GlassByExamples()}
}

func jsonWorked(w *job.Worked) (mass decimal.Decimal, p *jsonProfile) {
	if w == nil {
		return decimal.Zero, nil
	}
	f := w.Faces
	return w.Mass, &jsonProfile{f.Depth, f.Outer, f.Sash, f.Mullion, f.Cover, w.Profile, w.Examples, w.Even, w.TwoThirds}
}

// jsonAgreed is the customer's word on the line as it stands.
type jsonAgreed struct {
	Name string `json:"name,omitempty"` // "": not shared
	Day  string `json:"day" jsonschema:"format=date"`
}

func jsonAgreedOf(l job.SheetLine) *jsonAgreed {
	if l.Agreed == nil {
		return nil
	}
	return &jsonAgreed{l.Agreed.Name, l.Agreed.Day}
}

// agreedCells are who agreed for the customer, where that is shared, and on which day.
func agreedCells(l job.SheetLine) []string {
	if l.Agreed == nil {
		return make([]string, 2)
	}
	return []string{clean(l.Agreed.Name), l.Agreed.Day}
}
