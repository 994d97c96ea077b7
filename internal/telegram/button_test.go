package telegram

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
	"sillbot/internal/telegram/telegramtest"
	"sillbot/locales"
)

// TestALinkIsSentOnByAButton, and copied by one; it does not stand in the sentence too.
func TestALinkIsSentOnByAButton(t *testing.T) {
	words, err := locales.Load()
	require.NoError(t, err)
	server := telegramtest.Start(t)
	server.Join(telegramtest.Chat{ID: 7, Type: "private"})
	s := connect(t, config(server)).Sender(words, paintCard)
	const link = "https://t.me/trial_window_bot?start=AbC_1-2&x=ä"
	says := func(link string) phrase.Text {
		return phrase.Of("phone.link").Sub1("link", phrase.Of("link.words").Saying("link", link))
	}
	r := dialog.Reply{Lang: "en", Text: phrase.Of("message").WithLines("lines", says(link), says(link+"2")), Buttons: [][]dialog.Button{{
		{Label: phrase.Of("button.link.passon"), PassOn: link}, {Label: phrase.Of("button.link.copy"), Copy: link},
	}}}
	require.NoError(t, failed(s.Send(within(t), engine.Message{Chat: 7, Reply: r})))
	sent := server.Sent(7)
	require.Len(t, sent, 1)
	require.Equal(t, "A link to open on the new phone, within 30 minutes: send it on by the button, or copy it.\n"+
		"A link to open on the new phone, within 30 minutes: "+link+"2", sent[0].Text, "a link that has no button stays")
	require.Equal(t, [][]telegramtest.Button{{
		{Label: "Send it on", URL: "https://t.me/share/url?url=https%3A%2F%2Ft.me%2Ftrial_window_bot%3Fstart%3DAbC_1-2%26x%3D%C3%A4"},
		{Label: "Copy the link", Copy: link},
	}}, sent[0].Buttons)

	r.Buttons = [][]dialog.Button{{{Label: phrase.Of("button.link.copy"), Copy: strings.Repeat("x", 257)}}}
	require.NoError(t, failed(s.Send(within(t), engine.Message{Chat: 7, Reply: r})))
	require.Empty(t, server.Sent(7)[1].Buttons, "the platform copies no more than 256 characters")
	require.Contains(t, server.Sent(7)[1].Text, link)
}
