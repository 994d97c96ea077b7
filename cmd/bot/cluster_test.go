package main

import (
	"context"
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
	ctx := within(t, 5*time.Minute)
	p := r.start(ctx)
	scripts, want := crowd(t, 3)

	// A slot moves after every few replies.
	playing, stop := context.WithCancel(ctx)
	moves, moved := 0, make(chan error, 1)
	go func() {
		for {
			for chat := range scripts {
				n := len(r.server.AllSent()) + 3
				if r.wait(playing, func() bool { return len(r.server.AllSent()) >= n }) != nil {
					moved <- nil
					return
				}
				if err := nodes.MoveSlot(fmt.Sprintf("sb:{%d}:p", chat%1024)); err != nil {
					moved <- err
					return
				}
				moves++
			}
		}
	}()
	require.NoError(t, r.people(ctx, scripts, time.Minute, func(chat int64, text string) { r.server.Type(chat, text) }))
	stop()
	require.NoError(t, <-moved)
	require.Greater(t, moves, len(scripts))
	o := r.settled(ctx, want)
	require.Zero(t, o.lost)
	require.Zero(t, o.disorder)
	require.Zero(t, o.doubles)
	p.terminate(t)
}
