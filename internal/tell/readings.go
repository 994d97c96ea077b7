package tell

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// WithReadings tells somebody's readings back under a text, by name, as they can
// be typed again: what can't be taken is not lost.
func WithReadings(text phrase.Text, r calc.Readings) phrase.Text {
	values := slices.Concat(r.Widths[:], r.Heights[:], []decimal.Decimal{r.Rising, r.Falling})
	var list []phrase.Text
	for i, v := range values {
		if v.IsPositive() {
			list = append(list, phrase.Of("job.reading").Word("reading", readingKey(opening.ReadingKeys[i])).With("mm", v))
		}
	}
	if r.SillFall != nil {
		list = append(list, fallText(*r.SillFall))
	}
	if len(list) == 0 {
		return text
	}
	return phrase.Of("message").WithLines("lines", text, phrase.Of("job.readings.back").WithRow("readings", list...))
}
