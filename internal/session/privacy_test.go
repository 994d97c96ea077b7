package session

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

func TestRetention(t *testing.T) {
	m, url := sessiontest.Mini(t)
	s := open(t, url)
	k := Key{Chat: 77, User: 8, Group: true}
	set := func(now time.Time) {
		m.SetTime(now)
		s.now = func() time.Time { return now }
	}
	start := time.Date(2025, 3, 1, 8, 0, 0, 0, time.UTC)
	set(start)
	last := commit(t, s, Turn{Update: 1, Key: k, Data: []byte("1")}).Now
	require.Equal(t, 90*24*time.Hour, m.TTL(k.conversation()))
	require.Equal(t, 90*24*time.Hour, m.TTL(key("m", 77)))
	require.Equal(t, 49*time.Hour, m.TTL(key("s", 77)))
	set(start.Add(59 * time.Minute)) // trimmed too short a while ago
	last = commit(t, s, Turn{Update: 2, Key: k, From: last, Data: []byte("2")}).Now

	// A mark lasts 48 h however many turns come between, and goes with a turn
	// after that.
	set(start.Add(47 * time.Hour))
	commit(t, s, Turn{Update: 3, Key: k, From: last})
	require.Equal(t, Duplicate, commit(t, s, Turn{Update: 1, Key: k, From: last}).Outcome)
	require.Equal(t, 90*24*time.Hour, m.TTL(k.conversation()), "a turn that changes nothing keeps it too")
	set(start.Add(48*time.Hour + 30*time.Minute))
	last = commit(t, s, Turn{Update: 4, Key: k, From: load(t, s, k), Data: []byte("3")}).Now
	marks, err := m.ZMembers(key("s", 77))
	require.NoError(t, err)
	require.ElementsMatch(t, []string{"2", "3", "4"}, marks)
	set(start.Add(49*time.Hour + 40*time.Minute))
	commit(t, s, Turn{Update: 5, Key: k, From: last, Data: []byte("4")})
	marks, err = m.ZMembers(key("s", 77))
	require.NoError(t, err)
	require.ElementsMatch(t, []string{"3", "4", "5"}, marks)
	set(start.Add(99 * time.Hour))
	require.False(t, m.Exists(key("s", 77)))
	require.True(t, m.Exists(k.conversation()))
	set(start.Add((50 + 90*24) * time.Hour))
	require.Empty(t, m.Keys(), "nothing stays for ever")
}

func TestKeepIsASetting(t *testing.T) {
	m, url := sessiontest.Mini(t)
	s := open(t, url)
	s.Keep.Conversation = 7 * 24 * time.Hour
	m.SetTime(time.Now())
	commit(t, s, Turn{Update: 1, Key: Key{Chat: 5}, Data: []byte("1")})
	require.Equal(t, 7*24*time.Hour, m.TTL(key("c", 5)))
}

func keysOf(t *testing.T, s *Store, chat int64) []string {
	t.Helper()
	return keysWhere(t, s, fmt.Sprintf("*%d*", chat), func(context.Context, *redis.Client, string) (bool, error) { return true, nil })
}

