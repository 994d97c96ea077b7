package session

import (
	"context"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/session/sessiontest"
)

func TestOutboxNeedsTheLease(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		k := Key{Chat: sessiontest.Chat()}
		commit(t, s, Turn{Update: 1, Key: k, Data: []byte("1"), Say: say("a", "b", "c"), Owner: "me", Lease: lease})

		box, err := claim(s, k.Chat, "you", 10)
		require.NoError(t, err)
		require.Zero(t, box.Fence)
		require.Greater(t, box.Free, lease/2)
		box, err = remove(s, k.Chat, []string{"1.0"}, "you", 10)
		require.NoError(t, err)
		require.Zero(t, box.Fence)

		box, err = remove(s, k.Chat, []string{"1.1"}, "me", 10)
		require.NoError(t, err)
		require.Equal(t, []string{"a", "b", "c"}, texts(box.Items), "only the head goes")
		box, err = remove(s, k.Chat, []string{"1.0"}, "me", 1)
		require.NoError(t, err)
		require.Equal(t, 2, box.Left)
		require.Equal(t, []string{"b"}, texts(box.Items))
		box, err = remove(s, k.Chat, []string{"1.0"}, "me", 0)
		require.NoError(t, err)
		require.Equal(t, 2, box.Left, "removed once")
		require.Empty(t, box.Items)

		lost, err := s.Renew(ctx, map[int64]Lease{k.Chat: hold(k.Chat, "you")})
		require.NoError(t, err)
		require.Equal(t, []int64{k.Chat}, lost)
		lost, err = s.Renew(ctx, map[int64]Lease{k.Chat: hold(k.Chat, "me")})
		require.NoError(t, err)
		require.Empty(t, lost)

		require.NoError(t, s.Release(ctx, k.Chat, hold(k.Chat, "you")))
		box, err = claim(s, k.Chat, "you", 10)
		require.NoError(t, err)
		require.Zero(t, box.Fence, "only the owner gives it back")
		require.NoError(t, s.Release(ctx, k.Chat, hold(k.Chat, "me")))
		box, err = claim(s, k.Chat, "you", 10)
		require.NoError(t, err)
		require.NotZero(t, box.Fence)

		_, err = remove(s, k.Chat, []string{"1.1"}, "you", 0)
		require.NoError(t, err)
		box, err = remove(s, k.Chat, []string{"1.2"}, "you", 10)
		require.NoError(t, err)
		require.True(t, box.Empty)
		// The lease went with the last reply.
		require.NotZero(t, commit(t, s, Turn{Update: 2, Key: k, From: load(t, s, k), Say: say("d"), Owner: "me", Lease: lease}).Fence)
	})
}

// Sending took longer than the lease, but nobody else came.
// Replies that went out as one are removed together, and of those that someone
// else has removed meanwhile nothing else goes.
func TestSeveralAreRemovedAtOnce(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		s, k, lease := open(t, url), Key{Chat: sessiontest.Chat()}, time.Minute
		commit(t, s, Turn{Update: 1, Key: k, Data: []byte("1"), Say: say("a", "b", "c", "d"), Owner: "me", Lease: lease})
		box, err := remove(s, k.Chat, []string{"1.0", "1.1"}, "you", 10)
		require.NoError(t, err)
		require.Zero(t, box.Fence)
		box, err = remove(s, k.Chat, []string{"1.0", "1.1"}, "me", 10)
		require.NoError(t, err)
		require.Equal(t, []string{"c", "d"}, texts(box.Items))
		box, err = remove(s, k.Chat, []string{"1.0", "1.1"}, "me", 10)
		require.NoError(t, err)
		require.Equal(t, []string{"c", "d"}, texts(box.Items), "removed once")
		box, err = remove(s, k.Chat, []string{"1.1", "1.2"}, "me", 10)
		require.NoError(t, err)
		require.Equal(t, []string{"d"}, texts(box.Items), "the first of the two was gone")
		box, err = remove(s, k.Chat, []string{"1.3"}, "me", 10)
		require.NoError(t, err)
		require.True(t, box.Empty)
	})
}

