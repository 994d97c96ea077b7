package reading

import (
	"errors"
	"strings"
)

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
	if outside := (*RangeError)(nil); minus && errors.As(err, &outside) {
		err = &RangeError{MM: outside.MM.Neg(), Want: Range{Least: want.Most.Neg(), Most: want.Least.Neg()}}
	}
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