func TestExportAndForget(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		chat := -sessiontest.Chat()
		other := Key{Chat: sessiontest.Chat()}
		begun := time.Now()
		commit(t, s, Turn{Update: 1, Key: other, Data: []byte(`{"o":1}`), Say: say(`"other"`), Owner: "me", Lease: lease})
		for user := int64(1); user <= 3; user++ {
			k := Key{Chat: chat, User: user, Group: true}
			commit(t, s, Turn{Update: 10 + user, Key: k, Data: fmt.Appendf(nil, `{"user":%d}`, user), Say: say(`"hello"`), Owner: "me", Lease: lease})
		}
		_, err := s.PutOff(ctx, PutOff{Update: 20, Chat: chat, Data: []byte(`{"text":"1204"}`), Room: 9, Owner: "me", Lease: lease})
		require.NoError(t, err)
		require.NoError(t, s.Bury(ctx, fmt.Appendf(nil, `{"chat":{"id":%d},"new":1}`, chat)))
		require.NoError(t, s.Bury(ctx, fmt.Appendf(nil, `{"chat":{"id":%d1},"new":2}`, chat)))

		h, err := s.Export(ctx, chat, 0)
		require.NoError(t, err)
		require.Len(t, h.Conversations, 3)
		for _, c := range h.Conversations {
			require.JSONEq(t, fmt.Sprintf(`{"user":%d}`, c.User), string(c.State))
			// It is cut down to a second, and made by two clocks.
			require.False(t, c.Expires.Before(begun.Add(s.Keep.Conversation-2*time.Second)))
			require.False(t, c.Expires.After(time.Now().Add(s.Keep.Conversation+time.Second)))
		}
		require.Len(t, h.Unsent, 3)
		require.JSONEq(t, `"hello"`, string(h.Unsent[0].Data))
		require.Len(t, h.Waiting, 1)
		require.JSONEq(t, `{"text":"1204"}`, string(h.Waiting[0].Data))
		require.Len(t, h.Seen, 4)
		require.Len(t, h.Dead, 1)
		require.Contains(t, string(h.Dead[0].Data), `"new":1`)

		// One person of a group gets what is theirs and the group's, and can be
		// forgotten alone.
		two := Key{Chat: chat, User: 2, Group: true}
		h, err = s.Export(ctx, chat, 2)
		require.NoError(t, err)
		require.Len(t, h.Conversations, 1)
		require.JSONEq(t, `{"user":2}`, string(h.Conversations[0].State))
		h.Conversations = nil
		require.Equal(t, Holding{Chat: chat}, h, "nothing of the others")
		// The update that was put off goes first, so that the turn is no other's.
		next, _, err := s.NextPutOff(ctx, chat)
		require.NoError(t, err)
		require.EqualValues(t, 20, next.Update)
		r := commit(t, s, Turn{Update: 20, Key: two, From: load(t, s, two), Data: []byte("{}"), Say: say(`"forgotten"`), Forget: true, WasPutOff: true})
		require.Equal(t, Committed, r.Outcome)
		require.Equal(t, Conversation{}, r.Now)
		require.Equal(t, Conversation{}, load(t, s, two))
		h, err = s.Export(ctx, chat, 0)
		require.NoError(t, err)
		require.Len(t, h.Conversations, 2)

		was := load(t, s, Key{Chat: chat, User: 1, Group: true})
		require.NoError(t, s.Forget(ctx, chat))
		require.Empty(t, keysOf(t, s, chat))
		h, err = s.Export(ctx, chat, 0)
		require.NoError(t, err)
		require.Equal(t, Holding{Chat: chat}, h)
		found, err := s.Pending(ctx)
		require.NoError(t, err)
		require.False(t, slices.ContainsFunc(found, func(p Pending) bool { return p.Chat == chat }))
		box, err := remove(s, chat, []string{"11.0"}, "me", 9)
		require.NoError(t, err)
		require.True(t, box.Empty, "a sender in the middle of it writes nothing back")
		require.Empty(t, keysOf(t, s, chat))

		// A turn that was loaded before begins again from nothing.
		require.Equal(t, Stale, commit(t, s, Turn{Update: 30, Key: Key{Chat: chat, User: 1, Group: true}, From: was, Data: []byte("{}")}).Outcome)
		// Nor is a new conversation taken for the old one, at whatever revision.
		again := commit(t, s, Turn{Update: 30, Key: Key{Chat: chat, User: 1, Group: true}, Data: []byte("new")})
		require.Equal(t, Committed, again.Outcome)
		require.NotEqual(t, was.Rev, again.Now.Rev)
		require.NoError(t, s.Forget(ctx, chat))
		// Others are as they were.
		require.Equal(t, `{"o":1}`, string(load(t, s, other).Data))
		require.True(t, slices.ContainsFunc(dead(t, s), func(raw string) bool { return strings.Contains(raw, fmt.Sprintf("%d1}", chat)) }))
		require.NoError(t, s.Forget(ctx, other.Chat))
	})
}

