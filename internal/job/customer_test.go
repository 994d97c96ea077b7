package job

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
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
	require.Equal(t, []string{"customer customer"}, abouts(t, j, 1))
	require.Equal(t, 1, j.List()[0].Against)
	refused(t, "against")(j.Send(fitter, noon, calc0))
	require.Empty(t, abouts(t, j.SetCustomer(false), 1))
	anyway := must(t)(j.Send(fitter, noon, calc0, 1)).OrderCopy().Lines[0].Against
	require.Equal(t, PointCustomer, anyway[0].Code, "who takes it on is printed with it")
	require.Equal(t, Fitter, anyway[0].By.Role)
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
	require.Empty(t, abouts(t, j, 1))

	r.Plan.Layout.Lights[0].Hinge = "side-right"
	j, e := told(t, CustomerVoid)(j.Store(fitter, noon, 1, r))
	require.Equal(t, []int{1}, e.Openings)
	r.Plan.Layout.Lights[0].Hinge = "top"
	j, _ = told(t, OpeningChanged)(j.Store(fitter, noon, 1, r))
	require.Equal(t, []string{"customer customer"}, abouts(t, j, 1))
	require.Equal(t, "against.customer.changed", j.Openings[0].Against(calc0)[0].Text.Key)
	require.Empty(t, abouts(t, j, 2))
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

// What the desk is left to decide is nothing that the customer saw; what it is then said
// to be is.
func TestLeavingItToTheDeskKeepsTheCustomersWord(t *testing.T) {
	j := shownAndAgreed(t, 1)
	say := func(key opening.Key, value string) {
		t.Helper()
		var err error
		j, err = j.Say(fitter, noon, 1, opening.Entry{Act: opening.Set, Key: key, Value: value})
		require.NoError(t, err)
	}
	for f := range opening.Fields {
		if f.Is(opening.Maker) && f.Is(opening.OnOrder) {
			say(f.Key, opening.DeskSays)
			require.True(t, j.Openings[0].agreedNow(), f.Key)
		}
	}
	say("packing", "wrapped")
	say("spacer", "warm")
	require.True(t, j.Openings[0].agreedNow(), "nobody sees it")
	for key, value := range map[opening.Key]string{
		"opens": "in", "handle": "1000", "locking": "key", "obscure": "oak leaf", "stays": "each", "trickle": "2",
	} {
		before := j
		say(key, value)
		require.False(t, j.Openings[0].agreedNow(), key)
		j = before
	}
}

// A version of before covered three fields, what is left to the desk among them.
func TestAnAgreementOfBeforeStandsForWhatItCovered(t *testing.T) {
	j := shownAndAgreed(t, 1)
	o := j.Openings[0]
	l, err := o.line(calc0)
	require.NoError(t, err)
	l.Stated = []opening.Pair{{Key: "obscure", Value: opening.DeskSays}, {Key: "opens", Value: "out"}, {Key: "locking", Value: "key"}}
	w := o.customerWindow(l)
	w.Stated = l.Stated[:2]
	before := Agreement{Day: "2026-05-04", version: w.sum()}
	o.customer.agreed = &before
	require.NotNil(t, o.AgreedTo(l))
	l.Stated[1].Value = "in"
	require.Nil(t, o.AgreedTo(l))
}

// The customer's page is of a window that they were shown: not of one that there is not,
// nor of one that was shown to nobody. What they see of it is another as soon as it changes.
func TestThePageIsOfAWindowThatWasShown(t *testing.T) {
	j := shownAndAgreed(t, 1)
	j = must(t)(must(t)(j.Add(fitter, noon, "Porch")).Store(fitter, noon, 2, measured()))
	for id, want := range map[int]string{2: "customer_first", 9: "no_opening"} {
		var r *Refusal
		w, stands, err := j.PageWindow(id)
		require.ErrorAs(t, err, &r)
		require.Equal(t, want, r.Reason)
		require.False(t, stands)
		require.Empty(t, w)
	}
	w, stands, err := j.PageWindow(1)
	require.NoError(t, err)
	require.True(t, stands)
	require.Equal(t, "Window 1", w.Name)
	_, stands, err = must0(recolour(t, j, 1, "grey")).PageWindow(1)
	require.NoError(t, err)
	require.False(t, stands)

	// One that is being changed has its name alone, and no figures of it or of another.
	j, _, err = j.CustomerPage(fitter, noon, 2)
	require.NoError(t, err)
	j = must(t)(j.Describe(fitter, noon, 2, opening.Entry{Act: opening.Clear, Key: "width.top"}))
	w, stands, err = j.PageWindow(2)
	require.NoError(t, err)
	require.False(t, stands)
	require.Equal(t, CustomerWindow{Opening: 2, Name: "Porch"}, w)
}
