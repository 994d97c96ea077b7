package telegram

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
	"sillbot/internal/telegram/telegramtest"
	"sillbot/locales"
)

// TestNobodysWordsCanBePressed in a text, a caption or on a button, while the bot's own
// commands and links can.
func TestNobodysWordsCanBePressed(t *testing.T) {
	catalogue, err := locales.Load()
	require.NoError(t, err)
	server := telegramtest.Start(t)
	server.Join(telegramtest.Chat{ID: 7, Type: "private"})
	s := connect(t, config(server)).Sender(catalogue, paintCard)
	for _, name := range []string{
		"@somebody", "bath @somebody_2", "(@ab)", "/delete", "bath /forget", "/a", "#urgent", "bath#2", "$USD", "http://example.org", "HTTPS://x",
		"t.me/x", "example.org", "kitchen.left", "me@example.org", "tg://resolve?domain=x", "+44 20 7946 0000", "020 7946 0000", "фото.рф", "@@bob",
	} {
		require.NotEmpty(t, telegramtest.Live(name), name)
		label := phrase.Of("button.photo.of").Saying("name", name)
		r := dialog.Reply{Lang: "en", Text: phrase.Of("message").WithLines("lines", phrase.Of("photo.none").Saying("name", name)),
			Buttons: [][]dialog.Button{{{Label: label, Data: "1"}}}}
		before := len(server.Sent(7))
		require.NoError(t, failed(s.Send(within(t), engine.Message{Chat: 7, Reply: r})))
		r.Picture = &dialog.Picture{}
		require.NoError(t, failed(s.Send(within(t), engine.Message{Chat: 7, Reply: r})))
		for _, m := range server.Sent(7)[before:] {
			require.Empty(t, telegramtest.Live(m.Text), name)
			require.Empty(t, telegramtest.Live(m.Buttons[0][0].Label), name)
			require.Contains(t, withoutJoiner(m.Text), name, "it reads as it was typed")
		}
	}
	const link = "https://t.me/trial_window_bot?start=AbC_1-2"
	text := inertWords{catalogue}.Text("en", phrase.Of("job.invite.link").Sub1("link", phrase.Of("link.words").Saying("link", link)).Word("role", "role.lead"))
	require.Contains(t, text, link)
	require.Contains(t, inertWords{catalogue}.Text("en", phrase.Of("job.invite").Saying("token", "a.bc@de").Word("role", "role.lead")), "/start a.bc@de")
}

// TestFiguresStayAsTheyAre: only what could be pressed is changed.
func TestFiguresStayAsTheyAre(t *testing.T) {
	for _, said := range []string{"1204 1202 1203", "120.4 cm", "47 3/8", "Europe/London", "4-20-4", "3 Weir Lane", "310.50", "2:1", "1596.", "a @ b", "24/7"} {
		require.Equal(t, said, deaden(said))
	}
}

func TestWordsAreOnlyMarked(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		said := rapid.StringOf(rapid.SampledFrom([]rune("ab1 .@#$/:+0ä_-x"))).Draw(t, "said")
		dead := deaden(said)
		require.Equal(t, said, withoutJoiner(dead))
		require.Empty(t, telegramtest.Live(dead), said)
	})
}
