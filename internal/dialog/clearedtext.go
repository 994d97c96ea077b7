package dialog

import (
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// lacking is the part that is asked for next; "" for none.
func lacking(c *opening.Cleared) string {
	switch {
	case c == nil || c.Words == "" && c.Who == "" && c.Capacity == "":
		return "words"
	case c.Who == "":
		return "who"
	case c.Capacity == "":
		return "capacity"
	case c.Day == "":
		return "day"
	case c.Words == "":
		return "words"
	}
	return ""
}

// askCleared asks for the part that lacks.
func askCleared(c *opening.Cleared) phrase.Text {
	switch lacking(c) {
	case "who":
		return phrase.Of("ask.cleared.who")
	case "capacity":
		return phrase.Of("ask.cleared.capacity")
	case "day":
		return phrase.Of("ask.cleared.day")
	}
	return phrase.Of("ask.cleared")
}

// clearedText is what was said, in words.
func clearedText(value string) phrase.Text {
	c := opening.ReadCleared(value)
	if c == nil {
		return phrase.Of("job.words").Saying("words", value)
	}
	return phrase.Of("cleared.said").Saying("words", c.Words).Saying("who", c.Who).Saying("capacity", c.Capacity).Sub1("day", tell.StoredDay(c.Day))
}
