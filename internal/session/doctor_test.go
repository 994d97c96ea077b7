package session

import (
	"context"
	"errors"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

// TestTheDoctorPutsTheIndexRight: what nobody would ever send is found again, what waits
// for nothing goes, a lease that stands ahead is cut, and what is right stays.
func TestTheDoctorPutsTheIndexRight(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		chats := map[string]int64{}
		for _, what := range []string{"missing", "empty", "ahead", "right", "waits"} {
			chat := sessiontest.Chat()
			chats[what] = chat
			commit(t, s, Turn{Update: 1, Key: Key{Chat: chat}, Data: []byte("{}"), Say: say(`"hello"`), Owner: "me", Lease: lease})
		}
		index := func(what string) string { return indexKey(bucketOf(chats[what])) }
		require.NoError(t, s.rdb.HDel(ctx, index("missing"), itoa(chats["missing"])).Err())
		require.NoError(t, s.rdb.Del(ctx, key("o", chats["empty"])).Err())
		hour := time.Now().Add(time.Hour).UnixMilli()
		require.NoError(t, s.rdb.HSet(ctx, index("ahead"), itoa(chats["ahead"]), "5 "+itoa(hour)+" 0 gone 7 10000").Err())
		right := s.rdb.HGet(ctx, index("right"), itoa(chats["right"])).Val()

		f, err := s.Look(ctx, anything)
		require.NoError(t, err)
		found := map[int64]string{}
		for _, o := range f.Odd {
			found[o.Chat] = o.What
		}
		for _, what := range []string{"missing", "empty", "ahead"} {
			require.Equal(t, what, found[chats[what]])
		}
		require.NotContains(t, found, chats["right"])
		n, err := s.MendIndex(ctx, f)
		require.NoError(t, err)
		require.GreaterOrEqual(t, n, 3)
		again, err := s.Look(ctx, anything)
		require.NoError(t, err)
		require.Empty(t, again.Odd)
		n, err = s.MendIndex(ctx, f)
		require.NoError(t, err)
		require.Zero(t, n, "what was mended is not mended again")

		require.Equal(t, right, s.rdb.HGet(ctx, index("right"), itoa(chats["right"])).Val())
		box, err := claim(s, chats["missing"], "you", 9)
		require.NoError(t, err)
		require.Len(t, box.Items, 1)
		box, err = claim(s, chats["ahead"], "you", 9)
		require.NoError(t, err)
		require.LessOrEqual(t, box.Free, 10*time.Second)
		require.False(t, s.rdb.HExists(ctx, index("empty"), itoa(chats["empty"])).Val())
	})
}

// TestWhatWasSetAsideGoesBack: when the later program is there again, its records go
// back where nothing was begun since, and letters to their queue; the rest stays.
func TestWhatWasSetAsideGoesBack(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		later := laterOf(t, s)
		k, other := Key{Chat: sessiontest.Chat()}, Key{Chat: sessiontest.Chat()}
		for _, k := range []Key{k, other} {
			commit(t, later, Turn{Update: 1, Key: k, Data: []byte(`"later"`), Job: JobChange{Ref: "ACDFGH", Write: []Part{{Window: 1, Data: []byte(`"window"`)}}}})
			old, err := s.Load(ctx, k)
			require.ErrorIs(t, err, ErrNewer)
			parts, err := s.LoadJob(ctx, k.Chat, "ACDFGH", 1)
			require.NoError(t, err)
			require.ErrorIs(t, parts[1].Err, ErrNewer)
			commit(t, s, Turn{Update: 2, Key: k, From: old, Letter: []byte(`"letter"`)})
			parts[1].Data = []byte(`"empty"`)
			r := commit(t, s, Turn{Update: 3, Key: k, From: old, Data: []byte(`"begun"`), Say: say(`"hello"`), Owner: "me", Lease: lease,
				Job: JobChange{Ref: "ACDFGH", Write: parts[1:]}, Aside: []Aside{{Err: ErrNewer}, {Ref: "ACDFGH", Part: parts[1], Err: ErrNewer}}})
			require.Equal(t, Committed, r.Outcome)
			w, ok, err := s.NextPutOff(ctx, k.Chat)
			require.NoError(t, err)
			require.True(t, ok, "the letter is taken when it begins anew")
			require.EqualValues(t, 2, w.Update)
			if k == other {
				commit(t, s, Turn{Update: 2, WasPutOff: true, Key: k, From: r.Now, Data: []byte(`"gone on"`)})
			}
		}
		f, err := s.Look(ctx, anything)
		require.NoError(t, err)
		require.Zero(t, f.Readable, "this program can't read them")

		f, err = later.Look(ctx, anything)
		require.NoError(t, err)
		require.GreaterOrEqual(t, f.Readable, 4)
		_, _, err = later.PutBack(ctx, f, anything, func(Record) bool { return true })
		require.NoError(t, err)
		require.Equal(t, `"later"`, string(load(t, later, k).Data))
		require.Equal(t, `"gone on"`, string(load(t, later, other).Data), "what was begun since stays")
		for _, chat := range []int64{k.Chat, other.Chat} {
			parts, err := later.LoadJob(ctx, chat, "ACDFGH", 1)
			require.NoError(t, err)
			require.Equal(t, `"window"`, string(parts[1].Data))
		}
		require.Zero(t, later.rdb.LLen(ctx, key("x", k.Chat)).Val())
		require.EqualValues(t, 1, later.rdb.LLen(ctx, key("x", other.Chat)).Val())
		// Who had loaded what was begun is stale.
		require.Equal(t, Stale, commit(t, later, Turn{Update: 2, WasPutOff: true, Key: k, From: Conversation{Rev: 1}, Data: []byte("{}")}).Outcome)
	})
}

