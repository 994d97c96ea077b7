package telegram

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/engine"
	"sillbot/internal/telegram/telegramtest"
)

// poll runs a poller until stop, which returns when it has left.
func startPoll(t *testing.T, cfg Config, d *fakeEngine, g *graves) (stop func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	left := make(chan struct{})
	r := connect(t, cfg).Receiver(d, g)
	go func() { defer close(left); r.Poll(ctx) }()
	stop = sync.OnceFunc(func() {
		cancel()
		select {
		case <-left:
		case <-time.After(time.Minute):
			t.Error("the poller did not leave")
		}
	})
	t.Cleanup(stop)
	return stop
}

func numbers(from, to int) []string {
	var list []string
	for i := from; i <= to; i++ {
		list = append(list, strconv.Itoa(i))
	}
	return list
}

func TestPollTakesEveryUpdateInTheOrderOfItsChat(t *testing.T) {
	server := telegramtest.Start(t)
	var d fakeEngine
	startPoll(t, config(server), &d, &graves{})
	for i := 1; i <= 150; i++ {
		for chat := int64(1); chat <= 3; chat++ {
			server.Type(chat, strconv.Itoa(i))
		}
	}
	require.NoError(t, server.WaitTaken(within(t)))
	for chat := int64(1); chat <= 3; chat++ {
		require.Equal(t, numbers(1, 150), d.texts(chat))
	}
	require.Zero(t, d.again)
}

func TestPollKeepsGoingThroughFaults(t *testing.T) {
	for name, fault := range map[string]telegramtest.Fault{
		"server error":          telegramtest.Failing,
		"gateway":               telegramtest.BadGateway,
		"cut before":            telegramtest.CutBefore,
		"cut after":             telegramtest.CutAfter,
		"not JSON":              {Status: 200, Body: `{"ok":true,"result":[{"update_id":1,`},
		"not a list":            {Status: 200, Body: `{"ok":true,"result":{"a":1}}`},
		"no result":             {Status: 200, Body: `{"ok":true}`},
		"empty":                 {Status: 200, Body: ` `},
		"conflict":              {Status: 409, Text: "Conflict: terminated by other getUpdates request"},
		"conflict as a webhook": {Status: 409, Text: "Conflict: can't use getUpdates method while webhook is active"},
	} {
		t.Run(name, func(t *testing.T) {
			server := telegramtest.Start(t)
			server.Fail("getUpdates", fault, telegramtest.Fault{}, fault, fault)
			var d fakeEngine
			startPoll(t, config(server), &d, &graves{})
			for i := 1; i <= 5; i++ {
				server.Type(1, strconv.Itoa(i))
				require.NoError(t, server.WaitTaken(within(t)))
			}
			require.Equal(t, numbers(1, 5), d.texts(1))
		})
	}
}

// platform answers calls for updates without a network, as a bubble needs it.
type platform func(n int, ctx context.Context) (status int, body string)

// pollStill polls a platform in a bubble, where time passes only when everybody
// waits, and gives the times of the calls for updates.
func pollStill(t *testing.T, taker Taker, g *graves, answer platform) (at *[]time.Duration, stop func()) {
	t.Helper()
	cfg := Config{Token: telegramtest.Token, API: "http://127.0.0.1:1", Log: slog.New(slog.DiscardHandler)}
	client := connect(t, cfg)
	begun := time.Now()
	at = &[]time.Duration{}
	client.http.Transport = roundTrip(func(req *http.Request) (*http.Response, error) {
		*at = append(*at, time.Since(begun))
		status, body := answer(len(*at), req.Context())
		if status == 0 {
			return nil, req.Context().Err()
		}
		return &http.Response{StatusCode: status, Header: http.Header{}, Body: io.NopCloser(strings.NewReader(body)), Request: req}, nil
	})
	ctx, cancel := context.WithCancel(t.Context())
	left := make(chan struct{})
	go func() { defer close(left); client.Receiver(taker, g).Poll(ctx) }()
	stop = func() { cancel(); <-left }
	return at, stop
}

type roundTrip func(*http.Request) (*http.Response, error)

func (f roundTrip) RoundTrip(req *http.Request) (*http.Response, error) { return f(req) }

