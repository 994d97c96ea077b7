package telegram

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/telegram/telegramtest"
)

// TestWhatThePlatformFindsTooLongIsSplit and goes again, in halves of halves if need be,
// the buttons under the last; of a picture or a paper the text goes below.
func TestWhatThePlatformFindsTooLongIsSplit(t *testing.T) {
	server, s := stage(t, words{"long": "<b>" + strings.Repeat("sill 1204\n", 300) + "</b>", "short": "packers"}, paintCard)
	s.Papers = func(context.Context, string, int64, dialog.Document) (string, []byte, error) {
		return "a.pdf", []byte("%PDF"), nil
	}
	server.TextMost, server.CaptionMost = 1000, 5
	require.NoError(t, failed(s.Send(within(t), reply("long", withButton("yes", "1")))))
	sent := server.Sent(7)
	require.Greater(t, len(sent), 3)
	whole := ""
	for i, m := range sent {
		whole += m.Text + "\n"
		require.Equal(t, i == len(sent)-1, m.Buttons != nil)
	}
	require.Equal(t, strings.Repeat("sill 1204\n", 300), whole)

	for _, with := range []func(*dialog.Reply){withPicture, func(r *dialog.Reply) { r.Document = &dialog.Document{} }} {
		before := len(server.Sent(7))
		require.NoError(t, failed(s.Send(within(t), reply("short", with, withButton("yes", "1")))))
		sent = server.Sent(7)[before:]
		require.Len(t, sent, 2)
		require.Empty(t, sent[0].Text)
		require.NotNil(t, sent[0].Photo)
		require.Equal(t, "packers", sent[1].Text)
		require.Equal(t, [][]telegramtest.Button{{{Label: "en yes", Data: "1"}}}, sent[1].Buttons)
	}

	server.TextMost = 1
	require.Error(t, failed(s.Send(within(t), reply("short"))), "and ends")
}
