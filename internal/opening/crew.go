package opening

import (
	"bytes"
	"embed"
	"encoding/json"
	"maps"
	"reflect"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// Sources are the files whose comments describe the fields of a record.
//
//go:embed opening.go crew.go
var Sources embed.FS

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
}

// DefaultCrew is every default of calc.
func DefaultCrew() Crew { return crewOf(calc.DefaultSettings()) }

// standard is what crewOf adds, made once; nothing changes its maps.
var standard = Crew{
	Joint: calc.DefaultJointSettings(), Store: calc.DefaultStoreSettings(),
	Clear: calc.DefaultClearSettings(), Money: calc.DefaultMoneySettings(),
}

func crewOf(s calc.Settings) Crew {
	c := standard
	c.Settings = s
	return c
}

// CrewOr is the opening's own settings, or those of the caller.
func (o Opening) CrewOr(s calc.Settings) Crew {
	if o.Settings != nil {
		return *o.Settings
	}
	return crewOf(s)
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
	for key, value := range own {
		part, whole := value.(map[string]any)
		before, known := usual[key].(map[string]any)
		if whole && known {
			dropUsual(part, before)
			if len(part) == 0 {
				delete(own, key)
			}
			continue
		}
		if value == usual[key] {
			delete(own, key)
		}
	}
}

// Check refuses settings that no crew can have.
func (c Crew) Check(path string) error {
	for _, f := range []struct {
		field string
		value decimal.Decimal
		most  int64
	}{
		{"plaster_thickness", c.PlasterThickness, 200}, {"check_cover", c.CheckCover, 200},
		{"sill_piece_height", c.SillPieceHeight, 300}, {"frame_depth", c.FrameDepth, 500},
		{"embedment", c.Embedment, 500}, {"outer_face", c.OuterFace, 500}, {"sash_face", c.SashFace, 500},
		{"mullion_face", c.MullionFace, 500}, {"edge_cover", c.EdgeCover, 100}, {"waste", c.Waste, 1},
		{"joint.share", c.Joint.Share, 1}, {"store.waste", c.Store.Waste, 1}, {"store.foam_yield", c.Store.FoamYield, 1},
		{"store.trim_length", c.Store.TrimLength, 20000}, {"store.tube", c.Store.Tube, 100000},
		{"store.foam_can", c.Store.FoamCan, 100000}, {"store.backing", c.Store.Backing, 100000},
		{"store.screw_box", c.Store.ScrewBox, 100000}, {"store.cement_bag", c.Store.CementBag, 100000},
		{"money.vat_rate", c.Money.VATRate, 1}, {"money.deposit", c.Money.Deposit, 1},
		{"clear.side_hung.width", c.Clear.SideHung.Width, 2000}, {"clear.side_hung.height", c.Clear.SideHung.Height, 2000},
		{"clear.tilt_turn.width", c.Clear.TiltTurn.Width, 2000}, {"clear.tilt_turn.height", c.Clear.TiltTurn.Height, 2000},
		{"clear.top_hung.width", c.Clear.TopHung.Width, 2000}, {"clear.top_hung.height", c.Clear.TopHung.Height, 2000},
		{"lift_each", c.LiftEach, 200},
	} {
		if err := between(path+f.field, f.value, 0, f.most); err != nil {
			return err
		}
	}
	for field, value := range map[string]decimal.Decimal{
		"frame_depth": c.FrameDepth, "store.tube": c.Store.Tube, "store.foam_can": c.Store.FoamCan,
		"store.foam_yield": c.Store.FoamYield, "store.backing": c.Store.Backing, "store.screw_box": c.Store.ScrewBox,
		"store.trim_length": c.Store.TrimLength, "store.cement_bag": c.Store.CementBag, "lift_each": c.LiftEach,
	} {
		if !value.IsPositive() {
			return &FieldError{path + field, "must be above 0"}
		}
	}
	if err := oneOf(path+"joint.class", c.Joint.Class); err != nil {
		return err
	}
	for name, values := range map[string]map[calc.Material]decimal.Decimal{"joint.expansion": c.Joint.Expansion, "joint.range": c.Joint.Range} {
		for material, value := range values {
			field := path + name + "." + string(material)
			if err := oneOf(field, material); err != nil {
				return err
			}
			if err := between(field, value, 0, 200); err != nil {
				return err
			}
		}
	}
	return nil
}
