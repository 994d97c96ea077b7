package job

import (
	"encoding/json"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
)

func pounds(text string) decimal.Decimal { return decimal.RequireFromString(text) }

// priced is a job of n windows that the desk priced at 310.50 each.
func priced(t *testing.T, n int) Job {
	j := must(t)(begun(t, n).Send(fitter, noon, calc0))
	price := pounds("310.50")
	for id := range n {
		j = must(t)(j.Promise(desk, noon, id+1, "", &price))
	}
	return j
}

var someTerms = Terms{Rate: pounds("38"), Hours: pounds("6"), Stores: pounds("25"), Money: calc.MoneySettings{VATRate: pounds("0.2"), Deposit: pounds("0.3")}}

// A window with a price for the customer costs that and nothing more; of the others the
// work and the stores are counted, and what the crew has not set is said to be missing.
func TestAQuotationCountsEachWindowOnce(t *testing.T) {
	j := must(t)(priced(t, 3).Quote(fitter, noon, pounds("450"), 2))
	j = must(t)(j.SetCount(fitter, noon, 2, 2))
	s, err := j.Quotation(someTerms)
	require.NoError(t, err)
	// 2 × 310.50, 12 h × 38 and 2 × 25 without VAT; 2 × 450 with.
	require.True(t, s.Sum.Net.Equal(pounds("1877")), s.Sum.Net)
	require.True(t, s.Sum.Gross.Equal(pounds("2252.40")), s.Sum.Gross)
	require.True(t, s.Deposit.Equal(pounds("675.72")), s.Deposit)
	require.True(t, s.Deposit.Add(s.Balance).Equal(s.Sum.Gross))
	require.False(t, s.NoWork || s.NoStores)

	s, err = j.Quotation(Terms{Money: calc.DefaultMoneySettings()})
	require.NoError(t, err)
	require.True(t, s.NoWork && s.NoStores)
	require.Len(t, s.Lines, 3)

	s, err = begun(t, 2).Quotation(someTerms)
	require.NoError(t, err)
	require.Equal(t, []int{1, 2}, s.Open)
	require.Empty(t, s.Lines)
}

// By hand: 2 × 310.50 is 621, 12 h × 38 is 456, 2 × 25 is 50, so 1127 net; a fifth of it
// 225.40, so 1352.40. A quarter of that is 338.10 and leaves 1014.30. 200 paid leave 1152.40.
func TestAQuotationWorkedByHand(t *testing.T) {
	terms := someTerms
	terms.Money.Deposit = pounds("0.25")
	j, err := priced(t, 2).Pay(fitter, pounds("200"), "2026-12-03")
	require.NoError(t, err)
	s, err := j.Quotation(terms)
	require.NoError(t, err)
	for want, got := range map[string]decimal.Decimal{
		"1127.00": s.Sum.Net, "225.40": s.Sum.VAT, "1352.40": s.Sum.Gross, "338.10": s.Deposit, "1014.30": s.Balance, "1152.40": s.Left,
	} {
		require.Equal(t, want, got.StringFixed(2))
	}
}

// A frame that is made again costs the customer nothing more.
func TestARemakeIsNotCharged(t *testing.T) {
	j := priced(t, 1)
	before, err := j.Quotation(someTerms)
	require.NoError(t, err)
	j = must(t)(j.Confirm(desk, noon, "A", 1))
	j = must(t)(j.Break(fitter, noon, 1, 1, "corner smashed", "remake of 1"))
	require.Len(t, j.Openings, 2)
	after, err := j.Quotation(someTerms)
	require.NoError(t, err)
	require.True(t, before.Sum.Gross.Equal(after.Sum.Gross))
	require.Equal(t, []int{2}, after.Remade)
}

// Payments are kept with the job, come off what is left, and can be taken back.
func TestWhatIsPaidComesOff(t *testing.T) {
	j := priced(t, 1)
	j, err := j.Pay(fitter, pounds("400"), "2026-12-03")
	require.NoError(t, err)
	stored, err := j.Encode()
	require.NoError(t, err)
	j, err = stored.Decode()
	require.NoError(t, err)
	s, err := j.Quotation(someTerms)
	require.NoError(t, err)
	require.True(t, s.Left.Equal(s.Sum.Gross.Sub(pounds("400"))))
	require.Equal(t, "quote.left", s.ToPay().Key)

	j, err = j.Pay(fitter, pounds("4000"), "2026-12-04")
	require.NoError(t, err)
	s, _ = j.Quotation(someTerms)
	require.Equal(t, "quote.overpaid", s.ToPay().Key)
	back, ok, err := j.Unpay(fitter, pounds("4000"))
	require.NoError(t, err)
	require.True(t, ok)
	require.Len(t, back.Paid, 1)
	require.Len(t, j.Paid, 2, "the job it was called on stays")
	_, ok, err = back.Unpay(fitter, pounds("4000"))
	require.NoError(t, err)
	require.False(t, ok)

	for amount, day := range map[string]string{"0": "2026-12-03", "-1": "2026-12-03", "5": "3 December"} {
		_, err = j.Pay(fitter, pounds(amount), day)
		require.Error(t, err)
	}
	_, err = j.Pay(desk, pounds("5"), "2026-12-03")
	require.Error(t, err)
	_, _, err = j.Unpay(desk, pounds("400"))
	require.Error(t, err)
	for range mostPayments {
		j.Paid = append(j.Paid, Payment{pounds("1"), "2026-12-03"})
	}
	_, err = j.Pay(fitter, pounds("5"), "2026-12-03")
	require.Error(t, err)
}

// Nobody but the fitter's chat gets what the customer pays.
func TestMoneyIsInNoCopy(t *testing.T) {
	j := priced(t, 1)
	s, err := j.Quotation(someTerms)
	require.NoError(t, err)
	j, err = j.AsQuoted(s, "2026-12-01").Pay(fitter, pounds("417.35"), "2026-12-03")
	require.NoError(t, err)
	for _, copied := range []any{j.OrderCopy(), j.CheckCopy(), j.OwnCopy()} {
		raw, err := json.Marshal(copied)
		require.NoError(t, err)
		require.NotContains(t, string(raw), "417.35")
		require.NotContains(t, string(raw), s.Sum.Gross.String())
	}
}
