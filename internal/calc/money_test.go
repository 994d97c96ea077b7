package calc

import (
	"math/big"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestMakeBill(t *testing.T) {
	b, err := MakeBill([]PriceLine{
		{Window: 1, What: "frame", Quantity: dx("1"), Each: dx("412.37"), VATRate: dx("0.2")},
		{Window: 2, What: "frame", Quantity: dx("1"), Each: dx("300.03"), VATRate: dx("0.2")},
		{Window: 1, What: "sill", Quantity: dx("1.35"), Each: dx("18.50"), VATRate: dx("0.2")},
		{What: "skip", Quantity: dx("1"), Each: dx("180"), VATRate: dx("0.2")},
		{What: "returning customer", Quantity: dx("1"), Each: dx("-10.025"), VATRate: dx("0.2")},
	}, dx("0.25"))
	require.NoError(t, err)
	same(t, "412.37", b.Lines[0].Net)
	same(t, "82.47", b.Lines[0].VAT) // 82.474
	same(t, "24.98", b.Lines[2].Net) // 24.975, half up
	same(t, "-10.03", b.Lines[4].Net)

	same(t, "907.35", b.Job.Net)
	same(t, "1088.82", b.Job.Gross)
	same(t, "272.21", b.Deposit) // 272.205, half up
	same(t, "816.61", b.Balance)
}

func TestMakeBillRefuses(t *testing.T) {
	line := PriceLine{Quantity: dx("1"), Each: dx("1"), VATRate: dx("0.2")}
	for name, tt := range map[string]struct {
		change  func(*PriceLine)
		deposit string
		rule    string
	}{
		"quantity":          {func(l *PriceLine) { l.Quantity = dx("-1") }, "0", "bill_line"},
		"window":            {func(l *PriceLine) { l.Window = -1 }, "0", "bill_line"},
		"rate as a percent": {func(l *PriceLine) { l.VATRate = dx("20") }, "0", "bill_line"},
		"deposit":           {func(*PriceLine) {}, "1.01", "bill_deposit"},
		"less than nothing": {func(l *PriceLine) { l.Each = dx("-1") }, "0", "bill_negative"},
	} {
		t.Run(name, func(t *testing.T) {
			l := line
			tt.change(&l)
			_, err := MakeBill([]PriceLine{l}, dx(tt.deposit))
			refusedBy(t, err, ErrImpossible, tt.rule)
		})
	}
}

// halfUpPence has math/big's exact fractions as a second way to a line's
// pence.
func halfUpPence(pounds *big.Rat) int64 {
	doubled := new(big.Rat).Mul(pounds, big.NewRat(200, 1))
	doubled.Add(doubled, big.NewRat(1, 1))
	twice := new(big.Int).Mul(doubled.Denom(), big.NewInt(2))
	return new(big.Int).Div(doubled.Num(), twice).Int64()
}

func TestBillAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var lines []PriceLine
		for range rapid.IntRange(0, 12).Draw(t, "lines") {
			lines = append(lines, PriceLine{
				Window:   rapid.IntRange(0, 3).Draw(t, "window"),
				Quantity: decimal.New(int64(rapid.IntRange(0, 5000).Draw(t, "quantity")), -2),
				Each:     decimal.New(int64(rapid.IntRange(0, 99999).Draw(t, "pence")), -2),
				VATRate:  rapid.SampledFrom(dxs("0", "0.05", "0.175", "0.2")).Draw(t, "rate"),
			})
		}
		b, err := MakeBill(lines, decimal.New(int64(rapid.IntRange(0, 100).Draw(t, "deposit")), -2))
		require.NoError(t, err)
		var sum Sum
		for i, l := range b.Lines {
			require.Equal(t, l.Gross.String(), l.Net.Add(l.VAT).String())
			require.Equal(t, halfUpPence(new(big.Rat).Mul(lines[i].Quantity.Rat(), lines[i].Each.Rat())), l.Net.Shift(2).IntPart())
			require.Equal(t, halfUpPence(new(big.Rat).Mul(l.Net.Rat(), lines[i].VATRate.Rat())), l.VAT.Shift(2).IntPart())
			sum = sum.Plus(l.Sum)
		}
		require.Equal(t, b.Job.Net.String(), sum.Net.String())
		require.Equal(t, b.Job.VAT.String(), sum.VAT.String())
		require.Equal(t, b.Job.Gross.String(), sum.Gross.String())
		require.Equal(t, b.Job.Gross.String(), b.Deposit.Add(b.Balance).String())
		require.False(t, b.Balance.IsNegative())
	})
}

func TestMakeBillNamesTheLine(t *testing.T) {
	good := PriceLine{Quantity: dx("1"), Each: dx("1"), VATRate: dx("0.2")}
	bad := good
	bad.VATRate = dx("-0.1")
	_, err := MakeBill([]PriceLine{good, bad}, dx("0"))
	same(t, "2", refusedBy(t, err, ErrImpossible, "bill_line").Figures["number"])
	_, err = MakeBill([]PriceLine{good}, dx("-0.1"))
	refusedBy(t, err, ErrImpossible, "bill_deposit")
}

func TestSumBill(t *testing.T) {
	b, err := SumBill(Sum{dx("907.35"), dx("181.47"), dx("1088.82")}, dx("0.25"))
	require.NoError(t, err)
	same(t, "272.21", b.Deposit) // 272.205, half up
	same(t, "816.61", b.Balance)
	b, err = SumBill(Sum{}, dx("1"))
	require.NoError(t, err)
	same(t, "0", b.Balance)
	_, err = SumBill(Sum{}, dx("1.01"))
	refusedBy(t, err, ErrImpossible, "bill_deposit")
	_, err = SumBill(Sum{Gross: dx("-0.01")}, dx("0.25"))
	refusedBy(t, err, ErrImpossible, "bill_negative")
}
