package session

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

// Of several turns the earliest look counts; a look takes the place of all. Whoever takes a
// chat that is due has it for a while, and after that another may.
func TestTheEarliestLookCounts(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		s := open(t, url)
		k := Key{Chat: sessiontest.Chat()}
		at := time.Date(2026, time.November, 25, 8, 0, 0, 0, time.UTC)
		var now Conversation
		commit := func(id int64, turn Turn) {
			t.Helper()
			turn.Update, turn.Key, turn.From = id, k, now
			if !turn.Forget {
				turn.Data = []byte("x")
			}
			r, err := s.Commit(t.Context(), turn)
			require.NoError(t, err)
			require.Equal(t, Committed, r.Outcome)
			now = r.Now
		}
		look := func() string {
			t.Helper()
			h, err := s.Export(t.Context(), k.Chat, 0)
			require.NoError(t, err)
			if h.Look == nil {
				return ""
			}
			return h.Look.UTC().Format(time.DateTime)
		}
		commit(1, Turn{Look: at.Add(time.Hour)})
		require.Equal(t, "2026-11-25 09:00:00", look(), "the first turn of an hour")
		commit(2, Turn{Look: at})
		require.Equal(t, "2026-11-25 09:00:00", look(), "within the hour it is left out")
		commit(3, Turn{Look: at, Must: true})
		require.Equal(t, "2026-11-25 08:00:00", look())
		commit(4, Turn{Look: at.Add(time.Hour), Must: true})
		require.Equal(t, "2026-11-25 08:00:00", look(), "the earliest counts")

		due, err := s.Due(t.Context(), at.Add(-time.Second))
		require.NoError(t, err)
		require.NotContains(t, due, k.Chat)
		due, err = s.Due(t.Context(), at)
		require.NoError(t, err)
		require.Contains(t, due, k.Chat)
		for _, try := range []struct {
			now  time.Time
			mine bool
		}{{at.Add(-time.Second), false}, {at, true}, {at, false}, {at.Add(59 * time.Second), false}, {at.Add(time.Minute), true}} {
			mine, err := s.TakeDue(t.Context(), k.Chat, try.now, time.Minute)
			require.NoError(t, err)
			require.Equal(t, try.mine, mine, "%v", try)
		}

		commit(5, Turn{Looked: true, Look: at.AddDate(0, 0, 7)})
		require.Equal(t, "2026-12-02 08:00:00", look())
		commit(6, Turn{Look: at.AddDate(0, 0, 1)})
		require.Equal(t, "2026-11-26 08:00:00", look(), "the first turn after a look says it anew")
		commit(7, Turn{Looked: true})
		require.Empty(t, look())
		ttl := s.rdb.TTL(t.Context(), k.conversation()).Val()
		require.NoError(t, s.rdb.Expire(t.Context(), k.conversation(), time.Hour).Err())
		commit(8, Turn{Looked: true, Look: at})
		require.Greater(t, ttl, time.Hour)
		require.LessOrEqual(t, s.rdb.TTL(t.Context(), k.conversation()).Val(), time.Hour, "a look keeps nothing for longer")
		require.Greater(t, s.rdb.TTL(t.Context(), k.conversation()).Val(), time.Minute)
		commit(9, Turn{Forget: true})
		require.Empty(t, look(), "forgotten")
		commit(10, Turn{Look: at, Must: true})
		require.NoError(t, s.Forget(t.Context(), k.Chat))
		require.Empty(t, look(), "forgotten by whoever runs the bot")
	})
}

// A look at a chat of which nothing is stored keeps it for as long as any turn does.
func TestALookThatBeginsAConversation(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		s := open(t, url)
		k := Key{Chat: -sessiontest.Chat()}
		r, err := s.Commit(t.Context(), Turn{Update: 1, Key: k, Data: []byte("x"), Looked: true})
		require.NoError(t, err)
		require.Equal(t, Committed, r.Outcome)
		require.Greater(t, s.rdb.TTL(t.Context(), k.conversation()).Val(), 24*time.Hour)
	})
}

// The heads of all jobs of a chat come without their windows, and one that can't be read
// takes no other with it.
func TestJobHeads(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		s := open(t, url)
		chat := sessiontest.Chat()
		heads, err := s.JobHeads(t.Context(), chat)
		require.NoError(t, err)
		require.Empty(t, heads)
		_, err = s.Commit(t.Context(), Turn{Update: 1, Key: Key{Chat: chat}, Job: JobChange{Ref: "ACDFGH", Write: []Part{{Data: []byte("head")}, {Window: 1, Data: []byte("window")}}}})
		require.NoError(t, err)
		require.NoError(t, s.rdb.HSet(t.Context(), key("j", chat), "BCDFGH", "rubbish").Err())
		heads, err = s.JobHeads(t.Context(), chat)
		require.NoError(t, err)
		require.Len(t, heads, 2)
		require.Equal(t, "head", string(heads["ACDFGH"].Data))
		require.ErrorIs(t, heads["BCDFGH"].Err, ErrBroken)
	})
}
