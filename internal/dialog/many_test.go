package dialog

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"sillbot/internal/job"
)

func TestNumbersOfWindows(t *testing.T) {
	s := ownersState(t)
	here := &turn{State: s}
	for text, want := range map[string]struct {
		ids  []int
		all  bool
		rest string
	}{
		"2":                 {ids: []int{2}},
		"2 delivered":       {ids: []int{2}, rest: "delivered"},
		"1 2 yes":           {ids: []int{1, 2}, rest: "yes"},
		"1-2":               {ids: []int{1, 2}},
		"1 – 2, out":        {ids: []int{1, 2}, rest: "out"},
		"1 to 2":            {ids: []int{1, 2}},
		"2,1":               {ids: []int{2, 1}},
		"1, 2 and 7":        {ids: []int{1, 2, 7}},
		"1-9":               {ids: []int{1, 2}}, // of a stretch those that there are
		"7-9":               {ids: []int{7}},    // to be named
		"1,1-2,2":           {ids: []int{1, 2}},
		"all":               {all: true},
		"all of them":       {all: true},
		"all A":             {all: true, rest: "A"},
		"2-1":               {rest: "2-1"},
		"":                  {},
		"zorb":              {rest: "zorb"},
		"2nd":               {rest: "2nd"},
		"1.5":               {rest: "1.5"},
		"0":                 {rest: "0"},
		"99999999999999999": {rest: "99999999999999999"},
	} {
		n, rest := someNumbers(here, text, reads{there: s.Job.Has})
		require.Equal(t, want.ids, n.ids, text)
		require.Equal(t, want.all, n.all, text)
		require.Equal(t, want.rest, rest, text)
	}
	n, rest := someNumbers(here, "2 5 mm too wide", reads{there: s.Job.Has, sentence: true})
	require.Equal(t, []int{2}, n.ids, "a sentence may begin with a figure")
	require.Equal(t, "5 mm too wide", rest)
	n, rest = someNumbers(here, "1,2 5 mm too wide", reads{there: s.Job.Has, sentence: true})
	require.Equal(t, []int{1, 2}, n.ids)
	require.Equal(t, "5 mm too wide", rest)
}

// A page of the longest names and figures stays under what the platform takes in
// a message: 4096 characters after the entities.
func TestPagesFitAMessage(t *testing.T) {
	s := ownersState(t)
	play := func(text string) string {
		in := typed(text)
		in.Chat, in.User, in.Seed = 1, 1, []byte("0123456789abcdef0123456789abcdef")
		var replies []Reply
		s, replies = Step(s, in)
		require.NotEmpty(t, replies)
		return words().Plain("en", replies[len(replies)-1].Text)
	}
	for n := 3; n <= 40; n++ {
		play(fmt.Sprintf("copy 1 %02d %s", n, strings.Repeat("w", 37)))
	}
	list := play("list")
	require.Contains(t, list, "40 windows")
	require.Less(t, len(list), 1000, "the summary comes first")
	seen := 0
	for page := 1; page <= 4; page++ {
		said := play(fmt.Sprint("list ", page))
		require.Less(t, utf8.RuneCountInString(said), 4096)
		seen += strings.Count(said, " off: ")
	}
	require.Equal(t, 40, seen, "every window is on a page")
	require.Contains(t, play("list 9"), "page 4 of 4")
	require.Contains(t, play("more"), "last page")
}

// A lead of many jobs reads the most urgent first, a page at a time.
func TestOpenPointsOfManyJobs(t *testing.T) {
	var s State
	for n := range 11 {
		s.Seats = append(s.Seats, Seat{Ref: fmt.Sprint("REF", n), Role: job.Lead, Owner: int64(n + 10), Unsigned: 1,
			Points: []job.OpenPoint{{What: job.Matters[7-n%8], Openings: []int{1, 2, 3, 5}, Due: ""}}})
	}
	s.Seats[4].Points = []job.OpenPoint{{What: job.LateFrame, Openings: []int{7}, Due: firstDay.AddDate(0, 0, -1).Format("2006-01-02")}}
	s.Version, s.Conv = schema, 1
	seen := 0
	for page := 1; page <= 3; page++ {
		_, replies := Step(s, Input{Kind: Typed, Text: fmt.Sprint("open points ", page), Chat: 2, User: 2, Now: firstDay})
		said := words().Plain("en", replies[0].Text)
		require.Less(t, utf8.RuneCountInString(said), 4096)
		require.Equal(t, page == 3, !strings.Contains(said, "of 3"), said)
		if page == 1 {
			late, others := strings.Index(said, "Job REF4"), strings.Index(said, "Job REF")
			require.Equal(t, late, others, "late comes first")
		}
		seen += strings.Count(said, "Job REF")
	}
	require.Equal(t, 11, seen)
}

// The messenger takes 2 to 10 pictures together (core.telegram.org/bots/api,
// sendMediaGroup); one that is left over goes by itself.
func TestCardsGoTogetherByTens(t *testing.T) {
	first := ownersState(t)
	for n, want := range map[int][]int{1: {1}, 2: {2}, 10: {10}, 11: {10, 1}, 12: {10, 2}} {
		s := first
		play := func(text string) (replies []Reply) {
			in := typed(text)
			in.Chat, in.User, in.Seed = 1, 1, []byte("0123456789abcdef0123456789abcdef")
			s, replies = Step(s, in)
			return replies
		}
		for i := len(s.Job.Openings) + 1; i <= n; i++ {
			play(fmt.Sprintf("copy 1 room %02d", i))
		}
		replies := play(fmt.Sprint("cards 1-", n))
		if n > mostCards {
			in := Input{Kind: Pressed, Text: replies[0].Buttons[0][0].Data, Now: typed("").Now, Chat: 1, User: 1}
			s, replies = Step(s, in)
		}
		var sizes []int
		var names []string
		for _, r := range replies {
			if r.Picture == nil {
				continue
			}
			sizes = append(sizes, 1+len(r.More))
			for _, one := range r.Apart() {
				require.Equal(t, "card.caption", one.Text.Key)
				require.Empty(t, one.Buttons)
				names = append(names, one.Picture.Opening.Name)
				require.Equal(t, len(names), one.Picture.Window, "the number by which the page calls it")
			}
		}
		require.Equal(t, want, sizes, n)
		require.Len(t, names, n)
		require.Len(t, slices.Compact(names), n, "in order, none twice")
	}
}
