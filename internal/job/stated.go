package job

import (
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// StatedText is the value of a field that stands on a line, in words.
func StatedText(p opening.Pair) phrase.Text {
	return statedValue(opening.Find(p.Key), p.Value).text()
}
