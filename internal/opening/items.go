package opening

import "github.com/shopspring/decimal"

// Items are what a person has to say of a window besides its survey, so that a maker
// can make it. Most hold for all windows of a job. What is left out was not said.
type Items struct {
	Opens Opens `json:"opens,omitempty"`
	// HandleHeight is the handle's middle above the frame's lower edge, mm.
	HandleHeight decimal.Decimal `json:"handle_height,omitzero"`
	HandleMiddle bool            `json:"handle_middle,omitempty"` // half way up its sash, instead of handle_height
	Locking      Locking         `json:"locking,omitempty"`
	Inside       string          `json:"inside,omitempty"`       // colour inside
	SafetyGlass  SafetyGlass     `json:"safety_glass,omitempty"` // where a safety class is asked for
	// ByLight is of what the glass of single lights is instead: 1 toughened, 2 laminated.
	ByLight string  `json:"light_glass,omitempty"`
	Coating Coating `json:"coating,omitempty"`
	Gas     Gas     `json:"gas,omitempty"`
	Spacer  Spacer  `json:"spacer,omitempty"`
	// Vents are how many new background vents the window has.
	Vents      *decimal.Decimal `json:"vents,omitempty"`
	VentPlace  VentPlace        `json:"vent_place,omitempty"`
	VentColour string           `json:"vent_colour,omitempty"`
	// SillPast is how far the sill piece goes past the opening at each end, mm; 0: cut
	// flush with it.
	SillPast   *decimal.Decimal `json:"sill_past,omitempty"`
	SillFixing SillFixing       `json:"sill_fixing,omitempty"`
	Stays      Stays            `json:"restrictors,omitempty"`
	Glazing    Glazing          `json:"glazing,omitempty"` // how it is delivered
	Packing    Packing          `json:"packing,omitempty"`
	Unload     string           `json:"unload,omitempty"` // where
	Wanted     string           `json:"wanted,omitempty"` // day of delivery, 2006-01-02
}

// Opens is to which side of the wall the lights open.
type Opens string

// Locking is whether the handles lock by a key.
type Locking string

// SafetyGlass is of what the panes are that must be safety glass.
type SafetyGlass string

// Coating, Gas and Spacer are what the glass unit has.
type (
	Coating string
	Gas     string
	Spacer  string
)

// VentPlace is where the new vents sit.
type VentPlace string

// SillFixing is whether the sill piece comes on the frame.
type SillFixing string

// Stays says whether each light that opens gets a restrictor.
type Stays string

// Glazing is how the frame is delivered.
type Glazing string

// Packing is what is round the frame on the way.
type Packing string
