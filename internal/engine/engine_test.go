package engine

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"net/url"
	"runtime"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
)

func TestMain(m *testing.M) { sessiontest.Main(m) }

var ctx = context.Background()

// count is a conversation that counts its turns and says the count and what
// was typed.
func count(s dialog.State, in dialog.Input) (dialog.State, []dialog.Reply) {
	if in.Text == "panic" {
		panic("secret words")
	}
	if !in.ByPerson() {
		return s, nil
	}
	s.Conv++
	text := phrase.Of("n").WithInt("n", s.Conv).Saying("typed", in.Text)
	return s, []dialog.Reply{{Text: text}}
}

// post is a Sender that keeps what it was given. Before does as the platform
// might; tries of a chat are counted from 1.
type post struct {
	before  func(ctx context.Context, m Message, try int) error
	numbers bool // the messages have numbers, as the platform's have

	mu    sync.Mutex
	tries map[int64]int
	got   map[int64][]Message
}

func (p *post) Send(ctx context.Context, m Message) (Sent, error) {
	p.mu.Lock()
	if p.tries == nil {
		p.tries, p.got = map[int64]int{}, map[int64][]Message{}
	}
	p.tries[m.Chat]++
	try := p.tries[m.Chat]
	p.mu.Unlock()
	if p.before != nil {
		if err := p.before(ctx, m, try); err != nil {
			return Sent{}, err
		}
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.got[m.Chat] = append(p.got[m.Chat], m)
	if p.numbers {
		return Sent{Msg: int64(len(p.got[m.Chat]))}, nil
	}
	return Sent{}, nil
}

func (p *post) sent(chat int64) []Message {
	p.mu.Lock()
	defer p.mu.Unlock()
	return append([]Message(nil), p.got[chat]...)
}

// words are the replies to a chat: the typed text, or the key of another reply.
func (p *post) words(chat int64) []string {
	var out []string
	for _, m := range p.sent(chat) {
		word := m.Reply.Text.Say["typed"]
		if m.Reply.Text.Key != "n" {
			word = m.Reply.Text.Key
		}
		out = append(out, word)
	}
	return out
}

// counts are the counts in the replies to a chat, and how many came twice.
func (p *post) counts(t testing.TB, chat int64) (in []int, doubles int) {
	t.Helper()
	last := 0
	for _, m := range p.sent(chat) {
		if m.Reply.Text.Key != "n" {
			continue
		}
		n := int(m.Reply.Text.Num["n"].IntPart())
		if n == last {
			doubles++
			continue
		}
		require.Greater(t, n, last, "replies out of order")
		in, last = append(in, n), n
	}
	return in, doubles
}

func store(t testing.TB, url string) *session.Store {
	t.Helper()
	s, err := session.Open(ctx, url)
	require.NoError(t, err)
	t.Cleanup(func() { s.Close() })
	return s
}

func newEngine(t testing.TB, url string, sender Sender, o Options) *Engine {
	t.Helper()
	if o.Step == nil {
		o.Step = count
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Sweep == 0 {
		o.Sweep = 50 * time.Millisecond
	}
	return New(store(t, url), sender, o)
}

// still runs a test in a bubble, where time passes only when everybody waits:
// how long something takes is exact there, however slow the machine is. open
// is an engine on the bubble's Redis.
func still(t *testing.T, test func(t *testing.T, open func(Sender, Options) *Engine)) {
	synctest.Test(t, func(t *testing.T) {
		client := sessiontest.Still(t)
		test(t, func(sender Sender, o Options) *Engine {
			s, err := session.Over(ctx, client())
			require.NoError(t, err)
			t.Cleanup(func() { s.Close() })
			if o.Step == nil {
				o.Step = count
			}
			o.Log, o.Sweep = slog.New(slog.DiscardHandler), cmp.Or(o.Sweep, 50*time.Millisecond)
			return New(s, sender, o)
		})
	})
}

// handClock is a clock that a test moves.
type handClock struct{ passed atomic.Int64 }

func (c *handClock) now() time.Time       { return time.Unix(1e9, c.passed.Load()) }
func (c *handClock) move(d time.Duration) { c.passed.Add(int64(d)) }

// run runs an engine until the test ends or stop is called.
func run(t testing.TB, e *Engine) (stop func()) {
	c, cancel := context.WithCancel(ctx)
	done := make(chan error, 1)
	go func() { done <- e.Run(c) }()
	stop = sync.OnceFunc(func() {
		cancel()
		if err := <-done; err != nil {
			t.Errorf("Run: %v", err)
		}
	})
	t.Cleanup(stop)
	return stop
}

func typed(id, chat int64, text string) Update {
	return Update{ID: id, Chat: chat, Input: dialog.Input{Kind: dialog.Typed, Text: text, Lang: "en"}}
}

func eventually(t testing.TB, what string, ok func() bool) {
	t.Helper()
	require.Eventually(t, ok, time.Minute, 2*time.Millisecond, what)
}

// empty is whether nothing waits for a chat.
func empty(t testing.TB, s *session.Store, chat int64) bool {
	h, err := s.Export(ctx, chat, 0)
	require.NoError(t, err)
	return len(h.Unsent) == 0 && len(h.Waiting) == 0
}

// metric is the value of a counter, all labels together or the one with value
// label.
func metric(t testing.TB, r *prometheus.Registry, name, label string) float64 {
	t.Helper()
	families, err := r.Gather()
	require.NoError(t, err)
	sum := 0.0
	for _, f := range families {
		if f.GetName() != name {
			continue
		}
		for _, m := range f.GetMetric() {
			if label != "" && (len(m.GetLabel()) == 0 || m.GetLabel()[0].GetValue() != label) {
				continue
			}
			sum += m.GetCounter().GetValue() + m.GetGauge().GetValue() + float64(m.GetHistogram().GetSampleCount())
		}
	}
	return sum
}

func TestTakeAndSend(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		p := &post{}
		reg := prometheus.NewRegistry()
		e := newEngine(t, url, p, Options{Metrics: reg})
		run(t, e)
		chat := sessiontest.Chat()
		for i, text := range []string{"a", "b", "c"} {
			u := typed(int64(100+i), chat, text)
			require.NoError(t, e.Take(ctx, u))
			require.NoError(t, e.Take(ctx, u), "again")
		}
		eventually(t, "sent", func() bool { return empty(t, e.store, chat) })
		require.Equal(t, []string{"a", "b", "c"}, p.words(chat))
		in, doubles := p.counts(t, chat)
		require.Equal(t, []int{1, 2, 3}, in)
		require.Zero(t, doubles)
		require.EqualValues(t, 3, metric(t, reg, "sillbot_turns_total", "committed"))
		require.EqualValues(t, 3, metric(t, reg, "sillbot_turns_total", "duplicate"))
		require.EqualValues(t, 3, metric(t, reg, "sillbot_sends_total", "sent"))
		require.EqualValues(t, 6, metric(t, reg, "sillbot_turn_seconds", ""))
		require.EqualValues(t, 3, metric(t, reg, "sillbot_outbox_wait_seconds", ""))
	})
}

