// Package safety holds the rules of building regulations as pure functions:
// an opening, a nation and the date of the work in, findings out, each with
// the document, clause and edition it comes from and how far it may be
// trusted. It advises; local codes and licensed people decide.
package safety

import (
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// Nation is the part of the United Kingdom whose regulations apply.
type Nation string

// The nations.
const (
	England  Nation = "england"
	Wales    Nation = "wales"
	Scotland Nation = "scotland"
	NI       Nation = "ni"
)

func (n Nation) known() bool {
	return n == England || n == Wales || n == Scotland || n == NI
}

// Room is what the room behind the window is used for.
type Room string

// The rooms that the rules tell apart.
const (
	Living   Room = "living" // any habitable room but a bedroom
	Bedroom  Room = "bedroom"
	Kitchen  Room = "kitchen"
	Bathroom Room = "bathroom" // or shower room; a toilet alone is Hall
	Hall     Room = "hall"     // hall, landing, stairs, toilet, store
)

// Over is what carries the wall over the opening, as far as it was seen.
type Over string

// What is over an opening.
const (
	OverLintel Over = "lintel" // a steel or concrete lintel, seen at each leaf
	OverArch   Over = "arch"   // of brick or stone
	OverTimber Over = "timber" // a timber lintel
	OverBricks Over = "bricks" // bricks in a row with nothing under them
	OverHidden Over = "hidden" // nobody can tell
)

// Way is who certifies the work.
type Way string

// The ways.
const (
	ByInstaller Way = "installer" // a registered installer
	ByNotice    Way = "notice"    // building control, after a building notice
)

// Clearance is what a qualified person said of a stop, so that the window may be
// ordered. It counts only with who said it, in what capacity, when and what.
type Clearance struct{ Who, Capacity, Day, Words string }

// Pane is one pane of glass as the rules see it. Heights are mm above the
// bottom of the frame.
type Pane struct {
	Light  int             // index in Layout.Lights
	Size   calc.Size       // sight or tight size, the larger that is known
	Bottom decimal.Decimal // where the glass begins to be seen: what a height above the floor is measured to
	Hinge  calc.Hinge

	// Opening is the daylight that the sash fills, zero if not known; the
	// glass is then taken for it.
	Opening calc.Size
	// OpenBottom is the lower edge of the opening. Zero: not known; guarding
	// then takes 100 mm below the glass, escape the glass's own edge.
	OpenBottom decimal.Decimal
	// Clear is what a person can pass when the light is open as far as it
	// goes without its restrictor; zero if fixed or not known.
	Clear calc.Size
	// ClearGiven: Clear is what the hinge maker states, not worked out from the
	// opening and usual deductions.
	ClearGiven bool
	// BesideDoor: the pane is within 300 mm of a door's edge.
	BesideDoor bool
	// Degrees is how far the light opens without its restrictor. Zero: not
	// known, taken as 30 or more.
	Degrees decimal.Decimal
	// Restrictor is the gap in mm that a restrictor leaves at the free edge;
	// zero: none. Releasable: it lets go by hand from inside.
	Restrictor decimal.Decimal
	Releasable bool
}

// Facts is everything the rules ask about one opening. A nil height is one
// that nobody has measured; rules that need it say so.
type Facts struct {
	Nation Nation
	Date   time.Time // day of the work, UTC midnight; zero: not known
	Room   Room
	Storey int // 0 ground, 1 first floor, …

	GlassAboveFloor *decimal.Decimal // lowest glass above the inside floor, mm
	// GlassAboveOutside is the lowest glass above the outside standing level,
	// mm. Nil upstairs: nobody can stand there. Nil on the ground floor: not
	// measured.
	GlassAboveOutside *decimal.Decimal

	// HeightMark is how far the two heights may be trusted where they were worked
	// out; empty: they were measured.
	HeightMark calc.Mark

	Panes []Pane
	// BesideDoor: the window is within 300 mm of a door's edge; which of its panes
	// is, a pane says itself, and where none does any may be. Door: it is a glazed
	// door.
	BesideDoor, Door bool
	// NearBath: within 800 mm of the base of a bath or shower.
	NearBath bool
	// NotHouse: a shop, office or public front, the only place where the
	// annealed-thickness diagram applies.
	NotHouse bool
	// GlassOnly: the glass alone is replaced, into the old frame.
	GlassOnly bool
	Leaded    bool            // the panes are held in lead
	Thickness decimal.Decimal // of the thinnest pane, mm; zero if not known
	Guarded   bool            // a guard that meets the rules stands before the opening

	OldVents     bool            // the old window had background vents
	VentsUnknown bool            // nobody looked whether it had
	OldVentArea  decimal.Decimal // mm² equivalent area; zero if not known
	// NewVentArea is what the new windows of the room have together, mm²
	// equivalent area; zero if not known.
	NewVentArea decimal.Decimal
	MVHR        bool            // the house has mechanical ventilation with heat recovery
	OpenFlue    bool            // there is an open-flued fire or boiler in the room
	FloorArea   decimal.Decimal // m²; zero if not known
	InnerRoom   bool            // the only way out is through another room
	OldEscape   bool            // the old window served as an escape window

	UValue   decimal.Decimal // of the whole window, W/m²K; zero if not known
	Heritage bool            // a building whose look is protected
	CentreU  decimal.Decimal // of the glass at its centre, W/m²K; zero if not known

	Over          Over
	Cracks, Bowed bool // in the wall over the opening; the old frame's head
	HigherRisk    bool // a building of 18 m or seven storeys or more, with two homes or more
	Extract       bool // continuous mechanical extract in the home
	FewWindows    bool // 30 % or less of the home's windows are changed
	Certifies     Way
	Cleared       *Clearance // nil: nobody said anything of the stops

	Flat            bool
	Widened         bool // the opening is made larger
	NoLintel        bool // no lintel was seen
	Bay             bool
	BuiltBefore2000 bool // or not known
	BuiltBefore1992 bool // or not known
}
