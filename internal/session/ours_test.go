package session

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

// Two turns of a group that both change its own conversation as it was: the second is
// stale, and nothing of it is written, also where it was put off before.
func TestAGroupsOwnConversationDecides(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		own := Key{Chat: -sessiontest.Chat()}
		turn := func(user int64, ref string, from Conversation) Turn {
			return Turn{
				Update: user, Key: Key{Chat: own.Chat, User: user, Group: true}, Data: []byte("of " + ref), Say: say(ref),
				Job:  JobChange{Ref: ref, Write: []Part{{Data: []byte("job")}}},
				Ours: &Ours{From: from, Data: []byte("ours " + ref)}, Owner: "me", Lease: lease,
			}
		}
		none := load(t, s, own)
		require.Equal(t, Committed, commit(t, s, turn(1, "ACDFGH", none)).Outcome)
		require.Equal(t, "ours ACDFGH", string(load(t, s, own).Data))
		require.Equal(t, Duplicate, commit(t, s, turn(1, "ACDFGH", none)).Outcome)

		plain := turn(4, "CCDFGH", none)
		plain.Job, plain.Forget = JobChange{}, true
		require.Equal(t, Committed, commit(t, s, plain).Outcome)
		require.Equal(t, "ours ACDFGH", string(load(t, s, own).Data), "a turn that forgets leaves it alone")

		late := turn(2, "BCDFGH", none)
		require.Equal(t, Stale, commit(t, s, late).Outcome)
		_, err := s.PutOff(ctx, PutOff{Update: 3, Chat: own.Chat, Data: []byte("u"), Room: 9, Owner: "me", Lease: lease})
		require.NoError(t, err)
		waited := turn(3, "BCDFGH", none)
		waited.WasPutOff = true
		require.Equal(t, Stale, commit(t, s, waited).Outcome)
		_, waits, err := s.NextPutOff(ctx, own.Chat)
		require.NoError(t, err)
		require.True(t, waits)
		heads, err := s.JobHeads(ctx, own.Chat)
		require.NoError(t, err)
		require.Len(t, heads, 1)
		require.Nil(t, load(t, s, late.Key).Data)
		require.Equal(t, "ours ACDFGH", string(load(t, s, own).Data))

		waited.Ours.From = load(t, s, own)
		require.Equal(t, Committed, commit(t, s, waited).Outcome)
		require.Equal(t, "ours BCDFGH", string(load(t, s, own).Data))
		require.Greater(t, load(t, s, own).Rev, waited.Ours.From.Rev)
	})
}
