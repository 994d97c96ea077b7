package session

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

// Whoever had the lease before somebody else has lost it for good, also when the
// other is done and the box was empty in between.
func TestAnOldFenceDoesNothing(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		k := Key{Chat: sessiontest.Chat()}
		commit(t, s, Turn{Update: 1, Key: k, Data: []byte("1"), Say: say("a", "b"), Owner: "sleeper", Lease: 40 * time.Millisecond})
		old := hold(k.Chat, "sleeper")
		require.Eventually(t, func() bool {
			box, err := claim(s, k.Chat, "you", 9)
			return err == nil && box.Fence != 0
		}, time.Minute, 5*time.Millisecond)
		require.Greater(t, hold(k.Chat, "you").Fence, old.Fence)
		nothing := func(left ...string) {
			t.Helper()
			box, err := s.Remove(ctx, k.Chat, []string{"1.0"}, old, 9, Shown{})
			require.NoError(t, err)
			require.Zero(t, box.Fence)
			fence, err := s.Mark(ctx, k.Chat, Mark{ID: "1.0", N: 1, What: "late"}, old)
			require.NoError(t, err)
			require.Zero(t, fence)
			lost, err := s.Renew(ctx, map[int64]Lease{k.Chat: old})
			require.NoError(t, err)
			require.Equal(t, []int64{k.Chat}, lost)
			require.NoError(t, s.Release(ctx, k.Chat, old))
			box, err = claim(s, k.Chat, "you", 9)
			require.NoError(t, err)
			require.Equal(t, left, texts(box.Items))
			require.Equal(t, Mark{}, box.Mark)
		}
		nothing("a", "b")
		box, err := remove(s, k.Chat, []string{"1.0", "1.1"}, "you", 0)
		require.NoError(t, err)
		require.True(t, box.Empty)
		// The same owner has the lease again, of another box.
		r := commit(t, s, Turn{Update: 2, Key: k, From: load(t, s, k), Say: say("c"), Owner: "sleeper", Lease: lease})
		require.Greater(t, r.Fence, old.Fence)
		require.NoError(t, s.Release(ctx, k.Chat, hold(k.Chat, "sleeper")))
		_, err = claim(s, k.Chat, "you", 9)
		require.NoError(t, err)
		nothing("c")
	})
}

func TestAFenceStaysWithItsOwner(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		k := Key{Chat: sessiontest.Chat()}
		first := commit(t, s, Turn{Update: 1, Key: k, Say: say("a"), Owner: "me", Lease: lease}).Fence
		require.Equal(t, first, commit(t, s, Turn{Update: 2, Key: k, Say: say("b"), Owner: "me", Lease: lease}).Fence)
		lost, err := s.Renew(context.Background(), map[int64]Lease{k.Chat: hold(k.Chat, "me")})
		require.NoError(t, err)
		require.Empty(t, lost)
		box, err := remove(s, k.Chat, []string{"1.0"}, "me", 9)
		require.NoError(t, err)
		require.Equal(t, first, box.Fence)
		require.NoError(t, s.Release(context.Background(), k.Chat, hold(k.Chat, "me")))
		box, err = claim(s, k.Chat, "you", 9)
		require.NoError(t, err)
		require.Greater(t, box.Fence, first)
	})
}

// What became of a reply is noted once, and whoever takes the box over finds it.
func TestAMarkOutlivesItsOwner(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		k := Key{Chat: sessiontest.Chat()}
		commit(t, s, Turn{Update: 1, Key: k, Data: []byte("1"), Say: say("a", "b"), Owner: "me", Lease: lease})
		fence, err := s.Mark(ctx, k.Chat, Mark{ID: "1.1", N: 1, What: "late"}, hold(k.Chat, "me"))
		require.NoError(t, err)
		require.Zero(t, fence, "it is not at the head")
		m := Mark{ID: "1.0", N: 2, What: "late"}
		fence, err = s.Mark(ctx, k.Chat, m, hold(k.Chat, "me"))
		require.NoError(t, err)
		require.Equal(t, hold(k.Chat, "me").Fence, fence)
		commit(t, s, Turn{Update: 2, Key: k, From: load(t, s, k), Say: say("c"), Owner: "me", Lease: lease})
		require.NoError(t, s.Release(ctx, k.Chat, hold(k.Chat, "me")))
		commit(t, s, Turn{Update: 3, Key: k, From: load(t, s, k), Say: say("d")})
		box, err := claim(s, k.Chat, "you", 9)
		require.NoError(t, err)
		require.Equal(t, m, box.Mark)
		box, err = remove(s, k.Chat, []string{"1.0", "1.1"}, "you", 9)
		require.NoError(t, err)
		require.Equal(t, []string{"c", "d"}, texts(box.Items))
		require.Equal(t, Mark{}, box.Mark, "it went with what it was about")
	})
}

