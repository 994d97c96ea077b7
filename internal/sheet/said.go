package sheet

import (
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// noteWords is a sentence about a line, who said it and when, and whether a
// question waits for an answer.
func (o *order) noteWords(n job.Note) string {
	text := phrase.Of("sheet.note")
	switch {
	case n.Told:
		text = phrase.Of("sheet.note.told")
	case n.Open:
		text = phrase.Of("sheet.note.open")
	case n.Withdrawn:
		text = phrase.Of("sheet.note.withdrawn")
	}
	return o.words(text.Saying("by", o.by(n.By)).Saying("words", clean(n.Words)))
}

// confirmed is who confirmed the line, and the supplier's own number of the order.
func (o *order) confirmed(l job.SheetLine) string {
	if l.Confirmed == nil {
		return ""
	}
	text := phrase.Of("sheet.confirmed")
	if l.Number != "" {
		text = phrase.Of("sheet.confirmed.order").Saying("order", clean(l.Number))
	}
	return o.words(text.Saying("by", o.by(*l.Confirmed)))
}

// told is what somebody was told of a confirmation, "" for nothing.
func (o *order) told(l job.SheetLine) string {
	if l.Told == nil {
		return ""
	}
	c := *l.Told
	c.Heard.By, c.Heard.Order = clean(c.Heard.By), clean(c.Heard.Order)
	return o.words(c.Text(phrase.Of("job.words").Saying("words", o.day(c.By.At))))
}

// confirmedWords are who confirmed the line, and what somebody was told of it: no
// table says confirmed of what is hearsay alone.
func (o *order) confirmedWords(l job.SheetLine) string {
	var said []string
	for _, words := range []string{o.byWords(l.Confirmed), o.told(l), o.under(l)} {
		if words != "" {
			said = append(said, words)
		}
	}
	return strings.Join(said, "; ")
}

// under is the revision of before that the line was confirmed under, "" for none.
func (o *order) under(l job.SheetLine) string {
	if l.Under == "" {
		return ""
	}
	return o.words(phrase.Of("sheet.under").Saying("revision", l.Under))
}
