package calc

import (
	"strconv"

	"github.com/shopspring/decimal"
)

// The usual slips with a tape and a pencil. Common practice, no source.
const (
	slipSwap    = "swap"    // two neighbouring digits swapped
	slipTen     = "ten"     // ten out, at a figure of the tape
	slipFifty   = "fifty"   // fifty out
	slipHundred = "hundred" // hundred out
	slipMisread = "misread" // one digit taken for one that looks like it
)

// lookalikes are digits that are taken for each other in poor light.
var lookalikes = map[byte]string{
	'0': "689", '1': "7", '2': "7", '3': "58", '4': "9", '5': "36", '6': "058", '7': "12", '8': "0369", '9': "048",
}

// usualSlip names the slip that takes a reading nearest to another value and
// to within some mm of it, or "".
func usualSlip(now, want, within decimal.Decimal) string {
	whole := now.IntPart()
	target := want.Sub(now).Add(decimal.NewFromInt(whole)) // keeps the part below 1 mm
	name, best := "", within
	try := func(slip string, v int64) {
		if away := target.Sub(decimal.NewFromInt(v)).Abs(); v != whole && away.LessThanOrEqual(best) {
			name, best = slip, away
		}
	}
	digits := []byte(strconv.FormatInt(whole, 10))
	for i, d := range digits {
		for _, other := range []byte(lookalikes[d]) {
			try(slipMisread, wholeOf(digits[:i], []byte{other}, digits[i+1:]))
		}
	}
	for _, sign := range []int64{-1, 1} {
		try(slipHundred, whole+100*sign)
		try(slipFifty, whole+50*sign)
		try(slipTen, whole+10*sign)
	}
	for i := range len(digits) - 1 {
		try(slipSwap, wholeOf(digits[:i], []byte{digits[i+1], digits[i]}, digits[i+2:]))
	}
	return name
}

// wholeOf is the number that digits spell.
func wholeOf(digits ...[]byte) int64 {
	var n int64
	for _, part := range digits {
		for _, d := range part {
			n = 10*n + int64(d-'0')
		}
	}
	return n
}
