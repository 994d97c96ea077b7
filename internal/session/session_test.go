package session

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

func TestMain(m *testing.M) { sessiontest.Main(m) }

const lease = 10 * time.Second

func open(t testing.TB, url string) *Store {
	t.Helper()
	s, err := Open(context.Background(), url)
	require.NoError(t, err)
	t.Cleanup(func() { s.Close() })
	return s
}

// each runs a test with a store on every kind of Redis that is to be had.
func each(t *testing.T, test func(t *testing.T, s *Store)) {
	sessiontest.Each(t, func(t *testing.T, url string) { test(t, open(t, url)) })
}

func say(texts ...string) [][]byte {
	var out [][]byte
	for _, text := range texts {
		out = append(out, []byte(text))
	}
	return out
}

func texts(items []Item) []string {
	var out []string
	for _, it := range items {
		out = append(out, string(it.Data))
	}
	return out
}

func commit(t testing.TB, s *Store, turn Turn) Result {
	t.Helper()
	r, err := s.Commit(context.Background(), turn)
	require.NoError(t, err)
	hands.Store(hand{turn.Key.Chat, turn.Owner}, r.Fence)
	return r
}

// hands are the fences of the leases that the owners in a test had last.
var hands sync.Map

type hand struct {
	chat  int64
	owner string
}

func hold(chat int64, owner string) Lease {
	fence, _ := hands.Load(hand{chat, owner})
	n, _ := fence.(int64)
	return Lease{Owner: owner, For: lease, Fence: n}
}

func claim(s *Store, chat int64, owner string, n int) (Box, error) {
	box, err := s.Claim(context.Background(), chat, hold(chat, owner), n)
	if box.Fence != 0 {
		hands.Store(hand{chat, owner}, box.Fence)
	}
	return box, err
}

func remove(s *Store, chat int64, ids []string, owner string, n int) (Box, error) {
	box, err := s.Remove(context.Background(), chat, ids, hold(chat, owner), n, Shown{})
	if box.Fence != 0 {
		hands.Store(hand{chat, owner}, box.Fence)
	}
	return box, err
}

func load(t testing.TB, s *Store, k Key) Conversation {
	t.Helper()
	c, err := s.Load(context.Background(), k)
	require.NoError(t, err)
	return c
}

func TestCommit(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		k := Key{Chat: sessiontest.Chat()}
		require.Equal(t, Conversation{}, load(t, s, k))

		first := Turn{Update: 70, Key: k, Data: []byte(`{"a":1}`), Say: say("one", "two"), Owner: "me", Lease: lease}
		r := commit(t, s, first)
		require.Equal(t, Committed, r.Outcome)
		require.NotZero(t, r.Fence)
		require.Zero(t, r.Ahead)
		require.Equal(t, []string{"one", "two"}, texts(r.Items))
		require.Equal(t, `{"a":1}`, string(load(t, s, k).Data))

		// The same delivery again, as loaded then and as loaded now.
		for _, from := range []Conversation{{}, load(t, s, k)} {
			again := first
			again.From, again.Data, again.Say = from, []byte(`{"a":2}`), say("three")
			require.Equal(t, Duplicate, commit(t, s, again).Outcome)
		}
		// Another update on a conversation that has changed.
		require.Equal(t, Stale, commit(t, s, Turn{Update: 71, Key: k, Data: []byte(`{"a":3}`), Say: say("x")}).Outcome)
		require.Equal(t, `{"a":1}`, string(load(t, s, k).Data))

		// An older id that was never taken counts: no watermark.
		require.Equal(t, load(t, s, k), r.Now)
		r = commit(t, s, Turn{Update: 3, Key: k, From: r.Now, Data: []byte(`{"a":4}`), Say: say("three"), Owner: "you", Lease: lease})
		require.Equal(t, Committed, r.Outcome)
		require.Zero(t, r.Fence)
		require.Equal(t, 2, r.Ahead)

		// A turn that changes nothing keeps the conversation.
		require.Equal(t, Committed, commit(t, s, Turn{Update: 4, Key: k, From: r.Now}).Outcome)
		require.Equal(t, `{"a":4}`, string(load(t, s, k).Data))

		box, err := claim(s, k.Chat, "me", 10)
		require.NoError(t, err)
		require.Equal(t, []string{"one", "two", "three"}, texts(box.Items))
		require.Equal(t, []string{"70.0", "70.1", "3.0"}, []string{box.Items[0].ID, box.Items[1].ID, box.Items[2].ID})
	})
}

func TestGroupMembersAreApart(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		chat := -sessiontest.Chat()
		a, b := Key{Chat: chat, User: 1, Group: true}, Key{Chat: chat, User: 2, Group: true}
		commit(t, s, Turn{Update: 1, Key: a, Data: []byte("A")})
		require.Equal(t, Conversation{}, load(t, s, b))
		require.Equal(t, Committed, commit(t, s, Turn{Update: 2, Key: b, Data: []byte("B")}).Outcome)
		require.Equal(t, "A", string(load(t, s, a).Data))
		require.Equal(t, "B", string(load(t, s, b).Data))
		// Without Group the user does not matter.
		require.Equal(t, Key{Chat: 5}.conversation(), Key{Chat: 5, User: 9}.conversation())
	})
}