// slowAnswer keeps back Redis' answer to the script that commits a turn, as a
// busy machine does.
type slowAnswer struct{ by time.Duration }

func (slowAnswer) DialHook(next redis.DialHook) redis.DialHook { return next }

func (slowAnswer) ProcessPipelineHook(next redis.ProcessPipelineHook) redis.ProcessPipelineHook {
	return next
}

func (h slowAnswer) ProcessHook(next redis.ProcessHook) redis.ProcessHook {
	const commitKeys = 7 // no other script has as many
	return func(ctx context.Context, cmd redis.Cmder) error {
		err := next(ctx, cmd)
		if args := cmd.Args(); err == nil && len(args) > 2 && args[2] == commitKeys {
			time.Sleep(h.by)
		}
		return err
	}
}

// The sweep may find and send a reply before the turn that wrote it has Redis'
// answer. The turn must not hand it over once more.
func TestSweepSendsBeforeTheTurnKnows(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		client := sessiontest.Still(t)()
		client.AddHook(slowAnswer{time.Second})
		s, err := session.Over(ctx, client)
		require.NoError(t, err)
		t.Cleanup(func() { s.Close() })
		p := &post{}
		e := New(s, p, Options{Step: count, Log: slog.New(slog.DiscardHandler), Sweep: 50 * time.Millisecond})
		run(t, e)
		done := make(chan error)
		go func() { done <- e.Take(ctx, typed(1, 5, "a")) }()
		time.Sleep(500 * time.Millisecond)
		require.Equal(t, []string{"a"}, p.words(5), "the sweep sent it")
		require.NoError(t, <-done)
		require.NoError(t, e.Take(ctx, typed(2, 5, "b")))
		time.Sleep(time.Second)
		require.Equal(t, []string{"a", "b"}, p.words(5), "each once")
		require.True(t, empty(t, s, 5))
	})
}

