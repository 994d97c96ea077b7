package job

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func ofPieces(e Event) string {
	if _, some := e.Figures["pieces"]; !some {
		return "all"
	}
	return e.Figures["pieces"].String() + " of " + e.Figures["of"].String()
}

// The fitter reads how many pieces a step took, where it took not all.
func TestAStepSaysHowManyPiecesItTook(t *testing.T) {
	advance := func(j Job, do Action, n int) (Job, string) {
		t.Helper()
		kind := StepTaken
		if do == DoBack {
			kind = StepBack
		}
		j, e := told(t, kind)(j.AdvancePieces(fitter, noon, 1, do, n))
		return j, ofPieces(e)
	}
	j := alike(t)
	all, said := advance(j, DoDeliver, 0)
	require.Equal(t, "all", said)
	_, said = advance(j, DoDeliver, 3)
	require.Equal(t, "all", said)
	two, said := advance(j, DoDeliver, 2)
	require.Equal(t, "2 of 3", said)
	_, said = advance(two, DoDeliver, 0)
	require.Equal(t, "1 of 3", said, "the last one")
	_, said = advance(two, DoTakeOut, 2)
	require.Equal(t, "2 of 3", said)
	out, _ := advance(all, DoTakeOut, 0)
	_, said = advance(out, DoBack, 0)
	require.Equal(t, "all", said)

	refused(t, "take_out")(j.AdvancePieces(fitter, noon, 1, DoTakeOut, 1))
	refused(t, "pieces")(two.AdvancePieces(fitter, noon, 1, DoDeliver, 2))
	refused(t, "already")(all.AdvancePieces(fitter, noon, 1, DoDeliver, 1))
}

// A piece that a remake replaces goes no further, and those that are left are all.
func TestPiecesThatAreReplacedAreNotCounted(t *testing.T) {
	j := must(t)(alike(t).Advance(fitter, noon, 1, DoDeliver))
	j, e := told(t, FaultFound)(j.Break(fitter, noon, 1, 2, "smashed", "again"))
	require.Equal(t, "2 of 3", ofPieces(e))
	require.Equal(t, []int64{1, 2}, chatsOf(e))
	require.Equal(t, "2", e.Figures["number"].String())
	again, _ := j.Find(2)
	require.Equal(t, 2, again.Count, "as many as are no good")
	require.Equal(t, []Part{{Delivered, 1}}, partsOf(t, j, 1))
	require.Equal(t, 2, j.List()[0].Replaced())
	_, e = told(t, StepTaken)(j.Advance(fitter, noon, 1, DoTakeOut))
	require.Equal(t, "all", ofPieces(e), "the one that is left")
	refused(t, "pieces")(j.Break(fitter, noon, 1, 2, "smashed", "again"))
	one := must(t)(must(t)(alike(t).Advance(fitter, noon, 1, DoDeliver)).Break(fitter, noon, 1, 1, "smashed", "again"))
	again, _ = one.Find(2)
	require.Equal(t, 1, again.Count)
	known := again.Known()
	require.False(t, known.Has("count"))
}

// Some windows of a job are handed over before the others, once each is sealed.
func TestSomeWindowsAreHandedOverFirst(t *testing.T) {
	j := must(t)(sent(t, 3).ConfirmAll(desk, noon, "A"))
	for _, id := range []int{1, 2} {
		for _, do := range []Action{DoDeliver, DoTakeOut, DoFit, DoGlaze, DoSeal} {
			j = must(t)(j.Advance(fitter, noon, id, do))
		}
	}
	refused(t, "hand_over")(j.HandOver(fitter, noon))
	refused(t, "hand_over")(j.HandOver(fitter, noon, 1, 3))
	j, e := told(t, HandedOver)(j.HandOver(fitter, noon, 1))
	require.Equal(t, []int{1}, e.Openings)
	require.Equal(t, []State{Handed, Sealed, Confirmed}, []State{stateOf(t, j, 1), stateOf(t, j, 2), stateOf(t, j, 3)})
	refused(t, "nothing_to_hand_over")(j.HandOver(fitter, noon, 1))
}
