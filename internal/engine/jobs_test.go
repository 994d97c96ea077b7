package engine

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
)

const testRef = "ACDFGH"

// storedJob is a job as it is stored.
func storedJob(t testing.TB, e *Engine, chat int64, ref string) (job.Job, []session.Part) {
	t.Helper()
	l, err := loadJob(ctx, e.store, chat, ref, nil)
	require.NoError(t, err)
	windows, err := l.stored.Windows()
	require.NoError(t, err)
	l, err = loadJob(ctx, e.store, chat, ref, windows)
	require.NoError(t, err)
	return *l.job, l.parts
}

// begin stores a job and a conversation that has it open.
func begin(t testing.TB, s *session.Store, k session.Key, ref string, parts ...session.Part) {
	t.Helper()
	state, err := json.Marshal(dialog.State{Version: 1, Conv: 1, Ref: ref, Own: []string{ref}, Editing: 1})
	require.NoError(t, err)
	r, err := s.Commit(ctx, session.Turn{Update: 1, Key: k, Data: state, Job: session.JobChange{Ref: ref, Write: parts}})
	require.NoError(t, err)
	require.Equal(t, session.Committed, r.Outcome)
}

// Jobs as they were stored before their windows were stored by themselves are
// read, and written in the present form with the next turn that changes them.
func TestAJobOfTheFirstSchemaIsWrittenAnew(t *testing.T) {
	raw, err := os.ReadFile("../job/testdata/jobs-v1.jsonl")
	require.NoError(t, err)
	sessiontest.Each(t, func(t *testing.T, url string) {
		s := store(t, url)
		e := New(s, &post{}, Options{Rate: -1, Step: func(s dialog.State, in dialog.Input) (dialog.State, []dialog.Reply) {
			relabelled := *s.Job
			relabelled.Label = in.Text
			s.Job = &relabelled
			return s, nil
		}})
		for line := range strings.Lines(string(raw)) {
			chat := sessiontest.Chat()
			old, err := job.Stored{Head: []byte(line)}.Decode()
			require.NoError(t, err)
			begin(t, s, session.Key{Chat: chat}, old.Ref, session.Part{Data: []byte(line)})
			require.NoError(t, e.Take(ctx, typed(2, chat, "Upper mill")))
			now, parts := storedJob(t, e, chat, old.Ref)
			old.Label = "Upper mill"
			want, err := json.Marshal(old)
			require.NoError(t, err)
			got, err := json.Marshal(now)
			require.NoError(t, err)
			require.JSONEq(t, string(want), string(got))
			require.NotContains(t, string(parts[0].Data), `"openings"`)
			require.Len(t, parts, 1+len(old.Openings)+len(old.Bin))
			for _, p := range parts {
				require.NotNil(t, p.Data)
			}
		}
	})
}

// adder adds a window to the job at every turn, counts in the label, and makes
// the window in the middle one more.
func adder(s dialog.State, in dialog.Input) (dialog.State, []dialog.Reply) {
	who := job.Who{Chat: in.Chat, Person: in.Chat, Role: job.Fitter}
	next, err := s.Job.Begin(who, in.Now, in.Text, opening.Record{})
	if err != nil {
		panic(err)
	}
	n, _ := strconv.Atoi(next.Label)
	next.Label = strconv.Itoa(n + 1)
	if o, ok := next.Find((len(next.Openings) + 1) / 2); ok {
		next, _, _ = next.SetCount(who, in.Now, o.ID, o.Count+1)
	}
	s.Job = &next
	return s, nil
}

