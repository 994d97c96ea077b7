package job

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
)

// An answer file of the desk is its own word, row by row, and the same file again
// changes nothing, even when a day in it is over by then.
func TestTheDesksAnswerFile(t *testing.T) {
	price := decimal.RequireFromString("310.50")
	file := []LineAnswer{
		{Row: 2, Window: 1, Revision: "A", Confirm: true, Price: &price, Due: "2026-05-20", Order: "4711"},
		{Row: 3, Window: 2, Revision: "A", Words: "which  side?"},
		{Row: 4, Window: 3, Revision: "A", Confirm: true, Due: "2026-05-01"},
		{Row: 5, Window: 9, Revision: "A", Confirm: true},
		{Row: 6, Window: 3, Revision: "B", Confirm: true},
		{Row: 7, Window: 3, Revision: "A", Order: "4711"},
	}
	j, events, left := sent(t, 3).TakeAnswers(desk, noon, file)
	var kinds []EventKind
	for _, e := range events {
		kinds = append(kinds, e.Kind)
	}
	require.Equal(t, []EventKind{LineQueried, LinesPromised, LinesConfirmed}, kinds)
	var rows []int
	var why []string
	for _, l := range left {
		rows, why = append(rows, l.Row), append(why, l.Why.(*Refusal).Reason)
	}
	require.Equal(t, []int{4, 5, 6, 7}, rows)
	require.Equal(t, []string{"day_past", "answer_no_line", "no_revision", "answer_unconfirmed"}, why)
	require.Equal(t, []State{Confirmed, Queried, Ordered}, []State{stateOf(t, j, 1), stateOf(t, j, 2), stateOf(t, j, 3)})
	l := j.OrderCopy().Lines[0]
	require.Equal(t, "4711", l.Number)
	require.Equal(t, "2026-05-20", l.Due)
	require.Equal(t, "310.5", l.Price.String())
	require.Nil(t, l.Told)

	again, events, left := j.TakeAnswers(desk, noon.AddDate(1, 0, 0), file[:2])
	require.Empty(t, events)
	require.Empty(t, left)
	require.Equal(t, asJSON(t, j), asJSON(t, again))

	// What differs is taken: the question stays open, and the line is confirmed.
	j, events, left = j.TakeAnswers(desk, noon, []LineAnswer{{Row: 2, Window: 2, Revision: "a", Confirm: true, Words: "which side?"}, {Row: 3, Window: 1, Revision: "A", Confirm: true, Order: "4712"}})
	require.Empty(t, left)
	require.Len(t, events, 1)
	require.Equal(t, Confirmed, stateOf(t, j, 2))
	require.Len(t, j.Openings[1].Supply.Open(), 1)
	require.Equal(t, "4712", j.OrderCopy().Lines[0].Number)
}

// From fitter and lead it is what they were told; nobody else may send one.
func TestAnAnswerFileAsTold(t *testing.T) {
	price := decimal.RequireFromString("310.50")
	file := []LineAnswer{{Row: 2, Window: 1, Revision: "A", Confirm: true, Price: &price, Due: "2026-05-20", Order: "4711"}, {Row: 3, Window: 2, Revision: "A", Price: &price}}
	for _, who := range []Who{fitter, lead} {
		j, events, left := sent(t, 2).TakeAnswers(who, noon, file)
		require.Len(t, events, 1)
		require.Equal(t, LinesTold, events[0].Kind)
		require.Len(t, left, 1)
		require.Equal(t, 3, left[0].Row)
		l := j.OrderCopy().Lines[0]
		require.Equal(t, Heard{Way: ByFile, Order: "4711"}, l.Told.Heard)
		require.Equal(t, who.Role, l.Told.By.Role)
		require.Nil(t, l.Confirmed)
		again, events, _ := j.TakeAnswers(who, noon, file[:1])
		require.Empty(t, events)
		require.Equal(t, asJSON(t, j), asJSON(t, again))
	}
	stranger := desk
	stranger.Chat = 99
	same, events, left := sent(t, 2).TakeAnswers(stranger, noon, file)
	require.Empty(t, events)
	require.Len(t, left, 2)
	require.Equal(t, asJSON(t, sent(t, 2)), asJSON(t, same))
}