// put writes an entry of the index by hand.
func put(t testing.TB, s *Store, chat int64, entry string) {
	t.Helper()
	require.NoError(t, s.rdb.HSet(context.Background(), indexKey(bucketOf(chat)), chat, entry).Err())
}

// serverTime is the clock by which leases run out.
func serverTime(t testing.TB, s *Store) time.Time {
	t.Helper()
	at := time.Now()
	if c, ok := s.rdb.(*redis.Client); ok {
		now, err := c.Time(context.Background()).Result()
		require.NoError(t, err)
		at = now
	}
	return at
}

// An entry that stands an hour ahead, as after the clock of Redis was set back, is
// believed for as long as a lease is long, and no longer.
func TestALeaseIsNotBelievedLongerThanItIs(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ahead := serverTime(t, s).Add(time.Hour).UnixMilli()
		for name, entry := range map[string]string{
			"with its length": fmt.Sprintf("%d %d 0 gone 7 100", ahead, ahead),
			"of before":       fmt.Sprintf("%d %d 0 gone", ahead, ahead),
		} {
			t.Run(name, func(t *testing.T) {
				k := Key{Chat: sessiontest.Chat()}
				commit(t, s, Turn{Update: 1, Key: k, Say: say("a")})
				put(t, s, k.Chat, entry)
				short := Lease{Owner: "me", For: 100 * time.Millisecond}
				box, err := s.Claim(context.Background(), k.Chat, short, 9)
				require.NoError(t, err)
				require.Zero(t, box.Fence, "whoever has it may be alive")
				require.LessOrEqual(t, box.Free, 100*time.Millisecond)
				require.Eventually(t, func() bool {
					box, err := s.Claim(context.Background(), k.Chat, short, 9)
					return err == nil && box.Fence != 0 && len(box.Items) == 1
				}, 10*time.Second, 5*time.Millisecond)
			})
		}
	})
}

// A turn does as much, so that a chat in which somebody writes need not wait for a
// sweep.
func TestATurnCutsALeaseThatStandsAhead(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		k := Key{Chat: sessiontest.Chat()}
		ahead := serverTime(t, s).Add(time.Hour).UnixMilli()
		put(t, s, k.Chat, fmt.Sprintf("%d %d 0 gone 7 50", ahead, ahead))
		require.Zero(t, commit(t, s, Turn{Update: 1, Key: k, Say: say("a"), Owner: "me", Lease: lease}).Fence)
		next := int64(1)
		require.Eventually(t, func() bool {
			next++
			return commit(t, s, Turn{Update: next, Key: k, Say: say("b"), Owner: "me", Lease: lease}).Fence > 7
		}, 10*time.Second, 5*time.Millisecond)
	})
}

// The entries that a program of before wrote, and one that gave its lease back.
func TestEntriesOfBefore(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		now := serverTime(t, s)
		for name, c := range map[string]struct {
			till  time.Time
			owner string
			held  bool
		}{
			"held":    {now.Add(5 * time.Second), "other", false},
			"ran out": {now.Add(-time.Second), "other", true},
			"free":    {time.UnixMilli(0), "", true},
		} {
			t.Run(name, func(t *testing.T) {
				k := Key{Chat: sessiontest.Chat()}
				commit(t, s, Turn{Update: 1, Key: k, Say: say("a")})
				put(t, s, k.Chat, fmt.Sprintf("%d %d 0 %s", now.UnixMilli(), c.till.UnixMilli(), c.owner))
				box, err := claim(s, k.Chat, "me", 9)
				require.NoError(t, err)
				require.Equal(t, c.held, box.Fence != 0)
			})
		}
	})
}
