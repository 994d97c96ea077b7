package job

import (
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
)

// rowsBy takes an answer file and gives what happened and why rows were left.
func rowsBy(t *testing.T, j Job, who Who, rows ...LineAnswer) (Job, []Event, []string) {
	t.Helper()
	for i := range rows {
		rows[i].Row = i + 2
		if rows[i].Revision == "" {
			rows[i].Revision = j.Order.Name(j.Order.Revision)
		}
	}
	j, events, left := j.TakeAnswers(who, noon, rows)
	var why []string
	for _, l := range left {
		why = append(why, reasonOf(t, l.Why))
	}
	return j, events, why
}

func price(text string) *decimal.Decimal {
	p := decimal.RequireFromString(text)
	return &p
}

// Each row of the desk's file is taken whole or left with its reason.
func TestRowsThatAreLeftSayWhy(t *testing.T) {
	long := strings.Repeat("é", longestWords+1)
	j := must(t)(must(t)(sent(t, 3).Add(fitter, noon, "New")).Store(fitter, noon, 4, measured()))
	_, events, why := rowsBy(t, j, desk,
		LineAnswer{Window: 1, Confirm: true, Words: long}, LineAnswer{Window: 1, Confirm: true, Order: long},
		LineAnswer{Window: 4, Confirm: true}, LineAnswer{Window: 2, Due: "June"})
	require.Equal(t, []string{"too_long", "too_long", "answer_no_line", "no_day"}, why)
	require.Empty(t, events)

	here := must(t)(must(t)(j.ConfirmAll(desk, noon, "A")).Advance(fitter, noon, 1, DoDeliver))
	here = must(t)(here.Advance(fitter, noon, 2, DoDeliver))
	here = must(t)(here.Advance(fitter, noon, 3, DoDeliver))
	_, _, why = rowsBy(t, here, desk, LineAnswer{Window: 1, Words: "which side?"}, LineAnswer{Window: 2, Price: price("310")}, LineAnswer{Window: 3, Confirm: true, Order: "4711"})
	require.Equal(t, []string{"query", "promise", "confirm"}, why)
	_, _, why = rowsBy(t, here, fitter, LineAnswer{Window: 1, Confirm: true})
	require.Equal(t, []string{"confirm_told"}, why)

	_, _, why = rowsBy(t, j, fitter, LineAnswer{Window: 1, Confirm: true, Revision: "B"}, LineAnswer{Window: 1, Order: "4711"})
	require.Equal(t, []string{"told_other", "answer_unconfirmed"}, why)
	stranger := desk
	stranger.Chat = 99
	_, _, why = rowsBy(t, j, stranger, LineAnswer{Window: 1, Confirm: true, Revision: "B"})
	require.Equal(t, []string{"not_yours"}, why, "a stranger hears nothing of the order")
}

