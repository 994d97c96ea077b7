package sample

import (
	"testing"

	"github.com/shopspring/decimal"
)

func TestFits(t *testing.T) {
	if !Fits(1, 3) || Fits(5, 3) {
		t.Fail()
	}
}

func TestGuarded(t *testing.T) {
	if got, err := Guarded(100); got != 90 || err != nil {
		t.Fail()
	}
}

func TestAmount(t *testing.T) {
	width := decimal.NewFromInt(-3)
	got := Amount(pane{&width, 2}, decimal.NewFromInt(7), decimal.NewFromInt(5))
	if !got.Equal(decimal.NewFromInt(1)) {
		t.Fail()
	}
}

func TestLast(t *testing.T) {
	if Last(6) != 4 || Last(7) != 6 {
		t.Fail()
	}
}