// holders are the keys anywhere in Redis whose values hold the bytes.
func holders(t *testing.T, s *Store, bytes string) []string {
	t.Helper()
	return keysWhere(t, s, "*", func(ctx context.Context, c *redis.Client, k string) (bool, error) {
		var values any
		switch kind := c.Type(ctx, k).Val(); kind {
		case "string":
			values = c.Get(ctx, k).Val()
		case "hash":
			values = c.HGetAll(ctx, k).Val()
		case "list":
			values = c.LRange(ctx, k, 0, -1).Val()
		case "set":
			values = c.SMembers(ctx, k).Val()
		case "zset":
			values = c.ZRange(ctx, k, 0, -1).Val()
		case "none": // ran out meanwhile
		default:
			return false, fmt.Errorf("%s is a %s", k, kind)
		}
		return strings.Contains(fmt.Sprint(values), bytes), nil
	})
}

// keysWhere are the keys of a pattern that pass the test, on all nodes.
func keysWhere(t *testing.T, s *Store, pattern string, keep func(ctx context.Context, c *redis.Client, key string) (bool, error)) []string {
	t.Helper()
	var found []string
	var guard sync.Mutex // the nodes of a cluster are read side by side
	err := s.eachNode(context.Background(), func(ctx context.Context, c *redis.Client) error {
		it := c.Scan(ctx, 0, pattern, 1000).Iterator()
		for it.Next(ctx) {
			ok, err := keep(ctx, c, it.Val())
			if err != nil {
				return err
			}
			if ok {
				guard.Lock()
				found = append(found, it.Val())
				guard.Unlock()
			}
		}
		return it.Err()
	})
	require.NoError(t, err)
	return found
}

// What a person wrote is in no value of any key after it was deleted: neither
// all at once, nor a window of a job that went.
func TestDeletionLeavesNoOldBytes(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		words := func(chat int64, where string) []byte { return fmt.Appendf(nil, `{"words":"WORDS-%d-%s"}`, chat, where) }
		fill := func(k Key) {
			commit(t, s, Turn{Update: 1, Key: k, Data: words(k.Chat, "state"), Say: [][]byte{words(k.Chat, "reply")}, Owner: "me", Lease: lease, Job: JobChange{
				Ref: "ACDFGH", Write: []Part{{Data: words(k.Chat, "head")}, {Window: 1, Data: words(k.Chat, "one")}, {Window: 2, Data: words(k.Chat, "two")}},
			}})
			require.NoError(t, s.Bury(ctx, fmt.Appendf(nil, `{"chat":{"id":%d},"words":"WORDS-%d-dead"}`, k.Chat, k.Chat)))
			require.NoError(t, s.PutLink(ctx, k.Chat, fmt.Sprint("token of ", k.Chat), words(k.Chat, "link"), time.Hour))
			require.Len(t, holders(t, s, fmt.Sprint("WORDS-", k.Chat)), 5, "state, outbox, jobs, dead list, link")
		}

		private := Key{Chat: sessiontest.Chat()}
		fill(private)
		parts, err := s.LoadJob(ctx, private.Chat, "ACDFGH", 1, 2)
		require.NoError(t, err)
		parts[1].Data, parts[2].Data = nil, words(private.Chat, "other")
		old := load(t, s, private)
		r := commit(t, s, Turn{Update: 2, Key: private, From: old, Job: JobChange{Ref: "ACDFGH", Read: parts[:1], Write: parts[1:]}})
		require.Equal(t, Committed, r.Outcome)
		require.Empty(t, holders(t, s, fmt.Sprintf("WORDS-%d-one", private.Chat)))
		require.Empty(t, holders(t, s, fmt.Sprintf("WORDS-%d-two", private.Chat)))
		require.Len(t, holders(t, s, fmt.Sprintf("WORDS-%d-other", private.Chat)), 1)

		r = commit(t, s, Turn{Update: 3, Key: private, From: old, Say: say("forgotten"), Forget: true, Owner: "me", Lease: lease})
		require.Equal(t, Committed, r.Outcome)
		_, err = remove(s, private.Chat, []string{"1.0"}, "me", 9)
		require.NoError(t, err)
		require.NoError(t, s.ForgetRest(ctx, private.Chat))
		require.Empty(t, holders(t, s, fmt.Sprint("WORDS-", private.Chat)))

		group := Key{Chat: -sessiontest.Chat(), User: 1, Group: true}
		fill(group)
		require.NoError(t, s.Forget(ctx, group.Chat))
		require.Empty(t, holders(t, s, fmt.Sprint("WORDS-", group.Chat)))
	})
}

