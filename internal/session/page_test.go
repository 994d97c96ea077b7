package session

import (
	"context"
	"testing"
	"time"

	"github.com/alicebob/miniredis/v2"
	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"sillbot/internal/talk"
)

// The platform says that its numbers have at most 52 significant bits; groups are below 0.
func TestAPageHasANumberOfItsOwn(t *testing.T) {
	for _, random := range []uint64{0, 1, 1<<52 - 1, 1 << 52, 1<<64 - 1} {
		chat := talk.PageChat(random)
		require.True(t, talk.IsPage(chat), random)
		require.Equal(t, chat, int64(float64(chat)), "exact where numbers are floating")
	}
	for _, chat := range []int64{-1 << 62, -5, 0, 7, 1<<52 - 1, 1 << 53} {
		require.False(t, talk.IsPage(chat), chat)
	}
}

func TestALinkOpensOnePageOnce(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, chat := context.Background(), talk.PageChat(uint64(time.Now().UnixNano()))
		place, opened, err := s.OpenPage(ctx, "token "+t.Name(), "", "secret "+t.Name(), Page{Chat: chat, Ref: "ACDFGH"})
		require.NoError(t, err)
		require.True(t, opened)
		require.Equal(t, 1, place)
		_, opened, err = s.OpenPage(ctx, "token "+t.Name(), "", "other", Page{Chat: chat + 1, Ref: "ACDFGH"})
		require.NoError(t, err)
		require.False(t, opened)
		others, err := s.Pages(ctx, "other")
		require.NoError(t, err)
		require.Empty(t, others)

		place, _, err = s.OpenPage(ctx, "second "+t.Name(), "secret "+t.Name(), "newer "+t.Name(), Page{Chat: chat + 2, Ref: "ACDFGH"})
		require.NoError(t, err)
		require.Equal(t, 2, place)
		require.NoError(t, s.ClosePage(ctx, "newer "+t.Name(), 1, chat))
		pages, err := s.Pages(ctx, "newer "+t.Name())
		require.NoError(t, err)
		require.Equal(t, []Page{{}, {chat + 2, "ACDFGH"}}, pages)
		there, err := s.ToPage(ctx, chat, []byte(`{}`))
		require.NoError(t, err)
		require.False(t, there, "a closed page can't be reached")
		pages, err = s.Pages(ctx, "secret "+t.Name())
		require.NoError(t, err)
		require.Equal(t, []Page{{chat, "ACDFGH"}}, pages, "the older secret shows what it showed, for a while")
		place, _, err = s.OpenPage(ctx, "third "+t.Name(), "secret "+t.Name(), "newest "+t.Name(), Page{Chat: chat + 3, Ref: "ACDFGH"})
		require.NoError(t, err)
		require.Equal(t, 2, place, "of who shows the older secret once more")
	})
}

func TestASecretOfBeforeIsNoLongerKept(t *testing.T) {
	server := miniredis.RunT(t)
	ctx := context.Background()
	s, err := Over(ctx, redis.NewClient(&redis.Options{Addr: server.Addr()}))
	require.NoError(t, err)
	defer s.Close()
	open := func(token, was, secret string, chat uint64) (int, bool, error) {
		return s.OpenPage(ctx, token, was, secret, Page{Chat: talk.PageChat(chat), Ref: "ACDFGH"})
	}
	_, _, err = open("first", "", "old", 5)
	require.NoError(t, err)
	_, _, err = open("second", "old", "new", 6)
	require.NoError(t, err)
	server.FastForward(movedFor / 2)
	pages, err := s.Pages(ctx, "old")
	require.NoError(t, err)
	require.Len(t, pages, 1)
	server.FastForward(movedFor / 2)
	pages, err = s.Pages(ctx, "old")
	require.NoError(t, err)
	require.Empty(t, pages, "a look does not make it last")
	pages, err = s.Pages(ctx, "new")
	require.NoError(t, err)
	require.Len(t, pages, 2)

	keys := server.Keys()
	_, opened, err := open("second", "new", "third", 7)
	require.NoError(t, err)
	require.False(t, opened)
	require.Equal(t, keys, server.Keys(), "a link that was opened leaves nothing")
	server.SetError("LOADING")
	_, opened, err = open("fourth", "new", "third", 7)
	require.Error(t, err)
	require.False(t, opened, "what was not used up is opened another time")
}

func TestAPageKeepsItsLastLines(t *testing.T) {
	server := miniredis.RunT(t)
	ctx := context.Background()
	s, err := Over(ctx, redis.NewClient(&redis.Options{Addr: server.Addr()}))
	require.NoError(t, err)
	defer s.Close()
	chat := talk.PageChat(5)
	_, _, err = s.OpenPage(ctx, "token", "", "secret", Page{Chat: chat, Ref: "ACDFGH"})
	require.NoError(t, err)
	for range 2 * pageLines {
		_, err := s.ToPage(ctx, chat, []byte(`{"lang":"en"}`))
		require.NoError(t, err)
	}
	said, err := s.PageSays(ctx, chat)
	require.NoError(t, err)
	require.Len(t, said, pageLines)
	for _, key := range server.Keys() {
		require.NotContains(t, key, "secret")
		require.NotContains(t, key, "token")
	}
	server.FastForward(PageLasts - time.Hour)
	pages, err := s.Pages(ctx, "secret")
	require.NoError(t, err)
	require.Equal(t, []Page{{chat, "ACDFGH"}}, pages)
	server.FastForward(PageLasts + time.Hour)
	pages, err = s.Pages(ctx, "secret")
	require.NoError(t, err)
	require.Empty(t, pages)
	there, err := s.ToPage(ctx, chat, []byte(`{}`))
	require.NoError(t, err)
	require.False(t, there)
}

func TestAStampChangesWithTheJobAndThePage(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, owner, page := context.Background(), int64(71), talk.PageChat(9)
		stamp := func() Stamp {
			v, err := s.Stamp(ctx, page, owner, "ACDFGH")
			require.NoError(t, err)
			return v
		}
		parts, err := s.LoadJob(ctx, owner, "ACDFGH", 1)
		require.NoError(t, err)
		parts[0].Data, parts[1].Data = []byte(`"head"`), []byte(`"one"`)
		require.Equal(t, Committed, commit(t, s, Turn{Update: 1, Key: Key{Chat: owner}, Data: []byte(`{"v":1}`), Job: JobChange{Ref: "ACDFGH", Write: parts}}).Outcome)
		first := stamp()
		require.Equal(t, first, stamp())
		parts, err = s.LoadJob(ctx, owner, "ACDFGH", 1)
		require.NoError(t, err)
		parts[1].Data = []byte(`"other"`)
		c, err := s.Load(ctx, Key{Chat: owner})
		require.NoError(t, err)
		require.Equal(t, Committed, commit(t, s, Turn{Update: 2, Key: Key{Chat: owner}, From: c, Job: JobChange{Ref: "ACDFGH", Read: parts[:1], Write: parts[1:]}}).Outcome)
		second := stamp()
		require.NotEqual(t, first, second, "of a window alone")
		_, _, err = s.OpenPage(ctx, "stamp", "", "stamp", Page{Chat: page, Ref: "ACDFGH"})
		require.NoError(t, err)
		_, err = s.ToPage(ctx, page, []byte(`{}`))
		require.NoError(t, err)
		require.NotEqual(t, second, stamp())
	})
}
