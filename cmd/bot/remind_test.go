package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
	"sillbot/internal/telegram/telegramtest"
)

// testClock tells the program under test by which clock to remind people.
const testClock = "SILLBOT_TEST_CLOCK"

// byTestClock makes the program go by another clock and look often.
func byTestClock(text string) {
	if text == "" {
		return
	}
	at, err := time.Parse(time.RFC3339Nano, text)
	if err != nil {
		panic(err)
	}
	begun := time.Now()
	lookClock, lookEvery = func() time.Time { return at.Add(time.Since(begun)) }, 20*time.Millisecond
}

// eve is a Wednesday at nine in London, in winter and summer time alike, of which nothing has
// passed yet.
func eve() time.Time {
	at := time.Now().AddDate(0, 0, 7).UTC().Truncate(24 * time.Hour).Add(9 * time.Hour)
	for at.Weekday() != time.Wednesday {
		at = at.AddDate(0, 0, 1)
	}
	return at
}

// orders types a job of one window in each chat of which the frame comes on the day after eve.
func orders(ctx context.Context, r *rig, chats int) (list []int64) {
	lines := []string{
		"job", "England today bare none white 1204 1202 1203 1050 1052 1051 1596 1597 level left arch bedroom first 900 4-20-4 no",
		"the desk decides the rest", "send", "confirmed 1 by phone, Anna at the works, order 4711, " + eve().AddDate(0, 0, 1).Format("2 January 2006"),
	}
	for range chats {
		chat := sessiontest.Chat()
		list = append(list, chat)
		for _, line := range lines {
			r.server.Type(chat, line)
		}
	}
	for _, chat := range list {
		_, err := r.server.WaitText(ctx, chat, 1, "order 4711")
		require.NoError(r.t, err, "%s", tail(r.p.log))
	}
	return list
}

// ordered is a rig on a real Redis whose program has ended after some chats had ordered.
func ordered(t *testing.T) (r *rig, ctx context.Context, chats []int64) {
	t.Helper()
	if os.Getenv("SILLBOT_REAL_REDIS") == "" {
		t.Skip("SILLBOT_REAL_REDIS is not set")
	}
	r, ctx = newRig(t, false), within(t, 5*time.Minute)
	r.start(ctx)
	chats = orders(ctx, r, 8)
	r.kill()
	return r, ctx, chats
}

// reminders are those that a chat got, without a second copy of which nobody could know.
func (r *rig) reminders(chat int64) int {
	n := 0
	var last telegramtest.Sent
	for _, m := range r.server.Sent(chat) {
		if !strings.Contains(m.Text, "Reminder") || !strings.Contains(m.Text, "Delivery tomorrow") {
			continue
		}
		if n == 0 || !r.excused(last, m) {
			n++
		}
		last = m
	}
	return n
}

// allReminded waits until each chat has a reminder.
func (r *rig) allReminded(ctx context.Context, chats []int64) {
	r.t.Helper()
	require.NoError(r.t, r.wait(ctx, func() bool {
		for _, chat := range chats {
			if r.reminders(chat) == 0 {
				return false
			}
		}
		return true
	}), "%s", tail(r.p.log))
}

// killed kills the program and starts it three minutes later by its clock, so that a chat that
// the dead one had in hand is anybody's.
func (r *rig) killed(ctx context.Context) {
	r.kill()
	r.clock = r.clock.Add(3 * time.Minute)
	r.start(ctx)
}

// Each chat gets its reminder, and gets it once, though the program dies at any moment of
// looking and sending: between the commit and the call, and wherever it falls.
func TestRemindersUnderKill(t *testing.T) {
	t.Parallel() // it waits, on servers of its own
	r, ctx, chats := ordered(t)

	// The first call of a reminder is cut off before the platform takes it, and the program
	// dies before it tries again.
	var cut atomic.Int64
	at := make(chan struct{})
	r.server.FailWhen(func(c telegramtest.Call) *telegramtest.Fault {
		if !strings.HasPrefix(c.Method, "send") || cut.Add(1) > 1 {
			return &telegramtest.Fault{Delay: rand.N(10 * time.Millisecond)}
		}
		close(at)
		return &telegramtest.CutBefore
	})
	r.clock = eve()
	r.start(ctx)
	select {
	case <-at:
	case <-ctx.Done():
		t.Fatal(tail(r.p.log))
	}
	for range 10 {
		r.killed(ctx)
		time.Sleep(rand.N(150 * time.Millisecond))
	}
	r.killed(ctx)
	r.allReminded(ctx, chats)
	r.server.FailWhen(nil)
	r.clock = r.clock.Add(2 * time.Hour)
	r.killed(ctx) // nothing is said again, neither in the afternoon nor the day after
	last := sessiontest.Chat()
	r.server.Type(last, "hello")
	_, err := r.server.WaitSent(ctx, last, 1)
	require.NoError(t, err)
	for _, chat := range chats {
		require.Equal(t, 1, r.reminders(chat), fmt.Sprint("chat ", chat))
	}
}

// Two programs on one Redis say each reminder once between them.
func TestRemindersOfTwoPrograms(t *testing.T) {
	t.Parallel() // it waits, on servers of its own
	r, ctx, chats := ordered(t)
	r.clock = eve()
	r.start(ctx)
	env := r.env()
	env["LISTEN"] = fmt.Sprintf("127.0.0.1:%d", sessiontest.Port(t))
	second := launch(t, env, "serve")
	require.NoError(t, second.ready(ctx), "%s", second.log)
	r.allReminded(ctx, chats)
	for _, chat := range chats {
		require.Equal(t, 1, r.reminders(chat))
	}
	second.terminate(t)
}