// Every key of a chat is in the slot of its index.
func TestOneSlot(t *testing.T) {
	c := sessiontest.Cluster(t)
	s := open(t, c.URL())
	ctx := context.Background()
	for _, chat := range []int64{1, -1, -1001234567890, 1 << 50, 1023, 1024} {
		want, err := s.rdb.ClusterKeySlot(ctx, indexKey(bucketOf(chat))).Result()
		require.NoError(t, err)
		for _, k := range append(boxKeys(chat), key("s", chat), key("m", chat), Key{Chat: chat}.conversation(), Key{Chat: chat, User: 7, Group: true}.conversation()) {
			slot, err := s.rdb.ClusterKeySlot(ctx, k).Result()
			require.NoError(t, err)
			require.Equal(t, want, slot, k)
		}
	}
}

func TestSettings(t *testing.T) {
	_, url := sessiontest.Mini(t)
	require.Len(t, open(t, url).Warnings, 1, "a server that doesn't tell")

	server := sessiontest.Start(t)
	require.Empty(t, open(t, server.URL()).Warnings)
	server.Do(t, "CONFIG", "SET", "appendfsync", "everysec")
	server.Do(t, "CONFIG", "SET", "maxmemory-policy", "allkeys-lru")
	require.Equal(t, []string{
		"Redis runs with appendfsync everysec, not always: a crash of the machine may lose what was acknowledged last.",
		"Redis runs with maxmemory-policy allkeys-lru, not noeviction: a full server may throw conversations away.",
	}, open(t, server.URL()).Warnings)
	server.Do(t, "CONFIG", "SET", "appendonly", "no")
	require.Len(t, open(t, server.URL()).Warnings, 3)

	require.Empty(t, open(t, sessiontest.Cluster(t).URL()).Warnings)
}

func TestOpenRefuses(t *testing.T) {
	for _, url := range []string{"", " , ", "redis://:hunter2@host:notaport/0", "http://:hunter2@h", "redis://:hunter2@h:1/x", "redis://u:hunter2@h:1,\x7f", "redis://:hunter2@127.0.0.1:1"} {
		ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
		_, err := Open(ctx, url)
		cancel()
		require.Error(t, err, url)
		require.NotContains(t, err.Error(), "hunter2")
	}
}

func TestConnectReadsLists(t *testing.T) {
	one, err := connect("rediss://bot:pw@a:7000/2?pool_size=3", false)
	require.NoError(t, err)
	o := one.(*redis.Client).Options()
	require.Equal(t, []any{"a:7000", "bot", "pw", 2, 3, true}, []any{o.Addr, o.Username, o.Password, o.DB, o.PoolSize, o.TLSConfig != nil})
	one.Close()
	bare, err := connect("a:7000", false)
	require.NoError(t, err)
	require.Equal(t, "a:7000", bare.(*redis.Client).Options().Addr)
	bare.Close()
	for _, list := range []string{"redis://bot:pw@a:7000,redis://b:7001, c:7002", "bot:pw@a:7000,redis://x:y@b:7001,c:7002"} {
		many, err := connect(list, false)
		require.NoError(t, err)
		co := many.(*redis.ClusterClient).Options()
		require.Equal(t, "bot", co.Username)
		require.Equal(t, "pw", co.Password)
		require.ElementsMatch(t, []string{"a:7000", "b:7001", "c:7002"}, co.Addrs)
		many.Close()
	}
	seed, err := connect("redis://a:7000,", false)
	require.NoError(t, err)
	require.IsType(t, &redis.ClusterClient{}, seed)
	seed.Close()
}

// Scripts that are called at once are sent together, and each gets its own
// answer.
func TestBatch(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		echo := redis.NewScript(`return {tonumber(ARGV[1])}`)
		ask := func(n int) error {
			v, err := s.scripts.run(ctx, echo, []string{key("x", 1)}, n).Int64Slice()
			if err == nil && (len(v) != 1 || v[0] != int64(n)) {
				return fmt.Errorf("%d gave %v", n, v)
			}
			return err
		}
		var all sync.WaitGroup
		for n := range 500 {
			all.Go(func() {
				if err := ask(n); err != nil {
					t.Error(err)
				}
			})
		}
		all.Wait()
		// The server has forgotten the scripts, as after a restart.
		err := s.eachNode(ctx, func(ctx context.Context, c *redis.Client) error { return c.ScriptFlush(ctx).Err() })
		require.NoError(t, err)
		for n := range 50 {
			all.Go(func() {
				if err := ask(n); err != nil {
					t.Error(err)
				}
			})
		}
		all.Wait()
		require.Error(t, s.scripts.run(ctx, redis.NewScript("this is no script"), []string{"x"}).Err())
		require.NoError(t, ask(1))

		gone, cancel := context.WithCancel(ctx)
		cancel()
		require.ErrorIs(t, s.scripts.run(gone, echo, []string{"x"}, 1).Err(), context.Canceled)
		require.NoError(t, s.Close())
		require.Error(t, ask(1), "closed")
	})
}
