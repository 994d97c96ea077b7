package job

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/plan"
)

// Worked is what follows from a line by the crew's figures: for who makes, lifts
// and glazes the window. Nothing of it is agreed, so that nothing of it makes a
// line another one.
type Worked struct {
	Glass []WorkedGlass `json:"glass,omitempty"` // one a light, in the order of Layout.Lights
	// Mass is of the window without hardware and sill piece, kg; zero: its glass
	// is not known.
	Mass    decimal.Decimal `json:"mass,omitzero"`
	Profile decimal.Decimal `json:"profile,omitzero"` // kg a metre behind Mass
	Faces   Faces           `json:"faces,omitzero"`
	// Examples are the crew settings behind all this that nobody gave, by the key
	// behind crew.: by those nothing is cut.
	Examples []string `json:"examples,omitempty"`
	// Without are the keys of what the window has not: sash, mullion.
	Without []string `json:"without,omitempty"`
	// Even: the mullions were placed for equal daylight. TwoThirds: the transoms
	// were placed two thirds up. Nobody gave a place.
	Even      bool `json:"even,omitempty"`
	TwoThirds bool `json:"two_thirds,omitempty"`
	// Daylight is how wide the openings between frame and mullions then are, mm, before
	// a sash goes in; zero: somebody gave a place, or not told when the line was made.
	Daylight decimal.Decimal `json:"daylight,omitzero"`
}

// WorkedGlass is the glass of one light.
type WorkedGlass struct {
	Size calc.Size       `json:"size"`          // mm, by Faces
	Mass decimal.Decimal `json:"mass,omitzero"` // kg
	Sash decimal.Decimal `json:"sash,omitzero"` // kg of the opening light with its glass
	Hang decimal.Decimal `json:"hang,omitzero"` // kg that its hinges are rated for at least
}

// Faces are the crew's profile, mm.
type Faces struct {
	Outer   decimal.Decimal `json:"outer"`
	Sash    decimal.Decimal `json:"sash"`
	Mullion decimal.Decimal `json:"mullion"`
	Cover   decimal.Decimal `json:"cover"` // of the glass by the rebate
	Depth   decimal.Decimal `json:"depth"`
}

// IsExample says whether the setting of that key is nobody's figure.
func (w Worked) IsExample(keys ...string) bool {
	return slices.ContainsFunc(keys, func(key string) bool { return slices.Contains(w.Examples, key) })
}

// Unused says whether the window has nothing that the setting of that key is of.
func (w Worked) Unused(key string) bool { return slices.Contains(w.Without, key) }

// GlassByExamples says whether the sizes of the glass rest on somebody's example.
func (w Worked) GlassByExamples() bool { return w.IsExample("outer", "sash", "mullion", "rebate") }

func workedOf(p plan.Plan) *Worked {
	s := p.Crew.Settings
	w := &Worked{
		Mass: p.Weight.Window, Profile: s.ProfileMass,
		Faces:     Faces{s.OuterFace, s.SashFace, s.MullionFace, s.EdgeCover, s.FrameDepth},
		Even:      len(p.Opening.Layout.Mullions) == 0 && len(p.Layout.Mullions) > 0,
		TwoThirds: len(p.Opening.Layout.Transoms) == 0 && len(p.Layout.Transoms) > 0,
	}
	if w.Even {
		w.Daylight = calc.EvenDaylight(p.Order.Size.Width, len(p.Layout.Mullions), s)
	}
	w.examples(p)
	for i, g := range p.Glass {
		glass := WorkedGlass{Size: g.Glass, Mass: g.Mass, Hang: g.Carry}
		if len(p.Weight.Lights) > 0 {
			glass.Sash = p.Weight.Lights[i]
		}
		w.Glass = append(w.Glass, glass)
	}
	return w
}

// examples notes which settings of the profile the crew left as they usually are, as
// far as this window has what they are of.
func (w *Worked) examples(p plan.Plan) {
	opens := slices.ContainsFunc(p.Layout.Lights, func(l calc.Light) bool { return l.Hinge != calc.FixedLight })
	used := map[string]bool{
		"outer": true, "rebate": true, "depth": true, "sash": opens, "mullion": len(p.Layout.Lights) > 1, "profile": p.Weight.Window.IsPositive(),
	}
	changed := p.Crew.Changed()
	for _, key := range []string{"outer", "sash", "mullion", "rebate", "depth", "profile"} {
		switch {
		case !used[key]:
			w.Without = append(w.Without, key)
		case opening.StatedAs(changed, opening.CrewPrefix+key) == "":
			w.Examples = append(w.Examples, key)
		}
	}
}
