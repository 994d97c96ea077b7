package job

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// A question waits until it is answered or withdrawn: a confirmation, a change,
// a sending and the fitting day leave it open.
func TestAQuestionStaysOpenWhateverBecomesOfTheLine(t *testing.T) {
	j := must(t)(sent(t, 2).Query(desk, noon, 1, "which side?"))
	open := func(j Job) []string {
		var list []string
		o, _ := j.Find(1)
		for _, n := range o.Supply.Open() {
			list = append(list, n.Words)
		}
		return list
	}
	require.Equal(t, Queried, stateOf(t, j, 1))
	j = must(t)(j.Confirm(desk, noon, "A", 1))
	require.Equal(t, Confirmed, stateOf(t, j, 1))
	require.Equal(t, []string{"which side?"}, open(j))
	require.Equal(t, 1, j.List()[0].Questions)

	changed := must(t)(recolour(t, j, 1, "grey"))
	require.Equal(t, Changed, stateOf(t, changed, 1))
	again := must(t)(changed.Send(fitter, noon, calc0))
	require.Equal(t, Queried, stateOf(t, again, 1))
	answered, e := told(t, QueryAnswered)(again.Answer(fitter, noon, 1, 0, "left"))
	require.Equal(t, "which side?", e.Say["asked"])
	require.Equal(t, Ordered, stateOf(t, answered, 1))
	require.Empty(t, open(answered))

	delivered := must(t)(j.Advance(fitter, noon, 1, DoDeliver))
	require.Equal(t, []string{"which side?"}, open(delivered))
	delivered = must(t)(delivered.Answer(fitter, noon, 1, 0, "left"))
	require.Equal(t, Delivered, stateOf(t, delivered, 1))
	require.Empty(t, open(delivered))
	refused(t, "answer")(delivered.Answer(fitter, noon, 1, 0, "left"))
}

// Each of several questions is answered or withdrawn by its number, and a number
// that is not said is asked for.
func TestSeveralQuestionsOnOneLine(t *testing.T) {
	j := must(t)(sent(t, 2).Query(desk, noon, 1, "which side?"))
	j = must(t)(j.Query(desk, noon, 1, "which grey?"))
	r := refused(t, "which_question")(j.Answer(fitter, noon, 1, 0, "left"))
	require.Equal(t, "2", r.Figures["count"].String())
	refused(t, "which_question")(j.WithdrawQuery(desk, noon, 1, 0))
	refused(t, "answer")(j.Answer(fitter, noon, 1, 3, "left"))
	refused(t, "not_your_part")(j.WithdrawQuery(fitter, noon, 1, 1))
	j, e := told(t, QueryWithdrawn)(j.WithdrawQuery(desk, noon, 1, 2))
	require.Equal(t, "which grey?", e.Say["asked"])
	require.Equal(t, Queried, stateOf(t, j, 1))
	refused(t, "withdraw_query")(j.WithdrawQuery(desk, noon, 1, 2))
	j = must(t)(j.Answer(fitter, noon, 1, 0, "left"))
	require.Equal(t, Ordered, stateOf(t, j, 1))
	notes := j.OrderCopy().Lines[0].Notes
	require.Equal(t, []bool{false, true, false}, []bool{notes[0].Withdrawn, notes[1].Withdrawn, notes[2].Withdrawn})
	require.Equal(t, 1, notes[2].Answers)

	// The next question has a number of its own.
	_, e = told(t, LineQueried)(j.Query(desk, noon, 1, "and the handle?"))
	require.Equal(t, "3", e.Figures["question"].String())
}

// An answer of a job of before names no question: it is to all that were open then. What
// was withdrawn stays withdrawn.
func TestAnAnswerOfBeforeIsToWhatWasOpen(t *testing.T) {
	j := must(t)(sent(t, 1).Query(desk, noon, 1, "which side?"))
	j = must(t)(j.WithdrawQuery(desk, noon, 1, 1))
	j = must(t)(must(t)(j.Query(desk, noon, 1, "which grey?")).Query(desk, noon, 1, "which handle?"))
	j.write(fitter, noon, 0, noteOf("as on the sketch"), stepEntry(DoAnswer))
	o, _ := j.Find(1)
	require.Empty(t, o.Supply.Open())
	var withdrawn []string
	for _, n := range o.Supply.Notes {
		if n.Withdrawn {
			withdrawn = append(withdrawn, n.Words)
		}
	}
	require.Equal(t, []string{"which side?"}, withdrawn)
}

// Changed and changed back, an order stands as it was sent: no revision, and
// what was confirmed stays confirmed.
func TestWhatWasChangedBackStands(t *testing.T) {
	j := must(t)(sent(t, 3).Confirm(desk, noon, "A", 1))
	j = must(t)(j.Confirm(desk, noon, "A", 2))
	j = must(t)(j.Query(desk, noon, 2, "which grey?"))
	for _, id := range []int{1, 2} {
		j = must(t)(recolour(t, must(t)(recolour(t, j, id, "grey")), id, measured().Colour))
	}
	require.True(t, j.Order.Held)
	j, e := told(t, OrderStands)(j.Send(fitter, noon, calc0))
	require.Equal(t, "2", e.Figures["open"].String())
	require.Equal(t, "A", RevisionName(j.Order.Revision))
	require.Equal(t, []State{Confirmed, Queried, Ordered}, []State{stateOf(t, j, 1), stateOf(t, j, 2), stateOf(t, j, 3)})
	require.False(t, j.Order.Held)
	refused(t, "no_revision")(j.Confirm(desk, noon, "B", 1))
	refused(t, "nothing_to_send")(j.Send(fitter, noon, calc0))
}

// Who read a revision asks about that one.
func TestAQuestionNamesTheRevisionThatWasRead(t *testing.T) {
	j := sent(t, 2)
	told(t, LineQueried)(j.QueryOf(desk, noon, 2, "", "which side?"))
	told(t, LineQueried)(j.QueryOf(desk, noon, 2, "a", "which side?"))
	refused(t, "no_revision")(j.QueryOf(desk, noon, 2, "B", "which side?"))
	refused(t, "not_your_part")(j.QueryOf(fitter, noon, 2, "B", "which side?"))
	j.Order.Held = true
	told(t, LineQueried)(j.QueryOf(desk, noon, 2, "A", "which side?"))
}

// Common practice, no source.
func TestSoManyQuestionsOfALineAreOpen(t *testing.T) {
	j := sent(t, 2)
	for range MostQuestions {
		j = must(t)(j.Query(desk, noon, 1, "which side?"))
	}
	refused(t, "questions_open")(j.Query(desk, noon, 1, "which side?"))
	told(t, LineQueried)(j.Query(desk, noon, 2, "which side?"))
	j = must(t)(j.WithdrawQuery(desk, noon, 1, 3))
	told(t, LineQueried)(j.Query(desk, noon, 1, "which side?"))
}
