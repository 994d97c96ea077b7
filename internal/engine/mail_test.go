package engine

import (
	"bytes"
	"encoding/json"
	"log/slog"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
)

// TestMailHappensOnceHoweverOftenItIsDelivered delivers the same piece of mail
// twice, as after a crash between delivery and removal.
func TestMailHappensOnceHoweverOftenItIsDelivered(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		from, to := sessiontest.Chat(), sessiontest.Chat()
		taken, s := 0, store(t, url)
		e := New(s, &post{}, Options{
			Rate: -1,
			Step: func(was dialog.State, in dialog.Input) (dialog.State, []dialog.Reply) {
				require.Equal(t, from, in.Mail.From, "who sent it is the engine's word, not the letter's")
				taken++
				was.Fails++
				return was, nil
			},
		})
		letter := dialog.Mail{From: 99, To: to, Ref: "X"}
		require.NoError(t, e.turns.deliver(ctx, from, "7.0", letter))
		require.NoError(t, e.turns.deliver(ctx, from, "7.0", letter))
		require.Equal(t, 2, taken, "the second step is made, and not written")
		require.Equal(t, 1, fails(t, s, to))
		require.NoError(t, e.turns.deliver(ctx, from, "7.1", letter))
		require.Equal(t, 2, fails(t, s, to))
	})
}

func fails(t *testing.T, s *session.Store, chat int64) int { return stored(t, s, chat).Fails }

func stored(t *testing.T, s *session.Store, chat int64) dialog.State {
	t.Helper()
	c, err := s.Load(ctx, session.Key{Chat: chat})
	require.NoError(t, err)
	var state dialog.State
	require.NoError(t, json.Unmarshal(c.Data, &state))
	return state
}

func TestMailIDsAreBelowZeroAndTellLettersApart(t *testing.T) {
	seen := map[int64]bool{}
	for from := range int64(50) {
		for _, item := range []string{"1.0", "1.1", "2.0", "-5.0"} {
			id := mailID(from, item)
			require.Negative(t, id)
			require.False(t, seen[id])
			seen[id] = true
			require.Equal(t, id, mailID(from, item))
		}
	}
}

// TestForgetLosesNothingThatComesAfter takes an update after the one that
// forgets, before the courier gets to it.
func TestForgetLosesNothingThatComesAfter(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		p, s := &post{}, store(t, url)
		e, other := New(s, p, Options{Rate: -1}), New(s, p, Options{Rate: -1})
		chat := sessiontest.Chat()
		in := func(id int64, text string) Update {
			return Update{ID: id, Chat: chat, User: chat, Input: dialog.Input{Kind: dialog.Typed, Text: text, Now: time.Now()}}
		}
		require.NoError(t, other.Take(ctx, in(1, "England today bare none white")))
		require.NoError(t, e.Take(ctx, in(5, "forget")))
		yes := yesForget(t, s, session.Key{Chat: chat})
		require.NoError(t, e.Take(ctx, in(2, yes)))
		require.NoError(t, other.Take(ctx, in(3, "Scotland tomorrow")))
		require.NoError(t, e.Take(ctx, in(2, yes)), "delivered again")
		require.NoError(t, other.Flush(ctx, chat))
		require.NoError(t, e.Flush(ctx, chat))
		h, err := s.Export(ctx, chat, 0)
		require.NoError(t, err)
		require.Len(t, h.Conversations, 1)
		require.Empty(t, h.Unsent)
		require.Len(t, p.sent(chat), 4, "each of the four was answered")
		var state dialog.State
		require.NoError(t, json.Unmarshal(h.Conversations[0].State, &state))
		var keys []string
		known := state.Hand.Known()
		for _, key := range known.InOrder() {
			keys = append(keys, known.Value(key))
		}
		require.Contains(t, keys, "scotland")
		require.NotContains(t, keys, "white", "what came before is gone")
		require.NoError(t, e.Take(ctx, in(1, "England today bare none white")))
		require.Equal(t, state.Hand, stored(t, s, chat).Hand, "nor does it come back")

		// Nothing comes after it.
		require.NoError(t, e.Take(ctx, in(6, "forget")))
		require.NoError(t, e.Take(ctx, in(4, yesForget(t, s, session.Key{Chat: chat}))))
		require.NoError(t, e.Flush(ctx, chat))
		require.NoError(t, other.Flush(ctx, chat))
		h, err = s.Export(ctx, chat, 0)
		require.NoError(t, err)
		require.Equal(t, session.Holding{Chat: chat}, h)
	})
}

// Mail finds room behind however many updates are put off.
func TestMailIsNeverRefused(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		s := store(t, url)
		e := New(s, &post{}, Options{Rate: 0.001, Burst: 1, Room: 5, Step: count, Log: slog.New(slog.DiscardHandler)})
		chat := sessiontest.Chat()
		for i := int64(1); i <= 10; i++ {
			require.NoError(t, e.Take(ctx, typed(i, chat, "x")))
		}
		require.NoError(t, e.turns.deliver(ctx, 99, "1.0", dialog.Mail{To: chat, Ref: "LETTER"}))
		h, err := s.Export(ctx, chat, 0)
		require.NoError(t, err)
		require.Len(t, h.Waiting, 6)
		require.Contains(t, string(h.Waiting[5].Data), "LETTER")
	})
}

// The log does not quote a job that can't be read.
func TestLogQuotesNoJob(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		var log bytes.Buffer
		p, s := &post{}, store(t, url)
		e := New(s, p, Options{Rate: -1, Log: slog.New(slog.NewTextHandler(&log, &slog.HandlerOptions{Level: slog.LevelDebug}))})
		chat := sessiontest.Chat()
		state, err := json.Marshal(dialog.State{Version: 1, Ref: "ACDFGH"})
		require.NoError(t, err)
		_, err = s.Commit(ctx, session.Turn{Update: 1, Key: session.Key{Chat: chat}, Data: state, Job: session.JobChange{
			Ref: "ACDFGH", Write: []session.Part{{Data: []byte(`{"v":1,"ref":"ACDFGH","began":"3 Weir Lane","address":"3 Weir Lane"}`)}},
		}})
		require.NoError(t, err)
		require.NoError(t, e.Take(ctx, typed(2, chat, "x")))
		require.Contains(t, log.String(), "job can't be read")
		require.Contains(t, log.String(), session.ErrBroken.Error())
		require.NotContains(t, log.String(), "Weir")
	})
}
