package main

import (
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/telegram/telegramtest"
)

var (
	aRef = regexp.MustCompile(`Job ([A-Z0-9]{6}) is begun`)
)

// TestAGroupThatMovesKeepsItsJobs: a group becomes a supergroup, and the platform
// tells of it in either order, or only when something is sent there. The job goes
// on, a link that was made before leads to it, and a restart forgets nothing.
func TestAGroupThatMovesKeepsItsJobs(t *testing.T) {
	const old, now, ana, lead = -77, -1001000000077, 5, 6
	for name, moves := range map[string]func(*telegramtest.Server){
		"old chat first": func(s *telegramtest.Server) { s.Migrate(old, now, ana, false) },
		"new chat first": func(s *telegramtest.Server) { s.Migrate(old, now, ana, true) },
		"at sending": func(s *telegramtest.Server) {
			s.Join(telegramtest.Chat{ID: old, Type: "group", MovedTo: now})
			s.Join(telegramtest.Chat{ID: now, Type: "supergroup"})
		},
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t, false)
			ctx := within(t, 2*time.Minute)
			r.start(ctx)
			r.server.Join(telegramtest.Chat{ID: old, Type: "group"})
			r.server.TypeIn(old, ana, "/job")
			begun, err := r.server.WaitText(ctx, old, 0, "is begun")
			require.NoError(t, err)
			ref := aRef.FindStringSubmatch(begun.Text)[1]
			r.server.TypeIn(old, ana, "/label mill")
			r.server.TypeIn(old, ana, "/invite lead")
			token := r.copied(ctx, old)

			moves(r.server)
			r.server.Type(lead, "/start "+token)
			_, err = r.server.WaitText(ctx, now, 0, "open for the crew lead")
			require.NoError(t, err, "mail that names the old number")
			r.p.terminate(t)
			r.start(ctx)
			seen := len(r.server.Sent(now))
			r.server.TypeIn(now, ana, "/job")
			list, err := r.server.WaitText(ctx, now, seen, "mill")
			require.NoError(t, err)
			require.Contains(t, list.Text, "Job "+ref)
			r.server.TypeIn(now, ana, "/address 3 Weir Lane")
			_, err = r.server.WaitText(ctx, now, seen, "The address is noted")
			require.NoError(t, err)
		})
	}
}
