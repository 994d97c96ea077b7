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

// How often a reading is a slip of each kind, to each other. Common practice, no
// source.
const (
	oftenTen, oftenHundred, oftenFifty = 0.25, 0.15, 0.05
	oftenSwap, oftenMisread            = 0.1, 0.01
	oftenExchanged, oftenOther         = 0.01, 0.02
)

// Slips by farSlip or more, which all but a digit misread are, and others: at most so
// often together, for a reading of six digits.
const (
	farSlip       = 9
	mostOftenFar  = 2*(oftenTen+oftenHundred+oftenFifty) + 5*oftenSwap
	mostOftenNear = 6*4*oftenMisread + oftenOther
)

// lookalikes are digits that are taken for each other in poor light.
var lookalikes = map[byte]string{
	'0': "689", '1': "7", '2': "7", '3': "58", '4': "9", '5': "36", '6': "058", '7': "12", '8': "0369", '9': "048",
}

// eachSlip gives what a reading may have been meant to be, by the usual slips: the
// kind, how often it is made, and by how many whole millimetres it is off.
func eachSlip(now decimal.Decimal, do func(kind string, often float64, by int64)) {
	whole := now.IntPart()
	try := func(kind string, often float64, v int64) {
		if v != whole && v > 0 {
			do(kind, often, v-whole)
		}
	}
	for _, sign := range []int64{-1, 1} {
		try(slipTen, oftenTen, whole+10*sign)
		try(slipHundred, oftenHundred, whole+100*sign)
		try(slipFifty, oftenFifty, whole+50*sign)
	}
	digits := []byte(strconv.FormatInt(whole, 10))
	for i := range len(digits) - 1 {
		try(slipSwap, oftenSwap, wholeOf(digits[:i], []byte{digits[i+1], digits[i]}, digits[i+2:]))
	}
	for i, d := range digits {
		for _, other := range []byte(lookalikes[d]) {
			try(slipMisread, oftenMisread, wholeOf(digits[:i], []byte{other}, digits[i+1:]))
		}
	}
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

// like is how much the same reading differs between openings that look alike, mm, and
// likeSwapped how much where two digits changed places. Common practice, no source.
const like, likeSwapped = 10, 5

// SlipBeside is the usual slip, hundred or swap, by which a reading is off beside the
// same one of an opening that looks alike; "" for none. Both are in mm.
func SlipBeside(now, other decimal.Decimal) string {
	within := func(mm decimal.Decimal, most int64) bool {
		return mm.Sub(other).Abs().LessThanOrEqual(decimal.NewFromInt(most))
	}
	found := ""
	if within(now, like) {
		return found
	}
	eachSlip(now, func(kind string, _ float64, by int64) {
		meant := now.Add(decimal.NewFromInt(by))
		if kind == slipHundred && within(meant, like) || kind == slipSwap && within(meant, likeSwapped) {
			found = kind
		}
	})
	return found
}
