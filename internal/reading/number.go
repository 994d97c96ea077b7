package reading

import (
	"fmt"
	"unicode"
	"unicode/utf8"

	"github.com/shopspring/decimal"
)

// front takes the length at the very front of s and says how many bytes it is
// long.
func front(s string, want Range) (Length, int, error) {
	r := runAt(s)
	if f, n := fractionAt(s); n > 0 {
		// 4/16 may be the front of a list when 4 is a length by itself.
		unit, _ := unitAt(s, n)
		if unit != "" || len(r.groups) == 0 || !want.Has(number(r.groups[0], "")) {
			return fraction(s, decimal.Zero, f, n, want)
		}
	}
	if len(r.groups) == 0 {
		return Length{}, 0, noNumber(s)
	}
	for _, g := range r.groups {
		if len(g) > maxDigits {
			return Length{}, 0, &RangeError{Want: want}
		}
	}
	if garbledAt(s[r.end():]) {
		return Length{}, 0, fmt.Errorf("%w: letters among the digits", ErrNoNumber)
	}
	if len(r.groups) == 1 {
		return single(s, r, want)
	}
	return r.first(s, want)
}

// first takes the first value of a run of several groups, or asks where they
// can be read in several ways.
func (r run) first(s string, want Range) (Length, int, error) {
	unit, end := "", r.end()
	if !r.cut {
		unit, end = unitAt(s, r.end())
	}
	ends := func(t taking) int {
		if t.next == len(r.groups) {
			return end
		}
		return r.ends[t.next-1]
	}
	settle := func(t taking) (Length, int, error) {
		u := ""
		if t.next == len(r.groups) {
			u = unit
		}
		return plain(t.value, u, ends(t), want)
	}
	if ways := distinct(r.firsts(unit, want)); len(ways) > 0 {
		if len(ways) == 1 {
			return settle(ways[0])
		}
		var l Length
		n := 0
		for _, t := range ways {
			u := "mm"
			if t.next == len(r.groups) && unit != "" {
				u = unit
			}
			l.ask(t.value.Mul(factor(u)), u, ends(t))
			n = max(n, ends(t))
		}
		return l, n, nil
	}
	return r.leftover(unit, ends, want)
}

// leftover handles a run that can't be taken whole: it takes or asks about its
// first value alone.
func (r run) leftover(unit string, ends func(taking) int, want Range) (Length, int, error) {
	ways := r.takings(0, unit)
	natural := ways[0]
	for _, t := range ways {
		if t.next == 2 && !t.odd {
			natural = t
			break
		}
	}
	unitOf := func(t taking) string {
		if t.next == len(r.groups) {
			return unit
		}
		return ""
	}
	var can []taking
	for _, t := range ways {
		if !t.odd && want.Has(t.value.Mul(factor(unitOf(t)))) {
			can = append(can, t)
		}
	}
	if len(can) == 1 {
		natural = can[0]
	}
	l, n, err := plain(natural.value, unitOf(natural), ends(natural), want)
	if len(can) == 1 {
		return l, n, err
	}
	if err == nil && l.Clear() { // several are possible
		l = Length{}
	}
	for _, t := range ways {
		if mm := t.value.Mul(factor(unitOf(t))); want.Has(mm) {
			u := unitOf(t)
			if u == "" {
				u = "mm"
			}
			l.ask(mm, u, ends(t))
			n, err = max(n, ends(t)), nil
		}
	}
	if err != nil {
		return Length{}, 0, err
	}
	return l, n, nil
}

// single takes a run of one group, which may go on with a fraction, with
// inches after feet, or with a second part after metres.
func single(s string, r run, want Range) (Length, int, error) {
	whole := number(r.groups[0], "")
	end := r.end()
	if f, n := fractionAt(s[end:]); n > 0 {
		return fraction(s, whole, f, end+n, want)
	}
	if mm, n := spacedThousands(s, r, want); n > 0 {
		l, _, _ := plain(whole, "", end, want)
		l.ask(mm, "mm", n)
		return l, n, nil
	}
	unit, n := unitAt(s, end)
	switch unit {
	case "ft":
		return feet(s, whole, n, want)
	case "m":
		if d := digitsAt(s[n:]); d > 0 && d <= 3 { // 1m20
			var l Length
			mm := whole.Add(number("0", s[n:n+d])).Mul(thousand)
			if !want.Has(mm) {
				return Length{}, 0, &RangeError{MM: mm, Want: want}
			}
			l.ask(mm, "m", n+d)
			return l, n + d, nil
		}
		if more, u, k := partAt(s[n:]); k > 0 { // 1 m 204 mm
			var l Length
			mm := whole.Mul(thousand)
			if both := mm.Add(more.Mul(factor(u))); want.Has(both) {
				l.ask(both, "m", n+k)
			}
			if want.Has(mm) {
				l.ask(mm, "m", n)
			}
			if !l.Clear() {
				return l, l.ends[0], nil
			}
		}
	}
	return plain(whole, unit, n, want)
}

// plain settles a value in a unit, or without one.
func plain(v decimal.Decimal, unit string, end int, want Range) (Length, int, error) {
	if unit != "" {
		mm := v.Mul(factor(unit))
		if !want.Has(mm) {
			return Length{}, 0, &RangeError{MM: mm, Want: want}
		}
		return Length{MM: mm, Unit: unit}, end, nil
	}
	if want.Has(v) {
		// Nobody reads tenths of a millimetre off a tape under ten, where
		// metres fit too: 0.8 is more likely 800.
		if metres := v.Mul(thousand); !v.IsInteger() && v.LessThan(ten) && want.Has(metres) {
			var l Length
			l.ask(metres, "m", end)
			l.ask(v, "mm", end)
			return l, end, nil
		}
		return Length{MM: v}, end, nil
	}
	var l Length
	for _, f := range factors[1:4] {
		if f.unit == "in" && !v.Mul(sixtyFour).IsInteger() {
			continue // no tape in inches reads that
		}
		if mm := v.Mul(f.mm); want.Has(mm) {
			l.ask(mm, f.unit, end)
		}
	}
	if l.Clear() {
		return Length{}, 0, &RangeError{MM: v, Want: want}
	}
	return l, end, nil
}

