package main

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/telegram/telegramtest"
)

// The cards of a crew's 12 windows come in two calls, 10 and 2, for the messenger takes 2
// to 10 together (core.telegram.org/bots/api, sendMediaGroup); the second time nothing is
// uploaded, and one more card than ten goes by itself.
func TestTheCardsOfTwelveWindows(t *testing.T) {
	both(t, func(t *testing.T, webhook bool) {
		ctx := within(t, 2*time.Minute)
		r := newRig(t, webhook)
		r.start(ctx)
		const person = 5
		for _, line := range append([]string{"/start", "job"}, survey(0)[1:24]...) {
			r.server.Type(person, line)
			require.NoError(t, r.server.WaitTaken(ctx))
		}
		_, err := r.server.WaitText(ctx, person, 0, "seen from outside")
		require.NoError(t, err)
		for n := 2; n <= 12; n++ {
			r.server.Type(person, fmt.Sprintf("copy 1 room %02d", n))
			_, err := r.server.WaitText(ctx, person, 0, fmt.Sprintf("room %02d", n))
			require.NoError(t, err)
		}
		ask := func(what, button string, n int) (cards []telegramtest.Sent, took time.Duration) {
			seen := len(r.server.Sent(person))
			r.server.Type(person, what)
			_, err := r.server.WaitText(ctx, person, seen, "pictures")
			require.NoError(t, err)
			begun := time.Now()
			_, err = r.server.PressLast(person, person, button)
			require.NoError(t, err)
			require.NoError(t, r.server.Wait(ctx, func() bool {
				cards = nil
				for _, m := range r.server.Sent(person)[seen:] {
					if m.Photo != nil {
						cards = append(cards, m)
					}
				}
				return len(cards) >= n
			}))
			return cards, time.Since(begun)
		}
		first, took := ask("cards", "Send all 12 cards", 12)
		again, tookAgain := ask("cards", "Send all 12 cards", 12)
		require.Len(t, first, 12)
		require.Len(t, again, 12)
		require.Equal(t, 4, r.server.Calls("sendMediaGroup"), "10 and 2, twice")
		require.Equal(t, first[0].Album, first[9].Album)
		require.NotEqual(t, first[9].Album, first[10].Album)
		require.Equal(t, first[10].Album, first[11].Album)
		bytes := 0
		for i := range first {
			require.Equal(t, i == 0, first[i].FileID != "", "the first was uploaded at the end of its survey, the others now")
			require.NotEmpty(t, again[i].FileID, "not uploaded again")
			require.Equal(t, first[i].Photo, again[i].Photo)
			require.Contains(t, again[i].Text, "seen from outside")
			bytes += len(first[i].Photo)
		}
		photos := r.server.Calls("sendPhoto")
		eleven, _ := ask("cards 2-12", "Send all 11 cards", 11)
		require.Equal(t, 5, r.server.Calls("sendMediaGroup"))
		require.Equal(t, photos+1, r.server.Calls("sendPhoto"))
		require.Zero(t, eleven[10].Album)
		require.NotEmpty(t, eleven[10].FileID)
		t.Logf("12 cards of %d bytes in %v, and again in %v", bytes, took, tookAgain)
	})
}
