package job

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
)

// shownAndAgreed is a job of n windows whose customer agreed to all of them as shown.
func shownAndAgreed(t *testing.T, n int) Job {
	j := begun(t, n).SetCustomer(true)
	var ids []int
	for id := range n {
		ids = append(ids, id+1)
	}
	refused(t, "customer_first")(j.CustomerAgrees(fitter, noon, "Mrs Hill", "2026-05-04", ids...))
	j, sheet, err := j.CustomerPage(fitter, noon, ids...)
	require.NoError(t, err)
	require.Len(t, sheet.Windows, n)
	j, e := told(t, CustomerAgreed)(j.CustomerAgrees(fitter, noon, "Mrs Hill", "2026-05-04", ids...))
	require.Equal(t, []int64{fitter.Chat}, chatsOf(e))
	return j
}

// Where the crew wants the customer's word a window goes out with it, or not at all.
func TestTheCustomerAgreesBeforeTheOrder(t *testing.T) {
	j := begun(t, 1).SetCustomer(true)
	refused(t, "customer")(j.Send(fitter, noon, calc0))
	refused(t, "not_your_part")(j.CustomerAgrees(desk, noon, "Mrs Hill", "2026-05-04", 1))
	j = must(t)(shownAndAgreed(t, 1).Send(fitter, noon, calc0))
	line := j.OrderCopy().Lines[0]
	require.Equal(t, "2026-05-04", line.Agreed.Day)
	require.Empty(t, line.Agreed.Name, "names are not shared")
	j = must(t)(j.SetShareNames(fitter, noon, true))
	require.Equal(t, "Mrs Hill", j.OrderCopy().Lines[0].Agreed.Name)
	require.NotNil(t, must(t)(begun(t, 1).Send(fitter, noon, calc0)).Lines(), "nobody asked for it")
	require.NotContains(t, allOf(t, j.Forget(fitter.Person)), "Hill", "it was the fitter who wrote the name")
}

// What the customer saw voids their word when it changes, once; what they don't see
// does not. It is told once, and the page is to be shown again.
func TestAChangeOfWhatTheCustomerSawVoidsTheirWord(t *testing.T) {
	j := shownAndAgreed(t, 2)
	j = must(t)(j.Rename(fitter, noon, 1, "Bath"))
	r := measured()
	r.Plan.Lighter = true
	j = must(t)(j.Store(fitter, noon, 1, r))
	require.True(t, j.Openings[0].agreedNow(), "packers, screws and the name are the fitter's")
	require.Empty(t, j.CustomerLacks())

	r.Plan.Layout.Lights[0].Hinge = "side-right"
	j, e := told(t, CustomerVoid)(j.Store(fitter, noon, 1, r))
	require.Equal(t, []int{1}, e.Openings)
	r.Plan.Layout.Lights[0].Hinge = "top"
	j, _ = told(t, OpeningChanged)(j.Store(fitter, noon, 1, r))
	require.Len(t, j.CustomerLacks(), 1)
	refused(t, "customer_changed")(j.CustomerAgrees(fitter, noon, "Mrs Hill", "2026-05-05", 1))
	require.False(t, j.Openings[0].agreedNow())
	require.True(t, j.Openings[1].agreedNow())

	j, _, err := j.CustomerPage(fitter, noon, 1)
	require.NoError(t, err)
	j = must(t)(j.CustomerAgrees(fitter, noon, "Mrs Hill", "2026-05-05", 1))
	require.True(t, j.Openings[0].agreedNow())
	quoted, events, err := j.Quote(fitter, noon, decimal.NewFromInt(450), 1)
	require.NoError(t, err)
	require.Equal(t, []EventKind{CustomerQuoted, CustomerVoid}, kindsOf(events))
	require.NotContains(t, asJSON(t, quoted.OrderCopy()), "450", "what the customer pays is not the desk's")
	withdrawn, _ := told(t, CustomerWithdrew)(j.CustomerWithdraws(fitter, noon, 2))
	require.False(t, withdrawn.Openings[1].agreedNow())
	refused(t, "customer_none")(withdrawn.CustomerWithdraws(fitter, noon, 2))
}