// fraction settles a whole number with a fraction, whose text ends at end. It
// is asked about unless a unit follows.
func fraction(s string, whole, part decimal.Decimal, end int, want Range) (Length, int, error) {
	v := whole.Add(part)
	unit, n := unitAt(s, end)
	if unit != "" {
		return plain(v, unit, n, want)
	}
	var l Length
	for _, u := range []string{"in", "mm"} {
		if mm := v.Mul(factor(u)); want.Has(mm) {
			l.ask(mm, u, n)
		}
	}
	if l.Clear() {
		return Length{}, 0, &RangeError{MM: v.Mul(inch), Want: want}
	}
	return l, n, nil
}

// feet settles whole feet and the inches after them; the mark of the feet
// ends at n.
func feet(s string, whole decimal.Decimal, n int, want Range) (Length, int, error) {
	sum := func(in decimal.Decimal) decimal.Decimal { return whole.Mul(twelve).Add(in).Mul(inch) }
	in, end := inchesAt(s, n)
	if end == n {
		return plain(whole, "ft", n, want)
	}
	unit, after := unitAt(s, end)
	if unit != "" && unit != "in" || unit == "" && in.GreaterThanOrEqual(twelve) {
		return plain(whole, "ft", n, want)
	}
	mm := sum(in)
	if in.GreaterThanOrEqual(twelve) || unit == "" && want.Has(in) {
		// 3' 14", or 3' 11 where 11 may be the next reading.
		var l Length
		if want.Has(mm) {
			l.ask(mm, "ft", after)
		}
		if feet := sum(decimal.Zero); unit == "" && want.Has(feet) {
			l.ask(feet, "ft", n)
		}
		if !l.Clear() {
			return l, after, nil
		}
	}
	return plainMM(mm, "ft", after, want)
}

func plainMM(mm decimal.Decimal, unit string, end int, want Range) (Length, int, error) {
	if !want.Has(mm) {
		return Length{}, 0, &RangeError{MM: mm, Want: want}
	}
	return Length{MM: mm, Unit: unit}, end, nil
}

// inchesAt takes the inches after a feet mark: 11, 11.5, 11 3/8, 3/8. Without
// any it gives back n.
func inchesAt(s string, n int) (decimal.Decimal, int) {
	i := n + len(s[n:]) - len(skipSpace(s[n:]))
	if i < len(s) && s[i] == '-' {
		i++
	}
	d := digitsAt(s[i:])
	if d > 3 {
		return decimal.Zero, n
	}
	whole := decimal.Zero
	if d > 0 {
		whole = number(s[i:i+d], "")
	}
	if f, k := fractionAt(s[i+d:]); k > 0 {
		return whole.Add(f), i + d + k
	}
	if f, k := fractionAt(s[i:]); k > 0 {
		return f, i + k
	}
	if d == 0 {
		return decimal.Zero, n
	}
	i += d
	if i+1 < len(s) && s[i] == '.' && isDigit(s[i+1]) {
		if k := digitsAt(s[i+1:]); k <= maxDigits {
			return number(s[i-d:i], s[i+1:i+1+k]), i + 1 + k
		}
	}
	return whole, i
}

// partAt takes a second part such as " 204 mm" or "20cm" after metres.
func partAt(s string) (decimal.Decimal, string, int) {
	i := len(s) - len(skipSpace(s))
	d := digitsAt(s[i:])
	if d == 0 || d > 3 {
		return decimal.Zero, "", 0
	}
	unit, n := unitAt(s, i+d)
	if unit != "mm" && unit != "cm" {
		return decimal.Zero, "", 0
	}
	return number(s[i:i+d], ""), unit, n
}

// spacedThousands takes 1 204 where 1 is no length and 1204 is one.
func spacedThousands(s string, r run, want Range) (decimal.Decimal, int) {
	g, end := r.groups[0], r.end()
	if len(g) > 3 || g[0] == '0' || want.Has(number(g, "")) {
		return decimal.Zero, 0
	}
	c, size := utf8.DecodeRuneInString(s[end:])
	if !isSpace(c) || digitsAt(s[end+size:]) != 3 {
		return decimal.Zero, 0
	}
	next := runAt(s[end+size:])
	if len(next.groups) != 1 {
		return decimal.Zero, 0
	}
	mm := number(g+next.groups[0], "")
	if !want.Has(mm) {
		return decimal.Zero, 0
	}
	n := end + size + 3
	if unit, after := unitAt(s, n); unit == "mm" {
		n = after
	} else if unit != "" {
		return decimal.Zero, 0
	}
	return mm, n
}

func (l *Length) ask(mm decimal.Decimal, unit string, end int) {
	for _, old := range l.Others {
		if old.Equal(mm) {
			return
		}
	}
	l.MM, l.Unit = decimal.Zero, ""
	l.Others = append(l.Others, mm)
	l.OtherUnits = append(l.OtherUnits, unit)
	l.ends = append(l.ends, end)
}

func noNumber(s string) error {
	r, _ := utf8.DecodeRuneInString(s)
	if unicode.IsDigit(r) || unicode.IsNumber(r) {
		return fmt.Errorf("%w: %w", ErrNoNumber, ErrOtherDigits)
	}
	return ErrNoNumber
}
