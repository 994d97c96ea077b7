package dialog

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/opening"
)

// A nonsense word, put anywhere into any message of the corpus, adds and alters
// no stored value.
func TestANonsenseWordStoresNothingNew(t *testing.T) {
	for _, r := range heardRows(t, "tune") {
		s := r.begun()
		before := heardValues(s)
		plain, _ := say(s, r.text)
		want := diff(before, heardValues(plain))
		words := strings.Fields(r.text)
		for i := 0; i <= len(words); i++ {
			text := strings.Join(slices.Insert(slices.Clone(words), i, "zorb"), " ")
			after, _ := say(s, text)
			for key, v := range diff(before, heardValues(after)) {
				if want[key] != v {
					t.Errorf("@%s %q stores %s=%q", r.open, text, key, v)
				}
			}
		}
	}
}

// A message cut at its line ends gives the same.
func TestAMessageCutAtItsLineEndsGivesTheSame(t *testing.T) {
	lines := []string{"England today", "bare", "no sill", "white upvc", "1204 1202 1203", "height left 1050, middle 1052, right 1051", "diagonals 1596 1597",
		"2 lights left fixed", "mullion 600", "brick arch", "bedroom", "900 off the floor", "first floor", "4-20-4", "no vents"}
	rapid.Check(t, func(t *rapid.T) {
		from := rapid.IntRange(0, len(lines)-1).Draw(t, "from")
		to := rapid.IntRange(from+1, len(lines)).Draw(t, "to")
		begun, _ := playAll(State{}, append([]string{"/start"}, lines[:from]...)...)
		whole, _ := playAll(begun, strings.Join(lines[from:to], "\n"))
		cut, _ := playAll(begun, lines[from:to]...)
		require.ElementsMatch(t, answersOf(cut), answersOf(whole))
	})
}

// Parts that name their fields may come in any order.
func TestPartsThatNameTheirFieldsCommute(t *testing.T) {
	parts := []string{"England", "tomorrow", "bare brick", "no sill", "white upvc", "widths 1204 1202 1203", "heights 1050 1052 1051",
		"diagonals 1596 1597", "lintel concrete", "kitchen", "900 off the floor", "first floor", "glass 4-20-4", "no vents"}
	want, _ := playAll(State{}, strings.Join(parts, ", "))
	require.Contains(t, answersOf(want), "glass=4-20-4")
	rapid.Check(t, func(t *rapid.T) {
		order := rapid.Permutation(parts).Draw(t, "order")
		got, _ := playAll(State{}, strings.Join(order, rapid.SampledFrom([]string{", ", "\n", ". "}).Draw(t, "between")))
		require.ElementsMatch(t, answersOf(want), answersOf(got), order)
	})
}

// The reply says all that was stored.
func TestTheEchoSaysAllThatWasStored(t *testing.T) {
	for _, r := range heardRows(t, "tune") {
		s := r.begun()
		before := heardValues(s)
		after, replies := say(s, r.text)
		said := ""
		for _, reply := range replies {
			said += words().Plain("en", reply.Text) + "\n"
		}
		for key, v := range diff(before, heardValues(after)) {
			if v == "" {
				continue
			}
			q := find(key)
			if d, err := decimal.NewFromString(v); err == nil && q.Kind == opening.Length {
				v = d.Round(1).String() // a length in another unit is said to a tenth, with what was typed
			}
			value := words().Plain("en", q.stored(v))
			if v == skipped {
				value = words().Plain("en", skippedText(q))
			}
			require.Contains(t, said, value, fmt.Sprintf("@%s %q: %s", r.open, r.text, key))
		}
	}
}

// Whatever is typed, nothing is stored that the table would not take.
func FuzzHeard(f *testing.F) {
	for _, text := range []string{"1204 1202 1203", "not 1204 but 1024", "two lights left from inside", "8 lower on the right", "12O4", "twelve oh four", "whats a mullion?"} {
		f.Add(text, uint8(5))
	}
	f.Fuzz(func(t *testing.T, text string, at uint8) {
		s := heardRow{open: standard[int(at)%len(standard)][0]}.begun()
		after, replies := say(s, text)
		require.NotEmpty(t, replies)
		k := after.known()
		for _, key := range k.InOrder() {
			require.NotEmpty(t, words().Plain("en", find(key).stored(k.Value(key))))
			require.NotContains(t, words().Plain("en", find(key).stored(k.Value(key))), "[", key)
		}
	})
}

// Anything that can be put together of the words that people type, and figures,
// is answered, and stores only what the echo says.
func TestRandomTalkIsAnswered(t *testing.T) {
	var phrases []string
	words().Phrases("en", func(group, _, phrase string) {
		if group != "command" && group != "sure" {
			phrases = append(phrases, phrase)
		}
	})
	slices.Sort(phrases)
	phrases = append(slices.Compact(phrases), "1204", "1202", "1050", "1596", "900", "5", "4-20-4", "12", "1 204", "1.2m", "3/12", "x", "?", ",", ".", "\n", "/", "zorb", "-", "*")
	rapid.Check(t, func(t *rapid.T) {
		s := heardRow{open: rapid.SampledFrom(standard).Draw(t, "open")[0]}.begun()
		for range rapid.IntRange(1, 4).Draw(t, "messages") {
			text := strings.Join(rapid.SliceOfN(rapid.SampledFrom(phrases), 1, 9).Draw(t, "words"), " ")
			before := heardValues(s)
			after, replies := say(s, text)
			require.NotEmpty(t, replies, text)
			said := ""
			for _, reply := range replies {
				said += words().Plain("en", reply.Text) + "\n"
			}
			for key, v := range diff(before, heardValues(after)) {
				if v != "" && v != skipped {
					require.Contains(t, said, words().Plain("en", find(key).stored(v)), "%q: %s", text, key)
				}
			}
			s = after
		}
	})
}
