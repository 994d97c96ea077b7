package job

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/plan"
)

func TestDecode(t *testing.T) {
	j := begun(t, 2)
	require.Equal(t, allOf(t, j), allOf(t, storedAndRead(t, j)))
	newer := Stored{Head: []byte(`{"v":3}`)}
	_, err := newer.Decode()
	require.ErrorIs(t, err, ErrNewer)
	_, err = newer.Windows()
	require.ErrorIs(t, err, ErrNewer)
	for _, broken := range []string{``, `{}`, `[]`, `{"v":1,"openings":3}`, `{"v":2,"list":["1|1|survey|||||||1|a"]}`, `{"v":2,"list":["1|1"]}`, `{"v":2,"list":["1|1|survey|||||||9|a"]}`} {
		_, err = Stored{Head: []byte(broken), Parts: map[int][]byte{1: nil}}.Decode()
		require.Error(t, err, broken)
	}
}

// TestAWindowThatCannotBeRead: the others go on by what they hold, its row stands for
// it, and what looks into it finds it missing. One that is not there is a window to be
// measured again.
func TestAWindowThatCannotBeRead(t *testing.T) {
	stored, err := begun(t, 2).Encode()
	require.NoError(t, err)
	stored.Head = []byte(strings.Replace(string(stored.Head), fmt.Sprintf(`"rules":%d`, plan.Rules), `"rules":1`, 1))
	delete(stored.Parts, 2)
	j, err := stored.Decode()
	require.NoError(t, err)
	_, all := j.Missing()
	require.True(t, all, "a row of other rules is not trusted")

	stored.Unread = map[int]bool{2: true}
	j, err = stored.Decode()
	require.NoError(t, err)
	missing, all := j.Missing()
	require.False(t, all)
	require.Empty(t, missing)
	require.Len(t, j.List(), 2)
	forgot := j.Forget(7)
	require.Len(t, forgot.Openings, 2, "nobody's window goes with a person")
	again, err := forgot.Encode()
	require.NoError(t, err)
	require.NotContains(t, again.Parts, 2, "what can't be read is not written")
	missing, _ = forgot.Missing()
	require.Equal(t, []int{2}, missing)
	require.Nil(t, j.All())

	stored.Parts[2] = nil
	j, err = stored.Decode()
	require.NoError(t, err)
	require.Len(t, j.All(), 2)
	require.NotEmpty(t, j.List()[1].Lacks)
}

// TestARowForgetsWhoSigned: a window that can't be read gives up the name in its row.
func TestARowForgetsWhoSigned(t *testing.T) {
	r, err := readRow("3|2|signed|||2026-06-01|lead|7|1764061200|7|kitchenAna")
	require.NoError(t, err)
	require.Equal(t, &r, r.forget(8))
	require.Equal(t, "3|2|signed|||2026-06-01|lead|-1|1764061200|7|kitchen", string(r.forget(7).append(nil)))
}

// storedAndRead is the job as it comes back from the store.
func storedAndRead(t require.TestingT, j Job) Job {
	stored, err := j.Encode()
	require.NoError(t, err)
	windows, err := stored.Windows()
	require.NoError(t, err)
	require.ElementsMatch(t, slices.Collect(maps.Keys(stored.Parts)), windows)
	again, err := stored.Decode()
	require.NoError(t, err)

	// The head alone gives the rows, and what follows from them.
	head, err := Stored{Head: stored.Head}.Decode()
	require.NoError(t, err)
	require.Equal(t, asJSON(t, j.List()), asJSON(t, head.List()))
	require.Equal(t, j.Stage(), head.Stage())
	require.Equal(t, asJSON(t, j.Glance("2026-06-01")), asJSON(t, head.Glance("2026-06-01")))
	missing, all := head.Missing()
	require.Empty(t, missing)
	require.False(t, all)
	return again
}

// What the program stored before its windows were stored by themselves: bytes
// of the people's transcripts, written by that version.
func TestJobsOfTheFirstSchema(t *testing.T) {
	raw, err := os.ReadFile("testdata/jobs-v1.jsonl")
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSpace(string(raw)), "\n")
	var windows, binned, ordered int
	for _, line := range lines {
		old := Stored{Head: []byte(line)}
		beside, err := old.Windows()
		require.NoError(t, err)
		require.Empty(t, beside)
		j, err := old.Decode()
		require.NoError(t, err)
		sameAsFirst(t, line, j)
		require.Equal(t, allOf(t, j), allOf(t, storedAndRead(t, j)))
		windows, binned, ordered = windows+len(j.Openings), binned+len(j.Bin), ordered+len(j.Lines())
	}
	require.Equal(t, []int{12, 2, 10}, []int{windows, binned, ordered}, "as the file was made")
}

