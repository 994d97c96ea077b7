package engine

import (
	"encoding/json"
	"fmt"
	"log/slog"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/alicebob/miniredis/v2"
	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
)

// forgetTest is a bot whose stored bytes can be searched. A private chat has its
// person's number.
type forgetTest struct {
	t      *testing.T
	mini   *miniredis.Miniredis
	post   *post
	store  *session.Store
	engine *Engine
	ids    int64
	chats  []int64
	live   bool // people write now, and not on the same morning
}

func newForgetTest(t *testing.T) *forgetTest {
	m, url := sessiontest.Mini(t)
	f := &forgetTest{t: t, mini: m, post: &post{numbers: true}, store: store(t, url)}
	f.engine = New(f.store, f.post, Options{Rate: -1, Log: slog.New(slog.DiscardHandler)})
	return f
}

// person is somebody who writes.
type person struct {
	id   int64
	name string
}

func (f *forgetTest) update(p person, chat int64, text string) Update {
	f.ids++
	if f.live {
		return Update{ID: f.ids, Chat: chat, User: p.id, Group: chat != p.id, Input: dialog.Input{Kind: dialog.Typed, Text: text, Now: time.Now(), Name: p.name}}
	}
	return Update{ID: f.ids, Chat: chat, User: p.id, Group: chat != p.id, Input: dialog.Input{
		Kind: dialog.Typed, Text: text, Now: time.Date(2026, 11, 25, 8, 30, 0, 0, time.UTC), Name: p.name,
	}}
}

// says takes what a person types in a chat, and sends all that follows.
func (f *forgetTest) says(p person, chat int64, texts ...string) {
	f.t.Helper()
	for _, c := range []int64{chat, p.id} {
		if !slices.Contains(f.chats, c) {
			f.chats = append(f.chats, c)
		}
	}
	for _, text := range texts {
		f.take(f.update(p, chat, text))
	}
}

func (f *forgetTest) take(u Update) {
	f.t.Helper()
	require.NoError(f.t, f.engine.Take(ctx, u))
	for range 3 {
		for _, c := range f.chats {
			require.NoError(f.t, f.engine.Flush(ctx, c))
		}
	}
}

// yesForget is the yes to the question whether to forget that is open.
func yesForget(t *testing.T, s *session.Store, k session.Key) string {
	t.Helper()
	c, err := s.Load(ctx, k)
	require.NoError(t, err)
	var state dialog.State
	require.NoError(t, json.Unmarshal(c.Data, &state))
	require.NotNil(t, state.Sure, "nothing was asked")
	return fmt.Sprint("forget everything ", state.Sure.Code)
}

// forgets asks to be forgotten, and says yes.
func (f *forgetTest) forgets(p person, chat int64) {
	f.t.Helper()
	f.says(p, chat, "forget")
	k := session.Key{Chat: chat}
	if chat != p.id {
		k.User, k.Group = p.id, true
	}
	f.says(p, chat, yesForget(f.t, f.store, k))
}

// presses presses the last button of a private chat that does what.
func (f *forgetTest) presses(p person, what string) {
	f.t.Helper()
	for _, m := range slices.Backward(f.post.sent(p.id)) {
		for _, b := range slices.Concat(m.Reply.Buttons...) {
			if strings.Contains(b.Data, what) {
				u := f.update(p, p.id, b.Data)
				u.Input.Kind = dialog.Pressed
				f.take(u)
				return
			}
		}
	}
	f.t.Fatalf("no button %s was shown", what)
}

// token is the last token that was said in a chat.
func (f *forgetTest) token(chat int64) string {
	f.t.Helper()
	for _, m := range slices.Backward(f.post.sent(chat)) {
		for _, l := range m.Reply.Text.Lines["lines"] {
			if token := l.Say["token"]; token != "" {
				return token
			}
		}
	}
	f.t.Fatal("no token was said")
	return ""
}

