// Package sessiontest gives tests a Redis to break: miniredis in the process
// always, and real servers on loopback where the machine has redis-server and
// SILLBOT_REAL_REDIS=1 is set. SILLBOT_REDIS and SILLBOT_REDIS_CLUSTER name
// running servers to be used in place of those that would be started; what is
// in them stays, but for the chats of the tests.
package sessiontest

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/alicebob/miniredis/v2"
	"github.com/redis/go-redis/v9"
)

// Chat is a chat id that no other test has.
func Chat() int64 { return rand.Int64N(1 << 50) }

// Mini is the address of a fresh miniredis whose keys expire.
func Mini(t testing.TB) (*miniredis.Miniredis, string) {
	m := miniredis.RunT(t)
	m.ClockTTL(true)
	return m, "redis://" + m.Addr()
}

// Each runs a test on miniredis, on a real server and on a cluster of three,
// as far as they are to be had.
func Each(t *testing.T, test func(t *testing.T, url string)) {
	t.Run("mini", func(t *testing.T) {
		_, url := Mini(t)
		test(t, url)
	})
	t.Run("node", func(t *testing.T) { test(t, Node(t)) })
	t.Run("cluster", func(t *testing.T) { test(t, Cluster(t).URL()) })
}

// Node is the address of a real server, which the tests of a package share.
func Node(t testing.TB) string {
	if url := os.Getenv("SILLBOT_REDIS"); url != "" {
		return url
	}
	needReal(t)
	shared.Lock()
	defer shared.Unlock()
	if shared.node == nil {
		s, err := launch(shared.dir(t), false)
		if err != nil {
			t.Fatal(err)
		}
		shared.node = s
	}
	return shared.node.URL()
}

// Cluster is a cluster of three masters, which the tests of a package share.
func Cluster(t testing.TB) *Nodes {
	if url := os.Getenv("SILLBOT_REDIS_CLUSTER"); url != "" {
		return &Nodes{url: url}
	}
	needReal(t)
	shared.Lock()
	defer shared.Unlock()
	if shared.cluster == nil {
		c, err := launchCluster(shared.dir(t))
		if err != nil {
			t.Fatal(err)
		}
		shared.cluster = c
	}
	return shared.cluster
}

func needReal(t testing.TB) {
	if os.Getenv("SILLBOT_REAL_REDIS") == "" {
		t.Skip("SILLBOT_REAL_REDIS is not set")
	}
	for _, name := range []string{"redis-server", "redis-cli"} {
		if _, err := exec.LookPath(name); err != nil {
			t.Skip(name + " is not installed")
		}
	}
}

type sharedServers struct {
	sync.Mutex
	root    string
	n       int
	node    *Server
	cluster *Nodes
}

var shared sharedServers

// Main runs the tests of a package and ends the servers that they share. Call
// it from TestMain.
func Main(m *testing.M) {
	code := m.Run()
	if shared.node != nil {
		shared.node.Kill()
	}
	if shared.cluster != nil {
		shared.cluster.Kill()
	}
	if shared.root != "" {
		os.RemoveAll(shared.root)
	}
	os.Exit(code)
}

// dir is a new directory, that Main removes.
func (s *sharedServers) dir(t testing.TB) string {
	if s.root == "" {
		root, err := os.MkdirTemp("", "sillbot")
		if err != nil {
			t.Fatal(err)
		}
		s.root = root
	}
	s.n++
	return filepath.Join(s.root, strconv.Itoa(s.n))
}

// Server is a real redis-server with an append-only file, as the program wants
// it.
type Server struct {
	dir     string
	port    int
	held    *reservation
	cluster bool
	cmd     *exec.Cmd
}

// Start starts a server for one test.
func Start(t testing.TB) *Server {
	needReal(t)
	s, err := launch(t.TempDir(), false)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.held.free)
	t.Cleanup(s.Kill)
	return s
}

