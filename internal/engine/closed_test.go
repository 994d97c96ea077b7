package engine

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
	"sillbot/internal/talk"
)

// closedTest is a bot that is closed, with a job of its owner's.
type closedTest struct {
	*reachTest
	boss person
}

func newClosed(t *testing.T, url string) *closedTest {
	c := &closedTest{newReachTest(t, url), person{sessiontest.Chat(), "Wren Hollow"}}
	c.engine = c.another(url)
	return c
}

// another is another program on the same Redis.
func (c *closedTest) another(url string) *Engine {
	return New(store(c.t, url), c.post, Options{Rate: -1, Crew: []int64{c.boss.id}, Log: slog.New(slog.DiscardHandler), MaxWait: time.Millisecond, MaxAge: time.Millisecond})
}

func (c *closedTest) as(p person) session.Standing {
	c.t.Helper()
	who, err := c.store.Person(ctx, p.id)
	require.NoError(c.t, err)
	return who.May(time.Now())
}

func (c *closedTest) number(p person) int {
	c.t.Helper()
	who, err := c.store.Person(ctx, p.id)
	require.NoError(c.t, err)
	return who.Number
}

// joins lets a person in by a link that the owner makes.
func (c *closedTest) joins(p person) {
	c.t.Helper()
	c.says(c.boss, c.boss.id, "invite crew")
	c.says(p, p.id, "/start "+c.token(c.boss.id))
	require.Equal(c.t, session.Mate, c.as(p))
}

// putsOut puts a person out as an owner does: the question, then the yes.
func (c *closedTest) putsOut(p person) {
	c.t.Helper()
	n := c.number(p)
	c.says(c.boss, c.boss.id, fmt.Sprint("put out ", n), fmt.Sprint("put out ", n, " yes"))
}

// Who was put out is not answered from the next update on, whatever it is, in whatever
// chat, and by whatever program.
func TestPutOutTakesEffectEverywhereAtOnce(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		c := newClosed(t, url)
		mate, group := person{sessiontest.Chat(), "Lou Fallow"}, -sessiontest.Chat()
		c.joins(mate)
		other := c.another(url)
		require.NoError(t, other.Take(ctx, c.update(mate, mate.id, "England today")))
		require.NoError(t, other.Take(ctx, c.update(mate, group, "England today")))
		require.NoError(t, other.Flush(ctx, mate.id))
		require.NoError(t, other.Flush(ctx, group))
		inAlone, inGroup := c.said(mate.id), c.said(group)
		require.Equal(t, 1, inGroup)
		c.putsOut(mate)
		require.Equal(t, session.Out, c.as(mate))
		for _, kind := range []dialog.Kind{dialog.Typed, dialog.Pressed, dialog.Edited, dialog.Photo, dialog.File, dialog.Voice} {
			for _, chat := range []int64{mate.id, group} {
				for _, e := range []*Engine{other, c.engine} {
					u := c.update(mate, chat, "bare")
					u.Input.Kind = kind
					require.NoError(t, e.Take(ctx, u))
					require.NoError(t, e.Flush(ctx, chat))
				}
			}
		}
		require.Equal(t, []string{"crew.closed"}, c.keys(mate.id, inAlone), "once")
		require.Equal(t, inGroup, c.said(group))

		// A link to a job does not undo it; one into the crew does.
		c.says(c.boss, c.boss.id, "job", "invite desk")
		c.says(mate, mate.id, "/start "+c.token(c.boss.id))
		require.Equal(t, session.Out, c.as(mate))
		c.joins(mate)
	})
}

// failAfter is a connection that dies after the script on the people was carried out.
type failAfter struct{ times int }

func (f *failAfter) DialHook(next redis.DialHook) redis.DialHook { return next }

func (f *failAfter) ProcessPipelineHook(next redis.ProcessPipelineHook) redis.ProcessPipelineHook {
	return next
}

