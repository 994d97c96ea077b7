package reading

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/shopspring/decimal"
)

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

func digitsAt(s string) int {
	n := 0
	for n < len(s) && isDigit(s[n]) {
		n++
	}
	return n
}

// isSpace is a space within a line.
func isSpace(r rune) bool { return r != '\n' && r != '\r' && unicode.IsSpace(r) }

func skipSpace(s string) string { return strings.TrimLeftFunc(s, isSpace) }

// wordAt is the run of letters at the front of s.
func wordAt(s string) string {
	for i, r := range s {
		if !unicode.IsLetter(r) {
			return s[:i]
		}
	}
	return s
}

// skipBefore passes over what may stand before a value: spaces, line breaks,
// separators, bullets, a cross.
func skipBefore(s string) string {
	for s != "" {
		r, size := utf8.DecodeRuneInString(s)
		switch {
		case unicode.IsSpace(r), strings.ContainsRune(",;:=|/•·*×✕", r):
			s = s[size:]
		case crossAt(s) > 0:
			s = s[crossAt(s):]
		case r == '.' && (len(s) == 1 || !isDigit(s[1])):
			s = s[size:]
		default:
			return s
		}
	}
	return s
}

// skipAfter passes over what ends a value: spaces, line breaks, commas and
// full stops, and a dash between two readings (1204-1202), which can't be a
// minus sign there. A cross or a slash is left for the caller to see.
func skipAfter(s string) string {
	if dash, after := signAt(s); dash == "-" && digitsAt(after) >= 3 {
		return after
	}
	if len(s) > 1 && s[0] == '.' && isDigit(s[1]) {
		return s[1:] // 1204.1202 is two readings
	}
	for s != "" {
		r, size := utf8.DecodeRuneInString(s)
		if !unicode.IsSpace(r) && r != ',' && r != ';' && (r != '.' || len(s) > 1 && isDigit(s[1])) {
			break
		}
		s = s[size:]
	}
	return s
}

// crossAt is the length of an x at the front of s that stands between sizes
// and is not the beginning of a word.
func crossAt(s string) int {
	if s == "" || s[0] != 'x' && s[0] != 'X' {
		return 0
	}
	r, _ := utf8.DecodeRuneInString(s[1:])
	if len(s) > 1 && (unicode.IsLetter(r) || r == '_') {
		return 0
	}
	return 1
}

// signAt is the sign at the front of s, "+", "-" or none, and what follows it.
func signAt(s string) (sign, after string) {
	r, size := utf8.DecodeRuneInString(s)
	switch r {
	case '+':
		return "+", s[size:]
	case '-', '−', '–', '—':
		return "-", s[size:]
	}
	return "", s
}

func startsNumber(s string) bool {
	if r, _ := utf8.DecodeRuneInString(s); unicode.IsSpace(r) {
		return false // a bullet
	}
	if _, n := fractionAt(s); n > 0 {
		return true
	}
	return digitsAt(s) > 0 || len(s) > 1 && s[0] == '.' && isDigit(s[1])
}

// fractions are the single characters that a tape in inches can show.
var fractions = map[rune][2]int64{
	'½': {1, 2}, '¼': {1, 4}, '¾': {3, 4},
	'⅛': {1, 8}, '⅜': {3, 8}, '⅝': {5, 8}, '⅞': {7, 8},
}

// fractionAt takes a fraction of an inch: 3/8, -3/8 after a whole number, ⅜.
// Halves to sixty-fourths only, which are exact decimals; n is 0 for anything
// else.
func fractionAt(s string) (f decimal.Decimal, n int) {
	i := len(s) - len(skipSpace(s))
	if i < len(s) && s[i] == '-' {
		i++
	}
	r, size := utf8.DecodeRuneInString(s[i:])
	if f, ok := fractions[r]; ok {
		return parts(f[0], f[1]), i + size
	}
	num := digitsAt(s[i:])
	if num == 0 || num > 2 {
		return f, 0
	}
	j := i + num
	r, size = utf8.DecodeRuneInString(s[j:])
	if r != '/' && r != '⁄' && r != '∕' {
		return f, 0
	}
	j += size
	den := digitsAt(s[j:])
	if den == 0 || den > 2 {
		return f, 0
	}
	end := j + den
	if end < len(s) && s[end] == '/' {
		return f, 0 // 4/16/4 is three values
	}
	a, b := number(s[i:i+num], "").IntPart(), number(s[j:end], "").IntPart()
	switch b {
	case 2, 4, 8, 16, 32, 64:
	default:
		return f, 0
	}
	if a == 0 || a >= b {
		return f, 0
	}
	return parts(a, b), end
}

// parts is a/b for b a power of two up to 64, exactly.
func parts(a, b int64) decimal.Decimal { return decimal.New(a*(1_000_000/b), -6) }

var unitWords = map[string]string{
	"mm": "mm", "mil": "mm", "mils": "mm",
	"millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm",
	"cm": "cm", "cms": "cm",
	"centimetre": "cm", "centimetres": "cm", "centimeter": "cm", "centimeters": "cm",
	"m": "m", "metre": "m", "metres": "m", "meter": "m", "meters": "m",
	"in": "in", "ins": "in", "inch": "in", "inches": "in",
	"ft": "ft", "foot": "ft", "feet": "ft",
}

// unitAt is the unit after s[:i], with the place where it ends; "" and i
// without one. The unit stands on the same line.
func unitAt(s string, i int) (unit string, end int) {
	j := i + len(s[i:]) - len(skipSpace(s[i:]))
	r, size := utf8.DecodeRuneInString(s[j:])
	switch r {
	case '"', '″', '”', '“', '＂':
		return "in", j + size
	case '\'', '′', '’', '‘', '＇', '´', '`':
		if r2, size2 := utf8.DecodeRuneInString(s[j+size:]); r2 == r {
			return "in", j + size + size2 // two single marks
		}
		return "ft", j + size
	}
	w := wordAt(s[j:])
	if n := len(w); n > 1 && (w[n-1] == 'x' || w[n-1] == 'X') && crossAt(s[j+n-1:]) > 0 {
		w = w[:n-1] // 1204mmx1050
	}
	if len(w) > len("centimetres") {
		return "", i
	}
	if u := unitWords[strings.ToLower(w)]; u != "" {
		return u, j + len(w)
	}
	return "", i
}

// number is exact: digits with an optional decimal part, both checked to be
// digits and no longer than maxDigits.
func number(whole, part string) decimal.Decimal {
	var n int64
	for _, c := range []byte(whole + part) {
		n = n*10 + int64(c-'0')
	}
	return decimal.New(n, -int32(len(part)))
}
