package engine

import (
	"encoding/json"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
	"sillbot/internal/talk"
)

// gateTest is a bot that one person may use, and whoever that person lets in.
// Everybody writes in the private chat that has their own number.
type gateTest struct {
	t      *testing.T
	post   *post
	store  *session.Store
	engine *Engine
	ids    int64
	boss   int64
	chats  []int64
}

func newGate(t *testing.T, url string) *gateTest {
	g := &gateTest{t: t, post: &post{}, store: store(t, url), boss: sessiontest.Chat()}
	g.engine = New(g.store, g.post, Options{Rate: -1, Crew: []int64{g.boss}, Log: slog.New(slog.DiscardHandler)})
	return g
}

// types gives the replies that the person got, after all mail has gone round.
func (g *gateTest) types(user int64, text string) []Message {
	g.t.Helper()
	g.ids++
	if !slices.Contains(g.chats, user) {
		g.chats = append(g.chats, user)
	}
	before := len(g.post.sent(user))
	u := Update{ID: g.ids, Chat: user, User: user, Input: dialog.Input{Kind: dialog.Typed, Text: text, Now: time.Now()}}
	require.NoError(g.t, g.engine.Take(ctx, u))
	for range 3 {
		for _, chat := range g.chats {
			require.NoError(g.t, g.engine.Flush(ctx, chat))
		}
	}
	return g.post.sent(user)[before:]
}

func (g *gateTest) first(user int64, text string) string {
	g.t.Helper()
	said := g.types(user, text)
	if len(said) == 0 {
		return ""
	}
	return said[0].Reply.Text.Key
}

func (g *gateTest) token(user int64, text string) string {
	g.t.Helper()
	for _, m := range g.types(user, text) {
		for _, l := range m.Reply.Text.Lines["lines"] {
			if token := l.Say["token"]; token != "" {
				return token
			}
		}
	}
	g.t.Fatal("no token was said")
	return ""
}

func (g *gateTest) as(user int64) session.Standing {
	g.t.Helper()
	p, err := g.store.Person(ctx, user)
	require.NoError(g.t, err)
	return p.May(time.Now())
}

// change does to a person what an owner may do.
func (g *gateTest) change(c talk.Change) {
	g.t.Helper()
	u := Update{User: g.boss, Input: dialog.Input{Name: "Boss"}}
	require.NoError(g.t, g.engine.turns.gate.changeOne(ctx, u, c))
}

// TestACrewKeepsOthersOut: nobody but the crew is answered more than once an hour, and a
// crew link lets one person in, who may let in another only when an owner allowed it.
func TestACrewKeepsOthersOut(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		g := newGate(t, url)
		mate, other := sessiontest.Chat(), sessiontest.Chat()
		require.Equal(t, "crew.closed", g.first(mate, "England"))
		require.Empty(t, g.types(mate, "/start not-a-token-that-anybody-made"))
		token := g.token(g.boss, "/invite crew")
		require.Equal(t, "message", g.first(g.boss, "/start "+token), "one of the crew does not use it up")
		require.Equal(t, "message", g.first(mate, "/start "+token))
		require.Equal(t, session.Mate, g.as(mate))
		require.Equal(t, "crew.closed", g.first(other, "/start "+token))
		require.Empty(t, g.types(other, "England"))
		require.Equal(t, "message", g.first(mate, "England"))
		require.NotContains(t, fmt.Sprint(g.types(mate, "/invite crew")), "token")
		yes := true
		g.change(talk.Change{Who: mate, Invites: &yes})
		require.Equal(t, "message", g.first(other, "/start "+g.token(mate, "/invite crew")))
		require.Equal(t, session.Mate, g.as(other))

		// Who has everything deleted is a stranger again.
		require.Equal(t, "message", g.first(other, "forget"))
		require.Equal(t, "message", g.first(other, yesForget(t, g.store, session.Key{Chat: other})))
		require.Equal(t, session.Stranger, g.as(other))
	})
}

// A link of somebody who may not invite any more lets nobody in.
func TestALinkEndsWithItsMakersLeave(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		g := newGate(t, url)
		mate, other := sessiontest.Chat(), sessiontest.Chat()
		g.types(mate, "/start "+g.token(g.boss, "/invite crew"))
		yes, no := true, false
		g.change(talk.Change{Who: mate, Invites: &yes})
		token := g.token(mate, "/invite crew")
		g.change(talk.Change{Who: mate, Invites: &no})
		require.Equal(t, "crew.closed", g.first(other, "/start "+token))
		g.change(talk.Change{Who: mate, Out: true})
		require.Empty(t, g.types(other, "/start "+token))
		require.Equal(t, session.Stranger, g.as(other))
	})
}