func (f *failAfter) ProcessHook(next redis.ProcessHook) redis.ProcessHook {
	return func(ctx context.Context, cmd redis.Cmder) error {
		err := next(ctx, cmd)
		args := cmd.Args()
		if err == nil && f.times > 0 && strings.HasPrefix(cmd.Name(), "eval") && len(args) > 3 && args[3] == "sb:{crew}:p" {
			f.times--
			cmd.SetErr(io.ErrUnexpectedEOF)
			return io.ErrUnexpectedEOF
		}
		return err
	}
}

// The program does not learn that a person was let in: the update comes again and finds
// them in, and nobody else comes by their link.
func TestAdmissionOutlastsAFault(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		c := newClosed(t, url)
		o, err := redis.ParseURL(strings.Split(url, ",")[0])
		require.NoError(t, err)
		var rdb redis.UniversalClient = redis.NewClient(o)
		if strings.Contains(url, ",") {
			rdb = redis.NewClusterClient(&redis.ClusterOptions{Addrs: []string{o.Addr}})
		}
		fail := &failAfter{times: 1}
		rdb.AddHook(fail)
		s, err := session.Over(ctx, rdb)
		require.NoError(t, err)
		t.Cleanup(func() { s.Close() })
		faulty := New(s, c.post, Options{Rate: -1, Crew: []int64{c.boss.id}, Log: slog.New(slog.DiscardHandler)})

		mate, other := person{sessiontest.Chat(), "Lou Fallow"}, person{sessiontest.Chat(), "Ned Marsh"}
		c.says(c.boss, c.boss.id, "invite crew")
		token := c.token(c.boss.id)
		u := c.update(mate, mate.id, "/start "+token)
		require.Error(t, faulty.Take(ctx, u))
		require.Zero(t, fail.times)
		require.Equal(t, session.Mate, c.as(mate))
		c.says(other, other.id, "/start "+token)
		require.Equal(t, session.Stranger, c.as(other))

		c.says(mate, mate.id) // known to the town
		c.take(u)
		require.Contains(t, c.keys(mate.id, 0), "crew.admitted")
		trail, err := c.store.Trail(ctx)
		require.NoError(t, err)
		in := 0
		for _, line := range trail {
			if line.Who == mate.id {
				in++
			}
		}
		require.Equal(t, 1, in, "the trail says it once")
	})
}

// A fault between putting out and the answer: the update comes again, nothing is done
// twice, and the owner is told.
func TestPutOutOutlastsAFault(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		c := newClosed(t, url)
		mate := person{sessiontest.Chat(), "Lou Fallow"}
		c.joins(mate)
		n := c.number(mate)
		c.says(c.boss, c.boss.id, fmt.Sprint("put out ", n))
		before := c.said(c.boss.id)
		u := c.update(c.boss, c.boss.id, fmt.Sprint("put out ", n, " yes"))
		// The half that was done before the fault.
		require.NoError(t, c.engine.turns.gate.changeOne(ctx, u, talk.Change{Who: mate.id, Out: true}))
		require.Equal(t, session.Out, c.as(mate))
		c.take(u)
		c.take(u)
		require.Equal(t, 1, count1(c.keys(c.boss.id, before), "crew.out.already"))
		trail, err := c.store.Trail(ctx)
		require.NoError(t, err)
		require.Equal(t, 1, len(slices.DeleteFunc(trail, func(l session.Trace) bool { return l.Who != mate.id || l.What != string(talk.PutOut) })))
	})
}

