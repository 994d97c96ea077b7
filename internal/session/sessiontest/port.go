package sessiontest

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"net"
	"testing"
)

// Ports for servers lie below those that systems give to outgoing connections:
// while a server is down for a moment, none of them can take its place. A
// cluster node listens on its port + 10000 as well.
const (
	lowestPort  = 11000
	highestPort = 21999
	busOffset   = 10000
)

// reservation keeps a port from other tests, of this run or another on the
// same machine, by the UDP ports of the same numbers, which nobody uses. It
// ends with the process, however that ends.
type reservation struct {
	port int
	held []net.PacketConn
}

// Port is a loopback port for a server that a test may stop and start again.
func Port(t testing.TB) int {
	t.Helper()
	r, err := reserve()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(r.free)
	return r.port
}

func reserve() (*reservation, error) {
	for range 1000 {
		r := &reservation{port: lowestPort + rand.IntN(highestPort-lowestPort+1)}
		if r.take(r.port) && r.take(r.port+busOffset) {
			return r, nil
		}
		r.free()
	}
	return nil, errors.New("no free port")
}

func (r *reservation) take(port int) bool {
	address := fmt.Sprintf("127.0.0.1:%d", port)
	held, err := net.ListenPacket("udp", address)
	if err != nil {
		return false
	}
	r.held = append(r.held, held)
	l, err := net.Listen("tcp", address)
	if err != nil {
		return false // somebody else's server
	}
	l.Close()
	return true
}

func (r *reservation) free() {
	for _, held := range r.held {
		held.Close()
	}
}
