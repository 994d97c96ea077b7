package engine

import (
	"context"
	"errors"
	"log/slog"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
)

// reachTest is a bot whose platform reaches some chats and others not.
type reachTest struct {
	*forgetTest
	mu   sync.Mutex
	away map[int64]error
}

func newReachTest(t *testing.T, url string) *reachTest {
	r := &reachTest{forgetTest: &forgetTest{t: t, post: &post{}, store: store(t, url)}, away: map[int64]error{}}
	r.post.before = func(_ context.Context, m Message, _ int) error {
		r.mu.Lock()
		defer r.mu.Unlock()
		return r.away[m.Chat]
	}
	r.engine = New(r.store, r.post, Options{Rate: -1, Log: slog.New(slog.DiscardHandler), MaxWait: time.Millisecond, MaxAge: time.Millisecond})
	return r
}

// reach says how sending to a chat ends; nil: it arrives.
func (r *reachTest) reach(chat int64, err error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.away[chat] = err
}

// keys are the catalogue keys of what was said in a chat since before replies.
func (r *reachTest) keys(chat int64, before int) (keys []string) {
	for _, m := range r.post.sent(chat)[before:] {
		for _, line := range append([]phrase.Text{m.Reply.Text}, m.Reply.Text.Lines["lines"]...) {
			keys = append(keys, line.Key)
		}
	}
	return keys
}

func (r *reachTest) said(chat int64) int { return len(r.post.sent(chat)) }

func count1(list []string, want string) (n int) {
	for _, s := range list {
		if s == want {
			n++
		}
	}
	return n
}

var gone = &DropError{Err: errors.New("forbidden"), Gone: true}

// withDesk is a fitter whose order a desk has.
func (r *reachTest) withDesk() (fitter, desk person, ref string) {
	fitter, desk = person{sessiontest.Chat(), "Wren Hollow"}, person{sessiontest.Chat(), "Lou Fallow"}
	r.says(fitter, fitter.id, "job", "England today", aWindow, "the desk decides the rest", "send")
	r.says(desk, desk.id, "/start "+r.token(fitter.id))
	return fitter, desk, r.refs(fitter.id)[0]
}

// TestWhatIsNotDeliveredIsToldBack: who sent something to a chair that can't be
// reached is told once, and the chair gets what it missed when it writes again.
func TestWhatIsNotDeliveredIsToldBack(t *testing.T) {
	for name, tc := range map[string]struct {
		err  error
		said string
	}{
		"blocked": {gone, "reach.lost.gone"},
		"refused": {&DropError{Err: errors.New("bad request")}, "reach.lost.refused"},
		"too old": {errors.New("500"), "reach.lost.late"},
	} {
		t.Run(name, func(t *testing.T) {
			sessiontest.Each(t, func(t *testing.T, url string) {
				r := newReachTest(t, url)
				fitter, desk, ref := r.withDesk()
				j, _ := storedJob(t, r.engine, fitter.id, ref)
				require.Equal(t, 1, j.Had(desk.id), "the order arrived")

				r.reach(desk.id, tc.err)
				before := r.said(fitter.id)
				r.says(fitter, fitter.id, "name 1 bath", "send", "name 1 porch", "send")
				keys := r.keys(fitter.id, before)
				require.Equal(t, 1, count1(keys, tc.said), "once, not for each message: %v", keys)
				j, _ = storedJob(t, r.engine, fitter.id, ref)
				require.Equal(t, 1, j.Had(desk.id), "the revisions after it did not")
				require.True(t, empty(t, r.store, desk.id), "nothing waits for ever")

				r.reach(desk.id, nil)
				before, seen := r.said(fitter.id), r.said(desk.id)
				r.says(desk, desk.id, "hello")
				require.Equal(t, 1, count1(r.keys(desk.id, seen), "missed.told"))
				require.Equal(t, 1, count1(r.keys(desk.id, seen), "job.order.title"), "the order as it stands comes by itself")
				require.Equal(t, 1, count1(r.keys(fitter.id, before), "reach.back"))
				j, _ = storedJob(t, r.engine, fitter.id, ref)
				require.Equal(t, j.Order.Revision, j.Had(desk.id))
				seen = r.said(desk.id)
				r.says(desk, desk.id, "hello")
				require.NotContains(t, r.keys(desk.id, seen), "missed.told", "it is told once")
			})
		})
	}
}

