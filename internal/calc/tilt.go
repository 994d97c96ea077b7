package calc

import "github.com/shopspring/decimal"

// TiltTo is the way in which a member is out of level or plumb, seen from outside.
type TiltTo string

// The ways of sill and head, of a jamb in the wall's plane, and of a jamb across the
// wall, where out is towards whoever stands outside.
const (
	LeftEndLow  TiltTo = "left_low"
	RightEndLow TiltTo = "right_low"
	LeansLeft   TiltTo = "top_left"
	LeansRight  TiltTo = "top_right"
	LeansOut    TiltTo = "top_out"
	LeansIn     TiltTo = "top_in"
)

// Tilt is one reading of a level: so much rise over so much run. Its tangent is taken
// for its angle everywhere: at the steepest that is taken, 1 in 20, the two differ by
// less than a thousandth of it.
type Tilt struct {
	Rise decimal.Decimal // mm, not negative
	Run  decimal.Decimal // mm
	To   TiltTo          // no matter where Rise is zero
	Play decimal.Decimal // mm over Run, either way: how far the reading itself may be out
	Mark Mark            // of what Rise rests on beside the reading; empty: nothing
}

// What readings of a level may be. Common practice, no source, all of them.
var (
	shortestLevel = decimal.NewFromInt(100) // mm
	steepestTilt  = decimal.NewFromInt(20)  // one in so many is no frame that somebody has set
	gapPlay       = decimal.New(5, -1)      // mm: how near a gap under a level is read
	bubblePlay    = oneQuarter              // of a division: how near a bubble is read
	digitalPlay   = decimal.NewFromInt(1)   // mm per m of a digital level
	cornerPlay    = decimal.NewFromInt(1)   // mm: how near somebody says that a corner is out
	perMetre      = decimal.NewFromInt(1000)
)

// DivisionUsual is the fall, mm per m, that moves a level's bubble by one division of
// its vial, where the crew has not tried its own: raise one end by a packer and count.
// Common practice, no source.
var DivisionUsual = decimal.NewFromInt(5)

// GapUnder is a level of the given length, mm, that shows level or plumb with the gap,
// mm, under one end. ErrImpossible for a length under 100 mm or over 6 m, and a gap that
// is negative or over a twentieth of the length.
func GapUnder(length, gap decimal.Decimal, to TiltTo) (Tilt, error) {
	return Tilt{Rise: gap, Run: length, To: to, Play: gapPlay}.checked()
}

// BubbleOff is a bubble that stands so many divisions off the middle of a vial, of
// which each is perDivision mm per m; zero: DivisionUsual. ErrImpossible for what is
// negative, or steeper than 1 in 20.
func BubbleOff(divisions, perDivision decimal.Decimal, to TiltTo) (Tilt, error) {
	if perDivision.IsZero() {
		perDivision = DivisionUsual
	}
	if perDivision.IsNegative() || perDivision.GreaterThan(perMetre) || divisions.GreaterThan(perMetre) {
		return Tilt{}, refuse(ErrImpossible, "set_bubble", map[string]decimal.Decimal{"divisions": divisions, "each": perDivision}, nil)
	}
	return Tilt{Rise: divisions.Mul(perDivision), Run: perMetre, To: to, Play: bubblePlay.Mul(perDivision), Mark: Practice}.checked()
}

// FallPerMetre is what a digital level shows, mm per m. ErrImpossible for what is
// negative, or steeper than 1 in 20.
func FallPerMetre(fall decimal.Decimal, to TiltTo) (Tilt, error) {
	return Tilt{Rise: fall, Run: perMetre, To: to, Play: digitalPlay}.checked()
}

// checked is the tilt, or a refusal of what no level shows.
func (t Tilt) checked() (Tilt, error) {
	if t.Run.LessThan(shortestLevel) || t.Run.GreaterThan(decimal.NewFromInt(mostFrame)) {
		return Tilt{}, refuse(ErrImpossible, "set_level_length", map[string]decimal.Decimal{
			"length": t.Run, "least": shortestLevel, "most": decimal.NewFromInt(mostFrame)}, nil)
	}
	if t.Rise.IsNegative() || t.Play.IsNegative() || decimal.Max(t.Rise, t.Play).Mul(steepestTilt).GreaterThan(t.Run) {
		return Tilt{}, refuse(ErrImpossible, "set_tilt_steep", map[string]decimal.Decimal{
			"rise": t.Rise, "length": t.Run, "most": steepestTilt}, nil)
	}
	return t, nil
}

// PerMetre is the tilt in mm per m, rounded to 0.01.
func (t Tilt) PerMetre() decimal.Decimal { return t.Rise.Mul(perMetre).DivRound(t.Run, 2) }

// tiltUnit is how many of the whole units, in which slopes are reckoned, make one in
// one: a slope in them is µm per km.
const tiltUnit = 1_000_000_000

// slope is the tilt, positive where its right end is high, its top leans right or its
// top leans out.
func (t Tilt) slope() int64 {
	s := slopeOf(microns(t.Rise), microns(t.Run))
	switch t.To {
	case RightEndLow, LeansLeft, LeansIn:
		return -s
	}
	return s
}

// play is how far the slope may be out.
func (t Tilt) play() int64 { return divUp(microns(t.Play)*tiltUnit, microns(t.Run)) }

// over is what a slope comes to over a length in µm, in µm to the nearest, alike in
// both directions.
func over(slope, length int64) int64 {
	if slope < 0 {
		return -over(-slope, length)
	}
	return divNear(slope*length, tiltUnit)
}

// slopeOf is a rise over a run, both in µm, to the nearest, alike in both directions.
func slopeOf(rise, run int64) int64 {
	if rise < 0 {
		return -slopeOf(-rise, run)
	}
	return divNear(rise*tiltUnit, run)
}

// mirrored is the tilt seen from the other side of a mirror.
func (t Tilt) mirrored() Tilt {
	for _, pair := range [][2]TiltTo{{LeftEndLow, RightEndLow}, {LeansLeft, LeansRight}} {
		switch t.To {
		case pair[0]:
			t.To = pair[1]
			return t
		case pair[1]:
			t.To = pair[0]
			return t
		}
	}
	return t
}
