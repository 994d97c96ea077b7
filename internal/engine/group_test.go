package engine

import (
	"encoding/json"
	"errors"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
	"sillbot/internal/talk"
)

func writes(id, chat, user int64, name, text string) Update {
	return Update{ID: id, Chat: chat, User: user, Group: true, Input: dialog.Input{
		Kind: dialog.Typed, Text: text, Lang: "en", Now: time.Unix(1e9, 0), Name: name, Chat: chat, User: user, Seed: seed(), Group: true, Msg: 900 + id,
	}}
}

// refIn is the job that a person of a group has open.
func refIn(t *testing.T, e *Engine, chat, user int64) string {
	t.Helper()
	c, err := e.store.Load(ctx, session.Key{Chat: chat, User: user, Group: true})
	require.NoError(t, err)
	var s dialog.State
	require.NoError(t, json.Unmarshal(c.Data, &s))
	return s.Ref
}

// The first job of a group is everybody's there, whoever began it, and each reply is for
// who wrote, in the part of the group that they wrote in.
func TestAGroupHasOneJob(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		p := &post{}
		e := newEngine(t, url, p, Options{Step: dialog.Step})
		chat, ana, bo := -sessiontest.Chat(), sessiontest.Chat(), sessiontest.Chat()
		u := writes(1, chat, ana, "Ana", "job")
		u.Input.Topic = 77
		require.NoError(t, e.Take(ctx, u))
		require.NoError(t, e.Flush(ctx, chat))
		require.NoError(t, e.Take(ctx, writes(2, chat, bo, "Bo", "England today bare none white 1204")))
		require.NoError(t, e.Flush(ctx, chat))

		ref := refIn(t, e, chat, ana)
		require.NotEmpty(t, ref)
		require.Equal(t, ref, refIn(t, e, chat, bo))
		sent := p.sent(chat)
		require.Equal(t, &talk.Addressee{User: ana, Name: "Ana", Msg: 901}, sent[0].Reply.For)
		require.EqualValues(t, 77, sent[0].Reply.Topic)
		last := sent[len(sent)-1].Reply
		require.Equal(t, &talk.Addressee{User: bo, Name: "Bo", Msg: 902}, last.For)
		require.Zero(t, last.Topic)
		require.Equal(t, "Bo", last.Text.Lines["lines"][0].Say["name"])
	})
}

// Nobody is led into a job of the group's that can't be read.
func TestABrokenJobOfTheGroupKeepsNobodyOut(t *testing.T) {
	mini, url := sessiontest.Mini(t)
	p := &post{}
	e := newEngine(t, url, p, Options{Step: dialog.Step})
	const chat = -5
	require.NoError(t, e.Take(ctx, writes(1, chat, 31, "Ana", "job")))
	require.NoError(t, e.Flush(ctx, chat))
	ref := refIn(t, e, chat, 31)
	jobs := ""
	for _, key := range mini.Keys() {
		if strings.Contains(key, ":j:") {
			jobs = key
		}
	}
	require.NotEmpty(t, mini.HGet(jobs, ref))
	mini.HSet(jobs, ref, "not a record")
	require.NoError(t, e.Take(ctx, writes(2, chat, 32, "Bo", "England today bare")))
	require.NoError(t, e.Flush(ctx, chat))
	require.Empty(t, refIn(t, e, chat, 32))
	sent := p.sent(chat)
	require.Equal(t, "message", sent[len(sent)-1].Reply.Text.Key, "and is asked on")
}

// Who writes as the group, or as a channel, is told how to be known, once an hour a group,
// and has no conversation.
func TestTheNamelessAreToldOnceAnHour(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		p := &post{}
		e := newEngine(t, url, p, Options{Step: dialog.Step})
		first, other := -sessiontest.Chat(), -sessiontest.Chat()
		for i, chat := range []int64{first, first, first, other} {
			require.NoError(t, e.Take(ctx, Update{ID: int64(i + 1), Chat: chat, Group: true, Input: dialog.Input{Kind: talk.Nameless, Lang: "en", Topic: 5, Msg: 9}}))
		}
		require.Equal(t, []string{"group.nameless"}, p.words(first))
		require.Equal(t, []string{"group.nameless"}, p.words(other))
		require.EqualValues(t, 5, p.sent(first)[0].Reply.Topic)
		has, err := e.store.Has(ctx, first, first)
		require.NoError(t, err)
		require.False(t, has)
	})
}