// Two replicas get every update several times, in any order, at once.
func TestReplicas(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		const chatCount, turns = 8, 25
		p := &post{}
		reg := [2]*prometheus.Registry{prometheus.NewRegistry(), prometheus.NewRegistry()}
		var engines [2]*Engine
		var meeting sync.WaitGroup
		meeting.Add(len(engines))
		for i := range engines {
			// The first step of each waits for the other's, so that they meet.
			meet := sync.OnceFunc(func() { meeting.Done(); meeting.Wait() })
			step := func(s dialog.State, in dialog.Input) (dialog.State, []dialog.Reply) {
				meet()
				return count(s, in)
			}
			engines[i] = newEngine(t, url, p, Options{Metrics: reg[i], Rate: -1, Step: step})
			run(t, engines[i])
		}
		var deliveries []Update
		var chats []int64
		for range chatCount {
			chat := sessiontest.Chat()
			chats = append(chats, chat)
			for i := range turns {
				u := typed(int64(1000+i), chat, strconv.Itoa(i))
				for range 1 + rand.N(3) {
					deliveries = append(deliveries, u)
				}
			}
		}
		rand.Shuffle(len(deliveries), func(i, j int) { deliveries[i], deliveries[j] = deliveries[j], deliveries[i] })
		each := make(chan Update)
		var first, all sync.WaitGroup
		for i, e := range engines {
			first.Go(func() {
				u := typed(int64(1000+i), chats[0], strconv.Itoa(i))
				if err := e.Take(ctx, u); err != nil {
					t.Error(err)
				}
			})
		}
		first.Wait()
		for i := range 16 {
			all.Go(func() {
				for u := range each {
					for err := engines[i%2].Take(ctx, u); err != nil; err = engines[(i+1)%2].Take(ctx, u) {
						t.Log(err) // offered again, as the platform does
					}
				}
			})
		}
		for _, u := range deliveries {
			each <- u
		}
		close(each)
		all.Wait()
		for _, chat := range chats {
			eventually(t, "sent", func() bool { return empty(t, engines[0].store, chat) })
			in, doubles := p.counts(t, chat)
			require.Len(t, in, turns, "each update counts once")
			require.Equal(t, turns, in[turns-1])
			require.Zero(t, doubles)
			seen := map[string]bool{}
			for _, w := range p.words(chat) {
				require.False(t, seen[w], "twice: %s", w)
				seen[w] = true
			}
		}
		require.Positive(t, metric(t, reg[0], "sillbot_commit_retries_total", "")+metric(t, reg[1], "sillbot_commit_retries_total", ""),
			"the replicas never met, so nothing was tested")
	})
}

func TestGroup(t *testing.T) {
	_, url := sessiontest.Mini(t)
	p := &post{}
	e := newEngine(t, url, p, Options{})
	for i := range int64(4) {
		u := typed(i+1, -7, "x")
		u.Group, u.User = true, i%2
		require.NoError(t, e.Take(ctx, u))
	}
	require.NoError(t, e.Flush(ctx, -7))
	var in []int64
	for _, m := range p.sent(-7) {
		in = append(in, m.Reply.Text.Num["n"].IntPart())
	}
	require.Equal(t, []int64{1, 1, 2, 2}, in)
}

func TestPanicInStep(t *testing.T) {
	_, url := sessiontest.Mini(t)
	var out bytes.Buffer
	p := &post{}
	reg := prometheus.NewRegistry()
	e := newEngine(t, url, p, Options{Log: slog.New(slog.NewJSONHandler(&out, nil)), Metrics: reg})
	require.NoError(t, e.Take(ctx, typed(1, 4711, "a")))
	bad := typed(987001, 4711, "panic")
	require.NoError(t, e.Take(ctx, bad), "counts as taken")
	require.NoError(t, e.Take(ctx, bad))
	require.NoError(t, e.Take(ctx, typed(3, 4711, "b")))
	require.NoError(t, e.Flush(ctx, 4711))
	require.Equal(t, []string{"a", "error.internal", "b"}, p.words(4711))
	require.Equal(t, "en", p.sent(4711)[1].Reply.Lang)
	in, _ := p.counts(t, 4711)
	require.Equal(t, []int{1, 2}, in, "the state was left alone")
	require.EqualValues(t, 1, metric(t, reg, "sillbot_turns_total", "panic"))

	require.Contains(t, out.String(), `"turn":987001`)
	require.NotContains(t, out.String(), "secret words")
	require.NotContains(t, out.String(), "4711")
}

func TestPanicSpeaksTheChosenLanguage(t *testing.T) {
	_, url := sessiontest.Mini(t)
	p := &post{}
	e := newEngine(t, url, p, Options{Step: func(s dialog.State, in dialog.Input) (dialog.State, []dialog.Reply) {
		if s.Lang != "" {
			var none []int
			_ = none[len(in.Text)]
		}
		s.Lang = "de"
		return s, nil
	}})
	require.NoError(t, e.Take(ctx, typed(1, 5, "a")))
	require.NoError(t, e.Take(ctx, typed(2, 5, "a")))
	require.NoError(t, e.Flush(ctx, 5))
	require.Equal(t, "de", p.sent(5)[0].Reply.Lang)
}

