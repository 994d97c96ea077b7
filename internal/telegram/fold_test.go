package telegram

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/locales"
)

// What is folded goes into the same message as an expandable quotation, as much of it as
// leaves the message in one piece of fewer than 4 096 characters (Telegram's Bot API).
func TestFoldedGoesIntoTheSameMessage(t *testing.T) {
	words, err := locales.Load()
	require.NoError(t, err)
	s := &Sender{words: words}
	line := phrase.Of("message").WithLines("lines", phrase.Of("screen.caution"), phrase.Of("intro"))
	text := strings.Repeat("x", 3000)
	for n := range 20 {
		r := dialog.Reply{Lang: "en"}
		for range n {
			r.Folded = append(r.Folded, line)
		}
		got := s.folded(r, text)
		require.Less(t, len([]rune(got)), 4096)
		require.True(t, strings.HasPrefix(got, text))
		require.Equal(t, n > 0, strings.Contains(got, "<blockquote expandable>") && strings.HasSuffix(got, "</blockquote>"))
		require.Len(t, split(got, textLimit), 1)
	}
}