// Of two jobs that two persons begin at the same moment one is the group's, which the
// other joins, though two programs take the turns and nothing is sent meanwhile.
func TestTwoJobsBegunAtOnceAreOne(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		programs := [2]*Engine{newEngine(t, url, &post{}, Options{Step: dialog.Step}), newEngine(t, url, &post{}, Options{Step: dialog.Step})}
		for range 50 {
			chat, people := -sessiontest.Chat(), [2]int64{sessiontest.Chat(), sessiontest.Chat()}
			var errs [2]error
			var all sync.WaitGroup
			for i, e := range programs {
				all.Go(func() { errs[i] = e.Take(ctx, writes(int64(i+1), chat, people[i], "Ana", "job")) })
			}
			all.Wait()
			require.NoError(t, errors.Join(errs[:]...))
			ref := refIn(t, programs[0], chat, people[0])
			require.NotEmpty(t, ref)
			require.Equal(t, ref, refIn(t, programs[0], chat, people[1]))
			heads, err := programs[0].store.JobHeads(ctx, chat)
			require.NoError(t, err)
			require.Len(t, heads, 1, "none is left over")
		}
	})
}

// While a later program runs beside this one, who is new in the group joins its job here
// too, which is written by that one.
func TestALaterGroupsJobIsJoined(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		e := newEngine(t, url, &post{}, Options{Step: dialog.Step})
		chat, ana, bo := -sessiontest.Chat(), sessiontest.Chat(), sessiontest.Chat()
		require.NoError(t, e.Take(ctx, writes(1, chat, ana, "Ana", "job")))
		own := session.Key{Chat: chat}
		c, err := e.store.Load(ctx, own)
		require.NoError(t, err)
		var later map[string]any
		require.NoError(t, json.Unmarshal(c.Data, &later))
		later["v"] = 99
		data, err := json.Marshal(later)
		require.NoError(t, err)
		r, err := e.store.Commit(ctx, session.Turn{Update: 2, Key: own, From: c, Data: data})
		require.NoError(t, err)
		require.Equal(t, session.Committed, r.Outcome)

		require.NoError(t, e.Take(ctx, writes(3, chat, bo, "Bo", "job")))
		require.Equal(t, refIn(t, e, chat, ana), refIn(t, e, chat, bo))
		now, err := e.store.Load(ctx, own)
		require.NoError(t, err)
		require.Equal(t, string(data), string(now.Data))
	})
}

// Who begins without what can't be read of them begins the job of the group as well.
func TestWhoCannotBeReadBeginsTheGroupsJob(t *testing.T) {
	mini, url := sessiontest.Mini(t)
	e := newEngine(t, url, &post{}, Options{Step: dialog.Step})
	const chat, ana, bo = -5, 31, 32
	require.NoError(t, e.Take(ctx, writes(1, chat, ana, "Ana", "England today")))
	for _, key := range mini.Keys() {
		if strings.HasSuffix(key, ":c:-5:31") {
			require.NoError(t, mini.Set(key, "rotten"))
		}
	}
	require.NoError(t, e.Take(ctx, writes(2, chat, ana, "Ana", "job new")))
	ref := refIn(t, e, chat, ana)
	require.NotEmpty(t, ref)
	require.NoError(t, e.Take(ctx, writes(3, chat, bo, "Bo", "job")))
	require.Equal(t, ref, refIn(t, e, chat, bo))
}

// A program of before told the group of its job by mail, which may still wait.
func TestMailOfBeforeSaysWhichJobIsTheGroups(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		e := newEngine(t, url, &post{}, Options{Step: dialog.Step})
		chat, ana, bo := -sessiontest.Chat(), sessiontest.Chat(), sessiontest.Chat()
		require.NoError(t, e.Take(ctx, writes(1, chat, ana, "Ana", "job")))
		require.NoError(t, e.Flush(ctx, chat))
		ref, own := refIn(t, e, chat, ana), session.Key{Chat: chat}
		c, err := e.store.Load(ctx, own)
		require.NoError(t, err)
		mail, err := json.Marshal(Message{Chat: chat, Reply: dialog.Reply{Mail: &dialog.Mail{From: chat, To: chat, Ref: ref, Ours: true}}})
		require.NoError(t, err)
		r, err := e.store.Commit(ctx, session.Turn{Update: 2, Key: own, From: c, Data: []byte(`{"v":2}`), Say: [][]byte{mail}})
		require.NoError(t, err)
		require.Equal(t, session.Committed, r.Outcome)

		require.NoError(t, e.Flush(ctx, chat))
		require.NoError(t, e.Take(ctx, writes(3, chat, bo, "Bo", "job")))
		require.Equal(t, ref, refIn(t, e, chat, bo))
	})
}
