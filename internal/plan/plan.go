// Package plan turns the record of one opening into everything that is
// needed to order and fix its window. The conversation, the plan command and
// the card all go through it.
package plan

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/safety"
)

// What an opening is made of, as bot plan's files name it.
type (
	Opening     = opening.Opening
	Sash        = opening.Sash
	Patch       = opening.Patch
	Rebate      = opening.Rebate
	Price       = opening.Price
	Crew        = opening.Crew
	FieldError  = opening.FieldError
	FieldErrors = opening.FieldErrors
)

// DateForm is how a day is written in an Opening.
const DateForm = opening.DateForm

// DefaultCrew is every default of calc.
func DefaultCrew() Crew { return opening.DefaultCrew() }

// Rules is the number of the rules that plans are made by. It rises with every
// change that gives another order size, or another line of an order, for the
// same opening: what was told by older rules is then held against these.
const Rules = 3

// Plan is the answer for one opening.
type Plan struct {
	Opening  Opening
	Order    calc.Order
	Fixings  calc.FixingPlan
	Packers  calc.PackerPlan
	Section  calc.Section     // of the frame in its wall
	Screws   []calc.Screw     // of jambs, head and sill
	Glass    []calc.GlassPlan // one a light, in the order of Layout.Lights
	Weight   calc.Weight      // zero when the glass is not known
	Layout   calc.Layout      // with every mullion and transom placed
	Joints   map[calc.Side]calc.Joint
	Clear    []calc.ClearOpening // one a light
	Heat     *calc.HeatLoss      // nil when the U-values are not known
	Load     decimal.Decimal     // N across the jamb screw that holds most, zero when the wind or its coefficients are not known
	Held     decimal.Decimal     // mm of frame that this screw holds
	Wind     *calc.Reason        // the pressure behind Load
	Take     calc.Quantities     // of one window
	Findings []safety.Finding

	Ordered calc.Order        // Order but for a delivered frame, which Order is of then
	Arrival *calc.Arrival     // the delivered frame against its order; nil: not measured
	Set     []calc.SetResult  // of each round of readings of the frame on its packers
	Fixed   *calc.WidthResult // the widths after the screws are home; nil: not measured

	Count  int             // equal windows, at least 1
	Crew   Crew            // the settings that were used
	Swings []calc.Swing    // one a light; nil when nothing asks for them
	Purge  *Purge          // nil without a floor area
	Vents  *calc.RoomVents // of the room's windows; nil when no vent is known
	// VentsToFit is how many vents of Opening.VentEach are still missing.
	VentsToFit int
	Sags       []Sag
	Screw      *calc.Reason // whether the screw's data sheet covers Load
	Patches    []calc.Patch // Opening.Patches with their coats worked out, but for those of lime
	MadeGood   []MadeGood   // those given by their depth
	Bill       *calc.Bill   // of all the equal windows; nil without prices
}

// Sag is how far the sash of one light has dropped.
type Sag struct {
	Light int // index in Layout.Lights
	calc.Sag
}

// Purge is the window's opening area over the room's floor area, for airing.
type Purge struct {
	Wide   decimal.Decimal `json:"at_30_degrees"` // of the lights that open to 30 degrees or more
	Narrow decimal.Decimal `json:"at_15_degrees"` // of those that open to 15 or more
}

// MadeGood is a patch with how it is laid.
type MadeGood struct {
	Number int // among Opening.Patches, from 1
	calc.PatchRequest
	calc.PatchPlan
}
