package dialog

import (
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/day"
	"sillbot/internal/job"
	"sillbot/internal/tell"
)

// Wherever a photo was sent, the list of photos says so in words.
func TestEveryPartOfTheDayNamesItsPhotos(t *testing.T) {
	said := map[string]bool{}
	for _, p := range day.All {
		require.NotContains(t, job.States, job.State(p.Name), "a part is told from a state")
		text := words().Text("en", tell.PhotoAt(p.Name))
		require.NotContains(t, []string{words().Text("en", tell.PhotoAt("a part of before")), ""}, text, p.Name)
		require.False(t, said[text], text)
		said[text] = true
	}
	for _, s := range job.States {
		require.Equal(t, s.Text(), tell.PhotoAt(string(s)))
	}
}

// A caption that is a name for the photo is no command, and one with a window's number is.
func TestWhatACaptionCommands(t *testing.T) {
	owner := ownersState(t)
	for caption, want := range map[string]int{
		"broken 1 corner smashed": 1, "fault 2 cracked pane": 2, "fault 1 of 2 at 2 cracked": 2, "delivered 2": 2, "frame 2 1192 1040": 2, "snag 2 scratched bead": 2,
		"label on the crate": 0, "new frame": 0, "frame": 0, "delete 2": 0, "broken glass at the back": 0, "back of the house": 0, "fault 1 at the top corner": 1,
		"copy 2": 0, "forget me": 0, "next 2": 2, "": 0,
	} {
		turn := &turn{State: owner}
		window, ok := turn.captionCommands(caption)
		require.Equal(t, want, window, caption)
		require.Equal(t, want != 0, ok, caption)
	}
}
