package job

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Limits that keep a job readable on a phone and its record small. Common
// practice, no source. Lengths of words are in characters.
const (
	MostOpenings = 400
	MostAlike    = 99
	longestName  = 40
	longestLabel = 80
	longestWords = 500 // a sentence to the desk, an address
	mostNotes    = 100 // of one line

	// MostQuestions is how many of the desk's about one line may wait for an answer.
	MostQuestions = 20

	mostShares   = 12
	mostBinned   = MostOpenings // the oldest goes
	mostHardware = 20
)

// words is a person's text on one line without what can't be seen, refused
// when it is longer than most characters.
func words(text string, most int) (string, error) {
	text = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case r == utf8.RuneError, unicode.Is(unicode.Cc, r), unicode.Is(unicode.Cf, r) && r != '\u200d':
			return -1 // a joiner stays: emoji and some scripts are written with it
		}
		return r
	}, text)
	text = strings.Join(strings.Fields(text), " ")
	if utf8.RuneCountInString(text) > most {
		return "", refuse("too_long").num("most", most)
	}
	return text, nil
}
