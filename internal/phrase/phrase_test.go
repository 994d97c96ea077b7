package phrase

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The library's own writing is the check.
func TestNumbersAreWrittenAsTheLibraryDoes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := decimal.New(rapid.Int64().Draw(t, "coefficient")/rapid.SampledFrom([]int64{1, 1000, 1_000_000, 1_000_000_000_000}).Draw(t, "by"), rapid.Int32Range(-20, 5).Draw(t, "exponent"))
		if rapid.Bool().Draw(t, "huge") {
			n = n.Mul(n)
		}
		require.Equal(t, "x"+n.String(), string(AppendNumber([]byte("x"), n)))
	})
	for _, s := range []string{"0", "0.0", "-0.5", "0.05", "-0.050", "1200", "1200.0", "7.25", "-1", "999999999999999", "0.000000000000001"} {
		n := decimal.RequireFromString(s)
		require.Equal(t, n.String(), string(AppendNumber(nil, n)), s)
	}
	require.Equal(t, "0", string(AppendNumber(nil, decimal.Decimal{})))
}
