package reading

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestMoneyIsUnderstoodOrAskedBack(t *testing.T) {
	for text, want := range map[string][]string{
		"310": {"310"}, "310,50": {"310.5"}, "310.50": {"310.5"}, "£310.50": {"310.5"}, "£ 310.5": {"310.5"}, "12,50": {"12.5"},
		"1.234,56": {"1234.56"}, "1,234.56": {"1234.56"}, "1 234.50": {"1234.5"}, "1 234,50": {"1234.5"}, "1 234": {"1234"},
		"1,234,567": {"1234567"}, "1.234.567": {"1234567"}, "1.234.567,8": {"1234567.8"}, "0": {"0"}, "0.00": {"0"},
		"1,234": {"1234", "1.23"}, "1.234": {"1234", "1.23"}, "£310.500": {"310500", "310.5"},
		"1234.567": nil, "1,23,456": nil, "1.234,567": nil, "1,234,56": nil, "12 50": nil, "-5": nil, "1e3": nil, "": nil, "£": nil, "ten": nil,
		"123456789": nil, "1 234 5": nil, "310.50 310.50": nil, "1,234 567": nil,
	} {
		got, err := Money(text)
		if want == nil {
			require.ErrorIs(t, err, ErrNoNumber, text)
			continue
		}
		require.NoError(t, err, text)
		require.Len(t, got, len(want), text)
		for i := range want {
			require.Equal(t, want[i], got[i].String(), text)
		}
	}
}

// However an amount of pounds and pence is set, it is read as that amount.
func TestMoneyAsItIsSet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pence := rapid.Int64Range(0, 999_999_999).Draw(t, "pence")
		want := decimal.New(pence, -2)
		plain := want.StringFixed(2)
		set := plain
		for i := len(plain) - 6; i > 0; i -= 3 {
			set = set[:i] + "," + set[i:]
		}
		for _, text := range []string{plain, set, "£" + set} {
			got, err := Money(text)
			require.NoError(t, err, text)
			require.Len(t, got, 1, text)
			require.True(t, want.Equal(got[0]), text)
		}
	})
}