func launch(dir string, cluster bool) (*Server, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, err
	}
	// Somebody who reserves nothing may take the port in the last moment.
	for try := 1; ; try++ {
		held, err := reserve()
		if err != nil {
			return nil, err
		}
		s := &Server{dir: dir, port: held.port, held: held, cluster: cluster}
		if err = s.Restart(); err == nil {
			return s, nil
		}
		held.free()
		if try == 3 {
			return nil, err
		}
	}
}

// URL is the server's address.
func (s *Server) URL() string { return "redis://" + s.addr() }

// Port is the server's port.
func (s *Server) Port() int { return s.port }

func (s *Server) addr() string { return fmt.Sprintf("127.0.0.1:%d", s.port) }

// Restart starts a server that is not running, with what its file holds.
func (s *Server) Restart() error {
	args := []string{"--port", strconv.Itoa(s.port), "--bind", "127.0.0.1", "--dir", s.dir, "--save", "",
		"--appendonly", "yes", "--appendfsync", "always", "--maxmemory-policy", "noeviction",
		"--logfile", "redis.log", "--daemonize", "no"}
	if s.cluster {
		args = append(args, "--cluster-enabled", "yes", "--cluster-config-file", "nodes.conf",
			"--cluster-node-timeout", "30000")
	}
	s.cmd = exec.Command("redis-server", args...)
	Tie(s.cmd)
	if err := s.cmd.Start(); err != nil {
		s.cmd = nil
		return err
	}
	for end := time.Now().Add(time.Minute); ; {
		err := s.answers()
		if err == nil {
			return nil
		}
		if time.Now().After(end) {
			s.Kill()
			return fmt.Errorf("redis-server did not come up: %w", err)
		}
		time.Sleep(5 * time.Millisecond)
	}
}

// answers is nil when the server has read its file, and is ours and nobody
// else's on the same port.
func (s *Server) answers() error {
	conn, err := net.Dial("tcp", s.addr())
	if err != nil {
		return err
	}
	conn.Close()
	c := s.Client()
	defer c.Close()
	info, err := c.Info(context.Background(), "server").Result()
	if err != nil {
		return err
	}
	if !strings.Contains(info, fmt.Sprintf("process_id:%d\r\n", s.cmd.Process.Pid)) {
		return fmt.Errorf("port %d is another server's", s.port)
	}
	return nil
}

// Kill ends the server as a power cut would.
func (s *Server) Kill() {
	if s.cmd == nil {
		return
	}
	_ = s.cmd.Process.Kill() // it may be gone
	_ = s.cmd.Wait()
	s.cmd = nil
}

// Hang stops the server without ending it, or lets it go on.
func (s *Server) Hang(t testing.TB, hang bool) {
	t.Helper()
	signal := syscall.SIGCONT
	if hang {
		signal = syscall.SIGSTOP
	}
	if err := s.cmd.Process.Signal(signal); err != nil {
		t.Fatal(err)
	}
}

// Client is a connection for the test's own use, without retries.
func (s *Server) Client() *redis.Client {
	return redis.NewClient(&redis.Options{Addr: s.addr(), MaxRetries: -1, DialerRetries: 1})
}

// Do runs a command on the server.
func (s *Server) Do(t testing.TB, args ...any) string {
	t.Helper()
	c := s.Client()
	defer c.Close()
	v, err := c.Do(context.Background(), args...).Result()
	if err != nil {
		t.Fatalf("%v: %v", args, err)
	}
	return fmt.Sprint(v)
}

// Nodes are the masters of a cluster. Servers is empty where the tests were
// given a running one.
type Nodes struct {
	Servers []*Server
	url     string
}

// URL is the cluster's address list.
func (n *Nodes) URL() string { return n.url }