// idle is a long poll that brings nothing before it is broken off.
func idle(ctx context.Context) (int, string) {
	<-ctx.Done()
	return 0, ""
}

func TestPollWaitsAsLongAsItIsTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		at, stop := pollStill(t, &fakeEngine{}, &graves{}, func(n int, ctx context.Context) (int, string) {
			if n == 1 {
				return 429, `{"ok":false,"error_code":429,"description":"Too Many Requests","parameters":{"retry_after":7}}`
			}
			return idle(ctx)
		})
		time.Sleep(10 * time.Second)
		stop()
		require.Equal(t, []time.Duration{0, 7 * time.Second}, *at)
	})
}

func TestPollRemovesAWebhookThatIsInTheWay(t *testing.T) {
	server := telegramtest.Start(t)
	pushed := config(server)
	pushed.WebhookURL, pushed.WebhookSecret = "http://127.0.0.1:1/in", "s3cret"
	require.NoError(t, connect(t, pushed).Connect(within(t)))
	server.Type(1, "1")
	var d fakeEngine
	startPoll(t, config(server), &d, &graves{})
	require.NoError(t, server.WaitTaken(within(t)))
	require.Equal(t, []string{"1"}, d.texts(1))
}

func TestAnUpdateThatFailsIsTriedAgainAndNothingPassesIt(t *testing.T) {
	server := telegramtest.Start(t)
	var failures atomic.Int64
	d := fakeEngine{fail: func(u engine.Update) error {
		if u.Input.Text == "2" && failures.Add(1) <= 4 {
			return errBusy
		}
		return nil
	}}
	server.Pause(true)
	for i := 1; i <= 4; i++ {
		server.Type(1, strconv.Itoa(i))
	}
	startPoll(t, config(server), &d, &graves{})
	server.Pause(false)
	require.NoError(t, server.WaitTaken(within(t)))
	require.Equal(t, numbers(1, 4), d.texts(1))
	require.EqualValues(t, 5, failures.Load())
}

// A store that is down for some chats only, as one part of a cluster can be,
// must not keep the others waiting, and nothing of theirs may be lost either.
func TestAChatThatIsStuckDoesNotHoldUpTheOthers(t *testing.T) {
	server := telegramtest.Start(t)
	var down atomic.Bool
	down.Store(true)
	d := fakeEngine{fail: func(u engine.Update) error {
		if u.Chat == 1 && down.Load() {
			return errBusy
		}
		return nil
	}}
	cfg := config(server)
	cfg.Backoff = 5 * time.Millisecond
	startPoll(t, cfg, &d, &graves{})
	server.Type(1, "stuck")
	for i := 1; i <= 3; i++ {
		server.Type(2, strconv.Itoa(i))
		require.Eventually(t, func() bool { return len(d.texts(2)) == i }, time.Minute, time.Millisecond)
	}
	require.Equal(t, 4, server.Pending(), "nothing is acknowledged past an update that is not taken")
	require.Empty(t, d.texts(1))
	down.Store(false)
	require.NoError(t, server.WaitTaken(within(t)))
	require.Equal(t, []string{"stuck"}, d.texts(1))
	require.Equal(t, numbers(1, 3), d.texts(2))
	require.Zero(t, d.again, "what was taken meanwhile is not taken again")
}

func TestPollAcknowledgesOnlyWhatIsTaken(t *testing.T) {
	server := telegramtest.Start(t)
	d := fakeEngine{fail: func(u engine.Update) error { return errBusy }}
	stop := startPoll(t, config(server), &d, &graves{})
	server.Type(1, "1")
	require.Eventually(t, func() bool { return d.tried() > 2 }, time.Minute, time.Millisecond)
	stop()
	require.Equal(t, 1, server.Pending())

	d.failing(nil)
	startPoll(t, config(server), &d, &graves{})
	require.NoError(t, server.WaitTaken(within(t)))
	require.Equal(t, []string{"1"}, d.texts(1))
}

