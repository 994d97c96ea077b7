package job

import (
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
)

// Readings that are further apart than the tolerance are in nobody's measure; the others
// are the mean.
func TestWhatTheMeasuresAgreeOn(t *testing.T) {
	read := func(top, bottom int64) calc.Readings {
		r := calc.Readings{}
		r.Widths[0], r.Widths[2] = mm(top), mm(bottom)
		return r
	}
	all := agreed([]calc.Readings{read(1200, 1190), read(1202, 1193)}, mm(2))
	require.Equal(t, "1201", all.Widths[0].String())
	require.True(t, all.Widths[1].IsZero(), "nobody took it")
	require.True(t, all.Widths[2].IsZero(), "3 mm apart")
}

// A line that changed since the desk confirmed it is under way again, alone too.
func TestAChangedLineIsUnderWay(t *testing.T) {
	j := must(t)(begun(t, 1).Send(fitter, noon, calc0)).Arrived(desk.Chat, 1)
	j = must(t)(j.ConfirmAll(desk, noon, "A"))
	got, _ := j.OrderReach()
	require.Empty(t, got)
	got, at := must(t)(recolour(t, j, 1, "grey")).OrderReach()
	require.Equal(t, WithDesk, got)
	require.Equal(t, noon, at)
}

// A frame that is here was confirmed, whoever said so.
func TestAFrameThatIsHereIsNotOnlyTold(t *testing.T) {
	j := must(t)(sent(t, 1).ConfirmTold(fitter, noon, anna, 1))
	require.Equal(t, "job.state.told", j.Openings[0].stateKey())
	j = must(t)(j.Advance(fitter, noon, 1, DoDeliver))
	require.False(t, j.Openings[0].OnlyTold())
	require.Equal(t, "job.state.delivered", j.Openings[0].stateKey())
}

// A line whose window was deleted stays in the revision, and in the fitter's own copy;
// where it is not loaded the other lines are given without it.
func TestALineOfADeletedWindow(t *testing.T) {
	j := must(t)(sent(t, 2).ConfirmTold(fitter, noon, anna, 1, 2))
	j = must(t)(j.Delete(fitter, noon, 1))
	require.Len(t, j.Lines(), 2)
	require.NotPanics(t, func() { require.Len(t, j.OwnCopy().Lines, 2) })
	stored, err := j.Encode()
	require.NoError(t, err)
	part, err := Stored{Head: stored.Head, Parts: map[int][]byte{2: stored.Parts[2]}}.Decode()
	require.NoError(t, err)
	lines := part.Lines()
	require.Len(t, lines, 1)
	require.Equal(t, 2, lines[0].Opening)
}
