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