func TestWhatIsInHandIsFinishedBeforeLeaving(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		goOn, ended := make(chan struct{}), make(chan error, 1)
		taker := takerFunc(func(ctx context.Context, u engine.Update) error {
			<-goOn
			ended <- ctx.Err()
			return nil
		})
		_, stop := pollStill(t, taker, &graves{}, func(n int, ctx context.Context) (int, string) {
			if n > 1 {
				return idle(ctx)
			}
			return 200, `{"ok":true,"result":[` + string(updateOf("message", private+`,"text":"1"`)) + `]}`
		})
		synctest.Wait()
		left := make(chan struct{})
		go func() { stop(); close(left) }()
		synctest.Wait()
		select {
		case <-left:
			t.Fatal("left with an update in hand")
		default:
		}
		close(goOn)
		<-left
		require.NoError(t, <-ended, "what is in hand is not broken off")
	})
}

func TestDuplicateLateAndReorderedUpdates(t *testing.T) {
	server := telegramtest.Start(t)
	var d fakeEngine
	startPoll(t, config(server), &d, &graves{})
	first := server.Type(1, "1")
	require.NoError(t, server.WaitTaken(within(t)))
	server.Again(first)
	require.NoError(t, server.WaitTaken(within(t)))
	require.Equal(t, 1, d.again, "a repeated update reaches the engine, which knows it")

	server.HoldNext()
	late := server.Type(1, "late")
	server.Type(1, "2")
	require.NoError(t, server.Wait(within(t), func() bool { return server.Pending() == 1 }))
	server.Release(late)
	require.NoError(t, server.WaitTaken(within(t)))
	require.Equal(t, []string{"1", "2", "late"}, d.texts(1))

	server.Pause(true)
	server.Reverse()
	for i := 3; i <= 8; i++ {
		server.Type(1, strconv.Itoa(i))
	}
	server.Pause(false)
	require.NoError(t, server.WaitTaken(within(t)))
	require.Equal(t, append([]string{"1", "2", "late"}, numbers(3, 8)...), d.texts(1))
}

// gatherings notes for each chat when it is gathered (+), let go (-), and what is
// taken or fails (!) between.
type gatherings struct {
	mu  sync.Mutex
	log map[int64]string
}

func (g *gatherings) note(chat int64, what string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.log == nil {
		g.log = map[int64]string{}
	}
	g.log[chat] += what
}

func (g *gatherings) of(chat int64) string {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.log[chat]
}

func (g *gatherings) gather(chat int64) (done func()) {
	g.note(chat, "+")
	return func() { g.note(chat, "-") }
}

// A chat is gathered while more of its updates came with the one in hand; not
// for a single one, and no longer when one fails.
func TestUpdatesThatCameTogetherAreGathered(t *testing.T) {
	server := telegramtest.Start(t)
	var d fakeEngine
	var g gatherings
	failed := false
	d.failing(func(u engine.Update) error {
		if u.Input.Text == "4" && !failed {
			failed = true
			g.note(u.Chat, "!")
			return errBusy
		}
		g.note(u.Chat, u.Input.Text)
		return nil
	})
	r := connect(t, config(server)).Receiver(&d, &graves{})
	r.Gather = g.gather
	server.Pause(true)
	server.Type(1, "1")
	server.Type(2, "1")
	server.Type(1, "2")
	server.Type(1, "3")
	for i := 3; i <= 5; i++ {
		server.Type(3, strconv.Itoa(i))
	}
	server.Pause(false)
	ctx, cancel := context.WithCancel(t.Context())
	left := make(chan struct{})
	go func() { defer close(left); r.Poll(ctx) }()
	require.NoError(t, server.WaitTaken(within(t)))
	cancel()
	<-left
	require.Equal(t, "+1+23-", g.of(1))
	require.Equal(t, "1", g.of(2))
	require.Equal(t, "+3+!-45-", g.of(3))
}

func TestUpdatesOfUnknownKindsDoNotStopTheOthers(t *testing.T) {
	server := telegramtest.Start(t)
	var d fakeEngine
	var g graves
	server.Pause(true)
	startPoll(t, config(server), &d, &g)
	server.Type(1, "1")
	server.PushRaw(1, `{"update_id":"ID","telepathy":{"thought":[1,2]}}`)
	server.PushRaw(1, `{"update_id":"ID","message":{"text":[1]}}`)
	server.PushRaw(1, `{"update_id":"ID","message":{"chat":{"id":1,"type":"private"},"from":{"id":1},"text":"2","reply_to_message":{"paid_media":{"paid_media":[{"type":"smell"}]}}}}`)
	server.Type(1, "3")
	server.Pause(false)
	require.NoError(t, server.WaitTaken(within(t)))
	require.Equal(t, numbers(1, 3), d.texts(1))
	require.Equal(t, 1, g.count())
}