// sameAsFirst demands that nothing that a stored job of the first schema said is
// another now.
func sameAsFirst(t *testing.T, line string, j Job) {
	var old firstJob
	require.NoError(t, json.Unmarshal([]byte(line), &old))
	require.Equal(t, old.Order.Held, j.Order.Held)
	require.Equal(t, asJSON(t, old.Order.Lines), asJSON(t, j.Lines()))
	require.Len(t, j.Openings, len(old.Openings))
	for i, was := range old.Openings {
		o := j.Openings[i]
		require.Equal(t, []any{was.ID, was.Name, was.Count, was.State, was.Since, was.CopiedFrom, was.Record.Colour, was.Record.MakeUp, was.Record.Hardware},
			[]any{o.ID, o.Name, o.Count, o.State, o.Since, o.CopiedFrom, o.Record().Colour, o.Record().MakeUp, o.Record().Hardware})
		was.Record.Plan.Over = o.Record().Plan.Over // a file of then had no word for what carries the wall
		require.JSONEq(t, asJSON(t, was.Record.Plan), asJSON(t, o.Record().Plan))
		require.Equal(t, asJSON(t, was.Supply), asJSON(t, o.Supply))
		require.Equal(t, was.Signature == nil, o.Signature == nil)
		require.Equal(t, was.Check == nil, o.Check == nil)
		if was.Check != nil && was.Check.By != nil {
			require.Len(t, o.Check.Leads, 1)
			second := o.Check.Leads[0]
			require.Equal(t, []any{was.Check.Asked, *was.Check.By, was.Check.Seen != nil, was.Check.Known, was.Check.Blind},
				[]any{o.Check.Asked, second.By, len(o.Check.Looked) > 0, len(o.Check.Known) > 0, second.Blind})
			if was.Check.Seen != nil {
				require.Equal(t, *was.Check.Seen, o.Check.Looked[0])
			}
			require.JSONEq(t, asJSON(t, was.Check.First), asJSON(t, o.Check.First))
			require.JSONEq(t, asJSON(t, was.Check.Second), asJSON(t, second.Readings))
			require.JSONEq(t, asJSON(t, was.Check.Settled), asJSON(t, o.Check.Settled))
		}
	}
}

// allOf is a job with all that its records say, for comparing.
func allOf(t require.TestingT, j Job) string {
	stored, err := j.Encode()
	require.NoError(t, err)
	text := string(stored.Head)
	for _, id := range slices.Sorted(maps.Keys(stored.Parts)) {
		text += "\n" + string(stored.Parts[id])
	}
	for _, o := range j.Openings {
		text += fmt.Sprintf("\n%d %s %d %s %s %s %v", o.ID, o.Name, o.Count, o.State, o.Since, o.Version, asJSON(t, []any{o.Record(), o.Check, o.Signature, o.Supply, o.Measured, o.CopiedFrom}))
	}
	return text
}

// A turn writes the head and the windows that it changed, and no other.
func TestOnlyWhatChangesIsStoredAgain(t *testing.T) {
	j := begun(t, 3)
	before, err := j.Encode()
	require.NoError(t, err)
	changed := func(j Job) (ids []int) {
		after, err := j.Encode()
		require.NoError(t, err)
		for _, id := range slices.Sorted(maps.Keys(after.Parts)) {
			if string(after.Parts[id]) != string(before.Parts[id]) {
				ids = append(ids, id)
			}
		}
		return ids
	}
	require.Equal(t, []int{2}, changed(must(t)(j.SetCount(fitter, noon, 2, 5))))
	require.Equal(t, []int{4}, changed(must(t)(j.Add(fitter, noon, "Bath"))))
	require.Empty(t, changed(must(t)(j.SetLabel(fitter, noon, "Mill cottage"))))
	gone := must(t)(j.Delete(fitter, noon, 2))
	require.Equal(t, []int{2}, changed(gone), "that it was deleted stands in its record")
	require.Len(t, storedAndRead(t, gone).Bin, 1)
}

