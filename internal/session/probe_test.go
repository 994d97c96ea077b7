package session

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

func TestAProbeLeavesNothing(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		for range 3 {
			require.NoError(t, s.Probe(context.Background()))
		}
		var mu sync.Mutex // nodes are asked at once
		var left []string
		require.NoError(t, s.eachNode(context.Background(), func(ctx context.Context, c *redis.Client) error {
			found, err := c.Keys(ctx, "sb:*probe*").Result()
			mu.Lock()
			defer mu.Unlock()
			left = append(left, found...)
			return err
		}))
		require.Empty(t, left)
	})
}

// becomes waits until a probe finds a kind of trouble; "" none.
func becomes(t *testing.T, s *Store, kind string) {
	t.Helper()
	var err error
	require.Eventually(t, func() bool {
		ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		defer cancel()
		err = s.Probe(ctx)
		return Trouble(err) == kind
	}, time.Minute, 10*time.Millisecond, "%q, but %v", kind, err)
}

// A server that answers, and yet would take no turn, is not ready. What waits in
// its outboxes can go all the same.
func TestAProbeFindsWhatWouldRefuseATurn(t *testing.T) {
	server := sessiontest.Start(t)
	s := open(t, server.URL())
	becomes(t, s, "")
	chat := sessiontest.Chat()
	said := commit(t, s, Turn{Update: 1, Key: Key{Chat: chat}, Data: []byte("state"), Say: say("reply"), Owner: "me", Lease: lease})

	server.Do(t, "CONFIG", "SET", "maxmemory", 1)
	becomes(t, s, "redis_full")
	require.NoError(t, s.Ping(context.Background()), "a call that writes nothing does not notice")
	left, err := remove(s, chat, []string{said.Items[0].ID}, "me", 0)
	require.NoError(t, err, "a full server still empties its outboxes: %v", left)
	server.Do(t, "CONFIG", "SET", "maxmemory", 0)
	becomes(t, s, "")

	server.Do(t, "REPLICAOF", "127.0.0.1", 1)
	becomes(t, s, "redis_read_only")
	server.Do(t, "REPLICAOF", "NO", "ONE")
	becomes(t, s, "")

	server.Do(t, "CONFIG", "SET", "min-replicas-to-write", 1)
	becomes(t, s, "redis_replicas")
	server.Do(t, "CONFIG", "SET", "min-replicas-to-write", 0)
	becomes(t, s, "")

	// A folder in the place of the snapshot: the server can't save, and says so
	// at every write.
	dir := strings.Fields(strings.Trim(server.Do(t, "CONFIG", "GET", "dir"), "map[]"))
	at := filepath.Join(strings.TrimPrefix(dir[len(dir)-1], "dir:"), "dump.rdb", "in the way")
	require.NoError(t, os.MkdirAll(at, 0o700))
	server.Do(t, "CONFIG", "SET", "save", "3600 1000000")
	server.Do(t, "BGSAVE")
	becomes(t, s, "redis_disk")
	server.Do(t, "CONFIG", "SET", "save", "")
	becomes(t, s, "")

	server.Kill()
	becomes(t, s, "redis_away")
	require.NoError(t, server.Restart())
	becomes(t, s, "")
}

// One full master of a cluster is enough: a third of the chats is stuck.
func TestAProbeReachesEveryMaster(t *testing.T) {
	nodes := sessiontest.Cluster(t)
	s := open(t, nodes.URL())
	for _, one := range nodes.Servers {
		becomes(t, s, "")
		one.Do(t, "CONFIG", "SET", "maxmemory", 1)
		becomes(t, s, "redis_full")
		one.Do(t, "CONFIG", "SET", "maxmemory", 0)
	}
	becomes(t, s, "")
}

// reply is an error as a server sends it.
type reply string

func (r reply) Error() string { return string(r) }
func (reply) RedisError()     {}

func TestTroubleNamesTheCause(t *testing.T) {
	for text, kind := range map[string]string{
		"OOM command not allowed when used memory > 'maxmemory'. script: 1, on @user_script:4.": "redis_full",
		// As before Redis 7.
		"ERR Error running script (call to f_1): @user_script:4: @user_script: 4: -OOM command not allowed": "redis_full",
		"READONLY You can't write against a read only replica.":                                             "redis_read_only",
		"NOREPLICAS Not enough good replicas to write.":                                                     "redis_replicas",
		"MISCONF Errors writing to the AOF file: No space left on device":                                   "redis_disk",
		"LOADING Redis is loading the dataset in memory":                                                    "redis_loading",
		"CLUSTERDOWN Hash slot not served":                                                                  "redis_cluster",
		"NOAUTH Authentication required.":                                                                   "redis_refuses",
		"NOPERM this user has no permissions to run the 'evalsha' command":                                  "redis_refuses",
		"ERR max number of clients reached":                                                                 "redis_away",
		"UNKNOWN words":                                                                                     "redis_away",
	} {
		require.Equal(t, kind, Trouble(fmt.Errorf("probe: %w", reply(text))), text)
	}
	require.Equal(t, "redis_away", Trouble(errors.New("OOM says who?")), "only the server's own word counts")
	require.Empty(t, Trouble(nil))
}

// What waiting can't mend is not waited for.
func TestMends(t *testing.T) {
	server := sessiontest.Start(t)
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	with := func(user string) string { return strings.Replace(server.URL(), "://", "://"+user+"@", 1) }
	for url, mends := range map[string]bool{
		"redis://127.0.0.1:1":             true,
		"redis://no-such-host.invalid":    true,
		"redis://127.0.0.1:1,127.0.0.1:2": true,
		"redis://127.0.0.1:port":          false,
		"http://127.0.0.1":                false,
		"":                                false,
		with("nobody:hunter2"):            false,
		with("nobody:hunter2") + ",":      false,
		server.URL() + "/99":              false,
	} {
		_, err := Open(ctx, url)
		require.Error(t, err, url)
		require.Equal(t, mends, Mends(err), "%s: %v", url, err)
		require.NotContains(t, err.Error(), "hunter2")
	}
	server.Do(t, "CONFIG", "SET", "requirepass", "hunter2")
	_, err := Open(ctx, server.URL())
	require.False(t, Mends(err), "%v", err)
}