func TestRemoveAfterTheLease(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		k := Key{Chat: sessiontest.Chat()}
		commit(t, s, Turn{Update: 1, Key: k, Data: []byte("1"), Say: say("a", "b", "c"), Owner: "me", Lease: lease})
		require.NoError(t, s.Release(ctx, k.Chat, hold(k.Chat, "me")))
		box, err := remove(s, k.Chat, []string{"1.0"}, "me", 9)
		require.NoError(t, err)
		require.NotZero(t, box.Fence)
		require.Equal(t, []string{"b", "c"}, texts(box.Items))
		box, err = claim(s, k.Chat, "you", 9)
		require.NoError(t, err)
		require.Zero(t, box.Fence, "it is ours again")

		// Someone else came, sent the reply and went.
		require.NoError(t, s.Release(ctx, k.Chat, hold(k.Chat, "me")))
		_, err = claim(s, k.Chat, "you", 9)
		require.NoError(t, err)
		_, err = remove(s, k.Chat, []string{"1.1"}, "you", 9)
		require.NoError(t, err)
		require.NoError(t, s.Release(ctx, k.Chat, hold(k.Chat, "you")))
		box, err = remove(s, k.Chat, []string{"1.1", "1.2"}, "me", 9)
		require.NoError(t, err)
		require.Equal(t, Box{}, box, "what another had in between is no longer ours, though it is free")
		box, err = claim(s, k.Chat, "me", 9)
		require.NoError(t, err)
		require.Equal(t, []string{"c"}, texts(box.Items))
	})
}

func TestLeaseRunsOut(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		k := Key{Chat: sessiontest.Chat()}
		commit(t, s, Turn{Update: 1, Key: k, Data: []byte("1"), Say: say("a"), Owner: "dead", Lease: 60 * time.Millisecond})
		require.Eventually(t, func() bool {
			box, err := claim(s, k.Chat, "me", 10)
			return err == nil && box.Fence != 0 && len(box.Items) == 1
		}, time.Minute, 10*time.Millisecond)
		box, err := remove(s, k.Chat, []string{"1.0"}, "dead", 10)
		require.NoError(t, err)
		require.Zero(t, box.Fence, "whoever comes back late can't remove")
	})
}

// A process that died after its commit is found out by the second delivery.
func TestDuplicateTakesUpWhatWaits(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		k := Key{Chat: sessiontest.Chat()}
		turn := Turn{Update: 1, Key: k, Data: []byte("1"), Say: say("a")}
		commit(t, s, turn) // without a lease, as if it had run out
		turn.Owner, turn.Lease = "me", lease
		r := commit(t, s, turn)
		require.NotZero(t, r.Fence)
		require.Equal(t, Result{Outcome: Duplicate, Fence: r.Fence, Ahead: 1}, r)
		_, err := remove(s, k.Chat, []string{"1.0"}, "me", 0)
		require.NoError(t, err)
		require.Equal(t, Result{Outcome: Duplicate}, commit(t, s, turn))
	})
}

func TestPending(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		waits := func(chat int64) bool {
			found, err := s.Pending(ctx)
			require.NoError(t, err)
			return slices.ContainsFunc(found, func(p Pending) bool {
				return p.Chat == chat && time.Since(p.Since) < time.Minute && time.Until(p.Since) < time.Minute
			})
		}
		k := Key{Chat: -sessiontest.Chat()}
		commit(t, s, Turn{Update: 1, Key: k, Data: []byte("1")})
		require.False(t, waits(k.Chat), "it said nothing")
		commit(t, s, Turn{Update: 2, Key: k, From: load(t, s, k), Say: say("a", "b"), Owner: "me", Lease: lease})
		require.Eventually(t, func() bool { return waits(k.Chat) }, time.Minute, time.Millisecond)
		_, err := remove(s, k.Chat, []string{"2.0"}, "me", 0)
		require.NoError(t, err)
		require.True(t, waits(k.Chat))
		_, err = remove(s, k.Chat, []string{"2.1"}, "me", 0)
		require.NoError(t, err)
		require.False(t, waits(k.Chat))
	})
}

func TestPutOff(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		k := Key{Chat: sessiontest.Chat()}
		put := func(id int64) Queued {
			q, err := s.PutOff(ctx, PutOff{
				Update: id, Chat: k.Chat, Data: fmt.Appendf(nil, "u%d", id), Room: 3,
				Slow: []byte("slow"), Full: []byte("full"), Owner: "me", Lease: lease,
			})
			require.NoError(t, err)
			require.NotZero(t, q.Fence)
			q.Fence = 0
			return q
		}
		require.Equal(t, Queued{Outcome: Committed, Said: true}, put(1))
		require.Equal(t, Queued{Outcome: Duplicate}, put(1))
		require.Equal(t, Queued{Outcome: Committed}, put(2))
		// One that comes directly must not overtake them.
		require.Equal(t, Behind, commit(t, s, Turn{Update: 9, Key: k, Data: []byte("9")}).Outcome)
		require.Equal(t, Duplicate, commit(t, s, Turn{Update: 2, Key: k, Data: []byte("2")}).Outcome)
		require.Equal(t, Queued{Outcome: Committed}, put(3))
		require.Equal(t, Queued{Outcome: Committed, Full: true, Said: true}, put(4))
		require.Equal(t, Queued{Outcome: Duplicate}, put(4), "refused for good")

		for id := int64(1); id <= 3; id++ {
			w, ok, err := s.NextPutOff(ctx, k.Chat)
			require.NoError(t, err)
			require.True(t, ok)
			require.Equal(t, id, w.Update)
			require.Equal(t, fmt.Sprintf("u%d", id), string(w.Data))
			turn := Turn{Update: id, Key: k, From: load(t, s, k), Data: []byte("x"), Say: say("r"), WasPutOff: true}
			stale := turn
			stale.From.Rev = 99
			require.Equal(t, Stale, commit(t, s, stale).Outcome)
			require.Equal(t, Committed, commit(t, s, turn).Outcome)
			require.Equal(t, Duplicate, commit(t, s, turn).Outcome)
		}
		_, ok, err := s.NextPutOff(ctx, k.Chat)
		require.NoError(t, err)
		require.False(t, ok)
		box, err := claim(s, k.Chat, "me", 10)
		require.NoError(t, err)
		require.Equal(t, []string{"slow", "full", "r", "r", "r"}, texts(box.Items))
		require.Equal(t, Committed, commit(t, s, Turn{Update: 9, Key: k, From: load(t, s, k), Data: []byte("9")}).Outcome)
	})
}