// A line that the desk was sent stays however many windows are deleted.
func TestALineOutlivesAFullBin(t *testing.T) {
	j, _, err := begun(t, 1).Send(fitter, noon, calc0)
	require.NoError(t, err)
	j = must(t)(j.Delete(fitter, noon, 1))
	for n := range mostBinned + 1 {
		j = must(t)(j.Add(fitter, noon, fmt.Sprint("Spare ", n)))
		j = must(t)(j.Delete(fitter, noon, n+2))
	}
	require.Len(t, j.Bin, mostBinned)
	require.Len(t, j.Lines(), 1)
	require.Equal(t, allOf(t, j), allOf(t, storedAndRead(t, j)))
}

// operations are all that can be done to a job, and read of one.
func operations(id int) map[string]func(Job) (any, Job, error) {
	type events = []Event
	act := func(do func(Job) (Job, []Event, error)) func(Job) (any, Job, error) {
		return func(j Job) (any, Job, error) {
			j, e, err := do(j)
			return e, j, err
		}
	}
	read := func(do func(Job) any) func(Job) (any, Job, error) {
		return func(j Job) (any, Job, error) { return do(j), Job{}, nil }
	}
	return map[string]func(Job) (any, Job, error){
		"label":      act(func(j Job) (Job, events, error) { return j.SetLabel(fitter, noon, "Mill") }),
		"add":        act(func(j Job) (Job, events, error) { return j.Add(fitter, noon, "Attic") }),
		"taken name": act(func(j Job) (Job, events, error) { return j.Add(fitter, noon, j.Openings[0].Name) }),
		"copy":       act(func(j Job) (Job, events, error) { return j.Copy(fitter, noon, id, "Attic") }),
		"rename":     act(func(j Job) (Job, events, error) { return j.Rename(fitter, noon, id, "Attic") }),
		"count":      act(func(j Job) (Job, events, error) { return j.SetCount(fitter, noon, id, 7) }),
		"store":      act(func(j Job) (Job, events, error) { return j.Store(fitter, noon, id, measured()) }),
		"delete":     act(func(j Job) (Job, events, error) { return j.Delete(fitter, noon, id) }),
		"undo":       act(func(j Job) (Job, events, error) { return j.Undo(fitter, noon) }),
		"check":      act(func(j Job) (Job, events, error) { return j.AskCheck(fitter, noon, id) }),
		"check all":  act(func(j Job) (Job, events, error) { return j.AskCheck(fitter, noon) }),
		"withdraw":   act(func(j Job) (Job, events, error) { return j.WithdrawCheck(fitter, noon, id) }),
		"look":       act(func(j Job) (Job, events, error) { return j.Look(lead, noon, id) }),
		"read":       act(func(j Job) (Job, events, error) { return j.Read(lead, noon, id, seconds()) }),
		"settle":     act(func(j Job) (Job, events, error) { return j.Settle(lead, noon, id, "width.top", Theirs) }),
		"reread":     act(func(j Job) (Job, events, error) { return j.Reread(lead, noon, id, "width.top", mm(1207)) }),
		"sign": act(func(j Job) (Job, events, error) {
			o, _ := j.Find(id)
			return j.Sign(lead, noon, id, o.Version)
		}),
		"send":        act(func(j Job) (Job, events, error) { return j.Send(fitter, noon, calc0) }),
		"confirm":     act(func(j Job) (Job, events, error) { return j.Confirm(desk, noon, "A", id) }),
		"confirm all": act(func(j Job) (Job, events, error) { return j.ConfirmAll(desk, noon, "A") }),
		"query":       act(func(j Job) (Job, events, error) { return j.Query(desk, noon, id, "why?") }),
		"answer":      act(func(j Job) (Job, events, error) { return j.Answer(fitter, noon, id, 0, "so") }),
		"promise":     act(func(j Job) (Job, events, error) { return j.Promise(desk, noon, id, "2026-05-20", nil) }),
		"reject":      act(func(j Job) (Job, events, error) { return j.Reject(fitter, noon, id, "bent") }),
		"deliver":     act(func(j Job) (Job, events, error) { return j.Advance(fitter, noon, id, DoDeliver) }),
		"back":        act(func(j Job) (Job, events, error) { return j.Advance(fitter, noon, id, DoBack) }),
		"hand over":   act(func(j Job) (Job, events, error) { return j.HandOver(fitter, noon) }),
		"tell": act(func(j Job) (Job, events, error) {
			return j.ConfirmTold(fitter, noon, Reply{Heard: Heard{Order: "4712"}})
		}),
		"shown": func(j Job) (any, Job, error) {
			o, _ := j.Find(id)
			j, err := j.Shown(lead, noon, id, o.Version)
			return nil, j, err
		},
		"list":       read(func(j Job) any { return j.List() }),
		"glance":     read(func(j Job) any { return j.Glance("2026-06-01") }),
		"order copy": read(func(j Job) any { return j.OrderCopy() }),
		"check copy": read(func(j Job) any { return j.CheckCopy() }),
		"ready": read(func(j Job) any {
			lines, not := j.Ready(calc0)
			return []any{lines, not}
		}),
		"unsigned": read(func(j Job) any {
			var names []string
			for _, o := range j.Unsigned() {
				names = append(names, o.Name)
			}
			return names
		}),
		"figures": read(func(j Job) any {
			f, ok := j.Figures(lead.Chat, id)
			return []any{f, ok}
		}),
		"comparison": read(func(j Job) any {
			c, ok := j.Comparison(fitter.Chat, id)
			return []any{c, ok}
		}),
		"to check": func(j Job) (any, Job, error) {
			c, err := j.ToCheck(lead, id)
			return c, Job{}, err
		},
	}
}