// A conversation that can't be read is left as it is, and does not block.
func TestUnreadableConversation(t *testing.T) {
	for raw, said := range map[string]string{
		`99 7 1 {"new":true}`:  "unread.newer",
		`1 7 1 {"v":99,"q":1}`: "unread.newer",
		`1 7 1 {"v":`:          "unread.broken",
	} {
		t.Run(raw, func(t *testing.T) {
			m, url := sessiontest.Mini(t)
			require.NoError(t, m.Set("sb:{5}:c:5", raw))
			p := &post{}
			e := newEngine(t, url, p, Options{})
			require.NoError(t, e.Take(ctx, typed(1, 5, "a")))
			require.NoError(t, e.Flush(ctx, 5))
			require.Equal(t, []string{said}, p.words(5))
			got, err := m.Get("sb:{5}:c:5")
			require.NoError(t, err)
			require.Equal(t, raw, got)
		})
	}
}

func TestNoRepliesNoChange(t *testing.T) {
	m, url := sessiontest.Mini(t)
	e := newEngine(t, url, &post{}, Options{Step: func(s dialog.State, _ dialog.Input) (dialog.State, []dialog.Reply) {
		s.Version = 2
		return s, nil
	}})
	require.NoError(t, e.Take(ctx, typed(1, 5, "a")))
	first, err := m.Get("sb:{5}:c:5")
	require.NoError(t, err)
	require.NoError(t, e.Take(ctx, typed(2, 5, "a")))
	second, err := m.Get("sb:{5}:c:5")
	require.NoError(t, err)
	require.Equal(t, first, second, "a turn that changes nothing writes nothing")
	require.NoError(t, e.Flush(ctx, 5))
}

func TestLimitedChatWaitsAsTold(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		const slow, quick = 5, 6
		var at []time.Time
		p := &post{before: func(_ context.Context, m Message, try int) error {
			if m.Chat != slow {
				return nil
			}
			at = append(at, time.Now())
			if try == 1 {
				return &RetryError{After: 1200 * time.Millisecond, Err: errors.New("too many requests")}
			}
			return nil
		}}
		reg := prometheus.NewRegistry()
		e := open(p, Options{Metrics: reg, Lease: 500 * time.Millisecond}) // the wait is longer than the lease
		idle := &post{}
		run(t, e)
		run(t, open(idle, Options{}))
		require.NoError(t, e.Take(ctx, typed(1, slow, "a")))
		require.NoError(t, e.Take(ctx, typed(2, slow, "b")))
		require.NoError(t, e.Take(ctx, typed(3, quick, "c")))
		synctest.Wait()
		require.Len(t, p.sent(quick), 1, "others do not wait")
		time.Sleep(1199 * time.Millisecond)
		synctest.Wait()
		require.Empty(t, p.sent(slow))
		time.Sleep(time.Second)
		synctest.Wait()
		require.Equal(t, []string{"a", "b"}, p.words(slow))
		require.Equal(t, 1200*time.Millisecond, at[1].Sub(at[0]))
		require.Empty(t, idle.words(slow), "the lease is kept over the wait")
		require.EqualValues(t, 1, metric(t, reg, "sillbot_sends_total", "limited"))
	})
}

func TestSendFailures(t *testing.T) {
	_, address := sessiontest.Mini(t)
	var out bytes.Buffer
	p := &post{before: func(_ context.Context, m Message, try int) error {
		switch m.Reply.Text.Say["typed"] {
		case "blocked":
			return &DropError{Err: errors.New("forbidden"), Gone: true}
		case "flaky":
			if try == 1 {
				return &url.Error{Op: "Post", URL: "https://host/botTOKEN/send", Err: errors.New("connection reset")}
			}
			if try == 2 {
				panic("secret words")
			}
		}
		return nil
	}}
	reg := prometheus.NewRegistry()
	e := newEngine(t, address, p, Options{Metrics: reg, Log: slog.New(slog.NewJSONHandler(&out, nil)), MaxWait: 10 * time.Millisecond})
	for i, text := range []string{"flaky", "blocked", "after"} {
		require.NoError(t, e.Take(ctx, typed(int64(i+1), 5, text)))
	}
	require.NoError(t, e.Flush(ctx, 5))
	require.Equal(t, []string{"flaky", "after"}, p.words(5))
	require.EqualValues(t, 2, metric(t, reg, "sillbot_sends_total", "again"))
	require.EqualValues(t, 1, metric(t, reg, "sillbot_sends_total", "dropped"))
	require.Contains(t, out.String(), "connection reset")
	require.Contains(t, out.String(), `"reply":"2.0"`)
	require.NotContains(t, out.String(), "TOKEN")
	require.NotContains(t, out.String(), "secret words")
}

