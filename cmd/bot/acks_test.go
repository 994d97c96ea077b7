package main

import (
	"bytes"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

// A cluster and REDIS_ACKS are refused before anything is asked of either.
func TestServeRefusesAcksOfACluster(t *testing.T) {
	r := newRig(t, false)
	env := r.env()
	env["REDIS_URL"], env["REDIS_ACKS"] = "redis://127.0.0.1:1,127.0.0.1:2", "1"
	err := serve(within(t, 5*time.Minute), func(name string) string { return env[name] }, &bytes.Buffer{})
	require.ErrorContains(t, err, "REDIS_ACKS: replicas of a cluster")
}

// The program over Sentinel, whose primary dies: what is written meanwhile counts
// and is answered once the new primary has a replica, and not before.
func TestServeOverSentinel(t *testing.T) {
	t.Parallel() // it waits, on servers of its own
	both(t, func(t *testing.T, webhook bool) {
		pair := sessiontest.Replicated(t, 0)
		pair.Replica.Follow(t, pair.Primary)
		r := newRig(t, webhook)
		watch := sessiontest.Watch(t, pair.Primary)
		r.url, r.acks = watch.URL(), "1"
		ctx := within(t, 2*time.Minute)
		r.start(ctx)
		id := sessiontest.Chat()
		r.server.Type(id, "/start")
		_, err := r.server.WaitSent(ctx, id, 1)
		require.NoError(t, err)
		pair.Primary.Kill()
		for _, line := range []string{"England, today", "bare", "none"} {
			r.server.Type(id, line)
		}
		watch.WaitPrimary(t, pair.Replica)
		require.Len(t, r.server.Sent(id), 1, "no replica has more")
		require.NoError(t, pair.Primary.Restart())
		pair.Primary.Follow(t, pair.Replica)
		_, err = r.server.WaitText(ctx, id, 1, "What is the new frame made of?")
		require.NoError(t, err)
		require.NoError(t, r.wait(ctx, func() bool { return r.server.Pending() == 0 }))
		silent(t, r.p.log.String())
	})
}