// stored is every byte of the keyspace, the names of the keys as well.
func (f *forgetTest) stored() string {
	f.t.Helper()
	var b strings.Builder
	for _, key := range f.mini.Keys() {
		b.WriteString("\n" + key)
		switch kind := f.mini.Type(key); kind {
		case "string":
			v, err := f.mini.Get(key)
			require.NoError(f.t, err)
			b.WriteString(" " + v)
		case "hash":
			fields, err := f.mini.HKeys(key)
			require.NoError(f.t, err)
			for _, field := range fields {
				b.WriteString("\n\t" + field + " " + f.mini.HGet(key, field))
			}
		case "list":
			list, err := f.mini.List(key)
			require.NoError(f.t, err)
			b.WriteString(strings.Join(list, "\n\t"))
		case "set":
			members, err := f.mini.SMembers(key)
			require.NoError(f.t, err)
			b.WriteString(strings.Join(members, "\n\t"))
		case "zset":
			members, err := f.mini.ZMembers(key)
			require.NoError(f.t, err)
			b.WriteString(strings.Join(members, "\n\t"))
		default:
			f.t.Fatalf("%s is a %s", key, kind)
		}
	}
	return b.String()
}

// refs are the jobs of a chat.
func (f *forgetTest) refs(chat int64) []string {
	f.t.Helper()
	jobs, err := f.store.LoadJobs(ctx, chat)
	require.NoError(f.t, err)
	var refs []string
	for ref := range jobs {
		refs = append(refs, ref)
	}
	return refs
}

const (
	aWindow   = "bare none white 1204 1202 1203 1050 1052 1051 1596 1597 level left arch nursery first 900 4-20-4 no"
	another   = "bare none white 1204 1202 1203 1050 1052 1051 1596 1597 level left arch lounge first 900 4-20-4 no"
	testGroup = int64(-700100200300)

	// Typed for the room, whose code is another word.
	wordOfWren, wordOfMarsh = "nursery", "lounge"
)

var (
	wren  = person{810011002200, "Wren Hollow"}
	marsh = person{820033004400, "Sid Marsh"}
	lou   = person{830055006600, "Lou Fallow"}
)

// TestForgetGoesThroughEveryJobOfAGroup: of who is forgotten no name, number or
// word is left in any job of the group, open or not, and the others go on with
// the figures.
func TestForgetGoesThroughEveryJobOfAGroup(t *testing.T) {
	f := newForgetTest(t)
	f.says(wren, testGroup, "job", "England today", aWindow, "new", "job new", aWindow, "new", "job new", aWindow)
	refs := f.refs(testGroup)
	require.Len(t, refs, 3)
	for _, ref := range refs {
		j, _ := storedJob(t, f.engine, testGroup, ref)
		require.Len(t, j.Openings, 1, "each with a window of theirs")
	}
	f.says(marsh, testGroup, "job "+refs[0], "new", "England today", another, "job "+refs[1], "label Mill cottage")
	before := f.stored()
	for _, own := range []string{wren.name, strconv.FormatInt(wren.id, 10), wordOfWren, wordOfMarsh} {
		require.Contains(t, before, own, "else the search below would find nothing in any case")
	}
	require.NoError(t, f.store.Bury(ctx, []byte(`{"from":{"id":`+strconv.FormatInt(wren.id, 10)+`},"text":"`+wordOfWren+`"`)))
	was := map[string]job.Job{}
	for _, ref := range refs {
		was[ref], _ = storedJob(t, f.engine, testGroup, ref)
	}

	f.forgets(wren, testGroup)
	after := f.stored()
	require.NotContains(t, after, wren.name)
	require.NotContains(t, after, strconv.FormatInt(wren.id, 10))
	require.NotContains(t, after, wordOfWren)
	require.Contains(t, after, marsh.name)
	require.Contains(t, after, wordOfMarsh)
	former := 0
	for _, ref := range refs {
		now, _ := storedJob(t, f.engine, testGroup, ref)
		require.Len(t, now.Openings, len(was[ref].Openings))
		require.Equal(t, was[ref].Label, now.Label)
		for i, o := range now.Openings {
			require.Equal(t, was[ref].Openings[i].Record(), o.Record(), "the figures stay")
			require.Equal(t, was[ref].Openings[i].State, o.State)
			for _, e := range o.Said.Entries {
				if e.By == opening.Former {
					former++
					require.Empty(t, e.Typed)
				}
			}
		}
	}
	require.Greater(t, former, 20, "as a former member's")

	f.forgets(marsh, testGroup)
	after = f.stored()
	for _, own := range []string{marsh.name, strconv.FormatInt(marsh.id, 10), wordOfMarsh} {
		require.NotContains(t, after, own)
	}
	require.ElementsMatch(t, refs, f.refs(testGroup), "the jobs are the group's")
}