func TestReplyIsGivenUpInTheEnd(t *testing.T) {
	_, url := sessiontest.Mini(t)
	p := &post{before: func(_ context.Context, m Message, _ int) error {
		if m.Reply.Text.Say["typed"] == "poison" {
			return errors.New("500")
		}
		return nil
	}}
	e := newEngine(t, url, p, Options{MaxWait: 5 * time.Millisecond, MaxAge: 50 * time.Millisecond})
	require.NoError(t, e.Take(ctx, typed(1, 5, "poison")))
	require.NoError(t, e.Take(ctx, typed(2, 5, "b")))
	require.NoError(t, e.Flush(ctx, 5))
	require.Equal(t, []string{"b"}, p.words(5))
}

func TestBackoffGrowsToItsCap(t *testing.T) {
	e := New(nil, nil, Options{MaxWait: 3 * time.Second})
	b := &box{}
	last := time.Duration(0)
	for range 4 {
		wait := e.courier.backoff(b)
		require.Greater(t, wait, last)
		last = wait
	}
	for range 100 {
		wait := e.courier.backoff(b)
		require.LessOrEqual(t, wait, 3*time.Second)
		require.GreaterOrEqual(t, wait, 2250*time.Millisecond)
	}
}

// Chats whose sends hang leave the last worker to the others, and no chat
// costs a goroutine of its own.
func TestSlowChatsDoNotHoldUpOthers(t *testing.T) {
	_, url := sessiontest.Mini(t)
	hang := make(chan struct{})
	p := &post{before: func(_ context.Context, m Message, _ int) error {
		switch {
		case m.Chat < 100:
			<-hang
		case m.Chat < 200:
			return &RetryError{After: time.Hour, Err: errors.New("429")}
		}
		return nil
	}}
	e := newEngine(t, url, p, Options{Senders: 4, Rate: -1})
	run(t, e)
	for chat := int64(1); chat <= 3; chat++ {
		require.NoError(t, e.Take(ctx, typed(1, chat, "a")))
	}
	for chat := int64(100); chat < 200; chat++ {
		require.NoError(t, e.Take(ctx, typed(1, chat, "a")))
	}
	before := runtime.NumGoroutine()
	for chat := int64(200); chat < 260; chat++ {
		for id := range int64(3) {
			require.NoError(t, e.Take(ctx, typed(id+1, chat, "a")))
		}
	}
	require.Less(t, runtime.NumGoroutine(), before+20)
	for chat := int64(200); chat < 260; chat++ {
		eventually(t, "quick ones", func() bool { return len(p.sent(chat)) == 3 })
	}
	close(hang)
	eventually(t, "slow one", func() bool { return len(p.sent(2)) == 1 })
}

func TestStartTakesUpWhatWasLeft(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		chat := sessiontest.Chat()
		dead := newEngine(t, url, &post{}, Options{Lease: 150 * time.Millisecond})
		require.NoError(t, dead.Take(ctx, typed(1, chat, "a")))
		require.NoError(t, dead.Take(ctx, typed(2, chat, "b")))
		// It never runs: the process died after the commit.
		p := &post{}
		reg := prometheus.NewRegistry()
		e := newEngine(t, url, p, Options{Metrics: reg, Sweep: time.Hour}) // the start alone must do
		run(t, e)
		eventually(t, "sent", func() bool { return empty(t, e.store, chat) })
		require.Equal(t, []string{"a", "b"}, p.words(chat))
		require.GreaterOrEqual(t, metric(t, reg, "sillbot_outbox_taken_over_total", ""), 2.0)
	})
}

func TestSweepTakesOverWhileRunning(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		chat := sessiontest.Chat()
		p := &post{}
		e := newEngine(t, url, p, Options{})
		run(t, e)
		dead := newEngine(t, url, &post{}, Options{Lease: 100 * time.Millisecond})
		require.NoError(t, dead.Take(ctx, typed(1, chat, "a")))
		eventually(t, "sent", func() bool { return empty(t, e.store, chat) })
		require.Equal(t, []string{"a"}, p.words(chat))
	})
}

// A sender that was stopped for longer than its lease can't take away what it
// no longer owns, and the order stays.
func TestLeaseLostWhileSending(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		stop := make(chan struct{})
		p := &post{}
		late := &post{before: func(context.Context, Message, int) error { <-stop; return nil }}
		a := open(late, Options{Lease: 50 * time.Millisecond}) // no Run, so nobody renews
		require.NoError(t, a.Take(ctx, typed(1, 5, "a")))
		require.NoError(t, a.Take(ctx, typed(2, 5, "b")))
		done := make(chan error)
		go func() { done <- a.Flush(ctx, 5) }()
		synctest.Wait() // it is sending
		b := open(p, Options{})
		run(t, b)
		time.Sleep(time.Second)
		require.True(t, empty(t, b.store, 5), "taken over")
		close(stop)
		require.NoError(t, <-done)
		require.Equal(t, []string{"a", "b"}, p.words(5))
		require.Equal(t, []string{"a"}, late.words(5), "only the reply in hand went out twice")
		require.NoError(t, a.Take(ctx, typed(3, 5, "c")))
	})
}

