package job

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
)

var anna = Reply{Heard: Heard{Way: ByPhone, By: "Anna", Order: "4711"}, Due: "2026-05-20"}

// What was told freezes a line as the desk's own word does, and says that it is
// hearsay. More is told of it later; the desk's own word stands beside it.
func TestConfirmedAsTold(t *testing.T) {
	refused(t, "told_unsent")(begun(t, 1).ConfirmTold(fitter, noon, anna))
	j := sent(t, 3)
	j, e := told(t, LinesTold)(j.ConfirmTold(lead, noon, anna, 1, 2))
	require.Equal(t, "1-2", e.Say["lines"])
	require.Equal(t, "1", e.Figures["open"].String())
	require.Equal(t, []int64{1, 2, 3}, chatsOf(e))
	l := j.OrderCopy().Lines[0]
	require.Nil(t, l.Confirmed)
	require.Equal(t, Heard{Way: ByPhone, Order: "4711"}, l.Told.Heard, "the name is not shared")
	require.Equal(t, Lead, l.Told.By.Role)
	require.Equal(t, "Anna", j.OwnCopy().Lines[0].Told.Heard.By)
	require.Equal(t, "2026-05-20", l.Due)
	require.Equal(t, "job.state.told", j.Openings[0].StateText().Key)

	same, events, err := j.ConfirmTold(lead, noon, anna, 1, 2)
	require.NoError(t, err)
	require.Empty(t, events)
	require.Equal(t, asJSON(t, j), asJSON(t, same))

	price := decimal.RequireFromString("310.50")
	j = must(t)(j.ConfirmTold(fitter, noon, Reply{Heard: Heard{Order: "4712"}, Price: &price}, 2))
	require.Equal(t, Heard{Way: ByPhone, By: "Anna", Order: "4712"}, j.Openings[1].Supply.Told.Heard)
	require.Equal(t, "310.5", j.Openings[1].Supply.Price.String())

	j, _ = told(t, LineConfirmed)(j.Confirm(desk, noon, "A", 1))
	l = j.OrderCopy().Lines[0]
	require.NotNil(t, l.Confirmed)
	require.NotNil(t, l.Told, "beside it")
	refused(t, "confirm")(j.Confirm(desk, noon, "A", 1))
	refused(t, "untell")(j.Untell(fitter, noon, 1))
	j = must(t)(j.Untell(fitter, noon, 2))
	require.Equal(t, Ordered, stateOf(t, j, 2))

	// The frame of a line that was confirmed as told can come.
	j = must(t)(must(t)(j.ConfirmTold(fitter, noon, anna)).Advance(fitter, noon, 3, DoDeliver))
	require.Equal(t, Delivered, stateOf(t, j, 3))
}

// Only the revision that stands is confirmed, and only by the crew.
func TestWhatIsNotConfirmedAsTold(t *testing.T) {
	j := must(t)(sent(t, 2).ConfirmTold(fitter, noon, anna))
	refused(t, "not_your_part")(j.ConfirmTold(desk, noon, anna))
	refused(t, "no_line")(j.ConfirmTold(fitter, noon, anna, 9))
	r := anna
	r.Revision = "B"
	refused(t, "told_other")(j.ConfirmTold(fitter, noon, r))
	r = anna
	r.Due = "2026-05-01"
	refused(t, "day_past")(j.ConfirmTold(fitter, noon, r))
	j = must(t)(recolour(t, j, 1, "grey"))
	require.Equal(t, Ordered, stateOf(t, j, 2), "nothing is confirmed of an order that is held")
	refused(t, "told_held")(j.ConfirmTold(fitter, noon, anna))
	j = must(t)(j.Send(fitter, noon, calc0))
	require.Equal(t, []State{Ordered, Confirmed}, []State{stateOf(t, j, 1), stateOf(t, j, 2)})
	require.Nil(t, j.OrderCopy().Lines[0].Told, "it was of another window")
	require.Equal(t, "A", j.OrderCopy().Lines[1].Under)

	// Who wrote it takes the name along when forgotten.
	j = must(t)(j.ConfirmTold(fitter, noon, anna)).Forget(fitter.Person)
	require.Empty(t, j.Openings[0].Supply.Told.Heard.By)
}

// A line counts as only told where somebody told of it, and the desk did not say it.
func TestOnlyToldIsTold(t *testing.T) {
	require.False(t, Opening{State: Confirmed}.OnlyTold())
}
