package sheet

import (
	"cmp"
	"strings"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
)

// finding is a finding as who makes the window reads it.
func (o *order) finding(f safety.Finding) string { return o.voice.Say(plan.OrderText(f)) }

// named is the name of a window and the room that it is for, unless the name says that.
func (o *order) named(name string, room safety.Room) string {
	name = cmp.Or(clean(name), o.key("sheet.no_name"))
	if room == "" {
		return name
	}
	words := o.key("room." + string(room))
	if strings.Contains(strings.ToLower(name), strings.ToLower(words)) {
		return name
	}
	return o.words(phrase.Of("sheet.named_room").Saying("name", name).Saying("room", words))
}

const colourKey = "colour"

// uncoloured says whether a frame that has a colour has none said.
func uncoloured(l job.Line) bool { return l.Colour == "" && l.Material != calc.PVCUWhite }

// colourLeft is what was answered instead of a colour; "" for nothing.
func colourLeft(l job.Line) string { return opening.StatedAs(l.Stated, colourKey) }

// colourWords say whose the colour is where none is said.
func (o *order) colourWords(l job.SheetLine) string {
	left := colourLeft(l.Line)
	switch {
	case !uncoloured(l.Line):
		return ""
	case left == opening.DeskSays:
		return o.key("sheet.colour_left")
	case left == opening.Skipped:
		return o.key("sheet.colour_unknown")
	}
	return o.key("sheet.no_colour")
}

// colourCell is the colour outside, or that the desk decides it.
func (o *order) colourCell(l job.Line) string {
	if uncoloured(l) && colourLeft(l) == opening.DeskSays {
		return o.key("line.desk_decides")
	}
	return clean(l.Colour)
}
