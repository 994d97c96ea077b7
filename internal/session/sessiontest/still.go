package sessiontest

import (
	"context"
	"net"
	"sync"
	"testing"

	"github.com/alicebob/miniredis/v2"
	"github.com/redis/go-redis/v9"
	"github.com/redis/go-redis/v9/maintnotifications"
)

// Still gives clients of a fresh miniredis to a test in a bubble of
// testing/synctest, where time passes only when everybody waits. They are
// connected by pipes, because who waits for the network counts as busy.
func Still(t testing.TB) (client func() *redis.Client) {
	m := miniredis.NewMiniRedis()
	m.ClockTTL(true)
	t.Cleanup(m.Close)
	return func() *redis.Client {
		return redis.NewClient(&redis.Options{
			Dialer:                   func(context.Context, string, string) (net.Conn, error) { return dialPipe(m) },
			ContextTimeoutEnabled:    true,
			MaintNotificationsConfig: &maintnotifications.Config{Mode: maintnotifications.ModeDisabled},
		})
	}
}

// pipe is one end of a net.Pipe that takes in what is written before the other
// end reads it. Without that, a long pipeline and the answers to its beginning
// wait for each other.
type pipe struct {
	net.Conn
	out  chan []byte
	over chan struct{}
	once sync.Once
}

func dialPipe(m *miniredis.Miniredis) (net.Conn, error) {
	c, err := m.Dial()
	if err != nil {
		return nil, err
	}
	p := &pipe{Conn: c, out: make(chan []byte, 1000), over: make(chan struct{})}
	go p.carry()
	return p, nil
}

func (p *pipe) carry() {
	for {
		select {
		case b := <-p.out:
			if _, err := p.Conn.Write(b); err != nil {
				return
			}
		case <-p.over:
			return
		}
	}
}

func (p *pipe) Write(b []byte) (int, error) {
	select {
	case p.out <- append([]byte(nil), b...):
		return len(b), nil
	case <-p.over:
		return 0, net.ErrClosed
	}
}

func (p *pipe) Close() error {
	p.once.Do(func() { close(p.over) })
	return p.Conn.Close()
}