func TestLeaseIsKeptWhileSending(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		slow := &post{before: func(context.Context, Message, int) error {
			time.Sleep(1200 * time.Millisecond)
			return nil
		}}
		other := &post{}
		a := open(slow, Options{Lease: 500 * time.Millisecond})
		run(t, a)
		run(t, open(other, Options{}))
		require.NoError(t, a.Take(ctx, typed(1, 5, "a")))
		require.NoError(t, a.Take(ctx, typed(2, 5, "b")))
		time.Sleep(3 * time.Second)
		require.True(t, empty(t, a.store, 5))
		require.Equal(t, []string{"a", "b"}, slow.words(5))
		require.Empty(t, other.words(5))
	})
}

func TestDrain(t *testing.T) {
	for _, running := range []bool{true, false} {
		t.Run(fmt.Sprint("running ", running), func(t *testing.T) {
			still(t, func(t *testing.T, open func(Sender, Options) *Engine) { drains(t, open, running) })
		})
	}
}

func drains(t *testing.T, open func(Sender, Options) *Engine, running bool) {
	p := &post{before: func(ctx context.Context, m Message, try int) error {
		switch m.Chat {
		case 6: // hangs
			<-ctx.Done()
			return ctx.Err()
		case 7:
			return &RetryError{After: time.Hour, Err: errors.New("429")}
		}
		time.Sleep(5 * time.Millisecond)
		return nil
	}}
	e := open(p, Options{})
	if running {
		run(t, e)
	}
	for id := range int64(10) {
		require.NoError(t, e.Take(ctx, typed(id+1, 5, "a")))
	}
	require.NoError(t, e.Take(ctx, typed(1, 6, "a")))
	require.NoError(t, e.Take(ctx, typed(1, 7, "a")))
	c, cancel := context.WithTimeout(ctx, 500*time.Millisecond)
	defer cancel()
	begun := time.Now()
	require.ErrorIs(t, e.Drain(c), context.DeadlineExceeded, "one hangs")
	require.Equal(t, 500*time.Millisecond+inHand, time.Since(begun), "as long as it was given, and what has begun")
	require.ErrorIs(t, e.Take(ctx, typed(99, 5, "a")), ErrClosed)
	require.Len(t, p.sent(5), 10)
	// Another process goes on at once: the leases are back.
	next := &post{}
	e = open(next, Options{})
	begun = time.Now()
	require.NoError(t, e.Flush(ctx, 6))
	require.NoError(t, e.Flush(ctx, 7))
	require.Zero(t, time.Since(begun))
	require.Len(t, next.sent(6), 1)
	require.Len(t, next.sent(7), 1)
}

// A send that has begun when the time is up is not cut off, and nobody else
// sends that reply again; the next one is left to the successor.
func TestDrainLetsASendThatHasBegunEnd(t *testing.T) {
	for _, running := range []bool{true, false} {
		t.Run(fmt.Sprint("running ", running), func(t *testing.T) {
			still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
				p := &post{before: func(ctx context.Context, _ Message, _ int) error {
					select {
					case <-time.After(400 * time.Millisecond):
						return nil
					case <-ctx.Done():
						return ctx.Err()
					}
				}}
				e := open(p, Options{})
				if running {
					run(t, e)
				}
				for id := range int64(3) {
					require.NoError(t, e.Take(ctx, typed(id+1, 5, "a")))
				}
				c, cancel := context.WithTimeout(ctx, 500*time.Millisecond)
				defer cancel()
				require.ErrorIs(t, e.Drain(c), context.DeadlineExceeded)
				require.Len(t, p.sent(5), 2, "one begun at 400 ms")
				next := &post{}
				require.NoError(t, open(next, Options{}).Flush(ctx, 5))
				require.Len(t, next.sent(5), 1)
			})
		})
	}
}

func TestDrainDoesNotWaitForWhatIsNotDue(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		p := &post{before: func(context.Context, Message, int) error {
			return &RetryError{After: time.Hour, Err: errors.New("429")}
		}}
		e := open(p, Options{})
		run(t, e)
		require.NoError(t, e.Take(ctx, typed(1, 7, "a")))
		c, cancel := context.WithTimeout(ctx, time.Minute)
		defer cancel()
		begun := time.Now()
		require.NoError(t, e.Drain(c))
		require.Zero(t, time.Since(begun))
	})
}