// A guest who is put out gets nothing any more, and who writes to them is told so; a
// mate's jobs go on for the others.
func TestNothingIsShownToWhoIsOut(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		c := newClosed(t, url)
		desk := person{sessiontest.Chat(), "Lou Fallow"}
		c.says(c.boss, c.boss.id, "job", "England today", aWindow, "the desk decides the rest", "send")
		c.says(desk, desk.id, "/start "+c.token(c.boss.id))
		require.Equal(t, session.Guest, c.as(desk))
		ref := c.refs(c.boss.id)[0]
		c.putsOut(desk)
		seen, before := c.said(desk.id), c.said(c.boss.id)
		require.NoError(t, c.engine.turns.deliver(ctx, c.boss.id, "99.0", dialog.Mail{To: desk.id, Ref: ref, Show: &dialog.Reply{Text: phrase.Of("job.gone").Saying("ref", ref)}}))
		c.take(c.update(c.boss, c.boss.id, "job"))
		require.Equal(t, seen, c.said(desk.id))
		require.Equal(t, 1, count1(c.keys(c.boss.id, before), "reach.lost.barred"))
		c.says(desk, desk.id, "confirm A")
		require.Equal(t, []string{"crew.closed"}, c.keys(desk.id, seen))

		// A mate with a job of their own, and its desk.
		mate, theirs := person{sessiontest.Chat(), "Ned Marsh"}, person{sessiontest.Chat(), "Sam Brook"}
		c.joins(mate)
		c.says(mate, mate.id, "job", "England today", aWindow, "the desk decides the rest", "send")
		token := c.token(mate.id)
		c.says(theirs, theirs.id, "/start "+token)
		require.Equal(t, session.Guest, c.as(theirs))
		c.putsOut(mate)
		seen, before = c.said(mate.id), c.said(theirs.id)
		c.says(theirs, theirs.id, "confirm A")
		require.Equal(t, seen, c.said(mate.id), "they are told nothing")
		require.NotEmpty(t, c.keys(theirs.id, before))
		j, _ := storedJob(t, c.engine, mate.id, c.refs(mate.id)[0])
		require.Len(t, j.Afoot().Confirmed, 1, "but the desk goes on")
	})
}

// A guest is none in a group, and does not open it to anybody; each person of a group
// is looked at.
func TestAGroupIsNoWayRoundTheGate(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		c := newClosed(t, url)
		desk, stranger, group := person{sessiontest.Chat(), "Lou Fallow"}, person{sessiontest.Chat(), "Ned Marsh"}, -sessiontest.Chat()
		c.says(c.boss, c.boss.id, "job", "England today", aWindow, "the desk decides the rest", "send")
		c.says(desk, desk.id, "/start "+c.token(c.boss.id))
		c.says(desk, group, "England today", "job", "invite lead")
		c.says(stranger, group, "England today", "job")
		require.Equal(t, []string{"crew.guest.group", "crew.closed"}, c.keys(group, 0))
		c.says(c.boss, group, "job")
		before := c.said(group)
		for _, m := range c.post.sent(group) {
			for _, b := range slices.Concat(m.Reply.Buttons...) {
				for _, p := range []person{desk, stranger} {
					u := c.update(p, group, b.Data)
					u.Input.Kind = dialog.Pressed
					c.take(u)
				}
			}
		}
		require.Equal(t, before, c.said(group))
		h, err := c.store.Export(ctx, group, 0)
		require.NoError(t, err)
		for _, held := range h.Conversations {
			require.NotContains(t, []int64{desk.id, stranger.id}, held.User)
		}
		// A link into the crew counts alone with the bot only.
		c.says(c.boss, c.boss.id, "invite crew")
		token := c.token(c.boss.id)
		c.says(stranger, group, "/start "+token)
		require.Equal(t, session.Stranger, c.as(stranger))
		c.says(stranger, stranger.id, "/start "+token)
		require.Equal(t, session.Mate, c.as(stranger))
	})
}

// A guest's part ends with the job, and goes on when the job does.
func TestAGuestsPartEndsWithTheJob(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		c := newClosed(t, url)
		desk := person{sessiontest.Chat(), "Lou Fallow"}
		c.says(c.boss, c.boss.id, "job", "England today", aWindow, "the desk decides the rest", "send")
		c.says(desk, desk.id, "/start "+c.token(c.boss.id), "confirm A")
		c.says(c.boss, c.boss.id, "step 1 delivered", "step 1 out", "step 1 fitted", "step 1 glazed", "step 1 sealed")
		require.Equal(t, session.Guest, c.as(desk))
		c.says(c.boss, c.boss.id, "hand over anyway")
		require.Equal(t, session.Stranger, c.as(desk), "%v", c.keys(c.boss.id, c.said(c.boss.id)-1))
		seen := c.said(desk.id)
		c.says(desk, desk.id, "job")
		require.Equal(t, []string{"crew.closed"}, c.keys(desk.id, seen))
		c.says(c.boss, c.boss.id, "copy 1 landing")
		require.Equal(t, session.Guest, c.as(desk))
		before := c.said(desk.id)
		c.says(desk, desk.id, "job")
		require.NotEmpty(t, c.keys(desk.id, before))

		// What ends with all of the owner's being deleted.
		c.forgets(c.boss, c.boss.id)
		require.Equal(t, session.Stranger, c.as(desk))
	})
}

