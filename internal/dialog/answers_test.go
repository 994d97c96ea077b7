package dialog

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// A file that could not be fetched is asked for again, and one of another kind is told
// that it can't be read. Neither moves the open question.
func TestFilesThatAreNotRead(t *testing.T) {
	s, _ := Step(State{}, Input{Kind: Typed, Text: "England, today", Chat: 1, User: 1, Now: firstDay})
	for want, in := range map[string]Input{"could not fetch the file": {Unfetched: true}, "can't read files": {}} {
		in.Kind, in.Chat, in.User, in.Now = File, 1, 1, firstDay
		_, replies := Step(s, in)
		require.Contains(t, allSaid(replies), want)
		require.Equal(t, "finish", replies[len(replies)-1].Open)
	}
}
