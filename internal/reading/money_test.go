package reading

import (
	"errors"
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
		"1\u00a0234,50": {"1234.5"}, "1\u202f234.5": {"1234.5"}, "12 345 678": {"12345678"},
		"1,234": {"1234", "1.23"}, "1.234": {"1234", "1.23"}, "£310.505": {"310505", "310.51"},
		"1234.567": {"?", "1234.57"}, "1.234,567": {"?", "1234.57"}, "1 234,567": {"?", "1234.57"}, "0.500": {"?", "0.5"}, "12.3456": {"?", "12.35"},
		"1,23,456": nil, "1 234 56": nil, "0,123,456": nil, "1.234 567": nil, "$5": nil, "12a4": nil, "٣": nil, "1,,5": nil, "310 50": nil, "1,234,56": nil, "12 50": nil, "1e3": nil, "": nil, "£": nil, "ten": nil,
		"123456789": nil, "1 234 5": nil, "310.50 310.50": nil, "1,234 567": nil,
	} {
		got, sure, err := Money(text)
		if want == nil {
			require.ErrorIs(t, err, ErrNoNumber, text)
			continue
		}
		require.NoError(t, err, text)
		if require.Equal(t, len(want) == 1, sure, text); want[0] == "?" {
			want = want[1:]
		}
		require.Len(t, got, len(want), text)
		for i := range want {
			require.Equal(t, want[i], got[i].String(), text)
		}
	}
}

func TestMoneyBelowZeroIsRefused(t *testing.T) {
	for _, text := range []string{"-5", "−5.20", "£-5", "-£5"} {
		_, _, err := Money(text)
		require.ErrorIs(t, err, ErrNegative, text)
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
			got, sure, err := Money(text)
			require.NoError(t, err, text)
			require.True(t, sure && len(got) == 1, text)
			require.True(t, want.Equal(got[0]), text)
		}
	})
}

func FuzzMoney(f *testing.F) {
	for _, s := range append(seeds, "£310.50", "1.234,56", "1 234", "-£5", "1,234.567") {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		amounts, sure, err := Money(text)
		if err != nil {
			require.True(t, errors.Is(err, ErrNoNumber) || errors.Is(err, ErrNegative))
			require.Empty(t, amounts)
			return
		}
		require.True(t, len(amounts) == 1 || len(amounts) == 2 && !sure && amounts[0].GreaterThan(amounts[1]))
		for _, amount := range amounts {
			require.False(t, amount.IsNegative())
			// What is asked about can be typed as it is shown.
			again, sure, err := Money(amount.StringFixed(2))
			require.True(t, err == nil && sure && again[0].Equal(amount), "%s", amount)
		}
	})
}
