package session

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

func TestAJobIsWrittenWithItsTurnOrNotAtAll(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, chat := context.Background(), sessiontest.Chat()
		k := Key{Chat: chat}
		j, err := s.LoadJob(ctx, chat, "ACDFGH")
		require.NoError(t, err)
		require.Zero(t, j.Rev)
		j.Data = []byte(`{"ref":"ACDFGH"}`)
		first := Turn{Update: 1, Key: k, Data: []byte(`{"v":1}`), Job: &j}
		r, err := s.Commit(ctx, first)
		require.NoError(t, err)
		require.Equal(t, Committed, r.Outcome)

		// Somebody who loaded the job before that is stale, even where the
		// conversation is another one of the same chat.
		other := Turn{Update: 2, Key: Key{Chat: chat, User: 7, Group: true}, Data: []byte(`{"v":2}`), Job: &j}
		r, err = s.Commit(ctx, other)
		require.NoError(t, err)
		require.Equal(t, Stale, r.Outcome)
		left, err := s.Load(ctx, other.Key)
		require.NoError(t, err)
		require.Nil(t, left.Data, "nothing of a stale turn is written")

		now, err := s.LoadJob(ctx, chat, "ACDFGH")
		require.NoError(t, err)
		require.Equal(t, `{"ref":"ACDFGH"}`, string(now.Data))
		now.Data = []byte(`{"ref":"ACDFGH","label":"x"}`)
		other.Job = &now
		r, err = s.Commit(ctx, other)
		require.NoError(t, err)
		require.Equal(t, Committed, r.Outcome)
	})
}

func TestLinksLeadToOneChatUntilTheyAreDropped(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, chat := context.Background(), sessiontest.Chat()
		require.NoError(t, s.PutLink(ctx, chat, "first-token-of-the-test", []byte("here"), time.Hour))
		require.NoError(t, s.PutLink(ctx, chat, "second-token-of-the-test", []byte("there"), time.Hour))
		data, err := s.Link(ctx, "first-token-of-the-test")
		require.NoError(t, err)
		require.Equal(t, "here", string(data))
		require.NoError(t, s.DropLink(ctx, "first-token-of-the-test"))
		data, err = s.Link(ctx, "first-token-of-the-test")
		require.NoError(t, err)
		require.Nil(t, data)

		// Deletion takes the links along, and the jobs.
		j := Job{Ref: "ACDFGH", Data: []byte(`{}`)}
		_, err = s.Commit(ctx, Turn{Update: 1, Key: Key{Chat: chat}, Data: []byte(`{}`), Job: &j})
		require.NoError(t, err)
		held, err := s.Export(ctx, chat, 0)
		require.NoError(t, err)
		require.Contains(t, held.Jobs, "ACDFGH")
		require.Len(t, held.Links, 2)
		require.NoError(t, s.Forget(ctx, chat))
		data, err = s.Link(ctx, "second-token-of-the-test")
		require.NoError(t, err)
		require.Nil(t, data)
		held, err = s.Export(ctx, chat, 0)
		require.NoError(t, err)
		require.Equal(t, Holding{Chat: chat}, held)
	})
}

func TestAdmission(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, user := context.Background(), sessiontest.Chat()
		is := func(want Standing) {
			t.Helper()
			as, err := s.Admitted(ctx, user)
			require.NoError(t, err)
			require.Equal(t, want, as)
		}
		is(Stranger)
		require.NoError(t, s.Admit(ctx, user, Guest))
		is(Guest)
		require.NoError(t, s.Admit(ctx, user, Mate))
		is(Mate)
		require.NoError(t, s.Admit(ctx, user, Guest))
		is(Mate)
		require.NoError(t, s.Dismiss(ctx, user))
		is(Stranger)
	})
}

// However many take a link at once, one has it.
func TestTakeLink(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, chat := context.Background(), sessiontest.Chat()
		token := fmt.Sprint("token of ", chat)
		require.NoError(t, s.PutLink(ctx, chat, token, []byte("here"), time.Hour))
		var got atomic.Int64
		var all sync.WaitGroup
		for range 20 {
			all.Go(func() {
				data, err := s.TakeLink(ctx, token)
				if err != nil {
					t.Error(err)
				}
				if string(data) == "here" {
					got.Add(1)
				}
			})
		}
		all.Wait()
		require.EqualValues(t, 1, got.Load())
		data, err := s.Link(ctx, token)
		require.NoError(t, err)
		require.Nil(t, data)
	})
}
