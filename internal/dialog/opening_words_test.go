package dialog

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The opening words fit eight lines of 40 characters, the width of a phone.
func TestTheOpeningWordsFitAPhone(t *testing.T) {
	_, said := playAll(State{}, "/start")
	lines := 0
	for _, l := range strings.Split(words().Plain("en", said[0].Text), "\n") {
		width := 0
		lines++
		for _, w := range strings.Fields(l) {
			if n := len([]rune(w)); width > 0 && width+1+n > 40 {
				lines, width = lines+1, n
			} else {
				width += 1 + n
			}
		}
	}
	require.LessOrEqual(t, lines, 8, words().Plain("en", said[0].Text))
}

// A name that is not known brings the near ones, not all.
func TestChangeOffersNearNames(t *testing.T) {
	s, _ := playAll(State{}, script...)
	_, said := playAll(s, "change mulion")
	last := said[len(said)-1]
	require.Contains(t, words().Plain("en", last.Text), "mulion")
	require.LessOrEqual(t, len(last.Buttons), mostNear)
}