func TestPutOffChatIsPending(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		chat := sessiontest.Chat()
		_, err := s.PutOff(ctx, PutOff{Update: 1, Chat: chat, Data: []byte("u"), Room: 3, Owner: "me", Lease: lease})
		require.NoError(t, err)
		box, err := claim(s, chat, "me", 10)
		require.NoError(t, err)
		require.False(t, box.Empty)
		require.Equal(t, 1, box.PutOff)
		w, _, err := s.NextPutOff(ctx, chat)
		require.NoError(t, err)
		require.NoError(t, s.PutOffAside(ctx, chat, w, []byte(`"aside"`)))
		box, err = claim(s, chat, "me", 10)
		require.NoError(t, err)
		require.Equal(t, 0, box.PutOff)
		require.Equal(t, `"aside"`, string(box.Items[0].Data))
		box, err = remove(s, chat, []string{box.Items[0].ID}, "me", 10)
		require.NoError(t, err)
		require.True(t, box.Empty)
		found, err := s.Pending(ctx)
		require.NoError(t, err)
		require.NotContains(t, found, Pending{Chat: chat})
	})
}

// Any sequence of deliveries has the effect of each update once, in the order
// of the first time.
func TestDeliveriesProperty(t *testing.T) {
	_, url := sessiontest.Mini(t)
	s := open(t, url)
	rapid.Check(t, func(t *rapid.T) {
		ctx := context.Background()
		k := Key{Chat: sessiontest.Chat()}
		var want, got []string
		var before, last Conversation
		seen := map[int64]bool{}
		for _, id := range rapid.SliceOfN(rapid.Int64Range(1, 12), 1, 30).Draw(t, "ids") {
			loaded := last
			if rapid.Bool().Draw(t, "stale") {
				loaded = before
			}
			name := fmt.Sprint(id)
			r, err := s.Commit(ctx, Turn{Update: id, Key: k, From: loaded, Data: []byte(name), Say: say(name), Owner: "me", Lease: lease})
			if err != nil {
				t.Fatal(err)
			}
			wanted := Committed
			switch {
			case seen[id]:
				wanted = Duplicate
			case loaded.Rev != last.Rev:
				wanted = Stale
			default:
				seen[id] = true
				want = append(want, name)
				before, last = last, r.Now
			}
			if r.Outcome != wanted {
				t.Fatalf("update %d: outcome %d, want %d", id, r.Outcome, wanted)
			}
		}
		for {
			box, err := claim(s, k.Chat, "me", 4)
			if err != nil {
				t.Fatal(err)
			}
			if box.Empty {
				break
			}
			got = append(got, string(box.Items[0].Data))
			if _, err := remove(s, k.Chat, []string{box.Items[0].ID}, "me", 0); err != nil {
				t.Fatal(err)
			}
		}
		if !slices.Equal(want, got) {
			t.Fatalf("sent %v, want %v", got, want)
		}
	})
}

// What does not come from the platform has an id below zero.
func TestPutOffBelowZero(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		k := Key{Chat: sessiontest.Chat()}
		_, err := s.PutOff(ctx, PutOff{Update: -7, Chat: k.Chat, Data: []byte("u"), Room: 3, Owner: "me", Lease: lease})
		require.NoError(t, err)
		w, _, err := s.NextPutOff(ctx, k.Chat)
		require.NoError(t, err)
		require.EqualValues(t, -7, w.Update)
		require.Equal(t, Committed, commit(t, s, Turn{Update: -7, Key: k, Data: []byte("x"), WasPutOff: true}).Outcome)
		box, err := claim(s, k.Chat, "me", 9)
		require.NoError(t, err)
		require.True(t, box.Empty)
	})
}
