package turn

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
)

// TestMailHappensOnceHoweverOftenItIsDelivered delivers the same piece of mail
// twice, as after a crash between delivery and removal.
func TestMailHappensOnceHoweverOftenItIsDelivered(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		from, to := sessiontest.Chat(), sessiontest.Chat()
		taken, s := 0, store(t, url)
		d := New(s, &post{}, Options{
			Rate: -1,
			Step: func(was dialog.State, in dialog.Input) (dialog.State, []dialog.Reply) {
				require.Equal(t, from, in.Mail.From, "who sent it is the desk's word, not the letter's")
				taken++
				was.Fails++
				return was, nil
			},
		})
		letter := dialog.Mail{From: 99, To: to, Ref: "X"}
		require.NoError(t, d.deliver(ctx, from, "7.0", letter))
		require.NoError(t, d.deliver(ctx, from, "7.0", letter))
		require.Equal(t, 2, taken, "the second step is made, and not written")
		require.Equal(t, 1, fails(t, s, to))
		require.NoError(t, d.deliver(ctx, from, "7.1", letter))
		require.Equal(t, 2, fails(t, s, to))
	})
}

func fails(t *testing.T, s *session.Store, chat int64) int {
	c, err := s.Load(ctx, session.Key{Chat: chat})
	require.NoError(t, err)
	var state dialog.State
	require.NoError(t, json.Unmarshal(c.Data, &state))
	return state.Fails
}

func TestMailIDsAreBelowZeroAndTellLettersApart(t *testing.T) {
	seen := map[int64]bool{}
	for from := range int64(50) {
		for _, item := range []string{"1.0", "1.1", "2.0", "-5.0"} {
			id := mailID(from, item)
			require.Negative(t, id)
			require.False(t, seen[id])
			seen[id] = true
			require.Equal(t, id, mailID(from, item))
		}
	}
}

// TestACrewKeepsOthersOut: nobody but the crew is answered, until a link lets
// them in.
func TestACrewKeepsOthersOut(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		p, s := &post{}, store(t, url)
		d := New(s, p, Options{Rate: -1, Crew: []int64{1}})
		chat, user := sessiontest.Chat(), sessiontest.Chat()
		take := func(id, chat, user int64, text string) string {
			before := len(p.sent(chat))
			u := Update{ID: id, Chat: chat, User: user, Input: dialog.Input{Kind: dialog.Typed, Text: text, Now: time.Now()}}
			require.NoError(t, d.Take(ctx, u))
			require.NoError(t, d.Flush(ctx, chat))
			said := p.sent(chat)[before:]
			require.NotEmpty(t, said)
			return said[0].Reply.Text.Key
		}
		require.Equal(t, "crew.closed", take(1, chat, user, "England"))
		require.Equal(t, "crew.closed", take(2, chat, user, "/start not-a-token-that-anybody-made"))
		token := "a-token-of-one-of-the-crew"
		require.NoError(t, s.PutLink(ctx, 1, token, []byte(`{"token":"x","owner":1,"role":"crew"}`), time.Hour))
		require.Equal(t, "message", take(3, chat, user, "/start "+token))
		require.Equal(t, "message", take(4, chat, user, "England"))
		require.Equal(t, "message", take(5, sessiontest.Chat(), 1, "England"))
	})
}
