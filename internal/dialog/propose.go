package dialog

import (
	"slices"

	"sillbot/internal/hear"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// mostWays and mostHeld are how many ways, and values of one, a conversation
// has room for.
const (
	mostWays = 6
	mostHeld = 30
)

// hold keeps what was read until it is confirmed.
func (t *turn) hold(h *hear.Held) {
	p := &Proposal{Why: h.Why, Words: cut(h.Words), Turn: t.Turn}
	for _, way := range h.Ways[:min(len(h.Ways), mostWays)] {
		var list []Answer
		for _, v := range way[:min(len(way), mostHeld)] {
			list = append(list, Answer{Key: v.Key, Value: v.Value})
		}
		p.Ways = append(p.Ways, list)
	}
	if old := t.Proposed; old != nil && !touches(hear.Heard{}, old, p) {
		t.say(old.droppedText())
	}
	t.Proposed = p
}

// droppedText names what is let go of, since nobody answered: it may be half a survey.
func (p *Proposal) droppedText() phrase.Text {
	if len(p.Ways) != 1 {
		return phrase.Of("held.dropped")
	}
	return phrase.Of("held.dropped.all").WithRow("values", valuesOf(p.Ways[0])...)
}

func valuesOf(list []Answer) []phrase.Text {
	var row []phrase.Text
	for _, ans := range list {
		row = append(row, nameAndValue(ans.Key, find(ans.Key).stored(ans.Value)))
	}
	return row
}

func nameAndValue(key opening.Key, value phrase.Text) phrase.Text {
	return phrase.Of("before.value").Sub1("name", tell.Name(key)).Sub1("value", value)
}

// touches says whether a message, or what is proposed of it, is about the fields
// that were proposed before.
func touches(h hear.Heard, before, now *Proposal) bool {
	said := func(key opening.Key) bool {
		if slices.ContainsFunc(h.Said, func(v hear.Value) bool { return v.Key == key }) {
			return true
		}
		return now != nil && slices.ContainsFunc(now.Ways, func(way []Answer) bool {
			return slices.ContainsFunc(way, func(ans Answer) bool { return ans.Key == key })
		})
	}
	for _, way := range before.Ways {
		for _, ans := range way {
			if said(ans.Key) {
				return true
			}
		}
	}
	return before.Why == assumed && len(h.Said) > 0
}

// assumed is why a value is proposed that nobody knows.
const assumed hear.Why = "assumed"