// An update without an id can't be acknowledged. It must go to the dead list
// once, and neither stop the others nor make the poller spin.
func TestAnUpdateWithoutAnID(t *testing.T) {
	server := telegramtest.Start(t)
	var d fakeEngine
	var g graves
	startPoll(t, config(server), &d, &g)
	server.PushRaw(1, `{"message":{"text":"nameless"}}`)
	require.Eventually(t, func() bool { return g.count() == 1 }, time.Minute, time.Millisecond)
	server.Type(1, "1")
	require.NoError(t, server.WaitTaken(within(t)))
	require.Equal(t, []string{"1"}, d.texts(1))
	require.Equal(t, 1, g.count())
}

func TestAnUpdateWithoutAnIDMakesNoCallsInARow(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var g graves
		at, stop := pollStill(t, &fakeEngine{}, &g, func(int, context.Context) (int, string) {
			return 200, `{"ok":true,"result":[{"message":{"text":"nameless"}}]}`
		})
		time.Sleep(4*patience + patience/2)
		stop()
		require.Equal(t, []time.Duration{0, patience, 2 * patience, 3 * patience, 4 * patience}, *at)
		require.Equal(t, 1, g.count())
	})
}

// Two replicas poll at once. The platform ends one of the polls each time;
// every update is taken all the same, and the one that is left goes on alone.
func TestReplicasElectOneThatPolls(t *testing.T) {
	server := telegramtest.Start(t)
	var d fakeEngine // shared, as the store is
	stopFirst := startPoll(t, config(server), &d, &graves{})
	startPoll(t, config(server), &d, &graves{})
	for i := 1; i <= 40; i++ {
		server.Type(int64(i%4+1), strconv.Itoa(i))
	}
	require.NoError(t, server.WaitTaken(within(t)))
	stopFirst()
	server.Type(9, "41")
	require.NoError(t, server.WaitTaken(within(t)))
	var all []int
	for chat := range int64(10) {
		last := 0
		for _, text := range d.texts(chat) {
			n, err := strconv.Atoi(text)
			require.NoError(t, err)
			require.Greater(t, n, last, "order of chat %d", chat)
			last = n
			all = append(all, n)
		}
	}
	slices.Sort(all)
	require.Len(t, slices.Compact(all), 41)
}

func TestTheReplicaThatLostStandsBy(t *testing.T) {
	server := telegramtest.Start(t)
	patient := config(server)
	patient.Standby = time.Hour
	server.Fail("getUpdates", telegramtest.Fault{Status: 409, Text: "Conflict: terminated by other getUpdates request"})
	var lost, won fakeEngine
	startPoll(t, patient, &lost, &graves{})
	require.NoError(t, server.Wait(within(t), func() bool { return server.Calls("getUpdates") == 1 }))
	startPoll(t, config(server), &won, &graves{})
	for i := 1; i <= 20; i++ {
		server.Type(1, strconv.Itoa(i))
		require.NoError(t, server.WaitTaken(within(t)))
	}
	require.Zero(t, server.Conflicts())
	require.Empty(t, lost.texts(1))
	require.Equal(t, numbers(1, 20), won.texts(1))
}

func TestOffsetStaysBelowWhatIsUnfinished(t *testing.T) {
	for _, tc := range []struct {
		finished   map[int64]bool
		offset     int64
		unfinished bool
	}{
		{map[int64]bool{}, 0, false},
		{map[int64]bool{5: true}, 6, false},
		{map[int64]bool{5: true, 7: true, 6: true}, 8, false},
		{map[int64]bool{5: true, 6: false, 7: true}, 6, true},
		{map[int64]bool{5: false, 6: false, 7: true}, 5, true},
	} {
		t.Run(fmt.Sprint(tc.finished), func(t *testing.T) {
			for range 20 { // whatever the order of the map
				p := &poller{finished: tc.finished}
				offset, unfinished := p.offset()
				require.Equal(t, tc.offset, offset)
				require.Equal(t, tc.unfinished, unfinished)
			}
		})
	}
}
