// Package reading understands lengths, dates and counts as people type them
// on site: 1204, 1204mm, 120.4 cm, 1,204, 120,4 cm, 47 3/8", 3' 11 3/8". It
// never guesses: what can be taken in more than one way comes back as a
// question.
//
// Every parser takes its value from the front of a text and gives back the
// rest, so that several values in one message and several messages with one
// value each come to the same. Time is linear in the text, whatever it holds.
package reading

import (
	"errors"

	"github.com/shopspring/decimal"
)

// Range is what a length can sensibly be, in mm. It decides which ways of
// taking a text are worth asking about. A Least below zero lets a length
// carry a minus sign; a zero length is only taken when Least is zero or less.
type Range struct {
	Least, Most decimal.Decimal
}

// MM is the range between two whole numbers of mm.
func MM(least, most int64) Range {
	return Range{Least: decimal.NewFromInt(least), Most: decimal.NewFromInt(most)}
}

// Has reports whether mm lies in the range, ends included.
func (r Range) Has(mm decimal.Decimal) bool {
	return mm.GreaterThanOrEqual(r.Least) && mm.LessThanOrEqual(r.Most)
}

// Length is one length taken from the front of a text.
type Length struct {
	Text string          // as typed
	MM   decimal.Decimal // in millimetres, exact for metric, inches × 25.4 exactly
	Unit string          // "", mm, cm, m, in, ft
	// Others are the values to ask about, in mm, when the text does not say
	// clearly what was meant; MM is then zero. OtherUnits says, for each, in
	// which unit the text was taken: mm, cm, m, in or ft. OtherRests says, for
	// each, what follows if that was meant: 1204,50 may be one value or two.
	Others     []decimal.Decimal
	OtherUnits []string
	OtherRests []string

	ends []int // where each of Others ends
}

// Clear reports whether the length is settled, with nothing to ask.
func (l Length) Clear() bool { return len(l.Others) == 0 }

// Errors that a caller can tell apart with errors.Is.
var (
	ErrNoNumber    = errors.New("no number at the front")
	ErrOtherDigits = errors.New("digits other than 0 to 9") // comes with ErrNoNumber
	ErrNegative    = errors.New("a length can't be negative")
	ErrNotWhole    = errors.New("not a whole number")
	ErrOutOfRange  = errors.New("out of range")
)

// RangeError is a length that was understood but lies outside the range. It
// wraps ErrOutOfRange.
type RangeError struct {
	MM   decimal.Decimal // what the text came to; zero when it has more digits than any length
	Want Range
}

func (e *RangeError) Error() string { return ErrOutOfRange.Error() + ": " + e.MM.String() + " mm" }

// Unwrap gives ErrOutOfRange.
func (e *RangeError) Unwrap() error { return ErrOutOfRange }