func TestATurnWritesOnlyThePartsThatItChanged(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		s := store(t, url)
		e := New(s, &post{}, Options{Rate: -1, Step: adder})
		chat := sessiontest.Chat()
		stored, err := job.New(testRef, job.Who{Chat: chat, Person: chat}, time.Now(), job.DefaultSettings()).Encode()
		require.NoError(t, err)
		begin(t, s, session.Key{Chat: chat}, testRef, session.Part{Data: stored.Head})
		require.NoError(t, e.Take(ctx, typed(2, chat, "a")))
		require.NoError(t, e.Take(ctx, typed(3, chat, "b")))
		_, before := storedJob(t, e, chat, testRef)
		require.NoError(t, e.Take(ctx, typed(4, chat, "c")))
		j, after := storedJob(t, e, chat, testRef)
		require.Len(t, j.Openings, 3)
		require.NotEqual(t, before[0], after[0])
		require.Equal(t, before[1], after[1])
		require.NotEqual(t, before[2], after[2], "the one in the middle")
		require.Equal(t, []int{3, 2, 1}, []int{j.Openings[0].Count, j.Openings[1].Count, j.Openings[2].Count})
	})
}

// Many people of a group change one job through two processes: nobody's change
// is lost, and a job is never read half before and half after one.
func TestAJobThatManyChangeLosesNothing(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		group := -sessiontest.Chat()
		s := store(t, url)
		stored, err := job.New(testRef, job.Who{Chat: group, Person: group}, time.Now(), job.DefaultSettings()).Encode()
		require.NoError(t, err)
		const people, each = 6, 5
		for user := range int64(people) {
			k := session.Key{Chat: group, User: user + 1, Group: true}
			state, err := json.Marshal(dialog.State{Version: 1, Conv: 1, Ref: testRef})
			require.NoError(t, err)
			turn := session.Turn{Update: 100 + user, Key: k, Data: state}
			if user == 0 {
				turn.Job = session.JobChange{Ref: testRef, Write: []session.Part{{Data: stored.Head}}}
			}
			_, err = s.Commit(ctx, turn)
			require.NoError(t, err)
		}
		engines := []*Engine{
			newEngine(t, url, &post{}, Options{Rate: -1, Step: adder}), newEngine(t, url, &post{}, Options{Rate: -1, Step: adder}),
		}
		var all sync.WaitGroup
		for user := range int64(people) {
			all.Go(func() {
				for i := range int64(each) {
					u := typed(1000*(user+1)+i, group, fmt.Sprintf("%d of %d", i, user))
					u.User, u.Group = user+1, true
					offer(t, u, []*Engine{engines[user%2]})
				}
			})
		}
		all.Wait()
		j, _ := storedJob(t, engines[0], group, testRef)
		require.Len(t, j.Openings, people*each)
		require.Equal(t, strconv.Itoa(people*each), j.Label)
		more := 0
		for _, o := range j.Openings {
			more += o.Count - 1
		}
		require.Equal(t, people*each, more)
		for user := range people {
			for i := range each {
				require.True(t, slices.ContainsFunc(j.Openings, func(o job.Opening) bool { return o.Name == fmt.Sprintf("%d of %d", i, user) }))
			}
		}
		require.NoError(t, s.Forget(ctx, group))
	})
}

// A step that looks into windows that were not loaded is made again with them,
// and what it did without them is not written.
func TestAStepIsMadeAgainWithTheWindowsThatItLooksInto(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		s, p := store(t, url), &post{}
		var seen []int
		e := New(s, p, Options{Rate: -1, Step: func(s dialog.State, in dialog.Input) (dialog.State, []dialog.Reply) {
			seen = append(seen, len(s.Job.All()))
			s.Fails = len(s.Job.All())
			return s, nil
		}})
		chat := sessiontest.Chat()
		begin(t, s, session.Key{Chat: chat}, testRef, jobOf(t, chat, 3)...)
		require.NoError(t, e.Take(ctx, typed(2, chat, "x")))
		require.Equal(t, []int{0, 3}, seen)
		require.Equal(t, 3, fails(t, s, chat))
	})
}

