package opening

import (
	"bytes"
	"encoding/json"
	"maps"
	"reflect"
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// Crew is what a crew sets once: its profiles, its van and its terms. In a
// file only what differs from DefaultCrew need be given.
type Crew struct {
	calc.Settings
	// RebateDepth is EdgeCover by the name that it had before in files and in
	// stored jobs: read, never written.
	RebateDepth *decimal.Decimal `json:"rebate_depth,omitempty" jsonschema:"-"`

	Joint calc.JointSettings `json:"joint,omitzero"` // sealant and movement
	Store calc.StoreSettings `json:"store,omitzero"` // pack sizes
	Clear calc.ClearSettings `json:"clear,omitzero"` // what open sashes take off the way out
	Money calc.MoneySettings `json:"money,omitzero"` // VAT rate and deposit

	Patch     calc.PatchSettings     `json:"patch,omitzero"`      // making good
	Trim      calc.TrimSettings      `json:"trim,omitzero"`       // trims and extension pieces in stock
	SillPiece calc.SillPieceSettings `json:"sill_piece,omitzero"` // how it is cut and how it falls
	Drill     calc.DrillSettings     `json:"drill,omitzero"`      // holes of the frame screws
}

// DefaultCrew is every default of calc.
func DefaultCrew() Crew { return crewOf(calc.DefaultSettings()) }

// standard is what crewOf adds, made once; nothing changes its maps.
var standard = Crew{
	Joint: calc.DefaultJointSettings(), Store: calc.DefaultStoreSettings(),
	Clear: calc.DefaultClearSettings(), Money: calc.DefaultMoneySettings(),
	Patch: calc.DefaultPatchSettings(), Trim: calc.DefaultTrimSettings(),
	SillPiece: calc.DefaultSillPieceSettings(), Drill: calc.DefaultDrillSettings(),
}

func crewOf(s calc.Settings) Crew {
	c := standard
	c.Settings = s
	return c
}

// UnmarshalJSON takes what is given and keeps the rest as it was, or as
// DefaultCrew has it.
func (c *Crew) UnmarshalJSON(raw []byte) error {
	if reflect.ValueOf(*c).IsZero() {
		*c = DefaultCrew()
	}
	type plain Crew
	out := plain(*c)
	out.Joint.Expansion, out.Joint.Range = maps.Clone(out.Joint.Expansion), maps.Clone(out.Joint.Range)
	out.Drill.Pilot = maps.Clone(out.Drill.Pilot)
	for _, list := range []*[]decimal.Decimal{&out.ScrewStock, &out.Trim.Widths, &out.Trim.Extensions} {
		*list = slices.Clone(*list) // a list is read into the one that is there
	}
	if err := json.Unmarshal(raw, &out); err != nil {
		return err
	}
	if out.RebateDepth != nil {
		if bytes.Contains(raw, []byte(`"edge_cover"`)) {
			return &FieldError{"settings.rebate_depth", "is the old name of edge_cover: give one of them"}
		}
		out.EdgeCover, out.RebateDepth = *out.RebateDepth, nil
	}
	*c = Crew(out)
	return nil
}

// MarshalJSON writes only what differs from DefaultCrew: a job keeps the
// settings with each of its openings.
func (c Crew) MarshalJSON() ([]byte, error) {
	type plain Crew
	var own, usual map[string]any
	for _, f := range []struct {
		crew Crew
		to   *map[string]any
	}{{c, &own}, {DefaultCrew(), &usual}} {
		raw, err := json.Marshal(plain(f.crew))
		if err != nil {
			return nil, err
		}
		if err := json.Unmarshal(raw, f.to); err != nil {
			return nil, err
		}
	}
	dropUsual(own, usual)
	return json.Marshal(own)
}

// dropUsual takes out of own what usual has alike.
func dropUsual(own, usual map[string]any) {
	maps.DeleteFunc(own, func(key string, value any) bool {
		part, whole := value.(map[string]any)
		before, known := usual[key].(map[string]any)
		if whole && known {
			dropUsual(part, before)
			return len(part) == 0
		}
		return reflect.DeepEqual(value, usual[key])
	})
}
