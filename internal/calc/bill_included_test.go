package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A price with VAT stays what the customer was told, and the VAT within is the nearest
// penny to rate / (1 + rate) of it: arithmetic, by the rate as it is given.
func TestAPriceWithVATStaysWhatWasSaid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		price := decimal.New(rapid.Int64Range(0, 1_000_000).Draw(t, "pence"), -2)
		rate := decimal.New(rapid.Int64Range(0, 100).Draw(t, "rate"), -2)
		quantity := decimal.NewFromInt(rapid.Int64Range(1, 20).Draw(t, "quantity"))
		b, err := MakeBill([]PriceLine{{Quantity: quantity, Each: price, VATRate: rate, Including: true}}, decimal.Zero)
		require.NoError(t, err)
		require.True(t, b.Job.Gross.Equal(price.Mul(quantity)))
		require.True(t, b.Job.Net.Add(b.Job.VAT).Equal(b.Job.Gross))
		// VAT × (1 + rate) is off from gross × rate by half a penny times (1 + rate) at most.
		one := rate.Add(decimal.NewFromInt(1))
		off := b.Job.VAT.Mul(one).Sub(b.Job.Gross.Mul(rate)).Abs()
		require.True(t, off.LessThanOrEqual(decimal.New(5, -3).Mul(one)), "off by %s", off)
	})
	b, err := MakeBill([]PriceLine{{Quantity: mm(1), Each: mm(450), VATRate: decimal.New(2, -1), Including: true}}, decimal.Zero)
	require.NoError(t, err)
	require.Equal(t, "75", b.Job.VAT.String())
	require.Equal(t, "375", b.Job.Net.String())
}

// Packers of several windows: every piece is there, and spares are counted once over all,
// which never takes more than counting them window by window.
func TestSparesOfPackersAreCountedOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		waste := decimal.New(rapid.Int64Range(0, 100).Draw(t, "waste"), -2)
		var all PackerTally
		pieces, each := [thickestPacker + 1]int{}, [thickestPacker + 1]int{}
		for range rapid.IntRange(1, 8).Draw(t, "windows") {
			stack := rapid.SliceOfN(rapid.IntRange(1, thickestPacker), 0, 12).Draw(t, "stack")
			alike := rapid.IntRange(1, 5).Draw(t, "alike")
			places := []PackerPlace{{Stack: stack}}
			all.Add(places, alike)
			for _, c := range takeAlong(places, waste) {
				each[c.Thickness] += c.Pieces * alike
			}
			for _, thickness := range stack {
				pieces[thickness] += alike
			}
		}
		took := [thickestPacker + 1]int{}
		for _, c := range all.Take(waste) {
			took[c.Thickness] = c.Pieces
		}
		for thickness, n := range pieces {
			least := n + int(waste.Mul(decimal.NewFromInt(int64(n))).Ceil().IntPart())
			require.Equal(t, least, took[thickness], "%d mm", thickness)
			require.LessOrEqual(t, took[thickness], each[thickness])
		}
	})
}
