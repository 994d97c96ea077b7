package job

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/require"
)

func deleting(j Job, id int) (Job, []Event, error) { return j.Delete(fitter, noon, id) }

// What was done to several windows is told in one sentence, and what was deleted at
// once comes back at once.
func TestSeveralWindowsAreDeletedAndRestoredTogether(t *testing.T) {
	j, events, left := must(t)(begun(t, 5).Delete(fitter, noon, 5)).Each([]int{1, 2, 9, 4}, deleting)
	require.Equal(t, []int{3}, ids(j))
	require.Len(t, left, 1)
	require.Equal(t, 9, left[0].ID)
	require.Equal(t, "no_opening", reasonOf(t, left[0].Why))
	require.Len(t, events, 1)
	require.Equal(t, []int{1, 2, 4}, events[0].Openings)
	require.Equal(t, "3", events[0].Figures["count"].String())
	require.Equal(t, "1-2, 4", events[0].Say["numbers"])
	require.Equal(t, "job.many.deleted", events[0].Text().Key)
	require.Equal(t, j.Seq, events[0].Seq, "the number of the last")
	require.True(t, j.JustDeleted())

	back, events, err := j.Restore(fitter, noon)
	require.NoError(t, err)
	require.Equal(t, []int{1, 2, 3, 4}, ids(back), "not the one of before")
	require.Len(t, events, 1)
	require.ElementsMatch(t, []int{1, 2, 4}, events[0].Openings)
	require.Equal(t, "job.many.restored", events[0].Text().Key)
	back, e := told(t, OpeningRestored)(back.Restore(fitter, noon))
	require.Equal(t, []int{5}, e.Openings)
	require.Equal(t, "job.event.restored", e.Text().Key, "one is told as one")
	refused(t, "nothing_to_undo")(back.Restore(fitter, noon))
	refused(t, "not_your_part")(j.Restore(desk, noon))

	// One of them can't come back: none does.
	taken := must(t)(j.Add(fitter, noon, "window 2"))
	refused(t, "name_taken")(taken.Restore(fitter, noon))
}

// Each kind of news is told by itself: what differs in its words or in its pieces is
// no news of the same.
func TestOnlyTheSameNewsAreToldTogether(t *testing.T) {
	j := must(t)(sent(t, 4).ConfirmAll(desk, noon, "A"))
	advance := func(do Action) func(Job, int) (Job, []Event, error) {
		return func(j Job, id int) (Job, []Event, error) { return j.Advance(fitter, noon, id, do) }
	}
	j, events, left := j.Each([]int{1, 2}, advance(DoDeliver))
	require.Empty(t, left)
	require.Len(t, events, 1)
	require.Equal(t, []int{1, 2}, events[0].Openings)
	require.Equal(t, Delivered, events[0].Reached())

	// One is delivered and one taken out in the same breath: two sentences.
	steps := map[int]Action{2: DoTakeOut, 3: DoDeliver, 4: DoDeliver}
	mixed, events, _ := j.Each([]int{2, 3, 4}, func(j Job, id int) (Job, []Event, error) { return j.Advance(fitter, noon, id, steps[id]) })
	require.Len(t, events, 2)
	require.Equal(t, []int{2}, events[0].Openings)
	require.Equal(t, Out, events[0].Reached())
	require.Equal(t, []int{3, 4}, events[1].Openings)
	require.Equal(t, Delivered, events[1].Reached())
	require.Empty(t, Event{Kind: OpeningAdded}.Reached(), "no step")
	require.Equal(t, []State{Delivered, Out, Delivered, Delivered}, []State{stateOf(t, mixed, 1), stateOf(t, mixed, 2), stateOf(t, mixed, 3), stateOf(t, mixed, 4)})

	// Frames that were rejected for one reason are told together, others not.
	why := map[int]string{1: "bent", 2: "bent", 3: "wrong side"}
	_, events, _ = j.Each([]int{1, 2, 3}, func(j Job, id int) (Job, []Event, error) { return j.Reject(fitter, noon, id, why[id]) })
	require.Len(t, events, 2)
	require.Equal(t, []int{1, 2}, events[0].Openings)
	require.Equal(t, "bent", events[0].Say["words"])
	require.Equal(t, []int{3}, events[1].Openings)

	// Questions stay apart: each is answered by itself.
	_, events, _ = sent(t, 2).Each([]int{1, 2}, func(j Job, id int) (Job, []Event, error) { return j.Query(desk, noon, id, "which side?") })
	require.Len(t, events, 2)

	// Some pieces of a window are no news of whole windows.
	three := must(t)(must(t)(begun(t, 2).SetCount(fitter, noon, 1, 3)).SetCount(fitter, noon, 2, 3))
	three = must(t)(must(t)(three.Send(fitter, noon, calc0)).ConfirmAll(desk, noon, "A"))
	_, events, _ = three.Each([]int{1, 2}, func(j Job, id int) (Job, []Event, error) { return j.AdvancePieces(fitter, noon, id, DoDeliver, 2) })
	require.Len(t, events, 2)
	require.Equal(t, "job.pieces.step", events[0].Text().Key)
}

// The desk that confirms the last lines reads that the order is confirmed, and no list
// of the lines beside it.
func TestTheLastOfSeveralConfirmationsSaysItOfTheOrder(t *testing.T) {
	confirm := func(j Job, id int) (Job, []Event, error) { return j.Confirm(desk, noon, "A", id) }
	_, events, _ := sent(t, 3).Each([]int{1, 2}, confirm)
	require.Equal(t, []EventKind{LineConfirmed}, kindsOf(events))
	require.Equal(t, "1", events[0].Figures["open"].String())
	_, events, _ = sent(t, 3).Each([]int{1, 2, 3}, confirm)
	require.Equal(t, []EventKind{OrderConfirmed}, kindsOf(events))
	j, events, left := sent(t, 3).Each([]int{7}, confirm)
	require.Empty(t, events)
	require.Len(t, left, 1)
	require.Equal(t, asJSON(t, sent(t, 3)), asJSON(t, j))
	var refusal *Refusal
	require.True(t, errors.As(left[0].Why, &refusal))
}

// The numbers behind "all" are those that the step can be taken of.
func TestTheWindowsThatAStepMayBeTakenOf(t *testing.T) {
	j := must(t)(sent(t, 3).ConfirmAll(desk, noon, "A"))
	j = must(t)(j.Advance(fitter, noon, 2, DoDeliver))
	require.Equal(t, []int{1, 3}, j.May(DoDeliver))
	require.Equal(t, []int{2}, j.May(DoTakeOut))
	require.Equal(t, []int{1, 2, 3}, must(t)(j.Add(fitter, noon, "Bath")).May(DoReject))
	require.Empty(t, j.May(DoSeal))
	require.Empty(t, j.May(DoConfirm), "the desk's own")
}