// TestForgetReachesTheJobsOfOthers: whoever checked in other chats' jobs leaves
// no name, number or word there, be the chair theirs or taken back.
func TestForgetReachesTheJobsOfOthers(t *testing.T) {
	f := newForgetTest(t)
	f.says(marsh, marsh.id, "England today")
	for range 2 {
		f.says(marsh, marsh.id, "job new", another, "new", "ask check", "invite lead")
		f.says(lou, lou.id, "/start "+f.token(marsh.id))
		f.presses(lou, ":look:")
		f.presses(lou, ":sign:")
	}
	refs := f.refs(marsh.id)
	require.Len(t, refs, 2)
	f.says(marsh, marsh.id, "revoke lead")
	require.Equal(t, 4, strings.Count(f.stored(), `"`+lou.name+`"`), "a signature and a chair in each")

	f.forgets(lou, lou.id)
	after := f.stored()
	require.NotContains(t, after, lou.name)
	require.NotContains(t, after, strconv.FormatInt(lou.id, 10))
	for _, ref := range refs {
		j, _ := storedJob(t, f.engine, marsh.id, ref)
		signed := 0
		for _, o := range j.Openings {
			if o.Signature != nil {
				signed++
			}
		}
		require.Equal(t, 1, signed, "the signature stands as a former member's")
	}

	// And the other way round: who has a chair in a job that is gone does not
	// keep the number of its owner.
	f.says(lou, lou.id, "hello")
	f.says(marsh, marsh.id, "invite lead")
	f.says(lou, lou.id, "/start "+f.token(marsh.id))
	f.says(marsh, marsh.id, "job new")
	f.forgets(marsh, marsh.id)
	told := f.post.sent(lou.id)[len(f.post.sent(lou.id))-1].Reply.Text.Lines["lines"]
	require.Equal(t, "gone.lead", told[0].Key, "told, though another job was open")
	require.NotContains(t, f.stored(), marsh.name)
}

// TestForgetGoesPastAJobThatCannotBeRead: it may name the person, who is told that it
// stays. A private chat's goes.
func TestForgetGoesPastAJobThatCannotBeRead(t *testing.T) {
	f := newForgetTest(t)
	f.says(wren, testGroup, "job", "England today", aWindow)
	f.says(wren, wren.id, "job", "England today", aWindow)
	for _, chat := range []int64{testGroup, wren.id} {
		k := session.Key{Chat: chat, User: marsh.id, Group: true}
		r, err := f.store.Commit(ctx, session.Turn{Update: 900, Key: k, Job: session.JobChange{
			Ref: testRef, Write: []session.Part{{Data: []byte(`{"v":99,"owner":{"name":"` + wren.name + `"}}`)}},
		}})
		require.NoError(t, err)
		require.Equal(t, session.Committed, r.Outcome)
	}
	f.says(wren, testGroup, "forget")
	before := len(f.post.sent(testGroup))
	f.says(wren, testGroup, yesForget(t, f.store, session.Key{Chat: testGroup, User: wren.id, Group: true}))
	require.Equal(t, []string{"message", "unread.forgot"}, f.post.words(testGroup)[before:])
	require.Len(t, f.refs(testGroup), 2)

	f.forgets(wren, wren.id)
	require.Empty(t, f.refs(wren.id))
	require.Equal(t, 1, strings.Count(f.stored(), wren.name), "in what can't be read, and nowhere else")
}