// StartCluster starts a cluster of three masters for one test.
func StartCluster(t testing.TB) *Nodes {
	needReal(t)
	n, err := launchCluster(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(n.Kill)
	return n
}

func launchCluster(dir string) (*Nodes, error) {
	n := &Nodes{}
	err := n.launch(dir)
	if err != nil {
		n.Kill()
	}
	return n, err
}

// Kill ends all servers of the cluster.
func (n *Nodes) Kill() {
	for _, s := range n.Servers {
		s.Kill()
	}
}

func (n *Nodes) launch(dir string) error {
	var addrs, urls []string
	for i := range 3 {
		s, err := launch(filepath.Join(dir, strconv.Itoa(i)), true)
		if err != nil {
			return err
		}
		n.Servers = append(n.Servers, s)
		addrs = append(addrs, s.addr())
		urls = append(urls, s.URL())
	}
	n.url = strings.Join(urls, ",")
	args := append([]string{"--cluster", "create"}, addrs...)
	if out, err := exec.Command("redis-cli", append(args, "--cluster-yes")...).CombinedOutput(); err != nil {
		return fmt.Errorf("cluster create: %w\n%s", err, out)
	}
	for end := time.Now().Add(time.Minute); ; {
		err := n.agree()
		if err == nil {
			return nil
		}
		if time.Now().After(end) {
			return fmt.Errorf("cluster did not come up: %w", err)
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// agree is nil when every node takes the cluster to be whole.
func (n *Nodes) agree() error {
	for _, s := range n.Servers {
		c := s.Client()
		info, err := c.ClusterInfo(context.Background()).Result()
		c.Close()
		if err != nil {
			return err
		}
		if !strings.Contains(info, "cluster_state:ok") {
			return errors.New(info)
		}
	}
	return nil
}

// MoveSlot moves the slot of a key, with all that is in it, to the next
// master, the way an operator's tool does.
func (n *Nodes) MoveSlot(key string) error {
	ctx := context.Background()
	if len(n.Servers) == 0 {
		return fmt.Errorf("not a cluster of our own")
	}
	var ids []string
	var clients []*redis.Client
	for _, s := range n.Servers {
		c := s.Client()
		defer c.Close()
		id, err := c.Do(ctx, "CLUSTER", "MYID").Text()
		if err != nil {
			return err
		}
		ids, clients = append(ids, id), append(clients, c)
	}
	slot, err := clients[0].ClusterKeySlot(ctx, key).Result()
	if err != nil {
		return err
	}
	from, err := master(ctx, clients[0], slot, ids)
	if err != nil {
		return err
	}
	to := (from + 1) % len(ids)
	set := func(i int, state string, other int) error {
		return clients[i].Do(ctx, "CLUSTER", "SETSLOT", slot, state, ids[other]).Err()
	}
	if err := errors.Join(set(to, "IMPORTING", from), set(from, "MIGRATING", to)); err != nil {
		return err
	}
	if err := migrate(ctx, clients[from], slot, n.Servers[to].port); err != nil {
		return err
	}
	return errors.Join(set(to, "NODE", to), set(from, "NODE", to), set((to+1)%len(ids), "NODE", to))
}

// master is the place in ids of the master that has a slot.
func master(ctx context.Context, c *redis.Client, slot int64, ids []string) (int, error) {
	shards, err := c.ClusterShards(ctx).Result()
	if err != nil {
		return 0, err
	}
	for _, shard := range shards {
		for _, r := range shard.Slots {
			if i := slices.Index(ids, shard.Nodes[0].ID); i >= 0 && slot >= r.Start && slot <= r.End {
				return i, nil
			}
		}
	}
	return 0, fmt.Errorf("slot %d has no master", slot)
}

// migrate moves the keys of a slot to the server at a port, ten at a time.
func migrate(ctx context.Context, from *redis.Client, slot int64, port int) error {
	for {
		keys, err := from.ClusterGetKeysInSlot(ctx, int(slot), 10).Result()
		if err != nil || len(keys) == 0 {
			return err
		}
		args := []any{"MIGRATE", "127.0.0.1", port, "", 0, 5000, "KEYS"}
		for _, k := range keys {
			args = append(args, k)
		}
		if err := from.Do(ctx, args...).Err(); err != nil {
			return err
		}
	}
}
