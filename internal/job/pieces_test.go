package job

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// alike is a job with one window of three alike that the desk confirmed.
func alike(t *testing.T) Job {
	j := must(t)(begun(t, 1).SetCount(fitter, noon, 1, 3))
	j = must(t)(j.Send(fitter, noon, calc0))
	return must(t)(j.ConfirmAll(desk, noon, "A"))
}

func partsOf(t *testing.T, j Job, id int) []Part {
	j = storedAndRead(t, j)
	o, ok := j.Find(id)
	require.True(t, ok)
	i := 0
	for j.List()[i].ID != id {
		i++
	}
	require.Equal(t, o.Parts(), j.List()[i].Parts(), "the row says the same")
	return o.Parts()
}

// The window stands where its least far piece stands, and none waits for another.
func TestPiecesGoByThemselves(t *testing.T) {
	j := alike(t)
	require.Nil(t, partsOf(t, j, 1))
	refused(t, "pieces")(j.AdvancePieces(fitter, noon, 1, DoDeliver, 4))
	j, e := told(t, StepTaken)(j.AdvancePieces(fitter, noon, 1, DoDeliver, 2))
	require.Equal(t, "2", e.Figures["pieces"].String())
	require.Equal(t, []Part{{Confirmed, 1}, {Delivered, 2}}, partsOf(t, j, 1))
	require.Equal(t, Confirmed, stateOf(t, j, 1))
	for _, do := range []Action{DoTakeOut, DoFit, DoGlaze, DoSeal} {
		j = must(t)(j.Advance(fitter, noon, 1, do))
	}
	require.Equal(t, []Part{{Confirmed, 1}, {Sealed, 2}}, partsOf(t, j, 1))
	refused(t, "hand_over")(j.HandOver(fitter, noon))
	j = must(t)(j.HandOver(fitter, noon, 1))
	require.Equal(t, []Part{{Confirmed, 1}, {Handed, 2}}, partsOf(t, j, 1))
	refused(t, "describe")(j.Rename(fitter, noon, 1, "x"))
	refused(t, "describe")(j.SetCount(fitter, noon, 1, 2))
	refused(t, "delete")(j.Delete(fitter, noon, 1))
	refused(t, "ask_check")(j.AskCheck(fitter, noon, 1))
	for _, do := range []Action{DoDeliver, DoTakeOut, DoFit, DoGlaze, DoSeal} {
		j = must(t)(j.Advance(fitter, noon, 1, do))
	}
	j = must(t)(j.HandOver(fitter, noon))
	require.Nil(t, partsOf(t, j, 1))
	require.Equal(t, Handed, j.Stage())
}

func TestAStepBackIsOfTheFurthestPieces(t *testing.T) {
	j := must(t)(alike(t).Advance(fitter, noon, 1, DoDeliver))
	j = must(t)(j.AdvancePieces(fitter, noon, 1, DoTakeOut, 2))
	j = must(t)(j.AdvancePieces(fitter, noon, 1, DoFit, 1))
	require.Equal(t, []Part{{Delivered, 1}, {Out, 1}, {Fitted, 1}}, partsOf(t, j, 1))
	j = must(t)(j.Advance(fitter, noon, 1, DoBack))
	require.Equal(t, []Part{{Delivered, 1}, {Out, 2}}, partsOf(t, j, 1))
	j = must(t)(j.AdvancePieces(fitter, noon, 1, DoBack, 1))
	require.Equal(t, []Part{{Delivered, 2}, {Out, 1}}, partsOf(t, j, 1))
}

// Of three two come and one is broken: the two go on, and one is ordered again
// with the line as it was told, its readings known as they were.
func TestABrokenPieceIsMadeAgain(t *testing.T) {
	j := must(t)(alike(t).AdvancePieces(fitter, noon, 1, DoDeliver, 2))
	refused(t, "which_pieces")(j.Break(fitter, noon, 1, 0, "smashed", "again"))
	refused(t, "no_words")(j.Break(fitter, noon, 1, 1, " ", "again"))
	refused(t, "pieces")(j.Break(fitter, noon, 1, 2, "smashed", "again"))
	j, e := told(t, FaultFound)(j.Break(fitter, noon, 1, 1, "smashed", "again"))
	require.Equal(t, "again", e.Say["remake"])
	require.Equal(t, Delivered, stateOf(t, j, 1))
	first, _ := j.Find(1)
	again, _ := j.Find(2)
	require.Equal(t, 1, again.RemakeOf())
	require.Equal(t, 1, again.Count)
	require.Zero(t, again.CopiedFrom, "it was measured, for the first one")
	require.Equal(t, first.Measured, again.Measured)
	require.Equal(t, first.Record().Plan.Readings(), again.Record().Plan.Readings())
	was, _ := first.Told()
	j = must(t)(j.Send(fitter, noon, calc0))
	require.Equal(t, "B", RevisionName(j.Order.Revision))
	again, _ = j.Find(2)
	line, ok := again.Told()
	require.True(t, ok)
	was.Opening, was.Name, was.Quantity = 2, "again", 1
	require.Equal(t, stored(was), stored(line), "as it was ordered")
	j = must(t)(j.ConfirmAll(desk, noon, "B"))
	for _, id := range []int{1, 2} {
		for _, do := range []Action{DoDeliver, DoTakeOut, DoFit, DoGlaze, DoSeal} {
			if id == 1 && do == DoDeliver {
				continue
			}
			j = must(t)(j.Advance(fitter, noon, id, do))
		}
	}
	j = must(t)(j.HandOver(fitter, noon))
	require.Equal(t, Handed, j.Stage())
	j = must(t)(j.Fault(fitter, noon, 1, 1, "cracked after a week", "again"))
	require.Equal(t, Handed, stateOf(t, j, 1), "it stays until the other one comes")
	third, _ := j.Find(3)
	require.Equal(t, "again (2)", third.Name)
	require.Len(t, third.Supply.Notes, 1)
	require.Equal(t, "cracked after a week", third.Supply.Notes[0].Words)
}

// A frame of one window alone that came broken has no other piece.
func TestAWindowThatIsAllMadeAgain(t *testing.T) {
	j := must(t)(begun(t, 2).Send(fitter, noon, calc0))
	j = must(t)(j.ConfirmAll(desk, noon, "A"))
	j = must(t)(j.Break(fitter, noon, 1, 0, "bent", "again"))
	require.Equal(t, Replaced, stateOf(t, j, 1))
	refused(t, "deliver")(j.Advance(fitter, noon, 1, DoDeliver))
	j = must(t)(j.Delete(fitter, noon, 2))
	j = must(t)(j.Delete(fitter, noon, 3))
	refused(t, "nothing_to_hand_over")(j.HandOver(fitter, noon))
}
