package job

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
	"sillbot/internal/safety"
)

// The next sending holds what the desk has, delivered or not, and no delivered frame that
// was never on the order.
func TestReadyHoldsWhatIsOnTheOrder(t *testing.T) {
	j := must(t)(must(t)(sent(t, 2).ConfirmAll(desk, noon, "A")).Advance(fitter, noon, 1, DoDeliver))
	lines, not := j.Ready(calc0)
	require.Empty(t, not)
	require.Equal(t, []int{1, 2}, []int{lines[0].Opening, lines[1].Opening})
	elsewhere := j
	elsewhere.Order.On = []int{2}
	lines, _ = elsewhere.Ready(calc0)
	require.Len(t, lines, 1)
	require.Equal(t, 2, lines[0].Opening)
}

// An arched head has no square frame: it is not sent, anyway or not, and the fitter is
// told why.
func TestAnArchedHeadIsNotSent(t *testing.T) {
	r := measured()
	r.Plan.Heights[1] = mm(1106)
	j := must(t)(begun(t, 2).Store(fitter, noon, 1, r))
	_, not := j.Ready(calc0)
	require.Len(t, not, 1)
	require.Equal(t, "no_plan", not[0].Why.Reason)
	require.Error(t, not[0].Why.Cause)
	refused(t, "no_plan")(j.Send(fitter, noon, calc0, 1))
	refused(t, "no_opening")(j.Send(fitter, noon, calc0, 9))
}

// Only what stands against a window and can be taken on is, and what waits for the lead
// is said first.
func TestNothingToSendSaysWhatToDo(t *testing.T) {
	stopped, open := withoutLevel(), withoutLevel()
	stopped.Plan.Over, stopped.Plan.NoLintel = "", true
	j := must(t)(begun(t, 1).Store(fitter, noon, 1, stopped))
	why := refused(t, "stopped")(j.Send(fitter, noon, calc0))
	require.Len(t, why.Points, 2, "the level too")
	require.True(t, NotReady{Why: why}.Stopped())
	require.True(t, NotReady{Why: why}.Unfit())
	refused(t, "stopped")(j.Send(fitter, noon, calc0, 1))
	j = must(t)(begun(t, 3).Store(fitter, noon, 1, open))
	j = must(t)(j.AskCheck(fitter, noon, 2, 3))
	waits := refused(t, "waits_for_lead")(j.Send(fitter, noon, calc0))
	require.Equal(t, "Window 2, Window 3", waits.Say["names"])
	require.Equal(t, "2", waits.Figures["n"].String())
	j = must(t)(must(t)(j.WithdrawCheck(fitter, noon, 2)).WithdrawCheck(fitter, noon, 3))
	j = must(t)(j.Send(fitter, noon, calc0))
	against := refused(t, "against")(j.Send(fitter, noon, calc0))
	require.Equal(t, "1", against.Figures["n"].String())
	require.False(t, NotReady{Why: against}.Stopped())
	require.True(t, NotReady{Why: against}.Unfit())
	require.False(t, NotReady{Why: refuse("send")}.Unfit())
	refused(t, "nothing_to_send")(sent(t, 1).Send(fitter, noon, calc0))
}

// A promise lapses with the window that it was for, and stays where another one changed
// or the points alone.
func TestAPromiseLapsesWithItsWindow(t *testing.T) {
	j := must(t)(begun(t, 2).Store(fitter, noon, 1, withoutLevel()))
	j = must(t)(j.Send(fitter, noon, calc0, 1))
	j = must(t)(j.Promise(desk, noon, 1, "2026-05-20", nil))
	j = must(t)(j.Promise(desk, noon, 2, "", price("310")))
	points := must(t)(j.Store(fitter, noon, 1, measured()))
	points, e := told(t, OrderRevised)(points.Send(fitter, noon, calc0))
	require.Equal(t, []ChangeKind{AgainstGone}, kinds(e.Changes))
	require.NotContains(t, e.Say, "lapsed")
	require.Equal(t, "2026-05-20", points.Openings[0].Supply.Due, "the window is the same")

	grey, e := told(t, OrderRevised)(must0(recolour(t, j, 2, "grey")).Send(fitter, noon, calc0))
	require.Equal(t, "Window 2", e.Say["lapsed"])
	require.Nil(t, grey.Openings[1].Supply.Price)
	require.Equal(t, "2026-05-20", grey.Openings[0].Supply.Due)
	require.Equal(t, "A", e.Say["before"])
	require.Equal(t, "B", e.Say["revision"])
}