// What was put off of somebody who is put out meanwhile is dropped.
func TestWhatWaitsOfWhoIsOutIsDropped(t *testing.T) {
	_, url := sessiontest.Mini(t)
	c := newClosed(t, url)
	mate := person{sessiontest.Chat(), "Lou Fallow"}
	c.joins(mate)
	c.engine = New(c.store, c.post, Options{Rate: 20, Burst: 1, Crew: []int64{c.boss.id}, Log: slog.New(slog.DiscardHandler)})
	require.NoError(t, c.engine.Take(ctx, c.update(mate, mate.id, "England today")))
	require.NoError(t, c.engine.Take(ctx, c.update(mate, mate.id, "bare")))
	_, waits, err := c.store.NextPutOff(ctx, mate.id)
	require.NoError(t, err)
	require.True(t, waits)
	require.NoError(t, c.engine.turns.gate.changeOne(ctx, Update{User: c.boss.id}, talk.Change{Who: mate.id, Out: true}))
	require.NoError(t, c.engine.Flush(ctx, mate.id))
	_, waits, err = c.store.NextPutOff(ctx, mate.id)
	require.NoError(t, err)
	require.False(t, waits)
	known := stored(t, c.store, mate.id).Hand.Known()
	require.True(t, known.Has("nation"))
	require.False(t, known.Has("finish"))
}

// No key tells of a group of strangers that moves.
func TestAGroupOfStrangersMayMove(t *testing.T) {
	m, url := sessiontest.Mini(t)
	c := newClosed(t, url)
	first, now := -sessiontest.Chat(), -sessiontest.Chat()
	require.NoError(t, c.engine.Moved(ctx, first, now))
	require.Empty(t, m.Keys())
	c.says(c.boss, first, "England today")
	require.NoError(t, c.engine.Moved(ctx, first, now))
	got, err := c.store.First(ctx, now)
	require.NoError(t, err)
	require.Equal(t, first, got)
}

// What is held of a person's access is given to them, and goes with the rest.
func TestAccessIsShownAndForgotten(t *testing.T) {
	m, url := sessiontest.Mini(t)
	c := newClosed(t, url)
	c.mini = m
	mate, other := person{sessiontest.Chat(), "Lou Fallow"}, person{sessiontest.Chat(), "Ned Marsh"}
	c.joins(mate)
	c.says(c.boss, c.boss.id, fmt.Sprint("let ", c.number(mate), " invite"))
	c.says(mate, mate.id, "invite crew")
	c.says(other, other.id, "/start "+c.token(mate.id))
	h, err := c.store.Export(ctx, mate.id, 0)
	require.NoError(t, err)
	require.Equal(t, "Lou Fallow", h.Access.Name)
	require.True(t, h.Access.Invites)
	require.Len(t, h.Access.Trail, 3)
	raw, err := json.Marshal(h)
	require.NoError(t, err)
	require.Contains(t, string(raw), "Wren Hollow", "who let them in")
	c.forgets(mate, mate.id)
	require.Equal(t, session.Mate, c.as(other))
	m.FastForward(session.Keep{}.Seen + 49*time.Hour)
	require.NotContains(t, c.stored(), "Lou Fallow")
	require.NotContains(t, c.stored(), fmt.Sprint(mate.id))
}

