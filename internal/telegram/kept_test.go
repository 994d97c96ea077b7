package telegram

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/telegram/telegramtest"
)

// A card that was uploaded once is sent again by its file id, without being drawn; where
// the platform has it no more it is uploaded anew. While it is drawn the chat says so.
func TestACardIsUploadedOnce(t *testing.T) {
	server := telegramtest.Start(t)
	server.Join(telegramtest.Chat{ID: 7, Type: "private"})
	drawn := 0
	s := connect(t, config(server)).Sender(words{}, func(ctx context.Context, lang string, p dialog.Picture) ([]byte, error) {
		drawn++
		return paintCard(ctx, lang, p)
	})
	send := func() telegramtest.Sent {
		t.Helper()
		require.NoError(t, failed(s.Send(within(t), reply("short", withPicture, withButton("yes", "1")))))
		sent := server.Sent(7)
		return sent[len(sent)-1]
	}
	first := send()
	require.Empty(t, first.FileID)
	require.NotEmpty(t, first.Photo)
	again := send()
	require.NotEmpty(t, again.FileID)
	require.Equal(t, first.Photo, again.Photo)
	require.Equal(t, first.Buttons, again.Buttons)
	require.Equal(t, 1, drawn)
	server.Lose(again.FileID)
	require.Empty(t, send().FileID)
	require.NotEmpty(t, send().FileID)
	require.Equal(t, 2, drawn)
	require.NoError(t, server.Wait(within(t), func() bool { return server.Calls("sendChatAction") == 2 }))
}