// The desk confirms the revision that it reads: an older one is void, one that never was
// is none.
func TestWhichRevisionIsConfirmed(t *testing.T) {
	j := sent(t, 2)
	for _, colour := range []string{"grey", "brown"} {
		j = must(t)(must0(recolour(t, j, 1, colour)).Send(fitter, noon, calc0))
	}
	for revision, want := range map[string]string{"A": "superseded", "b": "superseded", "D": "no_revision", "": "no_revision"} {
		r := refused(t, want)(j.Confirm(desk, noon, revision, 1))
		require.Equal(t, "C", r.Say["now"])
	}
	j, e := told(t, LineConfirmed)(j.Confirm(desk, noon, "c", 1))
	require.Equal(t, "1", e.Figures["open"].String())
	_, e = told(t, OrderConfirmed)(j.Confirm(desk, noon, "C", 2))
	require.Equal(t, "2", e.Figures["count"].String())
	refused(t, "held")(must0(recolour(t, j, 1, "white")).Confirm(desk, noon, "C", 2))

	// A new window is not on the order yet: nothing of it is confirmed.
	more := must(t)(must(t)(sent(t, 1).Add(fitter, noon, "New")).Store(fitter, noon, 2, measured()))
	more, e = told(t, OrderConfirmed)(more.ConfirmAll(desk, noon, "A"))
	require.Equal(t, []int{1}, e.Openings)
	require.Equal(t, Survey, stateOf(t, more, 2))
	refused(t, "nothing_to_confirm")(more.ConfirmAll(desk, noon, "A"))
	require.Equal(t, []int(nil), more.toBeTold())
}

// The sheet for the desk says what became of each line, and keeps what is not shared.
func TestTheDesksSheetLineByLine(t *testing.T) {
	j := must(t)(begun(t, 2).SetLabel(fitter, noon, "Mill"))
	require.Empty(t, j.OrderCopy().Lines)
	require.True(t, j.OrderCopy().Sent.IsZero())
	j = must(t)(j.Send(fitter, noon.Add(time.Hour), calc0))
	sheet := j.OrderCopy()
	require.Equal(t, noon.Add(time.Hour), sheet.Sent)
	require.Empty(t, sheet.Replaces)
	require.Empty(t, sheet.Label)
	require.Empty(t, sheet.Changes)
	require.NotEmpty(t, sheet.Lines[0].DeskDecides)
	j = must(t)(j.Confirm(desk, noon, "A", 1))
	j = must(t)(j.Query(desk, noon, 2, "which side?"))
	j = must0(recolour(t, j, 2, "grey"))
	sheet = j.OrderCopy()
	require.True(t, sheet.Held)
	require.Nil(t, sheet.Lines[0].Confirmed, "nothing counts of an order that is held")
	require.Nil(t, sheet.Lines[1].Measured)
	require.Empty(t, sheet.Lines[1].DeskDecides)
	j = must(t)(j.Send(fitter, noon, calc0))
	sheet = j.OrderCopy()
	require.Equal(t, "A", sheet.Replaces)
	require.Equal(t, []ChangeKind{ColourChanged}, kinds(sheet.Changes))
	require.Equal(t, Queried, sheet.Lines[1].State)
	require.NotNil(t, sheet.Lines[1].Measured)
	j = must(t)(j.ConfirmTold(fitter, noon, Reply{Heard: Heard{Way: ByPhone, By: "Anna"}}))
	require.Empty(t, j.OrderCopy().Lines[1].Told.Heard.By)
	named := must(t)(j.SetShareNames(fitter, noon, true)).OrderCopy()
	require.Equal(t, "Anna", named.Lines[1].Told.Heard.By)
	require.Equal(t, "Fay Fitter", named.Lines[1].Told.By.Name)
	require.Empty(t, j.OrderCopy().Lines[1].Told.By.Name)

	// A wall that nobody saw into is named by its finding, and not once more as unknown.
	r := measured()
	r.Plan.OldVents, r.Plan.VentsUnknown = false, true
	vents := must(t)(must(t)(begun(t, 1).Store(fitter, noon, 1, r)).Send(fitter, noon, calc0))
	line := vents.OrderCopy().Lines[0]
	require.True(t, slices.ContainsFunc(line.Safety, func(f safety.Finding) bool { return f.Rule == "vents_ask" }))
	require.NotContains(t, line.NotKnown, opening.Key("vents"))
}
