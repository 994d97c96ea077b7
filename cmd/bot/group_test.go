package main

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/telegram/telegramtest"
)

// TestFourPeopleOfAGroupTypeAtOnce, to a platform that keeps to its limits: 20 messages a
// minute in a group, 30 a second in all (its Bots FAQ, quoted by others). Everything that
// they typed is taken, each message of the bot names who it is for, nothing is called in
// vain, and fewer messages come than were typed.
func TestFourPeopleOfAGroupTypeAtOnce(t *testing.T) {
	t.Parallel() // it waits, on servers of its own
	const group = -1000000000055
	people := map[int64]string{31: "Ana", 32: "Bo", 33: "Cy", 34: "Dee"}
	for _, webhook := range []bool{false, true} {
		t.Run(fmt.Sprint("webhook ", webhook), func(t *testing.T) {
			r := newRig(t, webhook)
			r.sends = "30"
			r.server.Limit(telegramtest.Limits{Group: 20, Chat: 1, Bot: 30})
			ctx := within(t, 2*time.Minute)
			r.start(ctx)
			r.server.Join(telegramtest.Chat{ID: group, Type: "supergroup", Topics: []int64{9}})
			for user, name := range people {
				r.server.Call(user, name)
			}
			r.server.TypeInTopic(group, 31, 9, "job")
			_, err := r.server.WaitText(ctx, group, 0, "is begun")
			require.NoError(t, err)
			typed := 0
			for _, form := range []string{"England today bare none white", "12%d1", "12%d2", "12%d3", "10%d0"} {
				for user := range people {
					r.server.TypeInTopic(group, user, 9, strings.ReplaceAll(form, "%d", fmt.Sprint(user%10)))
					typed++
				}
			}
			said := func() (all string) {
				for _, m := range r.server.Sent(group) {
					all += m.Text + "\n"
				}
				return all
			}
			require.NoError(t, r.server.Wait(ctx, func() bool {
				all := said()
				for user := range people {
					if !strings.Contains(all, fmt.Sprintf("10%d0 mm", user%10)) {
						return false
					}
				}
				return true
			}), "%s", said())
			require.NoError(t, r.server.WaitTaken(ctx))
			all := said()
			for user := range people {
				for _, form := range []string{"12%d1 mm", "12%d2 mm", "12%d3 mm"} {
					require.Contains(t, all, fmt.Sprintf(form, user%10))
				}
			}
			sent := r.server.Sent(group)
			for _, m := range sent {
				if m.Method == "editMessageReplyMarkup" { // old buttons are taken off
					continue
				}
				name, _, named := strings.Cut(m.Text, ":\n")
				require.True(t, named, m.Text)
				require.Contains(t, []string{"Ana", "Bo", "Cy", "Dee"}, name)
				require.EqualValues(t, 9, m.Topic)
				require.NotZero(t, m.ReplyTo)
			}
			require.Zero(t, r.server.Refused())
			require.Less(t, len(sent), typed)
			t.Logf("%d messages to %d; the last:\n%s", len(sent), typed, sent[len(sent)-1].Text)
		})
	}
}
