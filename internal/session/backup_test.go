package session

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"sillbot/internal/session/rdb"
	"sillbot/internal/session/sessiontest"
)

func anything(Record) error { return nil }

// filled puts keys of every kind into a database, each in every form that the server
// keeps it in: by how many and how long they are it packs them or not.
func filled(t *testing.T, s *Store, url string) {
	ctx := context.Background()
	for i := range int64(50) {
		k := Key{Chat: 1000 + i}
		commit(t, s, Turn{Update: 1, Key: k, Data: fmt.Appendf(nil, `{"v":2,"text":%q}`, strings.Repeat("wood ", int(i))), Say: say(`"hello"`), Owner: "me", Lease: time.Hour,
			Job: JobChange{Ref: "ACDFGH", Write: []Part{{Data: []byte(`"head"`)}, {Window: 1, Data: fmt.Appendf(nil, "%q", strings.Repeat("x", 100*int(i)))}}}})
	}
	require.NoError(t, s.PutLink(ctx, 1000, "token-of-a-link", []byte(`{"a":1}`), time.Hour))
	require.NoError(t, s.Bury(ctx, []byte("dead")))
	for _, n := range []int{1, 3, 200, 3000} {
		var texts, numbers, pairs []any
		var scored []redis.Z
		for i := range n {
			text := strings.Repeat(fmt.Sprint("s", i), 1+i%40)
			texts, numbers, pairs = append(texts, text), append(numbers, i*7919-n*1000), append(pairs, text, i-5)
			scored = append(scored, redis.Z{Member: text, Score: float64(i) * 1.5e9})
		}
		numbers = append(numbers, 1<<40, -1<<40, 127, 128, -4096, 4095, 32768, -32769, 8388608, -8388609, 1<<31)
		require.NoError(t, s.rdb.RPush(ctx, fmt.Sprint("sb:list:", n), append(texts, numbers...)...).Err())
		require.NoError(t, s.rdb.SAdd(ctx, fmt.Sprint("sb:set:", n), texts...).Err())
		require.NoError(t, s.rdb.SAdd(ctx, fmt.Sprint("sb:numbers:", n), numbers[:min(n, 400)]...).Err())
		require.NoError(t, s.rdb.SAdd(ctx, fmt.Sprint("sb:small:", n), 1, 2, n).Err())
		require.NoError(t, s.rdb.HSet(ctx, fmt.Sprint("sb:hash:", n), pairs...).Err())
		require.NoError(t, s.rdb.ZAdd(ctx, fmt.Sprint("sb:sorted:", n), scored...).Err())
		require.NoError(t, s.rdb.Set(ctx, fmt.Sprint("sb:text:", n), strings.Repeat("a", n*20), time.Hour).Err())
		require.NoError(t, s.rdb.Set(ctx, fmt.Sprint("sb:number:", n), n*n*n*n-100, 0).Err())
	}
	for _, n := range []int{62, 63, 64, 126, 127, 4094, 4095, 4096, 16382, 16383, 16384, 70000} {
		require.NoError(t, s.rdb.RPush(ctx, fmt.Sprint("sb:long:", n), strings.Repeat("z", n-6), text(n), 3).Err())
	}
	require.NoError(t, s.rdb.Set(ctx, "sb:soon", "x", 2*time.Minute).Err())
	require.NoError(t, s.rdb.Set(ctx, "somebody's", "x", 0).Err())
}

// text has no runs that could be packed.
func text(n int) string {
	r := rand.New(rand.NewPCG(1, 2))
	b := make([]byte, n)
	for i := range b {
		b[i] = byte(r.Uint32())
	}
	return string(b)
}

// TestBackupAndRestore: what every kind of key holds is the same afterwards, by the
// server's own commands; of one server and of a cluster, and from each into the other.
func TestBackupAndRestore(t *testing.T) {
	sources := map[string]string{"node": sessiontest.Start(t).URL(), "cluster": sessiontest.StartCluster(t).URL()}
	for name, url := range sources {
		s := open(t, url)
		require.NoError(t, s.eachNode(context.Background(), func(ctx context.Context, node *redis.Client) error {
			return node.ConfigSet(ctx, "repl-diskless-sync-delay", "0").Err() // else it waits 5 s
		}))
		filled(t, s, url)
		file := filepath.Join(t.TempDir(), "backup")
		c, err := s.Backup(context.Background(), file, anything)
		require.NoError(t, err)
		require.Equal(t, 50, c.Keys["conversations"])
		require.Equal(t, 50, c.Records["conversation"])
		require.Equal(t, 100, c.Records["head"]+c.Records["window"])
		require.Equal(t, 1, c.Foreign)
		info, err := os.Stat(file)
		require.NoError(t, err)
		require.Equal(t, os.FileMode(0o600), info.Mode().Perm())
		left, err := os.ReadDir(filepath.Dir(file))
		require.NoError(t, err)
		require.Len(t, left, 1, "no part is left behind")
		_, err = s.Backup(context.Background(), file, anything)
		require.ErrorContains(t, err, "exists")
		into := map[string]string{"node": sessiontest.Start(t).URL()}
		if name == "node" {
			into["cluster"] = sessiontest.StartCluster(t).URL()
		}
		for target, url := range into {
			t.Run(name+" into "+target, func(t *testing.T) { restored(t, s, open(t, url), file, c) })
		}
	}
}

