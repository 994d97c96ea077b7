package reading

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

// MostCount is the largest count that is taken.
const MostCount = 99

var countWords = []string{
	"zero", "one", "two", "three", "four", "five", "six",
	"seven", "eight", "nine", "ten", "eleven", "twelve",
}

// Count takes a whole small number from the front of text: 0 to MostCount in
// digits, or a word from zero to twelve (none and no are zero). Ordinals such
// as 2nd are taken too. Anything after a word boundary is rest.
//
// The error is ErrNoNumber, ErrNegative, ErrNotWhole or ErrOutOfRange; rest is
// then text, unchanged.
func Count(text string) (n int, rest string, err error) {
	s := skipBefore(text)
	if sign, after := signAt(s); sign == "-" && startsNumber(after) {
		return 0, text, ErrNegative
	} else if sign != "" {
		s = skipBefore(after)
	}
	d := digitsAt(s)
	if d == 0 {
		return countWord(text, s)
	}
	after := s[d:]
	if _, k := fractionAt(s); k > 0 {
		return 0, text, ErrNotWhole
	}
	if _, k := fractionAt(after); k > 0 {
		return 0, text, ErrNotWhole
	}
	if len(after) > 1 && after[0] == '.' && isDigit(after[1]) {
		return 0, text, ErrNotWhole
	}
	digits := strings.TrimLeft(s[:d], "0")
	if len(digits) > 2 {
		return 0, text, fmt.Errorf("%w: more than %d", ErrOutOfRange, MostCount)
	}
	if garbledAt(after) {
		return 0, text, fmt.Errorf("%w: letters among the digits", ErrNoNumber)
	}
	if w := strings.ToLower(wordAt(after)); slices.Contains([]string{"st", "nd", "rd", "th"}, w) {
		after = after[len(w):]
	}
	return int(number(digits, "").IntPart()), skipAfter(after), nil
}

func countWord(text, s string) (int, string, error) {
	w := wordAt(s)
	if len(w) > len("twelve") {
		return 0, text, ErrNoNumber
	}
	low := strings.ToLower(w)
	if low == "none" || low == "no" {
		return 0, skipAfter(s[len(w):]), nil
	}
	if i := slices.Index(countWords, low); i >= 0 {
		return i, skipAfter(s[len(w):]), nil
	}
	if r, _ := utf8.DecodeRuneInString(s); r >= utf8.RuneSelf {
		return 0, text, noNumber(s)
	}
	return 0, text, ErrNoNumber
}