// TestTheDeskIsToldOfAFitterOutOfReach: the sender is told whichever way the mail
// goes, also where the fitter's chat is a group that removed the bot.
func TestTheDeskIsToldOfAFitterOutOfReach(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		for _, group := range []bool{false, true} {
			r := newReachTest(t, url)
			fitter, desk := person{sessiontest.Chat(), "Wren Hollow"}, person{sessiontest.Chat(), "Lou Fallow"}
			chat := fitter.id
			if group {
				chat = -sessiontest.Chat()
			}
			r.says(fitter, chat, "job", "England today", aWindow, "the desk decides the rest", "send")
			r.says(desk, desk.id, "/start "+r.token(chat))
			r.reach(chat, gone)
			before := r.said(desk.id)
			r.says(desk, desk.id, "query 1 which side?", "price 1 310.50")
			require.Equal(t, 1, count1(r.keys(desk.id, before), "reach.lost.gone"))
			r.reach(chat, nil)
			before, seen := r.said(desk.id), r.said(chat)
			r.says(fitter, chat, "job")
			require.Equal(t, 1, count1(r.keys(chat, seen), "missed.told"))
			require.Equal(t, 1, count1(r.keys(desk.id, before), "reach.back.fitter"))
			seen = r.said(chat)
			r.says(fitter, chat, "job")
			require.NotContains(t, r.keys(chat, seen), "missed.told")
		}
	})
}

// TestToldBackHappensOnce: a process that dies between the telling and the
// removing leaves both to the next one, which tells nothing twice.
func TestToldBackHappensOnce(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		r := newReachTest(t, url)
		fitter, desk, ref := r.withDesk()
		m := Message{Chat: desk.id, Reply: dialog.Reply{Of: &dialog.Letter{From: fitter.id, Ref: ref}}}
		before := r.said(fitter.id)
		for range 2 {
			require.NoError(t, r.engine.turns.told(ctx, m, "77.0", dialog.Gone))
		}
		require.Equal(t, 1, stored(t, r.store, desk.id).Missed.Count)
		for _, chat := range []int64{desk.id, fitter.id} {
			require.NoError(t, r.engine.Flush(ctx, chat))
		}
		require.Equal(t, 1, count1(r.keys(fitter.id, before), "reach.lost.gone"))
	})
}

// TestForgottenStaysForgottenWhereNothingArrives: what can't be sent to somebody
// who had everything deleted begins no new record of them.
func TestForgottenStaysForgottenWhereNothingArrives(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		r := newReachTest(t, url)
		chat := sessiontest.Chat()
		require.NoError(t, r.engine.turns.told(ctx, Message{Chat: chat}, "1.0", dialog.Gone))
		c, err := r.store.Load(ctx, session.Key{Chat: chat})
		require.NoError(t, err)
		require.Nil(t, c.Data)
	})
}

// TestAnUnreadableChatOutOfReachComesToRest: the word that it can't be read is not
// sent to a chat that nothing reaches, which would end in a circle.
func TestAnUnreadableChatOutOfReachComesToRest(t *testing.T) {
	_, url := sessiontest.Mini(t)
	r := newReachTest(t, url)
	chat := sessiontest.Chat()
	_, err := r.store.Commit(ctx, session.Turn{Update: 1, Key: session.Key{Chat: chat}, Data: []byte("no conversation")})
	require.NoError(t, err)
	r.reach(chat, gone)
	r.take(typed(2, chat, "hello"))
	require.NoError(t, r.engine.Flush(ctx, chat))
	require.True(t, empty(t, r.store, chat))
	require.True(t, slices.Equal(r.keys(chat, 0), []string(nil)))
}
