package locales

import (
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/phrase"
)

// TestOneReadsAsOne: what is counted and may be one has the form of English for it; the
// rule is CLDR's.
func TestOneReadsAsOne(t *testing.T) {
	c := load(t)
	for key, of := range map[string][2]string{
		"resume": {"1 answer.", "2 answers."}, "undo.done": {"1 answer.", "2 answers."}, "undo.back": {"1 answer.", "2 answers."},
		"missed.told":   {"A message to you", "2 messages to you"},
		"photo.waiting": {"1 photo waits", "2 photos wait"},
	} {
		for i, want := range of {
			require.Contains(t, c.Plain("en", phrase.Of(key).WithInt("count", i+1).WithInt("n", 1).Saying("name", "bath").Word("when", "photo.at.day")), want, key)
		}
	}
}
