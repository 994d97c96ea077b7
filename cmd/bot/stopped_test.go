package main

import (
	"fmt"
	"os"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
	"sillbot/internal/telegram/telegramtest"
)

// A replica is stopped in the middle of its sends, for longer than its lease, while
// another one takes its chats over. When it goes on, nothing comes twice but what
// was just being called.
func TestAReplicaThatSlept(t *testing.T) {
	t.Parallel() // it waits, on servers of its own
	if os.Getenv("SILLBOT_REAL_REDIS") == "" {
		t.Skip("SILLBOT_REAL_REDIS is not set")
	}
	const people, typed = 4, 8
	ctx := within(t, 5*time.Minute)
	r := newRig(t, true)
	sleeper := r.start(ctx)
	scripts, want := crowd(t, people)
	due := map[int64][]string{}
	r.server.FailWhen(func(c telegramtest.Call) *telegramtest.Fault {
		return &telegramtest.Fault{Delay: 300 * time.Millisecond}
	})
	for chat, lines := range scripts {
		for _, text := range lines[:typed] {
			r.server.Type(chat, text)
		}
		due[chat] = want[chat][:typed]
	}
	require.NoError(t, r.wait(ctx, func() bool {
		for chat := range scripts {
			if len(r.server.Sent(chat)) == 0 {
				return false
			}
		}
		return r.server.Pending() == 0 // all are committed, few are sent
	}))
	require.NoError(t, sleeper.cmd.Process.Signal(syscall.SIGSTOP))

	env := r.env()
	env["LISTEN"] = fmt.Sprintf("127.0.0.1:%d", sessiontest.Port(t))
	other := launch(t, env, "serve") // it is pushed nothing, and finds what waits
	require.NoError(t, other.ready(ctx), "%s", other.log)
	require.Zero(t, r.settled(ctx, due).lost)
	require.NoError(t, sleeper.cmd.Process.Signal(syscall.SIGCONT))
	for chat, lines := range scripts {
		r.server.Type(chat, lines[typed])
		due[chat] = want[chat][:typed+1]
	}
	o := r.settled(ctx, due) // which fails the test if anything is out of place
	require.Zero(t, o.lost)
	// One call may be of several replies that went as one message.
	require.LessOrEqual(t, o.repeats, people, "one call of a chat at the most had begun")
	t.Logf("%d chats, sent twice %d replies in %d messages", people, o.doubles, o.repeats)
}