func restored(t *testing.T, from, to *Store, file string, c Contents) {
	ctx := context.Background()
	at := time.Now().Add(3 * time.Minute)
	to.now = func() time.Time { return at } // sb:soon is over
	require.NoError(t, to.rdb.Set(ctx, "x", 1, 0).Err())
	_, err := to.Restore(ctx, file, anything)
	require.ErrorContains(t, err, "holds 1 keys already")
	require.NoError(t, to.rdb.Del(ctx, "x").Err())

	// Another program that uses it: nothing is written, and nothing keeps it from it.
	other, err := Over(ctx, mustConnect(t, to))
	require.NoError(t, err)
	_, err = to.Restore(ctx, file, anything)
	require.ErrorContains(t, err, "stop every bot serve")
	require.NoError(t, to.Whole(ctx))
	require.NoError(t, other.Close())

	// Broken off in the middle, it is not whole, and goes on.
	broken := fmt.Errorf("broken off")
	n := 0
	_, err = to.Restore(ctx, file, func(Record) error {
		if n++; n > 10 {
			return nil
		}
		return broken
	})
	require.NoError(t, err, "what can't be read is restored as it is")
	require.NoError(t, to.rdb.Set(ctx, guardKey, c.digest, 0).Err())
	require.ErrorIs(t, to.Whole(ctx), ErrUnfinished)
	for _, key := range []string{"sb:hash:200", "sb:list:3"} {
		require.NoError(t, to.rdb.Del(ctx, key).Err())
	}
	r, err := to.Restore(ctx, file, anything)
	require.NoError(t, err)
	require.True(t, r.Again)
	require.Equal(t, 1, r.Gone)
	require.Equal(t, c.Total()-1, r.Written)
	require.NoError(t, to.Whole(ctx))
	require.NoError(t, to.rdb.Set(ctx, guardKey, "another file", 0).Err())
	_, err = to.Restore(ctx, file, anything)
	require.ErrorContains(t, err, "another file")
	require.NoError(t, to.rdb.Del(ctx, guardKey).Err())

	require.Zero(t, to.rdb.Exists(ctx, "sb:soon").Val())
	require.Zero(t, to.rdb.Exists(ctx, "somebody's").Val())
	require.InDelta(t, time.Hour.Seconds(), to.rdb.TTL(ctx, "sb:text:3").Val().Seconds(), 60)
	require.Equal(t, load(t, from, Key{Chat: 1007}), load(t, to, Key{Chat: 1007}))
	box, err := claim(to, 1007, "somebody else", 9)
	require.NoError(t, err)
	require.Len(t, box.Items, 1, "the lease of who had it is not restored")

	// What is damaged is told, not restored.
	raw, err := os.ReadFile(file)
	require.NoError(t, err)
	bad := filepath.Join(t.TempDir(), "bad")
	last := max(bytes.Index(raw, []byte("3-of-3.rdb")), 0) // of a cluster: a whole tar of two
	for _, cut := range [][]byte{raw[:last], raw[:len(raw)/2], raw[:len(raw)-2000], append(raw[:len(raw)/3:len(raw)/3], raw[len(raw)/3+1:]...), nil, []byte("hello")} {
		require.NoError(t, os.WriteFile(bad, cut, 0o600))
		_, err = to.Examine(bad, anything)
		require.Error(t, err)
	}
}

// mustConnect is another client of the same servers.
func mustConnect(t *testing.T, s *Store) redis.UniversalClient {
	switch c := s.rdb.(type) {
	case *redis.Client:
		o := *c.Options()
		return redis.NewClient(&o)
	case *redis.ClusterClient:
		o := *c.Options()
		return redis.NewClusterClient(&o)
	}
	t.Fatal("unknown client")
	return nil
}

