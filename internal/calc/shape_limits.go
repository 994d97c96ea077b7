package calc

import "github.com/shopspring/decimal"

// What is published of a frame's shape, as it comes and as it is set, mm. Diagonals:
// VMRG quality requirements 4.12 for an element in use, and a North American window
// maker's dimensions guide for a fitted one. Twist: the same guide (1/8 and 3/16 inch).
var (
	diagonalsTight = decimal.NewFromInt(3)
	diagonalsLoose = decimal.NewFromInt(6)    // of a frame over diagonalsLarge
	diagonalsLarge = decimal.New(186, -2)     // m²
	twistTight     = decimal.NewFromInt(3)    // up to twistLong wide or high
	twistLoose     = decimal.NewFromInt(5)    // above
	twistLong      = decimal.NewFromInt(1200) // mm
)

// diagonalLimits are what the diagonals may differ by: the tighter of the two rules, and
// the other one.
func diagonalLimits(frame Size) (tight, loose decimal.Decimal) {
	if frame.area().GreaterThan(diagonalsLarge) {
		return diagonalsTight, diagonalsLoose
	}
	return diagonalsTight, diagonalsTight
}

// twistLimits are the tighter and the wider reading of "up to 1.2 m wide or high",
// which differ where one dimension alone is over it.
func twistLimits(frame Size) (tight, loose decimal.Decimal) {
	tight, loose = twistTight, twistTight
	if decimal.Max(frame.Width, frame.Height).GreaterThan(twistLong) {
		loose = twistLoose
	}
	if decimal.Min(frame.Width, frame.Height).GreaterThan(twistLong) {
		tight = twistLoose
	}
	return tight, loose
}