// However many come by one crew link at once, one is let in.
func TestACrewLinkLetsOneIn(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		g := newGate(t, url)
		token := g.token(g.boss, "/invite crew")
		people := some(20)
		var all sync.WaitGroup
		for i, user := range people {
			all.Go(func() {
				u := Update{ID: int64(100 + i), Chat: user, User: user, Input: dialog.Input{Kind: dialog.Typed, Text: "/start " + token, Now: time.Now()}}
				if err := g.engine.Take(ctx, u); err != nil {
					t.Error(err)
				}
			})
		}
		all.Wait()
		in := 0
		for _, user := range people {
			if g.as(user) != session.Stranger {
				in++
			}
		}
		require.Equal(t, 1, in)
	})
}

// A link to a job lets in whom the job's owner gives the chair, as a guest, until the
// chair is taken back.
func TestAJobLinkLetsTheSeatedIn(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		g := newGate(t, url)
		guest, stranger := sessiontest.Chat(), sessiontest.Chat()
		g.types(g.boss, "/job")
		token := g.token(g.boss, "/invite desk")
		g.types(guest, "/start "+token)
		require.Equal(t, session.Guest, g.as(guest))
		p, err := g.store.Person(ctx, guest)
		require.NoError(t, err)
		require.Len(t, p.Chairs, 1)
		require.Equal(t, "desk", p.Chairs[0].Role)
		require.Equal(t, g.boss, p.By)
		require.Equal(t, "message", g.first(guest, "England"))

		require.Equal(t, "job.refused.share_taken", g.first(stranger, "/start "+token))
		require.Equal(t, session.Stranger, g.as(stranger))
		require.Empty(t, g.types(stranger, "England"), "one line an hour")

		said := g.types(guest, "/invite crew")
		raw, err := json.Marshal(said)
		require.NoError(t, err)
		require.NotContains(t, string(raw), `"token"`)
		links, err := g.store.Export(ctx, guest, 0)
		require.NoError(t, err)
		require.Empty(t, links.Links)

		require.Equal(t, "message", g.first(g.boss, "/revoke desk"))
		require.Equal(t, session.Stranger, g.as(guest))
		require.Equal(t, "crew.closed", g.first(guest, "England"))

		// A crew link makes a mate.
		require.Equal(t, "message", g.first(guest, "/start "+g.token(g.boss, "/invite crew")))
		require.Equal(t, session.Mate, g.as(guest))
	})
}

// What a stranger sends leaves one key behind, for an hour, on whatever way it comes.
func TestNothingIsKeptOfAStranger(t *testing.T) {
	m, url := sessiontest.Mini(t)
	g := newGate(t, url)
	g.engine = New(g.store, g.post, Options{Rate: 1, Burst: 1, Crew: []int64{g.boss}, Log: slog.New(slog.DiscardHandler)})
	require.NoError(t, g.engine.Dead(ctx, []byte(`{"update_id":1,"message":{"from":{"is_bot":false,"id":4711},"text":7}}`), "test"))
	require.NoError(t, g.engine.Dead(ctx, []byte(`{"update_id":1}`), "test"))
	stranger, group := sessiontest.Chat(), -sessiontest.Chat()
	for i, in := range []dialog.Input{
		{Kind: dialog.Typed, Text: "England"}, {Kind: dialog.Pressed, Text: "1:1:nation:england"}, {Kind: dialog.Edited, Text: "x"},
		{Kind: dialog.Photo}, {Kind: dialog.File, Table: []byte("a")}, {Kind: dialog.Voice}, {Kind: dialog.Typed, Text: "/start aaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"},
	} {
		in.Now = time.Now()
		require.NoError(t, g.engine.Take(ctx, Update{ID: int64(i + 1), Chat: stranger, User: stranger, Input: in}))
		require.NoError(t, g.engine.Take(ctx, Update{ID: int64(i + 100), Chat: group, User: stranger, Group: true, Input: in}))
	}
	require.Len(t, g.post.sent(stranger), 1)
	require.Empty(t, g.post.sent(group))
	require.Equal(t, []string{fmt.Sprint("sb:stranger:", stranger)}, m.Keys())
	m.FastForward(time.Hour)
	require.Empty(t, m.Keys())
	require.NoError(t, g.engine.Dead(ctx, fmt.Appendf(nil, `{"message":{"from":{"id":%d},"text":7}}`, g.boss), "test"))
	require.Equal(t, []string{"sb:{dead}:d"}, m.Keys())
}
