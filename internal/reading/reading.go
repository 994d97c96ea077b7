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
	"strings"

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

// Next takes one length from the front of text. Spaces, line breaks and
// separators before it are passed over; rest is what follows it, without the
// spaces, commas and full stops between. Without a unit a number is
// millimetres if that lies in want; if it only makes sense in another unit,
// or if a comma can be read in two ways that both lie in want, the length
// comes back with Others to ask about, and rest is what follows the longest
// of them. Nobody reads thousandths of a millimetre off a tape, so 850,900 is
// two lengths. Inches are 25.4 mm exactly.
//
// The error is ErrNoNumber, ErrNegative or a *RangeError; rest is then text,
// unchanged.
func Next(text string, want Range) (l Length, rest string, err error) {
	s := skipBefore(text)
	minus := false
	switch sign, after := signAt(s); {
	case sign == "-" && want.Least.IsNegative():
		s, minus = skipSpace(after), true
		want = Range{Least: want.Most.Neg(), Most: want.Least.Neg()}
	case sign == "-" && startsNumber(after):
		return Length{}, text, ErrNegative
	case sign != "":
		// A plus sign, or a dash that stands before an item of a list.
		s = skipBefore(after)
	}
	l, n, err := front(s, want)
	if err != nil {
		return Length{}, text, err
	}
	l.Text = strings.TrimSpace(s[:n])
	for _, end := range l.ends {
		l.OtherRests = append(l.OtherRests, skipAfter(s[end:]))
	}
	l.ends = nil
	if minus {
		l.Text = "-" + l.Text
		l.MM = l.MM.Neg()
		for i := range l.Others {
			l.Others[i] = l.Others[i].Neg()
		}
	}
	return l, skipAfter(s[n:]), nil
}

// All takes lengths from the front of text for as long as they are clear. The
// rest begins with the first that is not, and is empty when all were taken.
// Three or more whole readings with the same sign between them, such as
// 4,16,4, are a list, though Next would ask.
func All(text string, want Range) (ls []Length, rest string) {
	rest = text
	for rest != "" {
		if s := skipBefore(rest); s != "" && isDigit(s[0]) {
			if r, end, ok := listAt(s, want); ok {
				for _, g := range r.groups {
					ls = append(ls, Length{Text: g, MM: number(g, "")})
				}
				rest = skipAfter(s[end:])
				continue
			}
		}
		l, after, err := Next(rest, want)
		if err != nil || !l.Clear() {
			break
		}
		ls, rest = append(ls, l), after
	}
	if skipBefore(rest) == "" {
		rest = ""
	}
	return ls, rest
}

// SizeLine takes the one-line form: three widths, a cross, three heights, as
// in "1204 1202 1203 x 1050 1052 1051". It is ok only when every value is
// clear and nothing else stands in the line. Widths are top, middle, bottom;
// heights left, middle, right; mm.
func SizeLine(text string, want Range) (widths, heights [3]decimal.Decimal, ok bool) {
	across, up, found := cutCross(text)
	if !found {
		return widths, heights, false
	}
	ws, more := All(across, want)
	if len(ws) != 3 || more != "" {
		return widths, heights, false
	}
	hs, more := All(up, want)
	if len(hs) != 3 || more != "" {
		return widths, heights, false
	}
	for i := range 3 {
		widths[i], heights[i] = ws[i].MM, hs[i].MM
	}
	return widths, heights, true
}

// cutCross cuts text at its only cross: x, ×, * or the word by. A star may
// only stand once too, since it is then a cross and not a bullet.
func cutCross(text string) (before, after string, ok bool) {
	at, width, count := 0, 0, 0
	for i, r := range text {
		switch r {
		case 'x', 'X', '×', '✕', '*':
			at, width, count = i, len(string(r)), count+1
		case 'b', 'B':
			if w := wordAt(text[i:]); strings.EqualFold(w, "by") {
				at, width, count = i, len(w), count+1
			}
		}
	}
	if count != 1 {
		return "", "", false
	}
	return text[:at], text[at+width:], true
}
