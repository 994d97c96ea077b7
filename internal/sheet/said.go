package sheet

import (
	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// noteWords is a sentence about a line, who said it and when, and whether a
// question waits for an answer.
func (o *order) noteWords(n job.Note) string {
	text := phrase.Of("sheet.note")
	switch {
	case n.Open:
		text = phrase.Of("sheet.note.open")
	case n.Withdrawn:
		text = phrase.Of("sheet.note.withdrawn")
	}
	return o.words(text.Saying("by", o.by(n.By)).Saying("words", clean(n.Words)))
}
