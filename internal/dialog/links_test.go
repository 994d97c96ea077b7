package dialog

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// TestALinkHasAMessageOfItsOwn: the question below is answered in its own message, and
// the link stays with the buttons that send it on and copy it.
func TestALinkHasAMessageOfItsOwn(t *testing.T) {
	const home = "https://example.org/bot?start="
	say := func(s State, text string) (State, []Reply) {
		s, replies := Step(s, Input{Kind: Typed, Text: text, Now: firstDay, Chat: 1, User: 1, Home: home, Seed: make([]byte, 32)})
		var said []Reply
		for _, r := range replies {
			if r.Text.Key != "" {
				said = append(said, r)
			}
		}
		return s, said
	}
	s, _ := say(State{}, "job")
	for _, text := range []string{"invite lead", "hand job to", "new phone"} {
		_, said := say(s, text)
		require.NotEmpty(t, said, text)
		link, buttons := said[0].Text.Lines["lines"][0].Sub["link"].Say["link"], said[0].Buttons
		require.Contains(t, link, home, text)
		require.Len(t, buttons, 1, text)
		require.Equal(t, []Button{{Label: buttons[0][0].Label, PassOn: link}, {Label: buttons[0][1].Label, Copy: link}}, buttons[0], text)
		for _, r := range said[1:] {
			require.NotEmpty(t, r.Buttons[0][0].Data, text)
		}
	}
	_, said := say(s, "invite lead")
	require.Len(t, said, 2, "the open question comes by itself")
}
