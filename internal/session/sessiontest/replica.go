package sessiontest

import (
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// Pair is a primary and its replica, with a way between them that takes time.
type Pair struct {
	Primary, Replica *Server
	way              *Proxy
}

// Replicated starts a pair for one test. What the primary writes reaches the
// replica after lag, and what the replica answers comes at once.
func Replicated(t testing.TB, lag time.Duration) *Pair {
	t.Helper()
	p := &Pair{Primary: Start(t), Replica: Start(t)}
	p.way = NewProxy(t, p.Primary)
	p.way.lag.Store(int64(lag))
	p.Primary.Do(t, "CONFIG", "SET", "repl-diskless-sync-delay", 0)
	p.Replica.Do(t, "CONFIG", "SET", "repl-diskless-sync-delay", 0)
	host, port, err := net.SplitHostPort(p.way.l.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	p.Replica.Do(t, "REPLICAOF", host, port)
	p.Replica.waitFollows(t, p.Primary)
	return p
}

// Follow makes a server the replica of another, without a way between.
func (s *Server) Follow(t testing.TB, primary *Server) {
	t.Helper()
	until(t, "the server does not read its file", func() bool {
		return strings.Contains(s.Do(t, "INFO", "persistence"), "\nloading:0")
	})
	s.Do(t, "CONFIG", "SET", "repl-diskless-sync-delay", 0)
	s.Do(t, "REPLICAOF", "127.0.0.1", primary.port)
	s.waitFollows(t, primary)
}

// waitFollows waits until the primary has heard of the replica how far it is: up to then,
// which on a busy machine takes a second, no wait for replicas counts it.
func (s *Server) waitFollows(t testing.TB, primary *Server) {
	t.Helper()
	heard := regexp.MustCompile(fmt.Sprintf(`port=%v,state=online,offset=[1-9]`, s.port))
	until(t, "the replica does not follow", func() bool {
		return strings.Contains(s.Do(t, "INFO", "replication"), "master_link_status:up") &&
			heard.MatchString(primary.Do(t, "INFO", "replication"))
	})
}

// FailOver ends the primary and the way to the replica as a power cut of the
// primary's machine would, with what is on its way, and makes the replica a
// primary.
func (p *Pair) FailOver(t testing.TB) {
	t.Helper()
	p.Primary.Kill()
	p.way.Cut()
	p.Replica.Do(t, "REPLICAOF", "NO", "ONE")
}

// Part cuts the way between the two for good and makes the replica a primary too,
// as Sentinel does that sees the one side only. The old one goes on.
func (p *Pair) Part(t testing.TB) {
	t.Helper()
	p.Replica.Do(t, "REPLICAOF", "NO", "ONE")
	p.way.l.Close()
	p.way.Cut()
}

// Sentinel is a server that watches a primary, and replaces it as soon as it
// alone finds that it is gone.
type Sentinel struct {
	Server
	name string
}

// URL is for the program.
func (s *Sentinel) URL() string { return "redis+sentinel://" + s.addr() + "/" + s.name }

// Watch starts a Sentinel for one test.
func Watch(t testing.TB, primary *Server) *Sentinel {
	t.Helper()
	held, err := reserve()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(held.free)
	s := &Sentinel{Server{dir: t.TempDir(), port: held.port}, "windows"}
	conf := filepath.Join(s.dir, "sentinel.conf")
	text := fmt.Sprintf("port %d\nbind 127.0.0.1\ndir %s\nlogfile sentinel.log\n"+
		"sentinel monitor %[3]s 127.0.0.1 %d 1\nsentinel down-after-milliseconds %[3]s 500\nsentinel failover-timeout %[3]s 2000\n",
		s.port, s.dir, s.name, primary.port)
	if err := os.WriteFile(conf, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	s.cmd = exec.Command("redis-server", conf, "--sentinel")
	Tie(s.cmd)
	if err := s.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Kill)
	until(t, "Sentinel does not know the replica", func() bool {
		return s.answers() == nil && strings.Contains(s.Do(t, "SENTINEL", "REPLICAS", s.name), "master-link-status:ok")
	})
	return s
}

// WaitPrimary waits until the Sentinel has made a server the primary.
func (s *Sentinel) WaitPrimary(t testing.TB, heir *Server) {
	t.Helper()
	until(t, "Sentinel does not make the replica the primary", func() bool {
		return strings.Contains(s.Do(t, "SENTINEL", "GET-MASTER-ADDR-BY-NAME", s.name), fmt.Sprint(heir.port))
	})
}

func until(t testing.TB, not string, done func() bool) {
	t.Helper()
	for end := time.Now().Add(30 * time.Second); !done(); {
		if time.Now().After(end) {
			t.Fatal(not)
		}
		time.Sleep(5 * time.Millisecond)
	}
}