// TestLettersAndRepliesGoBackOnce: a letter that waits goes to its queue, and only what
// is still to be carried out of the rest.
func TestLettersAndRepliesGoBackOnce(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, chat := context.Background(), sessiontest.Chat()
		commit(t, s, Turn{Update: 2, Key: Key{Chat: chat}, Data: []byte("{}"), Letter: []byte(`"letter"`)})
		for _, text := range []string{`"late"`, `"mail"`} {
			require.NoError(t, s.rdb.RPush(ctx, key("o", chat), s.replies.sealNamed(1, "7.0", []byte(text))).Err())
			require.NoError(t, s.ReplyAside(ctx, chat, Item{ID: "7.0", Err: ErrNewer}))
			require.NoError(t, s.rdb.Del(ctx, key("o", chat)).Err())
		}
		f, err := s.Look(ctx, anything)
		require.NoError(t, err)
		closed := f
		closed.Unread = []Record{{Kind: "conversation", Chat: chat}}
		_, _, err = s.PutBack(ctx, closed, anything, func(Record) bool { return false })
		require.NoError(t, err)
		require.Zero(t, s.rdb.Exists(ctx, key("i", chat)).Val(), "it would only be set aside again")
		for range 2 {
			_, _, err = s.PutBack(ctx, f, anything, func(r Record) bool { return string(r.Data) == `"mail"` })
			require.NoError(t, err)
		}
		box, err := claim(s, chat, "me", 9)
		require.NoError(t, err)
		require.Len(t, box.Items, 1)
		require.Equal(t, `"mail"`, string(box.Items[0].Data))
		require.Equal(t, 1, box.PutOff)
		require.EqualValues(t, 1, s.rdb.LLen(ctx, key("x", chat)).Val())
	})
}

// laterOf is a later program on the same database, whose every kind of record has one
// schema more.
func laterOf(t *testing.T, s *Store) *Store {
	later, err := Over(context.Background(), mustConnect(t, s))
	require.NoError(t, err)
	t.Cleanup(func() { later.Close() })
	same := func(b []byte) ([]byte, error) { return b, nil }
	for _, l := range []*ladder{&later.states, &later.jobs, &later.replies} {
		*l = append(*l, same)
	}
	return later
}

// TestTheDoctorFindsWhatCannotBeRead, by its place.
func TestTheDoctorFindsWhatCannotBeRead(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, chat := context.Background(), sessiontest.Chat()
		require.NoError(t, s.rdb.Set(ctx, key("c", chat), "99 5 1 {}", 0).Err())
		require.NoError(t, s.rdb.Set(ctx, key("c", chat)+":8", "damaged", 0).Err())
		require.NoError(t, s.rdb.HSet(ctx, key("j", chat), "ACDFGH", "1 5 {}", "ACDFGH/2", "1 5 bad").Err())
		require.NoError(t, s.rdb.RPush(ctx, key("o", chat), "1 5 7.0 {}", "x").Err())
		require.NoError(t, s.rdb.LPush(ctx, key("i", chat), "99 5 7 {}").Err())
		require.NoError(t, s.Bury(ctx, []byte("dead")))
		f, err := s.Look(ctx, func(r Record) error {
			if string(r.Data) == "bad" {
				return errors.New("bad")
			}
			return nil
		})
		require.NoError(t, err)
		kinds := map[string]int{}
		for _, r := range f.Unread {
			if r.Chat == chat {
				kinds[r.Kind]++
				require.Nil(t, r.Data)
			}
		}
		require.Equal(t, map[string]int{"conversation": 2, "window": 1, "reply": 1, "update": 1}, kinds)
		require.Positive(t, f.Dead)
		require.WithinDuration(t, time.Now(), f.DeadSince, time.Hour)
		for _, name := range []string{key("c", chat), key("c", chat) + ":8", key("j", chat), key("o", chat), key("i", chat)} {
			require.NoError(t, s.rdb.Del(ctx, name).Err())
		}
	})
}

func itoa(n int64) string { return strconv.FormatInt(n, 10) }