// jobOf is a job of so many windows, each measured twice, signed and with the
// desk.
func jobOf(t testing.TB, chat int64, windows int) []session.Part {
	raw, err := os.ReadFile("../job/testdata/jobs-v1.jsonl")
	require.NoError(t, err)
	first, _, _ := strings.Cut(string(raw), "\n")
	j, err := job.Stored{Head: []byte(first)}.Decode()
	require.NoError(t, err)
	o := j.Openings[0]
	j.Ref, j.Owner.Chat, j.Openings, j.Order.On, j.LastID = testRef, chat, nil, nil, windows
	for id := 1; id <= windows; id++ {
		o.ID, o.Name = id, fmt.Sprint("window ", id)
		j.Openings, j.Order.On = append(j.Openings, o), append(j.Order.On, id)
	}
	stored, err := j.Encode()
	require.NoError(t, err)
	parts := []session.Part{{Data: stored.Head}}
	for id, data := range stored.Parts {
		parts = append(parts, session.Part{Window: id, Data: data})
	}
	return parts
}

// BenchmarkTurnInAJob is a turn in a job of so many windows: load, step, commit.
// The conversation is at hand. survey answers and takes back a question of a new
// window in the real conversation; write changes one window; read looks into
// all of them.
func BenchmarkTurnInAJob(b *testing.B) {
	read := func(s dialog.State, _ dialog.Input) (dialog.State, []dialog.Reply) {
		s.Fails = len(s.Job.All())
		return s, nil
	}
	for name, step := range map[string]func(dialog.State, dialog.Input) (dialog.State, []dialog.Reply){
		"survey": dialog.Step, "write": oneEntry(), "read": read,
	} {
		for _, windows := range []int{1, 200} {
			b.Run(fmt.Sprintf("%s/%d", name, windows), func(b *testing.B) {
				e := newEngine(b, sessiontest.Node(b), discard{}, Options{Rate: -1, Step: step})
				chat, id := sessiontest.Chat(), int64(1)
				take := func(text string) {
					id++
					if err := e.Take(ctx, typed(id, chat, text)); err != nil {
						b.Fatal(err)
					}
				}
				begin(b, e.store, session.Key{Chat: chat}, testRef, jobOf(b, chat, windows)...)
				take("new")
				take("England 2026-11-25")
				for b.Loop() {
					take([]string{"back", "bare"}[id%2])
				}
			})
		}
	}
}

// oneEntry is a step that writes one entry of the first window, another one
// every time, so that the record does not grow.
func oneEntry() func(dialog.State, dialog.Input) (dialog.State, []dialog.Reply) {
	var said *opening.Record
	return func(s dialog.State, in dialog.Input) (dialog.State, []dialog.Reply) {
		next := *s.Job
		o, ok := next.Find(1)
		if !ok {
			return s, nil
		}
		if said == nil {
			said = &o.Said
		}
		o.Said = said.Put(opening.Stamp{By: 1, Role: opening.Fitter}, opening.Entry{Act: opening.Set, Key: "floor", Value: in.Text})
		next.Openings = slices.Clone(next.Openings)
		next.Openings[0] = o
		s.Job = &next
		return s, nil
	}
}

// Who has everything deleted leaves no window of a job behind.
func TestForgetTakesEveryWindowOfAJob(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		s, p := store(t, url), &post{}
		e := New(s, p, Options{Rate: -1})
		chat := sessiontest.Chat()
		begin(t, s, session.Key{Chat: chat}, testRef, jobOf(t, chat, 3)...)
		require.NoError(t, e.Take(ctx, typed(2, chat, "forget")))
		require.NoError(t, e.Take(ctx, typed(3, chat, yesForget(t, s, session.Key{Chat: chat}))))
		require.NoError(t, e.Flush(ctx, chat))
		parts, err := s.LoadJob(ctx, chat, testRef, 1, 2, 3)
		require.NoError(t, err)
		for _, part := range parts {
			require.Nil(t, part.Data)
		}
		held, err := s.Export(ctx, chat, 0)
		require.NoError(t, err)
		require.Equal(t, session.Holding{Chat: chat}, held)
	})
}
