package main

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// A closed bot as its people see it, through the whole program: a stranger, a mate who
// comes by a link and is put out, and what the stranger leaves behind.
func TestServeIsClosedToStrangers(t *testing.T) {
	both(t, func(t *testing.T, webhook bool) {
		r := newRig(t, webhook)
		r.crew = "1"
		ctx := within(t, 5*time.Minute)
		p := r.start(ctx)
		says := func(chat int64, text, want string) string {
			t.Helper()
			from := len(r.server.Sent(chat))
			r.server.Type(chat, text)
			got, err := r.server.WaitText(ctx, chat, from, want)
			require.NoError(t, err, "%s", p.log)
			return got.Text
		}
		says(2, "England today", "This bot is for one crew")
		r.server.Type(2, "hello")
		says(1, "invite crew", "for 14 days")
		token := r.copied(ctx, 1)
		says(2, "/start "+token, "one of the crew now")
		require.Len(t, r.server.Sent(2), 2, "a stranger is told once")
		require.Contains(t, says(1, "crew list", "1. "), "let in by you")
		says(1, "put out 1", "Put out")
		says(1, "put out 1 yes", "is put out")
		r.server.Type(2, "England today")
		r.server.Type(3, "England today")
		_, err := r.server.WaitText(ctx, 3, 0, "This bot is for one crew")
		require.NoError(t, err)
		p.terminate(t)
		require.Len(t, r.server.Sent(2), 2)
	})
}
