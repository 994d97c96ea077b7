package sessiontest

import (
	"net"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// Proxy stands between the program and a server, to count what goes through
// and to lead it elsewhere.
type Proxy struct {
	// Requests counts what clients wrote. A command or pipeline of less than a
	// few kilobytes is one.
	Requests atomic.Int64

	l      net.Listener
	lag    atomic.Int64 // of what the server says, ns
	mu     sync.Mutex
	target string
	conns  map[net.Conn]bool
}

// NewProxy is a proxy in front of a server, for one test.
func NewProxy(t testing.TB, s *Server) *Proxy {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	p := &Proxy{l: l, target: s.addr(), conns: map[net.Conn]bool{}}
	go p.accept()
	t.Cleanup(func() {
		l.Close()
		p.Cut()
	})
	return p
}

// URL is the proxy's address.
func (p *Proxy) URL() string { return "redis://" + p.l.Addr().String() }

// Lead sends new connections to another server and cuts the old ones.
func (p *Proxy) Lead(s *Server) {
	p.mu.Lock()
	p.target = s.addr()
	p.mu.Unlock()
	p.Cut()
}

// Cut ends all connections, wherever they are in a command.
func (p *Proxy) Cut() {
	p.mu.Lock()
	defer p.mu.Unlock()
	for c := range p.conns {
		c.Close()
	}
	clear(p.conns)
}

func (p *Proxy) accept() {
	for {
		in, err := p.l.Accept()
		if err != nil {
			return
		}
		p.mu.Lock()
		out, err := net.Dial("tcp", p.target)
		if err != nil {
			p.mu.Unlock()
			in.Close()
			continue
		}
		p.conns[in], p.conns[out] = true, true
		p.mu.Unlock()
		go p.copy(out, in, &p.Requests)
		if lag := time.Duration(p.lag.Load()); lag > 0 {
			go late(in, out, lag)
			continue
		}
		go p.copy(in, out, nil)
	}
}

func (p *Proxy) copy(to, from net.Conn, count *atomic.Int64) {
	defer to.Close()
	buf := make([]byte, 64<<10)
	for {
		n, err := from.Read(buf)
		if n > 0 && count != nil {
			count.Add(1)
		}
		if n > 0 {
			if _, err := to.Write(buf[:n]); err != nil {
				return
			}
		}
		if err != nil {
			return
		}
	}
}

// late copies what comes from one side to the other when lag has passed. What is
// on its way when the connection ends is lost.
func late(to, from net.Conn, lag time.Duration) {
	defer from.Close()
	type piece struct {
		due  time.Time
		data []byte
	}
	way := make(chan piece, 1<<16)
	go func() {
		defer close(way)
		for {
			buf := make([]byte, 16<<10)
			n, err := from.Read(buf)
			if err != nil {
				to.Close()
				return
			}
			way <- piece{time.Now().Add(lag), buf[:n]}
		}
	}()
	for p := range way {
		time.Sleep(time.Until(p.due))
		if _, err := to.Write(p.data); err != nil {
			from.Close() // which ends the reading
		}
	}
}
