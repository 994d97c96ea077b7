// Package sample has every form that the checker changes. Its tests are thin
// on purpose.
package sample

import (
	"errors"

	"github.com/shopspring/decimal"
)

var errTooSmall = errors.New("too small")

type pane struct {
	width *decimal.Decimal
	count int
}

// Fits is tested on both sides of its limit but not on it.
func Fits(width, room int) bool { return width < room }

// Guarded is tested without what its guard refuses.
func Guarded(width int) (int, error) {
	if width <= 0 || width > 9000 {
		return 0, errTooSmall
	}
	return width -
		10, nil
}

// Amount is tested with an amount that needs no rounding.
func Amount(p pane, prices ...decimal.Decimal) decimal.Decimal {
	total := decimal.Max(decimal.Zero, prices...)
	if p.width != nil && !p.width.Abs().IsZero() {
		total = total.Add(p.width.Mul(decimal.NewFromInt(int64(p.count))))
	}
	return total.RoundUp(0)
}

// Name is not tested at all.
func Name(p pane) string {
	switch {
	case p.count == 1:
		return "one"
	case p.count > 1 && // a comment between the two
		p.width != nil:
		return "several"
	}
	return ""
}

// Last counts by an untyped number in a small type.
func Last(of uint8) (k uint8) {
	for k+2 < of {
		k += 2
	}
	return k
}