// A step that asks for a change on behalf of somebody who is no owner gets none, and no
// link that they may not make.
func TestOnlyAnOwnersChangesAreMade(t *testing.T) {
	_, url := sessiontest.Mini(t)
	c := newClosed(t, url)
	mate, victim := person{sessiontest.Chat(), "Lou Fallow"}, person{sessiontest.Chat(), "Ned Marsh"}
	c.joins(mate)
	c.joins(victim)
	const token = "abcdefghijklmnopqrstuvwxyz"
	c.engine = New(c.store, c.post, Options{Rate: -1, Crew: []int64{c.boss.id}, Log: slog.New(slog.DiscardHandler),
		Step: func(s dialog.State, in dialog.Input) (dialog.State, []dialog.Reply) {
			return s, []dialog.Reply{
				{Access: &talk.Change{Who: victim.id, Out: true}},
				{Link: &dialog.Link{Token: token, Role: dialog.Crew, User: in.User}},
				{Text: phrase.Of("job.words").Saying("words", token)},
			}
		}})
	c.says(mate, mate.id, "x")
	require.Equal(t, session.Mate, c.as(victim))
	data, err := c.store.Link(ctx, token)
	require.NoError(t, err)
	require.Nil(t, data)
	raw, err := json.Marshal(c.post.sent(mate.id))
	require.NoError(t, err)
	require.NotContains(t, string(raw), token)
	c.says(c.boss, c.boss.id, "x")
	require.Equal(t, session.Out, c.as(victim))
	data, err = c.store.Link(ctx, token)
	require.NoError(t, err)
	require.NotNil(t, data)
}

// Many strangers get few lines in all, and leave no more keys than that: the rest of what
// the platform takes is the crew's.
func TestManyStrangersHoldNobodyUp(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		client := sessiontest.Still(t)
		s, err := session.Over(ctx, client())
		require.NoError(t, err)
		defer s.Close()
		p := &post{}
		e := New(s, p, Options{Rate: -1, Crew: []int64{1}, Log: slog.New(slog.DiscardHandler)})
		told := func() (n int) {
			for id := range int64(200) {
				n += len(p.sent(1000 + id))
			}
			return n
		}
		write := func() {
			for id := range int64(200) {
				in := dialog.Input{Kind: dialog.Typed, Text: "England", Now: time.Now()}
				require.NoError(t, e.Take(ctx, Update{ID: id + 1, Chat: 1000 + id, User: 1000 + id, Input: in}))
			}
		}
		write()
		require.Equal(t, linesAtOnce, told())
		time.Sleep(10 * time.Second)
		write()
		require.Equal(t, linesAtOnce+10*linesPerSec, told())
	})
}

// Who comes with a link to a job that somebody used, that ran out or was withdrawn, is a
// stranger as any other.
func TestNothingIsKeptOfWhoComesByAUsedLink(t *testing.T) {
	m, url := sessiontest.Mini(t)
	c := newClosed(t, url)
	desk, late := person{sessiontest.Chat(), "Lou Fallow"}, person{sessiontest.Chat(), "Kit Marl"}
	c.says(c.boss, c.boss.id, "job", "England today", aWindow, "the desk decides the rest", "send")
	token := c.token(c.boss.id)
	c.says(desk, desk.id, "/start "+token)
	require.Equal(t, session.Guest, c.as(desk))
	c.says(late, late.id, "/start "+token)
	require.Equal(t, []string{"job.refused.share_taken"}, c.keys(late.id, 0))
	c.says(c.boss, c.boss.id, "revoke desk", "invite desk")
	withdrawn := c.token(c.boss.id)
	c.says(c.boss, c.boss.id, "revoke desk")
	c.says(late, late.id, "/start "+withdrawn)
	require.Len(t, c.keys(late.id, 0), 1, "one line an hour")
	for _, key := range m.Keys() {
		if strings.Contains(key, fmt.Sprint(late.id)) {
			require.Equal(t, fmt.Sprintf("sb:stranger:%d", late.id), key)
		}
	}
	// One that nobody used yet still leads to the question whether they may.
	c.says(c.boss, c.boss.id, "invite desk")
	c.says(late, late.id, "/start "+c.token(c.boss.id))
	require.Equal(t, session.Guest, c.as(late))
}
