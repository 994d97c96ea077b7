package reading

import (
	"strings"

	"github.com/shopspring/decimal"
)

const (
	// A group of digits longer than this is no length, and is refused before
	// anything is computed from it.
	maxDigits = 9
	// A run of digits, commas and points is looked at this many groups ahead,
	// which keeps time linear.
	maxGroups = 8
)

var (
	ten       = decimal.NewFromInt(10)
	twelve    = decimal.NewFromInt(12)
	thousand  = decimal.NewFromInt(1000)
	inch      = decimal.New(254, -1)
	sixtyFour = decimal.NewFromInt(64)
)

// factors are mm per unit, in the order in which they are asked about.
var factors = []struct {
	unit string
	mm   decimal.Decimal
}{
	{"mm", decimal.NewFromInt(1)},
	{"cm", ten},
	{"m", thousand},
	{"in", inch},
	{"ft", decimal.New(3048, -1)},
}

func factor(unit string) decimal.Decimal {
	for _, f := range factors {
		if f.unit == unit {
			return f.mm
		}
	}
	return factors[0].mm
}

// run is digits with commas and points between them, cut into its groups.
type run struct {
	groups []string
	seps   []byte // seps[i] stands before groups[i]; seps[0] is 0
	ends   []int  // where groups[i] ends in the text
	cut    bool   // more groups follow than are looked at
}

func runAt(s string) run {
	var r run
	i := 0
	if len(s) > 1 && s[0] == '.' && isDigit(s[1]) { // .9 m
		r.groups, r.seps, r.ends = []string{"0"}, []byte{0}, []int{0}
	}
	for {
		sep := byte(0)
		if len(r.groups) > 0 {
			if i+1 >= len(s) || s[i] != ',' && s[i] != '.' || !isDigit(s[i+1]) {
				return r
			}
			sep = s[i]
			i++
		}
		n := digitsAt(s[i:])
		if n == 0 {
			return r
		}
		if len(r.groups) == maxGroups {
			r.cut = true
			return r
		}
		r.groups = append(r.groups, s[i:i+n])
		r.seps = append(r.seps, sep)
		i += n
		r.ends = append(r.ends, i)
	}
}

func (r run) end() int { return r.ends[len(r.ends)-1] }

// taking is one way of taking the front of a run: groups up to next.
type taking struct {
	value decimal.Decimal
	next  int
	odd   bool // a point as the thousands separator, which is always asked about
}

// takings are the ways of taking a value that begins with group i. More than
// three decimals only make sense before a unit, and so do three after a comma
// unless they are thousands: no tape reads thousandths of a millimetre.
func (r run) takings(i int, unit string) []taking {
	g := r.groups
	alone := taking{value: number(g[i], ""), next: i + 1}
	if i+1 == len(g) {
		return []taking{alone}
	}
	var ways []taking
	digits, point := len(g[i+1]), r.seps[i+1] == '.'
	large := unit != "" && unit != "mm" && i+2 == len(g)
	decimals := digits <= 2 || digits == 3 && (point || large) || point && unit != "" && i+2 == len(g)
	// A single point marks decimals if it can; a comma may also part two
	// readings.
	if !decimals || !point || i+2 < len(g) && r.seps[i+2] == '.' {
		ways = append(ways, alone)
	}
	if decimals {
		ways = append(ways, taking{value: number(g[i], g[i+1]), next: i + 2})
	}
	if len(g[i]) > 3 || g[i][0] == '0' || len(g[i+1]) != 3 {
		return ways
	}
	// Thousands: all the groups of three that follow, then the other sign
	// with what is left.
	sep, j, whole := r.seps[i+1], i+1, g[i]
	for j < len(g) && r.seps[j] == sep && len(g[j]) == 3 && len(whole) < maxDigits {
		whole += g[j]
		j++
	}
	odd := sep == '.'
	ways = append(ways, taking{value: number(whole, ""), next: j, odd: odd})
	if j < len(g) && r.seps[j] != sep && len(g[j]) <= 3 {
		ways = append(ways, taking{value: number(whole, g[j]), next: j + 1, odd: odd})
	}
	return ways
}

// firsts are the ways of taking the first value of a run that leave every
// value after it in the range too. The unit, if any, belongs to the last.
func (r run) firsts(unit string, want Range) []taking {
	n := len(r.groups)
	can := make([]bool, n+1)
	can[n] = true
	var ways []taking
	for i := n - 1; i >= 0; i-- {
		ways = ways[:0]
		for _, t := range r.takings(i, unit) {
			mm := t.value
			if t.next == n {
				mm = mm.Mul(factor(unit))
			}
			if t.odd || !can[t.next] || !want.Has(mm) {
				continue
			}
			ways = append(ways, t)
		}
		can[i] = len(ways) > 0 || r.cut && i == n-1
	}
	return ways
}

// isList reports whether the run is several whole readings: at least three,
// with the same sign between them and each in the range.
func (r run) isList(unit string, want Range) bool {
	if len(r.groups) < 3 || r.cut || unit != "" && unit != "mm" {
		return false
	}
	for i, g := range r.groups {
		if i > 0 && r.seps[i] != r.seps[1] || !want.Has(number(g, "")) {
			return false
		}
	}
	return true
}

// listAt is the run at the front of s if it is a list, with the place where
// it ends.
func listAt(s string, want Range) (run, int, bool) {
	r := runAt(s)
	if len(r.groups) < 3 {
		return run{}, 0, false
	}
	for _, g := range r.groups {
		if len(g) > maxDigits {
			return run{}, 0, false
		}
	}
	unit, end := unitAt(s, r.end())
	return r, end, r.isList(unit, want) && !garbledAt(s[r.end():])
}

// distinct keeps, of takings with the same value and unit, the longest.
func distinct(ways []taking) []taking {
	var out []taking
next:
	for _, t := range ways {
		for i, old := range out {
			if old.value.Equal(t.value) {
				if t.next > old.next {
					out[i] = t
				}
				continue next
			}
		}
		out = append(out, t)
	}
	return out
}

// garbledAt reports whether letters that are no unit stand between the digits
// before s and more digits, as in 12o4. A cross is no letter here.
func garbledAt(s string) bool {
	w := wordAt(s)
	if w == "" || isCross(s, w) {
		return false
	}
	if unit, _ := unitAt(s, 0); unit != "" {
		return false
	}
	after := s[len(w):]
	return after != "" && isDigit(after[0])
}

// isCross reports whether the word at the front of s is a cross, as in x1050.
func isCross(s, word string) bool {
	return strings.EqualFold(word, "x") && crossAt(s) > 0
}
