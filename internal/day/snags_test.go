package day

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/job"
	"sillbot/internal/opening"
)

// Snags follow from the entries of a record: a number stays with what it was given to,
// whatever is noted, looked at again or closed later, and what is taken back is gone.
func TestSnagsFollowFromTheRecord(t *testing.T) {
	names := []string{"drains", "shuts", "board"}
	rapid.Check(t, func(t *rapid.T) {
		var o job.Opening
		type had struct{ of, words string }
		var want []had // by number
		open := map[int]bool{}
		for i := range rapid.IntRange(1, 25).Draw(t, "acts") {
			var e opening.Entry
			switch rapid.IntRange(0, 3).Draw(t, "act") {
			case 0:
				e = NewSnag(rapid.StringMatching(`[a-z]{1,8}`).Draw(t, "words"))
				want = append(want, had{"", e.Value})
				open[len(want)] = true
			case 1:
				n := rapid.IntRange(-1, len(want)+2).Draw(t, "number")
				e = SnagDone(n)
				delete(open, n)
			case 2: // not all right, in words
				name := rapid.SampledFrom(names).Draw(t, "name")
				e = opening.Entry{Act: opening.Set, Key: "lastlook." + name, Value: rapid.StringMatching(`[a-z]{3,8}s`).Draw(t, "words")}
				at := 0
				for n := range open {
					if want[n-1].of == name {
						at = n
					}
				}
				if at == 0 {
					want = append(want, had{name, e.Value})
					open[len(want)] = true
				} else {
					want[at-1].words = e.Value
				}
			default:
				name := rapid.SampledFrom(names).Draw(t, "name")
				e = opening.Entry{Act: opening.Set, Key: "lastlook." + name, Value: OK}
				for n := range open {
					if want[n-1].of == name {
						delete(open, n)
					}
				}
			}
			o.Said = o.Said.Put(opening.Stamp{By: 1, Role: opening.Fitter, At: int64(1000 + i)}, e)
		}
		got := SnagsOf(o)
		require.Len(t, got, len(want))
		for i, s := range got {
			require.Equal(t, i+1, s.Number)
			require.Equal(t, want[i], had{s.Of, s.Words})
			require.Equal(t, open[i+1], s.Done.IsZero(), "snag %d", i+1)
		}
		require.Len(t, OpenSnags(got), len(open))
	})
}

func TestASnagIsDatedAndUndone(t *testing.T) {
	var o job.Opening
	at := time.Date(2026, 12, 3, 9, 0, 0, 0, time.UTC)
	put := func(e opening.Entry, on time.Time) {
		o.Said = o.Said.Put(opening.Stamp{By: 1, Role: opening.Fitter, At: on.Unix()}, e)
	}
	put(NewSnag("scratched bead"), at)
	put(SnagDone(1), at.AddDate(0, 0, 1))
	s := SnagsOf(o)[0]
	require.Equal(t, at, s.At)
	require.Equal(t, at.AddDate(0, 0, 1), s.Done)
	require.Equal(t, "2.1", s.Ref(2))
	said, _, err := o.Said.Undo(opening.Stamp{By: 1, At: at.Unix()})
	require.NoError(t, err)
	o.Said = said
	require.True(t, SnagsOf(o)[0].Done.IsZero(), "closing is taken back")
	said, _, err = o.Said.Undo(opening.Stamp{By: 1, At: at.Unix()})
	require.NoError(t, err)
	o.Said = said
	require.Empty(t, SnagsOf(o))
}

// Who is forgotten takes their words along; that there was a snag, and which, stays.
func TestASnagOfSomebodyForgottenKeepsItsNumber(t *testing.T) {
	var o job.Opening
	for _, e := range []opening.Entry{NewSnag("Mrs Hill wants it lower"), {Act: opening.Set, Key: "structure.who", Value: "J Doe"}, {Act: opening.Set, Key: "frame.width", Value: "1192.5"}, {Act: opening.Set, Key: "lastlook.board", Value: OK}} {
		o.Said = o.Said.Put(opening.Stamp{By: 7, Role: opening.Fitter, At: 1000}, e)
	}
	o.Said = o.Said.Forget(7)
	raw, err := o.Said.MarshalText()
	require.NoError(t, err)
	require.NotContains(t, string(raw), "Hill")
	require.NotContains(t, string(raw), "Doe")
	require.Contains(t, string(raw), "1192.5")
	var again opening.Record
	require.NoError(t, again.UnmarshalText(raw))
	o.Said = again
	require.Len(t, SnagsOf(o), 1)
	require.Equal(t, "day.snag.forgotten", SnagsOf(o)[0].Said().Key)
	require.Equal(t, OK, Of(o).Value(&lastlookKeys, "board"))
}
