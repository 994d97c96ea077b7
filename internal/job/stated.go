package job

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// StatedText is the value of a field that stands on a line, in words.
func StatedText(p opening.Pair) phrase.Text {
	if mm, err := decimal.NewFromString(p.Value); err == nil && p.Key == "handle" {
		return phrase.Of("stated.handle").With("mm", mm)
	}
	return statedValue(opening.Find(p.Key), p.Value).text()
}