// A turn that forgets deletes what was there before it, and not what comes
// after it, however late the rest is done.
func TestForgetLeavesWhatComesAfter(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		k := Key{Chat: sessiontest.Chat()}
		first := commit(t, s, Turn{Update: 1, Key: k, Data: []byte(`"old"`), Job: headOf("ACDFGH", []byte(`{}`))})
		gone := commit(t, s, Turn{Update: 2, Key: k, From: first.Now, Data: []byte(`"reset"`), Say: say("forget"), Forget: true, Owner: "me", Lease: lease})
		require.Equal(t, Committed, gone.Outcome)
		h, err := s.Export(ctx, k.Chat, 0)
		require.NoError(t, err)
		require.Empty(t, h.Conversations)
		require.Empty(t, h.Jobs)
		require.Equal(t, Stale, commit(t, s, Turn{Update: 3, Key: k, From: first.Now, Data: []byte("x")}).Outcome)

		after := commit(t, s, Turn{Update: 3, Key: k, Data: []byte(`"new"`), Say: say("welcome"), Job: headOf("ACDFGJ", []byte(`{}`))})
		require.Equal(t, Committed, after.Outcome)
		_, err = s.PutOff(ctx, PutOff{Update: 4, Chat: k.Chat, Data: []byte(`"u"`), Room: 3})
		require.NoError(t, err)
		for range 2 { // as after a crash before the reply was removed
			require.NoError(t, s.ForgetRest(ctx, k.Chat))
		}
		box, err := remove(s, k.Chat, []string{"2.0"}, "me", 9)
		require.NoError(t, err)
		require.Equal(t, []string{"welcome"}, texts(box.Items))
		require.Equal(t, 1, box.PutOff)
		require.Equal(t, after.Now.Data, load(t, s, k).Data)
		h, err = s.Export(ctx, k.Chat, 0)
		require.NoError(t, err)
		require.Contains(t, h.Jobs, "ACDFGJ")
		require.Len(t, h.Seen, 4)
		require.Equal(t, Duplicate, commit(t, s, Turn{Update: 2, Key: k, From: after.Now, Forget: true}).Outcome, "nor is it forgotten once more")
	})
}

// With nothing after it, nothing at all is left.
func TestForgetLeavesNothingElse(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		k := Key{Chat: sessiontest.Chat()}
		require.NoError(t, s.Bury(ctx, fmt.Appendf(nil, `{"chat":{"id":%d}}`, k.Chat)))
		require.NoError(t, s.PutLink(ctx, k.Chat, fmt.Sprint("token of ", k.Chat), []byte("here"), time.Hour))
		first := commit(t, s, Turn{Update: 1, Key: k, Data: []byte(`"old"`), Job: headOf("ACDFGH", []byte(`{}`))})
		commit(t, s, Turn{Update: 2, Key: k, From: first.Now, Say: say("forget"), Forget: true, Owner: "me", Lease: lease})
		require.NoError(t, s.ForgetRest(ctx, k.Chat))
		box, err := remove(s, k.Chat, []string{"2.0"}, "me", 9)
		require.NoError(t, err)
		require.True(t, box.Empty)
		require.Empty(t, keysOf(t, s, k.Chat))
		h, err := s.Export(ctx, k.Chat, 0)
		require.NoError(t, err)
		require.Equal(t, Holding{Chat: k.Chat}, h)
	})
}

// Who has a share's token can sit down, so it goes into no file.
func TestExportKeepsTokens(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		k := Key{Chat: -sessiontest.Chat(), User: 1, Group: true}
		data := `{"ref":"ACDFGH","token":"a word","width":1203.50,"shares":[{"token":"S3CRET","role":"lead","used_by":9007199254740993}]}`
		commit(t, s, Turn{Update: 1, Key: k, Data: []byte(`{}`), Job: headOf("ACDFGH", []byte(data))})
		newer := "2 5 " + data
		require.NoError(t, s.rdb.HSet(ctx, key("j", k.Chat), "NEWER", newer).Err())
		for _, user := range []int64{0, 1} {
			h, err := s.Export(ctx, k.Chat, user)
			require.NoError(t, err)
			for _, ref := range []string{"ACDFGH", "NEWER"} {
				require.NotContains(t, string(h.Jobs[ref].Head), "S3CRET")
				require.Contains(t, string(h.Jobs[ref].Head), `"token":"a word"`)
				require.Contains(t, string(h.Jobs[ref].Head), `1203.50`, "figures as they are stored")
				require.Contains(t, string(h.Jobs[ref].Head), `"used_by":9007199254740993`)
			}
		}
		require.NoError(t, s.Forget(ctx, k.Chat))
	})
}
