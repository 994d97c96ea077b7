package calc

import (
	"math/bits"

	"github.com/shopspring/decimal"
)

// The geometry of an opening is worked in whole micrometres: exact integers,
// far finer than a tape, and fast enough to search with.

// spot is a place in micrometres, in the coordinates of Point.
type spot struct{ x, y int64 }

// microns is d millimetres in micrometres, to the nearest.
func microns(d decimal.Decimal) int64 {
	if u, ok := wholeMicrons(d); ok {
		return u
	}
	return d.Shift(3).Round(0).IntPart()
}

// micronsDown is d millimetres in whole micrometres, rounded down.
func micronsDown(d decimal.Decimal) int64 {
	if u, ok := wholeMicrons(d); ok {
		return u
	}
	return d.Shift(3).Floor().IntPart()
}

// wholeMicrons is d millimetres in micrometres where that is plainly whole.
// It spares the conversions of what nearly every reading and point is.
func wholeMicrons(d decimal.Decimal) (int64, bool) {
	exp := d.Exponent()
	if exp > 0 || exp < -3 {
		return 0, false
	}
	u := d.CoefficientInt64()
	for ; exp > -3; exp-- {
		u *= 10
	}
	return u, true
}

// inMM is u micrometres in millimetres, exactly.
func inMM(u int64) decimal.Decimal {
	exp := int32(-3)
	for exp < 0 && u%10 == 0 {
		u /= 10
		exp++
	}
	return decimal.New(u, exp)
}

func (s spot) point() Point { return Point{inMM(s.x), inMM(s.y)} }

func (p Point) spot() spot { return spot{microns(p.X), microns(p.Y)} }

// divDown is a/b rounded down, for b > 0.
func divDown(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

// divUp is a/b rounded up, for b > 0.
func divUp(a, b int64) int64 { return -divDown(-a, b) }

// divNear is a/b to the nearest, halves up, for b > 0.
func divNear(a, b int64) int64 { return divDown(2*a+b, 2*b) }

// rootDown is the square root of n rounded down; 0 for a negative n.
func rootDown(n int64) int64 {
	if n <= 0 {
		return 0
	}
	// Newton's method from above: the first guess is a power of two that is
	// not less than the root, and it falls until it no longer does.
	x := int64(1) << ((bits.Len64(uint64(n)) + 1) / 2)
	for {
		next := (x + n/x) / 2
		if next >= x {
			return x
		}
		x = next
	}
}

// rootUp is the square root of n rounded up; 0 for a negative n.
func rootUp(n int64) int64 {
	r := rootDown(n)
	if r*r < n {
		r++
	}
	return r
}

func abs64(n int64) int64 {
	if n < 0 {
		return -n
	}
	return n
}

// beyond is how much of x is not explained by the tape, whose error has the given
// variance: nothing up to 0.7 of a standard deviation, and above that x less half the
// variance over x, so that what is large is hardly touched. Rounded up, to the
// micrometre. (The nonnegative garrote; Breiman 1995, from memory.)
func beyond(x, variance int64) int64 {
	a := abs64(x)
	if 2*a*a <= variance {
		return 0
	}
	rest := divUp(2*a*a-variance, 2*a)
	if x < 0 {
		return -rest
	}
	return rest
}
