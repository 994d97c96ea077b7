package dialog

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/opening"
)

// A window that is as another has all that holds of that one but its readings, its name
// and its count, and what was said of it: in a job and without one, after the other or
// as the next of it. Then it takes two messages.
func TestAWindowLikeAnother(t *testing.T) {
	chat := func(s State, text string) (State, []Reply) {
		return Step(s, Input{Kind: Typed, Text: text, Now: firstDay, Chat: 1, User: 1, Seed: make([]byte, 32)})
	}
	alone, _ := chat(State{}, "England today bare none white 1204 1202 1203 1050 1052 1051 1596 1597 level left brick bedroom first 900 4-20-4 no")
	inJob, _ := chat(alone, "job new")
	differs := map[string][2]string{
		"timber": {"material", "timber"}, "hung on the right": {"light.1", "side-right"}, "plaster": {"finish", "plaster"},
		"150 cill": {"sill", "150"}, "kitchen": {"room", "kitchen"}, "6-16-6": {"glass", "6-16-6"}, "top hung": {"light.1", "top"},
	}
	openers := []string{"same as last", "same again", "next one same", "as b4", "same as the last one", "next one is the same", "another the same"}
	mine := map[string][]string{"job": {"same as 1", "same as window 1", "next one same as no 1", "as window 1"}}
	rapid.Check(t, func(t *rapid.T) {
		s, of, choices := alone, 0, openers
		if rapid.Bool().Draw(t, "job") {
			s, of, choices = inJob, 1, append(choices, mine["job"]...)
		}
		source := known(s)
		if rapid.Bool().Draw(t, "new") {
			s, _ = chat(s, "new")
		}
		text := rapid.SampledFrom(choices).Draw(t, "opener") + " " + rapid.SampledFrom([]string{"but", "except", "apart from"}).Draw(t, "but") + " "
		what := rapid.SampledFrom([]string{"timber", "hung on the right", "plaster", "150 cill", "kitchen", "6-16-6", "top hung"}).Draw(t, "what")
		s, said := chat(s, text+what)
		require.Equal(t, "width.top", said[len(said)-1].Open, text+what)

		k := known(s)
		want := differs[what]
		require.Equal(t, want[1], k.Value(want[0]), text+what)
		for f := range opening.Fields {
			switch {
			case f.Key == want[0], opening.IsOfOneWindow(f.Key), f.Scope != opening.Window:
			default:
				require.Equal(t, source.Value(f.Key), k.Value(f.Key), "%s: %s", text+what, f.Key)
			}
		}
		own := k.Own()
		for _, key := range opening.ReadingKeys {
			require.False(t, own.Has(key), key)
			require.Equal(t, opening.Copied, k.Entry(key).How, key)
			require.Equal(t, of, k.Entry(key).Of, key)
		}

		s, _ = chat(s, "1214 1212 1213 x 1060 1062 1061")
		s, _ = chat(s, "1611 1612 level")
		require.True(t, (&turn{State: s}).done())
		k = known(s)
		keys, _ := k.StillCopied()
		require.Empty(t, keys)
		require.Equal(t, "1214", k.Value("width.top"))
	})
}

// What somebody said of the stops of one window lifts none of another's.
func TestWhatLiftsAStopIsNotCopied(t *testing.T) {
	s, _ := playAll(State{}, strings.Split("England today bare none white 1204 1202 1203 1050 1052 1051 1596 1597 level left no lintel bedroom first 900 4-20-4 no\nengineer says ok: a lintel goes in first, J Doe, structural engineer, today", "\n")...)
	k := known(s)
	require.True(t, k.Has("cleared"))
	s, _ = playAll(s, "same as last but timber")
	k = known(s)
	require.False(t, k.Has("cleared"))
	require.Equal(t, "nolintel", k.Value("over"))
}

// undo turns back from the window that was made to the one it was made from.
func TestUndoTurnsBackFromAWindowLikeAnother(t *testing.T) {
	s, _ := playAll(State{}, script...)
	before := known(s)
	s, _ = playAll(s, "same as last but timber", "undo")
	after := known(s)
	require.Empty(t, before.Differ(after))
}

// A conversation of before that had kept readings which don't close has them confirmed.
func TestKeptReadingsOfBeforeAreConfirmed(t *testing.T) {
	s, _ := playAll(State{}, "England today bare none white 1204 1202 1203 1050 1052 1051 1596 1697")
	k := known(s)
	require.Equal(t, []opening.Key{"diagonal.falling"}, k.Doubts())
	s.Doubt, s.FigureKept = nil, true
	s, _ = playAll(s, "level")
	k = known(s)
	require.Empty(t, k.Doubts())
}
