package main

import (
	"fmt"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

// TestServeThroughACluster plays whole surveys through three masters while the
// slots of the people's chats move from one to the next.
func TestServeThroughACluster(t *testing.T) {
	if os.Getenv("SILLBOT_REAL_REDIS") == "" {
		t.Skip("SILLBOT_REAL_REDIS is not set")
	}
	nodes := sessiontest.Cluster(t)
	r := newRig(t, false)
	r.url = nodes.URL()
	ctx := within(t, 2*time.Minute)
	p := r.start(ctx)
	scripts, want := crowd(t, 3)

	stop, moved := make(chan struct{}), make(chan error, 1)
	go func() {
		for {
			for chat := range scripts {
				select {
				case <-stop:
					moved <- nil
					return
				case <-time.After(50 * time.Millisecond):
				}
				if err := nodes.MoveSlot(fmt.Sprintf("sb:{%d}:p", chat%1024)); err != nil {
					moved <- err
					return
				}
			}
		}
	}()
	require.NoError(t, r.people(ctx, scripts, 2*time.Minute, func(chat int64, text string) { r.server.Type(chat, text) }))
	close(stop)
	require.NoError(t, <-moved)
	o := r.settled(ctx, want)
	require.Zero(t, o.lost)
	require.Zero(t, o.disorder)
	require.Zero(t, o.doubles)
	require.Less(t, p.terminate(t), 10*time.Second)
}