func TestFlood(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		const turns, burst = 40, 5
		p := &post{}
		reg := prometheus.NewRegistry()
		e := newEngine(t, url, p, Options{Metrics: reg, Burst: burst, Rate: 100})
		var clock handClock
		e.turns.chats.clock = clock.now
		run(t, e)
		chat, other := sessiontest.Chat(), sessiontest.Chat()
		for i := range turns {
			require.NoError(t, e.Take(ctx, typed(int64(i+1), chat, strconv.Itoa(i))))
		}
		require.EqualValues(t, turns-burst, metric(t, reg, "sillbot_turns_total", "put_off"))
		require.NoError(t, e.Take(ctx, typed(1, other, "x")))
		eventually(t, "other", func() bool { return len(p.sent(other)) == 1 })
		answered := func() int { in, _ := p.counts(t, chat); return len(in) }
		for n := burst; n <= turns; n++ {
			eventually(t, "the next", func() bool { return answered() >= n })
			require.Equal(t, n, answered(), "no faster than the rate")
			clock.move(time.Second / 100)
		}
		eventually(t, "all", func() bool { return empty(t, e.store, chat) })
		slow := 0
		last := -1
		for _, w := range p.words(chat) {
			if w == "flood.slow" {
				slow++
				continue
			}
			n, err := strconv.Atoi(w)
			require.NoError(t, err)
			require.Equal(t, last+1, n, "in the order they were sent")
			last = n
		}
		require.Equal(t, 1, slow, "said once")
		require.EqualValues(t, turns+1, metric(t, reg, "sillbot_turns_total", "committed"))
	})
}

func TestFloodBeyondTheRoom(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		p := &post{}
		e := open(p, Options{Burst: 1, Rate: 50, Room: 3})
		for i := range 10 {
			require.NoError(t, e.Take(ctx, typed(int64(i+1), 5, strconv.Itoa(i))))
		}
		require.NoError(t, e.Flush(ctx, 5))
		require.Equal(t, []string{"0", "flood.slow", "flood.full", "1", "2", "3"}, p.words(5))
		require.NoError(t, e.Take(ctx, typed(11, 5, "after")))
		require.NoError(t, e.Flush(ctx, 5))
		require.Equal(t, "after", p.words(5)[6])
	})
}

// The updates put off of a process that died are taken up by another.
func TestPutOffIsTakenOver(t *testing.T) {
	_, url := sessiontest.Mini(t)
	dead := newEngine(t, url, &post{}, Options{Burst: 1, Rate: 0.001, Lease: 50 * time.Millisecond})
	for i := range 4 {
		require.NoError(t, dead.Take(ctx, typed(int64(i+1), 5, strconv.Itoa(i))))
	}
	p := &post{}
	e := newEngine(t, url, p, Options{})
	run(t, e)
	eventually(t, "all", func() bool { return empty(t, e.store, 5) })
	require.Equal(t, []string{"0", "flood.slow", "1", "2", "3"}, p.words(5))
}

func TestPutOffUpdateThatCannotBeRead(t *testing.T) {
	m, url := sessiontest.Mini(t)
	for _, raw := range []string{"damaged", `1 5 7 {"ID":`} {
		_, err := m.Push("sb:{5}:i:5", raw)
		require.NoError(t, err)
	}
	m.HSet("sb:{5}:p", "5", "1 0 1 ")
	p := &post{}
	e := newEngine(t, url, p, Options{})
	require.NoError(t, e.Take(ctx, typed(9, 5, "a")))
	require.NoError(t, e.Flush(ctx, 5))
	require.Equal(t, "a", p.words(5)[len(p.words(5))-1])
	require.Equal(t, []string{"unread.update", "unread.update"}, p.words(5)[:2])
	aside, err := m.List("sb:{5}:x:5")
	require.NoError(t, err)
	require.Len(t, aside, 2)
	require.Contains(t, aside[0], " i broken 0 damaged")
}

func TestLimit(t *testing.T) {
	var clock handClock
	cs := chats{rate: 2, burst: 3, clock: clock.now, known: map[int64]*chat{}}
	c, err := cs.enter(ctx, 1)
	require.NoError(t, err)
	for range 3 {
		require.True(t, cs.allow(c))
	}
	require.False(t, cs.allow(c))
	require.Equal(t, 500*time.Millisecond, cs.wait(c))
	clock.move(500 * time.Millisecond)
	require.Zero(t, cs.wait(c))
	require.True(t, cs.allow(c))
	require.False(t, cs.allow(c))
	clock.move(-time.Hour)
	require.False(t, cs.allow(c), "a clock set back gives nothing")
	clock.move(2 * time.Hour)
	for range 3 {
		require.True(t, cs.allow(c), "no more than burst is saved up")
	}
	require.False(t, cs.allow(c))

	gone, cancel := context.WithCancel(ctx)
	cancel()
	_, err = cs.enter(gone, 1)
	require.ErrorIs(t, err, context.Canceled, "one turn of a chat at a time")
	cs.leave(c)
}

