package job

import (
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
)

// A line that did not change stays confirmed in the next revision, under the one that
// it was confirmed under; the one that changed does not.
func TestAnUnchangedLineStaysConfirmed(t *testing.T) {
	j := must(t)(sent(t, 3).ConfirmAll(desk, noon, "A"))
	require.Empty(t, j.OrderCopy().Lines[0].Under)
	j = must(t)(recolour(t, j, 2, "grey"))
	require.Equal(t, Ordered, stateOf(t, j, 1), "nothing is confirmed of an order that is held")
	require.Empty(t, j.Under(1))
	// What is said meanwhile takes nothing away.
	j = must(t)(j.Promise(desk, noon, 1, "2026-05-20", nil))

	j, e := told(t, OrderRevised)(j.Send(fitter, noon, calc0))
	require.Equal(t, "1, 3", e.Say["kept"])
	require.Equal(t, "1", e.Figures["open"].String())
	require.Equal(t, []State{Confirmed, Ordered, Confirmed}, []State{stateOf(t, j, 1), stateOf(t, j, 2), stateOf(t, j, 3)})
	lines := j.OrderCopy().Lines
	require.Equal(t, []string{"A", "", "A"}, []string{lines[0].Under, lines[1].Under, lines[2].Under})
	require.NotNil(t, lines[0].Confirmed)
	require.Nil(t, lines[1].Confirmed)
	require.Equal(t, Delivered, stateOf(t, must(t)(j.Advance(fitter, noon, 1, DoDeliver)), 1), "its frame can come")

	// The desk may say it again of the revision that stands.
	again, _ := told(t, LineConfirmed)(j.Confirm(desk, noon, "B", 1))
	require.Empty(t, again.Under(1))
	refused(t, "confirm")(again.Confirm(desk, noon, "B", 1))
	all, _ := told(t, OrderConfirmed)(j.ConfirmAll(desk, noon, "B"))
	require.Zero(t, all.unconfirmed())

	// The revision after that, and a row alone, say the same.
	next := must(t)(must(t)(recolour(t, all, 2, "brown")).Send(fitter, noon, calc0))
	require.Equal(t, []string{"A", "", "A"}, []string{next.Under(1), next.Under(2), next.Under(3)})
	stored, err := next.Encode()
	require.NoError(t, err)
	head, err := Stored{Head: stored.Head}.Decode()
	require.NoError(t, err)
	require.Equal(t, []string{"A", "", "A"}, []string{head.Under(1), head.Under(2), head.Under(3)})
	require.Equal(t, Confirmed, head.Openings[0].State)
}

// A line that was changed and changed back before the next revision is the same; one
// that comes back after a revision without it, or in another form, is not.
func TestWhatIsChangedBackStaysConfirmed(t *testing.T) {
	j := must(t)(sent(t, 2).ConfirmAll(desk, noon, "A"))
	j = must(t)(must(t)(recolour(t, j, 1, "grey")).Store(fitter, noon, 1, measured()))
	j = must(t)(recolour(t, j, 2, "grey"))
	j, e := told(t, OrderRevised)(j.Send(fitter, noon, calc0))
	require.Equal(t, "1", e.Say["kept"])
	require.Equal(t, []string{"A", ""}, []string{j.Under(1), j.Under(2)})

	j = must(t)(recolour(t, j, 1, "grey"))
	j = must(t)(j.Send(fitter, noon, calc0))
	j = must(t)(j.Store(fitter, noon, 1, measured()))
	j, e = told(t, OrderRevised)(j.Send(fitter, noon, calc0))
	require.Empty(t, e.Say["kept"], "revision C had it in grey, and nobody confirmed that")
	require.Equal(t, Ordered, stateOf(t, j, 1))
}

// A question of the desk, and what was only told and taken back, end it.
func TestWhatIsTakenBackIsNotKept(t *testing.T) {
	j := must(t)(sent(t, 3).ConfirmAll(desk, noon, "A"))
	j = must(t)(j.Query(desk, noon, 1, "which side?"))
	j = must(t)(must(t)(recolour(t, j, 2, "grey")).Send(fitter, noon, calc0))
	require.Equal(t, []State{Queried, Ordered, Confirmed}, []State{stateOf(t, j, 1), stateOf(t, j, 2), stateOf(t, j, 3)})

	j = must(t)(sent(t, 2).ConfirmTold(fitter, noon, anna))
	j = must(t)(j.Untell(fitter, noon, 1))
	j = must(t)(must(t)(recolour(t, j, 2, "grey")).Send(fitter, noon, calc0))
	require.Equal(t, []State{Ordered, Ordered}, []State{stateOf(t, j, 1), stateOf(t, j, 2)})
}

// Whatever a maker needs of a line voids its confirmation, by every kind of difference
// that there is; that less stands against it does not.
func TestEveryDifferenceVoidsAConfirmation(t *testing.T) {
	o := must(t)(sent(t, 1).ConfirmAll(desk, noon, "A")).Openings[0]
	require.True(t, o.staysConfirmed(nil))
	for _, kind := range []ChangeKind{
		LineAdded, LineRemoved, QuantityChanged, WidthChanged, HeightChanged, SillChanged, MaterialChanged, ColourChanged, LightsChanged,
		HingeChanged, MullionMoved, TransomMoved, MakeUpChanged, StatedChanged, PanesChanged, SafetyAdded, SafetyGone, AgainstAdded,
		VentsChanged, VentAreaChanged, WantedAdded, WantedGone, OtherChanged,
	} {
		require.False(t, o.staysConfirmed([]Change{{Kind: kind, Opening: 1}}), kind)
	}
	require.True(t, o.staysConfirmed([]Change{{Kind: AgainstGone, Opening: 1}, {Kind: WidthChanged, Opening: 2}}))
}

// What is said of the window for its maker, such as the day it is wanted, is a
// difference too.
func TestAnAnswerForTheMakerVoidsIt(t *testing.T) {
	for key, answer := range map[opening.Key]string{"opens": "in", "handle": "1100", "packing": "wrapped", "count": "2"} {
		j := must(t)(sent(t, 2).ConfirmAll(desk, noon, "A"))
		j, _, err := j.Describe(fitter, noon, 1, value(key, answer))
		require.NoError(t, err, key)
		j = must(t)(j.Send(fitter, noon, calc0))
		require.Equal(t, []State{Ordered, Confirmed}, []State{stateOf(t, j, 1), stateOf(t, j, 2)}, key)
	}
}
