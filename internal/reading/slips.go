package reading

import "github.com/shopspring/decimal"

// The thresholds of the questions about slips. Common practice, no source:
// they only decide what is asked once, never what is taken.
var (
	// Two digits next to each other that change places move a reading by 9
	// times their difference, so by 9 at least.
	swapLeast = decimal.NewFromInt(9)
	// A swapped reading is asked about when undoing the swap brings it at
	// least this many times nearer to its fellows.
	swapNearer = decimal.NewFromInt(4)
	// A reading is far from its fellows beyond 25 mm, or 2 % of them if that
	// is more.
	farLeast = decimal.NewFromInt(25)
	farPart  = decimal.New(2, -2)
)

// Swapped looks for two neighbouring digits that changed places: a reading at
// least 9 mm from the nearest of its fellows that comes four times nearer when
// one swap of its whole digits is undone, such as 1240 among 1204 and 1202. It
// gives the reading with the swap undone. The thresholds are common practice,
// no source.
func Swapped(mm decimal.Decimal, fellows []decimal.Decimal) (decimal.Decimal, bool) {
	now, ok := nearest(mm, fellows)
	if !ok || now.LessThan(swapLeast) || mm.IsNegative() {
		return decimal.Zero, false
	}
	whole := mm.Truncate(0)
	digits := []byte(whole.String())
	if len(digits) > maxDigits {
		return decimal.Zero, false
	}
	var best, bestOff decimal.Decimal
	found := false
	for i := range len(digits) - 1 {
		digits[i], digits[i+1] = digits[i+1], digits[i]
		undone := number(string(digits), "").Add(mm.Sub(whole))
		digits[i], digits[i+1] = digits[i+1], digits[i]
		off, _ := nearest(undone, fellows)
		if off.Mul(swapNearer).GreaterThan(now) || found && off.GreaterThanOrEqual(bestOff) {
			continue
		}
		best, bestOff, found = undone, off, true
	}
	return best, found
}

// Outlier reports whether a reading is far from its fellows: more than 25 mm
// from the nearest of them, or more than 2 % of it where that is more. The
// thresholds are common practice, no source.
func Outlier(mm decimal.Decimal, fellows []decimal.Decimal) bool {
	for _, f := range fellows {
		if mm.Sub(f).Abs().LessThanOrEqual(decimal.Max(farLeast, f.Abs().Mul(farPart))) {
			return false
		}
	}
	return len(fellows) > 0
}

// nearest is how far mm is from the nearest of its fellows.
func nearest(mm decimal.Decimal, fellows []decimal.Decimal) (off decimal.Decimal, ok bool) {
	for _, f := range fellows {
		if d := mm.Sub(f).Abs(); !ok || d.LessThan(off) {
			off, ok = d, true
		}
	}
	return off, ok
}