// Whatever is done to a job of which the head alone was loaded ends as on the
// whole job, once the windows that it looked into are there; and it looks into
// others than its own only where it is about all of them.
func TestALoadedPartOfAJobDoesAsTheWhole(t *testing.T) {
	starts := startingPoints(t)
	starts = append(starts, must(t)(starts[2].Settle(lead, noon, 1, "width.top", Again)), must(t)(starts[0].Delete(fitter, noon, 2)), must(t)(starts[6].Delete(fitter, noon, 2)), must(t)(starts[6].Query(desk, noon, 1, "why?")), must(t)(starts[5].ConfirmTold(fitter, noon, anna)))
	aboutAll := []string{"check all", "send", "confirm all", "tell", "hand over", "order copy", "check copy", "ready"}
	done := map[string]bool{}
	for start, j := range starts {
		whole, err := j.Encode()
		require.NoError(t, err)
		for id := range 5 {
			for what, do := range operations(id) {
				said, next, failed := do(j)
				part := Stored{Head: whole.Head, Parts: map[int][]byte{}}
				looks := 0
				for ; ; looks++ {
					require.Less(t, looks, 4, what)
					some, err := part.Decode()
					require.NoError(t, err)
					gotSaid, gotNext, gotErr := do(some)
					missing, all := some.Missing()
					if all {
						missing, err = whole.Windows()
						require.NoError(t, err)
					}
					if len(missing) == 0 {
						require.Equal(t, failed, gotErr, "%d: %s %d", start, what, id)
						require.Equal(t, asJSON(t, said), asJSON(t, gotSaid), "%d: %s %d", start, what, id)
						done[what] = done[what] || failed == nil
						requireStored(t, next, gotNext, whole, part)
						break
					}
					for _, id := range missing {
						require.NotContains(t, part.Parts, id, "%s asks for what it has", what)
						part.Parts[id] = whole.Parts[id]
					}
				}
				if !slices.Contains(aboutAll, what) && !next.Order.Held {
					require.LessOrEqual(t, len(part.Parts), 1, "%d: %s %d", start, what, id)
				}
			}
		}
	}
	done["taken name"] = true // is always refused
	for what := range operations(1) {
		require.True(t, done[what], "%s was always refused, so nothing was tried", what)
	}
}

// requireStored is that a job of which parts were loaded is stored as the whole
// one is.
func requireStored(t *testing.T, want, got Job, before, loaded Stored) {
	t.Helper()
	if want.Ref == "" {
		return
	}
	stored, err := got.Encode()
	require.NoError(t, err)
	for id, data := range before.Parts {
		if _, had := loaded.Parts[id]; !had {
			stored.Parts[id] = data
		}
	}
	all, err := want.Encode()
	require.NoError(t, err)
	require.Equal(t, string(all.Head), string(stored.Head))
	for id, data := range all.Parts {
		require.Equal(t, string(data), string(stored.Parts[id]), id)
	}
	require.Len(t, stored.Parts, len(all.Parts))
}
