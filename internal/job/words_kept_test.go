package job

import (
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
)

// What the supplier writes beside a line in a file that fitter or lead sends stays with
// the line as the supplier's words, once, also where the line is not confirmed; it
// confirms nothing and is no question.
func TestTheSuppliersWordsAreKept(t *testing.T) {
	rows := []LineAnswer{
		{Row: 2, Window: 1, Revision: "A", Confirm: true, Words: "with trickle vents?"},
		{Row: 3, Window: 2, Revision: "A", Words: "we can't make it in blue"},
		{Row: 4, Window: 3, Revision: "A", Words: "ok", Due: "2026-05-20"},
	}
	j, events, left := sent(t, 3).TakeAnswers(fitter, noon, rows)
	require.Equal(t, []EventKind{LinesTold, WordsKept}, []EventKind{events[0].Kind, events[1].Kind})
	require.Equal(t, []int{1, 2}, events[1].Openings)
	require.Len(t, left, 1, "a day without a yes")
	require.Equal(t, []State{Confirmed, Ordered, Ordered}, []State{stateOf(t, j, 1), stateOf(t, j, 2), stateOf(t, j, 3)})

	stored, err := j.Encode()
	require.NoError(t, err)
	j, err = stored.Decode()
	require.NoError(t, err)
	lines := j.OrderCopy().Lines
	require.Equal(t, "we can't make it in blue", lines[1].Notes[0].Words)
	require.True(t, lines[1].Notes[0].Told)
	require.False(t, lines[1].Notes[0].Open)
	require.Empty(t, lines[2].Notes)

	again, events, _ := j.TakeAnswers(lead, noon, rows[:2])
	require.Empty(t, events, "the same file changes nothing")
	require.Equal(t, j.Openings, again.Openings)

	full := j
	for range mostNotes {
		full.write(fitter, noon, 0, noteOf("again"))
	}
	_, _, left = full.TakeAnswers(fitter, noon, []LineAnswer{{Row: 2, Window: 1, Revision: "A", Confirm: true, Words: "once more"}})
	require.Len(t, left, 1)
	require.Equal(t, "too_many", left[0].Why.(*Refusal).Reason)
}

func noteOf(words string) opening.Entry { return opening.Entry{Act: opening.Note, Value: words} }