// TestABackupOfAClusterIsOfOneMoment: letters go from chat to chat, each taken there
// before it is removed here, as fast as the servers do it. In the backup none is lost:
// what is not here any more is there. Writing goes on afterwards.
func TestABackupOfAClusterIsOfOneMoment(t *testing.T) {
	nodes := sessiontest.StartCluster(t)
	s := open(t, nodes.URL())
	for _, server := range nodes.Servers {
		server.Do(t, "CONFIG", "SET", "appendfsync", "no") // so that letters go fast
	}
	ctx, stop := context.WithCancel(context.Background())
	var all sync.WaitGroup
	var letters atomic.Int64
	for pair := range 16 {
		here, there := fmt.Sprintf("sb:here:%d", pair), fmt.Sprintf("sb:there:%d", pair)
		all.Go(func() {
			for n := 1; ctx.Err() == nil; n++ {
				if s.rdb.RPush(ctx, here, n).Err() != nil || s.rdb.SetArgs(ctx, there, n, redis.SetArgs{}).Err() != nil || s.rdb.LPop(ctx, here).Err() != nil {
					break
				}
				letters.Add(1)
				if s.rdb.Set(ctx, here+":sent", n, 0).Err() != nil {
					break
				}
			}
		})
	}
	file := filepath.Join(t.TempDir(), "backup")
	before := letters.Load()
	c, err := s.Backup(context.Background(), file, anything)
	require.NoError(t, err)
	require.Equal(t, 3, c.Masters)
	require.Greater(t, letters.Load(), before, "turns went on")
	at := letters.Load()
	require.Eventually(t, func() bool { return letters.Load() > at }, 10*time.Second, time.Millisecond, "writing was paused for good")
	stop()
	all.Wait()

	keys := map[string]rdb.Value{}
	require.NoError(t, eachKey(file, &Contents{}, func(k rdb.Key) error { keys[k.Name] = k.Value; return nil }))
	for pair := range 16 {
		sent, there := keys[fmt.Sprintf("sb:here:%d:sent", pair)].Items, keys[fmt.Sprintf("sb:there:%d", pair)].Items
		here := keys[fmt.Sprintf("sb:here:%d", pair)].Items
		var done, taken, waits int
		for i, list := range [][]string{sent, there, here} {
			if len(list) > 0 {
				fmt.Sscan(list[0], []*int{&done, &taken, &waits}[i])
			}
		}
		require.GreaterOrEqual(t, taken, done, "pair %d: what was removed here was taken there", pair)
		require.LessOrEqual(t, taken, done+1, "pair %d: what is there was sent", pair)
		if taken == done+1 && waits != 0 {
			require.Equal(t, taken, waits)
		}
	}
	for _, server := range nodes.Servers {
		require.NotContains(t, server.Do(t, "INFO", "clients"), "paused_reason:write", "server %d", server.Port())
	}
}

// TestABackupThatIsBrokenOffLeavesNothing: no file, and no pause of writing.
func TestABackupThatIsBrokenOffLeavesNothing(t *testing.T) {
	nodes := sessiontest.StartCluster(t)
	s := open(t, nodes.URL())
	for _, server := range nodes.Servers {
		server.Do(t, "CONFIG", "SET", "repl-diskless-sync-delay", "2") // the pause begins after 0.9 s
	}
	ctx, stop := context.WithTimeout(context.Background(), 1200*time.Millisecond)
	defer stop()
	folder := t.TempDir()
	_, err := s.Backup(ctx, filepath.Join(folder, "backup"), anything)
	require.Error(t, err)
	left, err := os.ReadDir(folder)
	require.NoError(t, err)
	require.Empty(t, left)
	for i := range 3 {
		begun := time.Now()
		require.NoError(t, s.rdb.Set(context.Background(), fmt.Sprint("sb:", i), 1, 0).Err())
		require.Less(t, time.Since(begun), pauseFor)
	}
}

// TestBackupOverSentinel asks the primary that Sentinel names. Its own replica goes on.
func TestBackupOverSentinel(t *testing.T) {
	pair := sessiontest.Replicated(t, 0)
	pair.Primary.Do(t, "CONFIG", "SET", "repl-diskless-sync-delay", "0")
	pair.Replica.Follow(t, pair.Primary)
	s := open(t, sessiontest.Watch(t, pair.Primary).URL())
	commit(t, s, Turn{Update: 1, Key: Key{Chat: 5}, Data: []byte("{}")})
	c, err := s.Backup(context.Background(), filepath.Join(t.TempDir(), "backup"), anything)
	require.NoError(t, err)
	require.Equal(t, 1, c.Records["conversation"])
	nodes, err := s.Nodes(context.Background())
	require.NoError(t, err)
	require.Len(t, nodes, 1)
	f, err := s.Look(context.Background(), anything)
	require.NoError(t, err)
	require.Empty(t, f.Odd)
	require.Contains(t, pair.Primary.Do(t, "INFO", "replication"), "connected_slaves:1\r\n")
}

// TestBackupWithAPassword, of the server and of a user of it; in both forms in which a
// server sends a snapshot, from memory and from its disk.
func TestBackupWithAPassword(t *testing.T) {
	server := sessiontest.Start(t)
	server.Do(t, "CONFIG", "SET", "repl-diskless-sync-delay", "0")
	server.Do(t, "ACL", "SETUSER", "keeper", "on", ">s3cret", "~*", "&*", "+@all")
	server.Do(t, "CONFIG", "SET", "requirepass", "w0rd")
	for i, user := range []string{":w0rd", "keeper:s3cret"} {
		s := open(t, strings.Replace(server.URL(), "//", "//"+user+"@", 1))
		require.NoError(t, s.rdb.ConfigSet(context.Background(), "repl-diskless-sync", []string{"yes", "no"}[i]).Err())
		_, err := s.Backup(context.Background(), filepath.Join(t.TempDir(), fmt.Sprint(i)), anything)
		require.NoError(t, err)
	}
}
