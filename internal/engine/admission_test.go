package engine

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"sync"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
	"sillbot/internal/talk"
)

// lossy loses the answer of one call of Redis, which was carried out. With again the
// library sends it a second time, as it does when a connection dies; else it is an error.
type lossy struct {
	mu    sync.Mutex
	n     int // calls until then
	again bool
}

func (l *lossy) due() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.n--
	return l.n == 0
}

func (l *lossy) DialHook(next redis.DialHook) redis.DialHook { return next }

func (l *lossy) ProcessHook(next redis.ProcessHook) redis.ProcessHook {
	return func(ctx context.Context, cmd redis.Cmder) error {
		err := next(ctx, cmd)
		if !l.due() {
			return err
		}
		if l.again {
			cmd.SetErr(nil)
			return next(ctx, cmd)
		}
		cmd.SetErr(io.ErrUnexpectedEOF)
		return io.ErrUnexpectedEOF
	}
}

func (l *lossy) ProcessPipelineHook(next redis.ProcessPipelineHook) redis.ProcessPipelineHook {
	return func(ctx context.Context, cmds []redis.Cmder) error {
		err := next(ctx, cmds)
		if !l.due() {
			return err
		}
		if l.again {
			return next(ctx, cmds)
		}
		for _, cmd := range cmds {
			cmd.SetErr(io.ErrUnexpectedEOF)
		}
		return io.ErrUnexpectedEOF
	}
}

// lossyGate is a closed bot whose connection can lose an answer.
func lossyGate(t *testing.T) (*gateTest, *lossy) {
	_, url := sessiontest.Mini(t)
	o, err := redis.ParseURL(url)
	require.NoError(t, err)
	client, loses := redis.NewClient(o), &lossy{}
	client.AddHook(loses)
	s, err := session.Over(ctx, client)
	require.NoError(t, err)
	t.Cleanup(func() { s.Close() })
	g := &gateTest{t: t, post: &post{}, store: s, boss: sessiontest.Chat()}
	g.engine = New(s, g.post, Options{Rate: -1, Crew: []int64{g.boss}, Log: slog.New(slog.DiscardHandler)})
	return g, loses
}

// again takes an update until it is acknowledged, as the platform brings it.
func (g *gateTest) insists(user int64, text string) {
	g.t.Helper()
	g.ids++
	u := Update{ID: g.ids, Chat: user, User: user, Input: dialog.Input{Kind: dialog.Typed, Text: text, Now: time.Now(), Name: "N"}}
	for range 4 {
		if g.engine.Take(ctx, u) == nil {
			break
		}
	}
	for range 4 {
		for _, chat := range g.chats {
			require.NoError(g.t, g.engine.Flush(ctx, chat))
		}
	}
}

// However a call of Redis ends while somebody is let in, they are in, are told so, the
// link is gone and the trail has one line of it.
func TestAFaultWhileSomebodyIsLetIn(t *testing.T) {
	for _, again := range []bool{false, true} {
		for n := 1; ; n++ {
			g, loses := lossyGate(t)
			mate, other := sessiontest.Chat(), sessiontest.Chat()
			g.chats = []int64{g.boss, mate, other}
			token := g.token(g.boss, "/invite crew")
			loses.mu.Lock()
			loses.n, loses.again = n, again
			loses.mu.Unlock()
			g.insists(mate, "/start "+token)
			loses.mu.Lock()
			left := loses.n
			loses.n = 0
			loses.mu.Unlock()
			require.Equal(t, session.Mate, g.as(mate), "%v %d", again, n)
			require.NotContains(t, g.post.words(mate), "crew.closed", "%v %d", again, n)
			require.NotEmpty(t, g.post.words(mate), "%v %d", again, n)
			require.Equal(t, "crew.closed", g.first(other, "/start "+token))
			trail, err := g.store.Trail(ctx)
			require.NoError(t, err)
			require.Len(t, trail, 1, "%v %d", again, n)
			require.Equal(t, string(talk.CameIn), trail[0].What)
			if left > 0 {
				break
			}
		}
	}
}

// Who was put out is let in again by a link that an owner made since, and by none that
// was out already, nor by one of a mate.
func TestWhoWasPutOutComesInByNoOldLink(t *testing.T) {
	m, url := sessiontest.Mini(t)
	g := newGate(t, url)
	out, mate := sessiontest.Chat(), sessiontest.Chat()
	g.types(out, "/start "+g.token(g.boss, "/invite crew"))
	g.types(mate, "/start "+g.token(g.boss, "/invite crew"))
	yes := true
	g.change(talk.Change{Who: mate, Invites: &yes})
	old := g.token(g.boss, "/invite crew")
	m.FastForward(3 * time.Second)
	g.change(talk.Change{Who: out, Out: true})
	require.Equal(t, "crew.closed", g.first(out, "/start "+old))
	require.Empty(t, g.types(out, "/start "+g.token(mate, "/invite crew")))
	require.Equal(t, session.Out, g.as(out))
	require.Equal(t, "message", g.first(sessiontest.Chat(), "/start "+old), "it was not used up")
	require.Equal(t, "message", g.first(out, "/start "+g.token(g.boss, "/invite crew")))
	require.Equal(t, session.Mate, g.as(out))
}

// A record of a later program, or a damaged one, lets in nobody of whom it does not say
// that they may, and stays as it is.
func TestWhatCannotBeReadOfAPersonLetsNobodyIn(t *testing.T) {
	m, url := sessiontest.Mini(t)
	g := newGate(t, url)
	who := sessiontest.Chat()
	field := fmt.Sprint(who)
	for _, record := range []string{
		"2 5 king:+:0:4 {}", "1 5 king:+:0:4 {}", "1 5 Mate:-:0:3 {}", "1 5 :+:0:4 {}", "1 5 mate:+:1:4 {}", "1 5 mate:+:0 {}", "1 5 mate:+:x:4 {}",
		"1 5 mate:-:0:4 {", "2 5 out:-:0:3 {}", "garbage", " ",
	} {
		m.HSet("sb:{crew}:p", field, record)
		m.Del("sb:stranger:" + field)
		require.Equal(t, "crew.closed", g.first(who, "England"), record)
		require.Equal(t, record, m.HGet("sb:{crew}:p", field))
	}
	for _, record := range []string{`2 5 mate:+:0:4 {"name":{"new":"form"}}`, `2 5 guest:-:0:4 {"x":1}`, `3 5 mate:-:0:4 later`} {
		m.HSet("sb:{crew}:p", field, record)
		u := Update{ID: 100 + g.ids, Chat: who, User: who, Input: dialog.Input{Kind: dialog.Typed, Text: "help", Name: "Ann", Now: time.Now()}}
		g.ids++
		require.NoError(t, g.engine.Take(ctx, u))
		require.Equal(t, record, m.HGet("sb:{crew}:p", field))
	}
	m.HSet("sb:{crew}:p", "#", "garbage")
	require.Equal(t, "message", g.first(g.boss, "help"))
	next := sessiontest.Chat()
	require.Equal(t, "message", g.first(next, "/start "+g.token(g.boss, "/invite crew")))
	p, err := g.store.Person(ctx, next)
	require.NoError(t, err)
	require.Equal(t, 5, p.Number, "no number is used again")
}
