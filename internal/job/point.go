package job

import (
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// Point is one thing that stands against ordering a window. It follows from what is
// known of the window and is stored only as somebody took it on, see takeOn.
type Point struct {
	// Code is what kind of point it is, one of those below.
	Code string `json:"code"`
	// About is what it is about: the key of a field, the rule of a finding, or one of
	// AboutReadings, AboutItems, AboutCustomer and AboutCopy with a number.
	About string      `json:"about"`
	Text  phrase.Text `json:"text"`

	keys []opening.Key // said again, they make it another point
}

// The codes of points. They are storage.
const (
	PointStop   = "stop"   // a rule stops it: only what a qualified person says lifts that
	PointMisfit = "misfit" // the readings can't all be right
	PointMissed = "missed" // a reading was not taken
	PointDoubt  = "doubt"  // a reading looks wrong and nobody confirmed it
	PointCopied = "copied" // readings of another window, not taken here
	PointUnseen = "unseen" // nobody saw what carries the wall
	PointNeeded = "needed" // the maker needs it and nobody gave it
	// PointCustomer: the crew wants the customer's word, and has it not.
	PointCustomer = "customer"
)

// What a point is about that is about no field and no rule.
const (
	AboutReadings = "readings"
	AboutCopy     = "copied." // and the number of the window that was copied
	AboutItems    = "items"   // what the maker needs besides the survey
	AboutCustomer = "customer"
)

// Stops says whether it can't be taken on.
func (p Point) Stops() bool { return p.Code == PointStop }

func (p Point) same(other Point) bool {
	return p.Code == other.Code && p.About == other.About && p.Text.Same(other.Text)
}
