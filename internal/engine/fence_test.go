package engine

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"testing"
	"testing/synctest"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
)

// A process that was stopped in the middle of a send, with more in hand, sends that
// one and no other: it asks before each call.
func TestAStoppedProcessSendsNoMore(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		stop := make(chan struct{})
		var calls []string
		late := senderFunc(func(ctx context.Context, m Message) error {
			for part := range 3 { // of one reply
				if err := MaySend(ctx); err != nil {
					return &RetryError{Err: err}
				}
				calls = append(calls, fmt.Sprint(m.Reply.Text.Say["typed"], part))
				<-stop
			}
			return nil
		})
		a := open(late, Options{Lease: 50 * time.Millisecond}) // no Run, so nobody renews
		for id, text := range []string{"a", "b", "c"} {
			require.NoError(t, a.Take(ctx, typed(int64(id+1), 5, text)))
		}
		done := make(chan error)
		go func() { done <- a.Flush(ctx, 5) }()
		synctest.Wait()
		p := &post{}
		b := open(p, Options{})
		run(t, b)
		time.Sleep(time.Second)
		require.Equal(t, []string{"a", "b", "c"}, p.words(5))
		require.NoError(t, b.Take(ctx, typed(4, 5, "d")))
		time.Sleep(time.Second)
		close(stop)
		require.NoError(t, <-done)
		require.Equal(t, []string{"a0"}, calls, "the call that had begun")
		require.Equal(t, []string{"a", "b", "c", "d"}, p.words(5))
	})
}

// The one that went out twice is counted.
func TestALeaseLostIsCountedAsUnsure(t *testing.T) {
	for name, more := range map[string]bool{"all was sent": false, "more waits": true} {
		t.Run(name, func(t *testing.T) {
			still(t, func(t *testing.T, open func(Sender, Options) *Engine) { countsAsUnsure(t, open, more) })
		})
	}
}

func countsAsUnsure(t *testing.T, open func(Sender, Options) *Engine, more bool) {
	stop := make(chan struct{})
	a := open(&post{before: func(context.Context, Message, int) error { <-stop; return nil }}, Options{Lease: 50 * time.Millisecond})
	require.NoError(t, a.Take(ctx, typed(1, 5, "a")))
	done := make(chan error)
	go func() { done <- a.Flush(ctx, 5) }()
	synctest.Wait()
	p := &post{before: func(_ context.Context, m Message, _ int) error {
		if m.Reply.Text.Say["typed"] == "b" {
			return &RetryError{After: time.Hour, Err: errors.New("later")}
		}
		return nil
	}}
	b := open(p, Options{})
	run(t, b)
	time.Sleep(time.Second)
	require.Equal(t, []string{"a"}, p.words(5))
	if more {
		require.NoError(t, b.Take(ctx, typed(2, 5, "b")))
		time.Sleep(time.Second)
	}
	close(stop)
	require.NoError(t, <-done)
	require.EqualValues(t, 1, a.Unsure())
	require.Zero(t, b.Unsure())
}

// What was given up is told as it was noted, by whoever takes the box over, and is
// not tried again.
func TestWhatWasNotedIsNotSentAgain(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		lost := func(s dialog.State, in dialog.Input) (dialog.State, []dialog.Reply) {
			if in.Kind == dialog.Undelivered {
				return s, []dialog.Reply{{Text: phrase.Of("lost." + string(in.Lost.Why))}}
			}
			return count(s, in)
		}
		a := open(&post{}, Options{Step: lost, Lease: 50 * time.Millisecond})
		require.NoError(t, a.Take(ctx, typed(1, 5, "a")))
		box, err := a.store.Claim(ctx, 5, session.Lease{Owner: a.courier.owner, For: 50 * time.Millisecond}, 1)
		require.NoError(t, err)
		fence, err := a.store.Mark(ctx, 5, session.Mark{ID: "1.0", N: 1, What: string(dialog.Late)},
			session.Lease{Owner: a.courier.owner, For: 50 * time.Millisecond, Fence: box.Fence})
		require.NoError(t, err)
		require.NotZero(t, fence)
		// It died here.
		p := &post{}
		run(t, open(p, Options{Step: lost}))
		time.Sleep(time.Second)
		require.Equal(t, []string{"lost.late"}, p.words(5))
	})
}

// A chat whose entry is dated ahead, as after a clock was set back, is found, and
// its age grows.
func TestAnEntryDatedAheadIsAttendedTo(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		client := sessiontest.Still(t)
		open := func(sender Sender, o Options) *Engine {
			s, err := session.Over(ctx, client())
			require.NoError(t, err)
			t.Cleanup(func() { s.Close() })
			o.Step, o.Log = count, slog.New(slog.DiscardHandler)
			return New(s, sender, o)
		}
		reg := prometheus.NewRegistry()
		require.NoError(t, open(&post{}, Options{}).Take(ctx, typed(1, 5, "a")))
		ahead := time.Now().Add(time.Hour).UnixMilli()
		c := client()
		defer c.Close()
		require.NoError(t, c.HSet(ctx, "sb:{5}:p", 5, fmt.Sprintf("%d %d 0 gone 9 10000", ahead, ahead)).Err())
		p := &post{}
		run(t, open(p, Options{Metrics: reg}))
		time.Sleep(9 * time.Second)
		require.Empty(t, p.words(5), "it may be alive")
		require.Greater(t, metric(t, reg, "sillbot_outbox_oldest_seconds", ""), 4.0)
		time.Sleep(12 * time.Second)
		require.Equal(t, []string{"a"}, p.words(5))
	})
}

type senderFunc func(ctx context.Context, m Message) error

func (f senderFunc) Send(ctx context.Context, m Message) (Sent, error) { return Sent{}, f(ctx, m) }