// What is known already changes nothing, and what differs is taken, line by line.
func TestAFurtherFileAddsWhatDiffers(t *testing.T) {
	full := LineAnswer{Window: 1, Confirm: true, Order: "4711", Price: price("310.50"), Due: "2026-05-20"}
	j, _, why := rowsBy(t, sent(t, 2), desk, full)
	require.Empty(t, why)
	same := func(row LineAnswer) {
		t.Helper()
		again, events, why := rowsBy(t, j, desk, row)
		require.Empty(t, why)
		require.Empty(t, events)
		require.Equal(t, asJSON(t, j), asJSON(t, again))
	}
	same(full)
	same(LineAnswer{Window: 1, Confirm: true})
	same(LineAnswer{Window: 1, Order: "4711"})
	same(LineAnswer{Window: 1, Price: price("310.5")})

	next, events, _ := rowsBy(t, j, desk, LineAnswer{Window: 1, Price: price("320")})
	require.Equal(t, []EventKind{LinesPromised}, kindsOf(events))
	require.Equal(t, "320", next.Openings[0].Supply.Price.String())
	require.Equal(t, "2026-05-20", next.Openings[0].Supply.Due)
	next, events, _ = rowsBy(t, j, desk, LineAnswer{Window: 1, Due: "2026-05-21"})
	require.Equal(t, []EventKind{LinesPromised}, kindsOf(events))
	require.Equal(t, "2026-05-21", next.Openings[0].Supply.Due)
	require.Equal(t, "310.5", next.Openings[0].Supply.Price.String())
	_, events, why = rowsBy(t, j, desk, LineAnswer{Window: 1, Order: "4712"})
	require.Equal(t, []string{"answer_unconfirmed"}, why, "another number is another word")
	require.Empty(t, events)

	// A question that was asked is not asked again; another one is, also in the words
	// that the fitter had of the frame.
	asked, events, _ := rowsBy(t, j, desk, LineAnswer{Window: 2, Words: "which side?"})
	require.Equal(t, []EventKind{LineQueried}, kindsOf(events))
	_, events, _ = rowsBy(t, asked, desk, LineAnswer{Window: 2, Words: "which side?"})
	require.Empty(t, events)
	asked, events, _ = rowsBy(t, asked, desk, LineAnswer{Window: 2, Words: "which grey?"})
	require.Equal(t, []EventKind{LineQueried}, kindsOf(events))
	require.Len(t, asked.Openings[1].Supply.Open(), 2)
	rejected := must(t)(must(t)(sent(t, 1).ConfirmAll(desk, noon, "A")).Reject(fitter, noon, 1, "which side?"))
	_, events, _ = rowsBy(t, rejected, desk, LineAnswer{Window: 1, Words: "which side?"})
	require.Equal(t, []EventKind{LineQueried}, kindsOf(events))

	// Of the next revision the line is confirmed anew, and what was told alone gets the
	// desk's own word.
	revised := must(t)(must(t)(recolour(t, j, 2, "grey")).Send(fitter, noon, calc0))
	revised, events, _ = rowsBy(t, revised, desk, LineAnswer{Window: 1, Confirm: true, Order: "4711"}, LineAnswer{Window: 2, Confirm: true})
	require.Equal(t, []EventKind{OrderConfirmed}, kindsOf(events))
	require.Equal(t, Confirmed, stateOf(t, revised, 1))
	heard := must(t)(sent(t, 1).ConfirmTold(fitter, noon, anna))
	heard, events, _ = rowsBy(t, heard, desk, LineAnswer{Window: 1, Confirm: true})
	require.Equal(t, []EventKind{OrderConfirmed}, kindsOf(events))
	require.NotNil(t, heard.OrderCopy().Lines[0].Confirmed)
}

// The lead and the desk read of a file whether any line in it is new to them.
func TestAFileAsToldSaysWhetherALineIsNew(t *testing.T) {
	first := func(events []Event) bool {
		require.Equal(t, []EventKind{LinesTold}, kindsOf(events))
		_, is := events[0].Figures["first"]
		return is
	}
	j, events, _ := rowsBy(t, sent(t, 3), fitter, LineAnswer{Window: 1, Confirm: true})
	require.True(t, first(events))
	require.Equal(t, "2", events[0].Figures["open"].String())
	_, events, _ = rowsBy(t, j, fitter, LineAnswer{Window: 1, Confirm: true, Order: "4711"})
	require.False(t, first(events), "it adds to what was told")
	j, events, _ = rowsBy(t, j, lead, LineAnswer{Window: 2, Confirm: true}, LineAnswer{Window: 1, Confirm: true, Order: "4711"})
	require.True(t, first(events))
	require.Equal(t, "1-2", events[0].Say["lines"])
	j = must(t)(must(t)(recolour(t, j, 3, "grey")).Send(fitter, noon, calc0))
	_, events, _ = rowsBy(t, j, fitter, LineAnswer{Window: 1, Confirm: true, Order: "4711"})
	require.True(t, first(events), "it was of revision A")

	// A price or a day alone is news of a line as told, and the same again is none.
	base := must(t)(sent(t, 1).ConfirmTold(fitter, noon, Reply{Heard: Heard{Way: ByPhone}}))
	for _, r := range []Reply{{Price: price("310.50")}, {Due: "2026-05-20"}, {Price: price("0")}} {
		next, events, err := base.ConfirmTold(fitter, noon, r)
		require.NoError(t, err)
		require.Len(t, events, 1)
		_, events, err = next.ConfirmTold(fitter, noon, r)
		require.NoError(t, err)
		require.Empty(t, events)
		other := r
		if other.Price != nil {
			other.Price = price("99")
		} else {
			other.Due = "2026-05-21"
		}
		_, events, err = next.ConfirmTold(fitter, noon, other)
		require.NoError(t, err)
		require.Len(t, events, 1)
	}
}
