package session

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

// TestAGroupThatMovedIsFoundEitherWay: of both numbers the other is known, with
// the group's keys in slots of their own, until the group is forgotten.
func TestAGroupThatMovedIsFoundEitherWay(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		s, ctx := open(t, url), context.Background()
		first, now := -sessiontest.Chat(), -sessiontest.Chat()-1e12
		is := func(from, to int64) {
			t.Helper()
			got, err := s.First(ctx, now)
			require.NoError(t, err)
			require.Equal(t, from, got)
			got, err = s.Now(ctx, first)
			require.NoError(t, err)
			require.Equal(t, to, got)
		}
		is(now, first)
		for range 2 { // the platform says it in both chats
			begun, err := s.Moved(ctx, first, now)
			require.NoError(t, err)
			require.False(t, begun)
			is(first, now)
		}
		_, err := s.Moved(ctx, first, first)
		require.NoError(t, err)
		is(first, now)
		require.NoError(t, s.Forget(ctx, first))
		is(now, first)

		// Somebody wrote under the new number before it was known to be one.
		_, err = s.Commit(ctx, Turn{Update: 1, Key: Key{Chat: now, User: 7, Group: true}, Data: []byte("{}")})
		require.NoError(t, err)
		begun, err := s.Moved(ctx, first, now)
		require.NoError(t, err)
		require.True(t, begun)
		begun, err = s.Moved(ctx, first, now)
		require.NoError(t, err)
		require.False(t, begun, "said once")
	})
}

// TestAJobOnItsWayGivesNoLinksAway: a job that is being handed over waits in the outbox,
// and the export of it leaves the tokens of its shares out, as that of a job does.
func TestAJobOnItsWayGivesNoLinksAway(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		s, ctx, chat := open(t, url), context.Background(), sessiontest.Chat()
		_, err := s.Commit(ctx, Turn{Update: 1, Key: Key{Chat: chat}, Data: []byte("{}"), Say: [][]byte{
			[]byte(`{"reply":{"mail":{"hand":{"job":{"head":{"ref":"ACDFGH","shares":[{"token":"secret","role":"desk"}]}}}}}}`),
		}})
		require.NoError(t, err)
		held, err := s.Export(ctx, chat, 0)
		require.NoError(t, err)
		require.Len(t, held.Unsent, 1)
		require.Contains(t, string(held.Unsent[0].Data), "ACDFGH")
		require.NotContains(t, string(held.Unsent[0].Data), "secret")
	})
}