// TestForgetBeginsAgainWhenAJobChanged: what another writes between the reading
// of the jobs and the commit is kept, and the person is forgotten all the same.
func TestForgetBeginsAgainWhenAJobChanged(t *testing.T) {
	f := newForgetTest(t)
	f.says(wren, testGroup, "job", "England today", aWindow, "new", "job new", aWindow)
	refs := f.refs(testGroup)
	f.says(marsh, testGroup, "job "+refs[0])
	other := New(f.store, f.post, Options{Rate: -1, Log: slog.New(slog.DiscardHandler)})
	u := f.update(marsh, testGroup, "label Mill cottage")
	f.says(wren, testGroup, "forget")
	u2 := f.update(wren, testGroup, yesForget(t, f.store, session.Key{Chat: testGroup, User: wren.id, Group: true}))

	old, err := f.store.Load(ctx, session.Key{Chat: testGroup, User: wren.id, Group: true})
	require.NoError(t, err)
	turn, said, err := f.engine.turns.stepper.step(ctx, u2, false, old, nil)
	require.NoError(t, err)
	require.Equal(t, "committed", said)
	require.NoError(t, other.Take(ctx, u))
	require.NoError(t, other.Flush(ctx, testGroup))
	turn.Update, turn.Key, turn.From = u2.ID, session.Key{Chat: testGroup, User: wren.id, Group: true}, old
	r, err := f.store.Commit(ctx, turn)
	require.NoError(t, err)
	require.Equal(t, session.Stale, r.Outcome)
	require.Contains(t, f.stored(), wordOfWren, "nothing of it is written")

	require.NoError(t, f.engine.Take(ctx, u2))
	require.NoError(t, f.engine.Flush(ctx, testGroup))
	after := f.stored()
	require.NotContains(t, after, wren.name)
	require.NotContains(t, after, wordOfWren)
	require.Contains(t, after, "Mill cottage")
}

// TestForgetNamesWhatOthersLose: the question names every job of the chat, open or
// not, and no yes to an earlier one is taken.
func TestForgetNamesWhatOthersLose(t *testing.T) {
	f := newForgetTest(t)
	f.says(wren, wren.id, "job", "England today", aWindow, "the desk decides the rest", "send")
	f.says(lou, lou.id, "/start "+f.token(wren.id))
	f.says(wren, wren.id, "job new", another, "ask check", "forget everything")
	old := yesForget(t, f.store, session.Key{Chat: wren.id})
	var named []string
	for _, line := range f.post.sent(wren.id)[len(f.post.sent(wren.id))-1].Reply.Text.Lines["lines"] {
		if ref := line.Say["ref"]; ref != "" {
			named = append(named, line.Key+" "+ref)
		}
	}
	refs := f.refs(wren.id)
	require.Len(t, refs, 2)
	require.Len(t, named, 4, "an order, a check, and the links of both: %v", named)
	for _, ref := range refs {
		require.Contains(t, named, "forget.links "+ref)
	}
	f.says(wren, wren.id, "forget", old)
	require.Len(t, f.refs(wren.id), 2, "an earlier yes deletes nothing")
	f.says(wren, wren.id, yesForget(t, f.store, session.Key{Chat: wren.id}))
	require.Empty(t, f.refs(wren.id))
	require.NotContains(t, f.stored(), wren.name)
}

// TestForgetWaitsForWhatIsUnsent: what was asked of a person of a group before they were
// forgotten goes out after that, and nothing is kept of it then.
func TestForgetWaitsForWhatIsUnsent(t *testing.T) {
	f := newForgetTest(t)
	f.says(wren, testGroup, "England today")
	f.says(wren, testGroup, "forget")
	yes := yesForget(t, f.store, session.Key{Chat: testGroup, User: wren.id, Group: true})
	require.NoError(t, f.engine.Take(ctx, f.update(wren, testGroup, "bare")))
	require.NoError(t, f.engine.Take(ctx, f.update(wren, testGroup, yes)))
	f.says(marsh, testGroup, "England today")
	after := f.stored()
	require.NotContains(t, after, wren.name)
	require.NotContains(t, after, strconv.FormatInt(wren.id, 10))
}
