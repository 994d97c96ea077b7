package telegram

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/go-telegram/bot"
	"github.com/go-telegram/bot/models"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/engine"
)

// A call of ours ends as the library's own call of the same method does, whatever the
// server says to it.
func TestACallEndsAsTheLibrarysDoes(t *testing.T) {
	refused := func(code int, more string) string {
		return fmt.Sprintf(`{"ok":false,"error_code":%d,"description":"Oh no: chat not found"%s}`, code, more)
	}
	for _, c := range []struct {
		status int
		body   string
	}{
		{200, `{"ok":true,"result":{"message_id":77,"date":1,"chat":{"id":7,"type":"private"},"text":"a"}}`},
		{200, `{"ok":true,"result":{"message_id":78,"chat":{"id":7,"type":"private"},"reply_markup":{"inline_keyboard":"odd"}}}`},
		{200, `{"ok":true,"result":true}`}, {200, `{"ok":true,"result":{"message_id":"odd"}}`}, {200, `{"ok":true}`},
		{403, refused(403, "")}, {400, refused(400, "")}, {401, refused(401, "")}, {404, refused(404, "")}, {409, refused(409, "")},
		{418, refused(418, "")}, {429, refused(429, `,"parameters":{"retry_after":7}`)}, {429, refused(429, "")},
		{400, refused(400, `,"parameters":{"migrate_to_chat_id":-1001234567890}`)},
		{500, refused(500, "")}, {502, "<html>"}, {200, "<html>"}, {200, ""}, {200, `[]`}, {200, `{"ok":"yes"}`}, {302, ""},
	} {
		server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			w.WriteHeader(c.status)
			_, _ = io.WriteString(w, c.body)
		}))
		client, err := New(Config{Token: "1:a", API: server.URL})
		require.NoError(t, err)
		s := client.Sender(nil, nil)
		params := &bot.SendMessageParams{ChatID: int64(7), Text: "a"}
		theirs := s.call(t.Context(), calling(client.api.SendMessage, params))
		unsure := s.Unsure.Swap(0)
		ours := s.post(t.Context(), "sendMessage", params)
		require.Equal(t, unsure, s.Unsure.Load(), c.body)
		require.Equal(t, theirs == nil, ours == nil, c.body)
		require.Equal(t, outcome(s.verdict(t.Context(), theirs)), outcome(s.verdict(t.Context(), ours)), c.body)
		var a, b *bot.MigrateError
		require.Equal(t, errors.As(theirs, &a), errors.As(ours, &b), c.body)
		if a != nil {
			require.Equal(t, a.MigrateToChatID, b.MigrateToChatID)
		}
		message, _ := client.post(t.Context(), "sendMessage", params)
		require.Equal(t, strings.Contains(c.body, `"message_id":7`), message >= 77, c.body)
		server.Close()
	}
}

// outcome is what becomes of a reply.
func outcome(err error) string {
	retry, _ := errors.AsType[*engine.RetryError](err)
	drop, _ := errors.AsType[*engine.DropError](err)
	switch {
	case retry != nil:
		return fmt.Sprint("again after ", retry.After)
	case drop != nil:
		return fmt.Sprint("dropped, gone: ", drop.Gone)
	}
	return fmt.Sprint(err)
}

// What is posted comes with its length and as JSON, and says what the form would.
func TestACallIsJSON(t *testing.T) {
	server, s := stage(t, words{"q": "1 < 2 & <b>3</b>"}, paintCard)
	require.NoError(t, s.post(t.Context(), "sendMessage", &bot.SendMessageParams{
		ChatID: int64(7), Text: "a &amp; <b>1 &lt; 2</b>\u2028 \"é\"", ParseMode: models.ParseModeHTML,
		ReplyMarkup: &models.InlineKeyboardMarkup{InlineKeyboard: [][]models.InlineKeyboardButton{{{Text: "Yes", CallbackData: "1|a"}}}},
	}))
	sent := server.Sent(7)
	require.Len(t, sent, 1)
	require.Equal(t, "a & 1 < 2\u2028 \"é\"", sent[0].Text)
	require.Equal(t, "1|a", sent[0].Buttons[0][0].Data)
}

// The quick looks at a text say what the whole look says.
func TestAShortTextNeedsNoCount(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := htmlText(t, 3)
		limit := rapid.IntRange(0, 60).Draw(t, "limit")
		require.Equal(t, shown(text) <= limit, fits(text, limit))
		require.Equal(t, strings.TrimSpace(plain(text)) == "", blank(text))
	})
	require.Equal(t, 3, units("é😀"))
	require.Equal(t, 2, units("\xff\xfe"))
}
