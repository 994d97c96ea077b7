package session

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

// What a chat was shown last is kept with the removal of the reply, each message once.
func TestShown(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		for _, tc := range []struct {
			chat int64
			most int
		}{{sessiontest.Chat(), shownAlone}, {-sessiontest.Chat(), shownGroup}} {
			show := func(n int, now Shown) Box {
				k := Key{Chat: tc.chat}
				r, err := s.Commit(ctx, Turn{Update: int64(n), Key: k, From: load(t, s, k), Data: []byte(`{}`), Say: say("q"), Owner: "me", Lease: lease})
				require.NoError(t, err)
				box, err := s.Remove(ctx, tc.chat, []string{r.Items[0].ID}, Lease{"me", lease, r.Fence}, 9, now)
				require.NoError(t, err)
				return box
			}
			require.Empty(t, show(1, Shown{Msg: 7, User: 3, Data: `{"k":"a b"}`}).Shown)
			require.Equal(t, []Shown{{7, 3, `{"k":"a b"}`}}, show(2, Shown{Msg: 8, Data: "x"}).Shown)
			require.Empty(t, show(3, Shown{}).Shown, "nothing was noted")
			require.Empty(t, show(4, Shown{Msg: 9, Data: "two\nlines"}).Shown)
			show(5, Shown{Msg: 7, User: 3, Data: "again"})
			got, err := s.Shown(ctx, tc.chat)
			require.NoError(t, err)
			require.Equal(t, []Shown{{7, 3, "again"}, {8, 0, "x"}}, got)
			held, err := s.Export(ctx, tc.chat, 3)
			require.NoError(t, err)
			require.Equal(t, []Shown{{7, 3, "again"}}, held.Shown)
			for i := range 20 {
				show(10+i, Shown{Msg: int64(100 + i), Data: fmt.Sprint(i)})
			}
			got, err = s.Shown(ctx, tc.chat)
			require.NoError(t, err)
			require.Len(t, got, tc.most)
			require.Equal(t, Shown{119, 0, "19"}, got[0])

			k := Key{Chat: tc.chat}
			_, err = s.Commit(ctx, Turn{Update: 99, Key: k, From: load(t, s, k), Forget: true})
			require.NoError(t, err)
			got, err = s.Shown(ctx, tc.chat)
			require.NoError(t, err)
			require.Empty(t, got)
			show(100, Shown{Msg: 5, Data: "y"})
			require.NoError(t, s.Forget(ctx, tc.chat))
			got, err = s.Shown(ctx, tc.chat)
			require.NoError(t, err)
			require.Empty(t, got)
		}
	})
}
