// Package calc is the arithmetic of replacing a window: order sizes, fixings,
// packers, glass blocks, joints, heat and quantities.
//
// Everything is a pure function of its arguments. There is no clock, no text
// and no input or output here. Lengths are decimal millimetres unless a name
// says otherwise; binary floating point never stands between a reading and a
// result. Left and right are as seen from outside. Square roots round in the
// direction that leaves the frame smaller.
//
// A result carries its reasons as data: which rule, with which figures, on
// whose authority. The sentences live in the catalogue (see locales).
package calc

import (
	"errors"

	"github.com/shopspring/decimal"
)

// Mark says how far a number may be trusted.
type Mark string

// The marks, from the strongest to the weakest.
const (
	Read       Mark = "R" // read in the named document
	Derived    Mark = "D" // arithmetic from read values
	Quoted     Mark = "S" // quoted by another source
	FromMemory Mark = "M" // from memory only: a default that a crew can change
	Practice   Mark = "C" // common practice, no source: a default that a crew can change
)

// Reason says why a figure is what it is. Rule names a sentence in the
// catalogue ("why." + Rule); Figures and Words fill its places. A word is
// itself a catalogue key, such as "side.left".
type Reason struct {
	Rule    string                     `json:"rule"`
	Figures map[string]decimal.Decimal `json:"figures,omitempty"`
	Words   map[string]string          `json:"words,omitempty"`
	Source  string                     `json:"source,omitempty"` // catalogue key after "source."
	Mark    Mark                       `json:"mark,omitempty"`
	// Own is how far Source by itself may be trusted, where Mark is weaker for
	// what it is used with here.
	Own Mark `json:"source_mark,omitempty"`
}

// Errors that a caller can tell apart with errors.Is. A RefusalError wraps one
// of them with the figures that caused it.
var (
	ErrBeyondTable = errors.New("beyond the published range")
	ErrImpossible  = errors.New("readings that no opening can have")
	ErrTooSmall    = errors.New("too small for the rule")
)

// RefusalError is a calculation that would be wrong or unsafe to answer. Its
// Reason tells a person what was refused and what to do instead.
type RefusalError struct {
	Kind   error
	Reason Reason
}

func (e *RefusalError) Error() string { return e.Kind.Error() + ": " + e.Reason.Rule }

// Unwrap gives the kind, for errors.Is.
func (e *RefusalError) Unwrap() error { return e.Kind }

// Side is one of the four sides of an opening or a frame, seen from outside.
type Side string

// The four sides.
const (
	Left  Side = "left"
	Right Side = "right"
	Head  Side = "head"
	Sill  Side = "sill"
)

// Point is a place in millimetres from the bottom left corner of the opening,
// seen from outside, x to the right and y up.
type Point struct {
	X decimal.Decimal `json:"x"`
	Y decimal.Decimal `json:"y"`
}

// Size is a width and a height in millimetres.
type Size struct {
	Width  decimal.Decimal `json:"width"`
	Height decimal.Decimal `json:"height"`
}

// Finish is how the opening is finished round the frame.
type Finish string

// The finishes.
const (
	Bare    Finish = "bare"    // bare brick or stone, the whole frame is seen
	Plaster Finish = "plaster" // render or plaster hides the frame's edge
	Check   Finish = "check"   // the outer leaf overlaps the frame
)

// Material is what the frame is made of, as the gap table has it.
type Material string

// The materials of the gap table.
const (
	PVCUWhite  Material = "pvcu-white"
	PVCUColour Material = "pvcu-colour"
	Timber     Material = "timber"
	Steel      Material = "steel"
	Aluminium  Material = "aluminium"
)

// Hinge is how a light opens and on which side its hinges are, seen from
// outside.
type Hinge string

// The ways a light opens.
const (
	FixedLight    Hinge = "fixed"
	SideLeft      Hinge = "side-left"  // side hung, hinges on the left
	SideRight     Hinge = "side-right" // side hung, hinges on the right
	TopHung       Hinge = "top"
	BottomHung    Hinge = "bottom"
	TiltTurnLeft  Hinge = "tilt-turn-left"
	TiltTurnRight Hinge = "tilt-turn-right"
)

// Side is the side on which a light's hinges are; ok is false for a light that
// has none.
func (h Hinge) Side() (side Side, ok bool) {
	switch h {
	case SideLeft, TiltTurnLeft:
		return Left, true
	case SideRight, TiltTurnRight:
		return Right, true
	case TopHung:
		return Head, true
	case BottomHung:
		return Sill, true
	}
	return "", false
}

// Light is one pane's place in the frame: Column from 0 at the left, Row 0
// below the transom and 1 above it.
type Light struct {
	Column int   `json:"column,omitempty"`
	Row    int   `json:"row,omitempty"`
	Hinge  Hinge `json:"hinge"`
}

// Layout is how the frame is divided. Mullions are centre lines from the
// frame's left edge; Transoms holds, for each column, the centre line above
// the frame's bottom edge, or zero where the column has none.
type Layout struct {
	Mullions []decimal.Decimal `json:"mullions,omitempty"`
	Transoms []decimal.Decimal `json:"transoms,omitempty"`
	Lights   []Light           `json:"lights"`
}