// Memory follows the chats that write at the same time.
func TestLimitForgets(t *testing.T) {
	var clock handClock
	cs := chats{rate: 1e9, burst: 3, clock: clock.now, known: map[int64]*chat{}}
	for id := range int64(20000) {
		c, err := cs.enter(ctx, id)
		require.NoError(t, err)
		cs.allow(c)
		clock.move(time.Millisecond)
		cs.leave(c)
	}
	require.Less(t, len(cs.known), 3000)
}

// A conversation kept in the process is no older than the one in the store.
func TestRecent(t *testing.T) {
	m, url := sessiontest.Mini(t)
	p := &post{}
	reg := prometheus.NewRegistry()
	a, b := newEngine(t, url, p, Options{Metrics: reg}), newEngine(t, url, p, Options{})
	take := func(e *Engine, id int64) {
		t.Helper()
		require.NoError(t, e.Take(ctx, typed(id, 5, strconv.FormatInt(id, 10))))
		require.NoError(t, e.Flush(ctx, 5))
	}
	take(a, 1)
	take(a, 2)
	take(b, 3)
	take(a, 4)
	require.EqualValues(t, 1, metric(t, reg, "sillbot_commit_retries_total", ""))
	take(b, 5)
	take(a, 6)
	require.EqualValues(t, 1, metric(t, reg, "sillbot_commit_retries_total", ""), "it no longer trusts what it has")
	in, doubles := p.counts(t, 5)
	require.Equal(t, []int{1, 2, 3, 4, 5, 6}, in)
	require.Zero(t, doubles)

	// What was deleted does not come back, whoever deleted it.
	c := newEngine(t, url, p, Options{})
	take(c, 7)
	require.NoError(t, a.store.Forget(ctx, 5))
	take(c, 8)
	require.EqualValues(t, 1, p.sent(5)[7].Reply.Text.Num["n"].IntPart())
	require.NoError(t, c.Forget(ctx, 5))
	require.Empty(t, m.Keys())
	_, known := c.turns.recent.get(session.Key{Chat: 5})
	require.False(t, known)
}

func TestRecentIsBounded(t *testing.T) {
	var r recent
	for chat := range int64(20000) {
		r.put(session.Key{Chat: chat}, session.Conversation{Rev: 1, Data: []byte("x")})
		_, known := r.get(session.Key{Chat: chat})
		require.True(t, known)
	}
	require.LessOrEqual(t, len(r.new)+len(r.old), 2*recentSize)
	_, known := r.get(session.Key{Chat: 20000 - recentSize})
	require.True(t, known)
	_, known = r.get(session.Key{Chat: 1})
	require.False(t, known)
}

func TestBury(t *testing.T) {
	m, url := sessiontest.Mini(t)
	reg := prometheus.NewRegistry()
	e := newEngine(t, url, &post{}, Options{Metrics: reg})
	require.NoError(t, e.Dead(ctx, []byte("{bad"), "not JSON"))
	dead, err := m.List("sb:{dead}:d")
	require.NoError(t, err)
	require.Regexp(t, `^1 \d+ \{bad$`, dead[0])
	require.EqualValues(t, 1, metric(t, reg, "sillbot_turns_total", "dead"))
}

func TestTakeFailsWithoutRedis(t *testing.T) {
	m, url := sessiontest.Mini(t)
	p := &post{}
	reg := prometheus.NewRegistry()
	e := newEngine(t, url, p, Options{Metrics: reg})
	m.SetError("LOADING not yet")
	c, cancel := context.WithTimeout(ctx, 200*time.Millisecond)
	defer cancel()
	require.Error(t, e.Take(c, typed(1, 5, "a")))
	require.EqualValues(t, 1, metric(t, reg, "sillbot_turns_total", "failed"))
	m.SetError("")
	require.NoError(t, e.Take(ctx, typed(1, 5, "a")))
	require.NoError(t, e.Flush(ctx, 5))
	require.Equal(t, []string{"a"}, p.words(5))
}

func TestMessageSurvivesTheOutbox(t *testing.T) {
	m := Message{Chat: 5, Reply: dialog.Reply{
		Text: phrase.Of("k").WithInt("count", 3).Saying("name", "<b>"), Lang: "en", Open: "w1",
		Buttons: [][]dialog.Button{{{Label: phrase.Of("yes"), Data: "1|w1|2|y"}}},
	}}
	data, err := json.Marshal(m)
	require.NoError(t, err)
	var back Message
	require.NoError(t, json.Unmarshal(data, &back))
	require.Equal(t, m.Reply.Buttons, back.Reply.Buttons)
	require.Equal(t, m.Reply.Text.Say, back.Reply.Text.Say)
	require.True(t, m.Reply.Text.Num["count"].Equal(back.Reply.Text.Num["count"]))
}
