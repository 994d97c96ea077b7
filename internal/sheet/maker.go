package sheet

import (
	"cmp"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

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

// ofRows says whether a field has a row of its own on a line, or stands in another's.
func ofRows(l job.Line, key opening.Key) bool {
	switch {
	case key == opening.ByClass:
		return len(classes(l)) > 0
	case key == opening.ByLight:
		_, ok := opening.PanesOf(opening.StatedAs(l.Stated, key))
		return ok
	case opening.Find(key).Change == "newvents":
		_, ok := ventCount(l)
		return ok
	}
	return false
}

// ventCount is how many new vents were stated; ok is false without a number.
func ventCount(l job.Line) (count decimal.Decimal, ok bool) {
	count, err := decimal.NewFromString(opening.StatedAs(l.Stated, "trickle"))
	return count, err == nil
}

// paneWords are of what the glass of a class is: as it was stated of those lights.
func (o *order) paneWords(glass string) string {
	switch glass {
	case "", opening.Skipped:
		return o.key("sheet.pane.unsaid")
	case opening.DeskSays:
		return o.key("sheet.pane.desk")
	}
	return o.key("sheet.pane." + glass)
}

// unaskedPanes are the lights of which safety glass was stated by number and no rule asks
// for it.
func (o *order) unaskedPanes(l job.Line) (parts []part) {
	list, _ := opening.PanesOf(opening.StatedAs(l.Stated, opening.ByLight))
	for _, p := range list {
		if _, _, asked := l.SafetyClass(p.Light - 1); asked {
			continue
		}
		words := phrase.Of("sheet.pane.own").WithInt("n", p.Light).Word("glass", "sheet.pane."+string(p.Glass))
		parts = append(parts, part{o.words(words), loud})
	}
	return parts
}

// newVents are the vents that the window is to have: how many, where, of which area and
// colour.
func (o *order) newVents(l job.Line) []row {
	count, ok := ventCount(l)
	if !ok {
		return nil
	}
	said := []phrase.Text{phrase.Of("sheet.new_vents.count").WithInt("count", int(count.IntPart()))}
	if count.IsZero() {
		said = []phrase.Text{job.StatedText(opening.Pair{Key: "trickle", Value: "0"})}
	}
	for _, key := range []opening.Key{"trickle.place", "trickle.area", "trickle.colour"} {
		if count.IsPositive() {
			said = append(said, ventText(key, opening.StatedAs(l.Stated, key), count))
		}
	}
	words := o.words(phrase.Of("sheet.items.list").WithRow("items", said...))
	return o.addParts(nil, "name.trickle", []part{{words, loud}})
}

func ventText(key opening.Key, value string, count decimal.Decimal) phrase.Text {
	area, err := decimal.NewFromString(value)
	switch {
	case key == "trickle.area" && err == nil:
		return phrase.Of("sheet.new_vents.area").With("each", area).With("all", area.Mul(count))
	case value == "":
		return phrase.Of("sheet.new_vents.unsaid").Word("name", "name."+key)
	case value == opening.Skipped, value == opening.DeskSays:
		return phrase.Of("sheet.new_vents.left").Word("name", "name."+key).Sub1("value", job.StatedText(opening.Pair{Key: key, Value: value}))
	}
	return job.StatedText(opening.Pair{Key: key, Value: value})
}

// shareOf is the even share of a line's windows in what its room needs; "" where they
// share with none.
func (o *order) shareOf(n int, l job.Line) string {
	for _, s := range o.shares {
		each, err := calc.VentShare(s.area, s.windows)
		if err != nil || !slices.Contains(s.lines, n) || s.windows < 2 || s.windows > mostShared {
			continue
		}
		words := o.words(phrase.Of("sheet.new_vents.share").With("each", each).WithInt("count", s.windows).Word("room", s.room))
		area, err := decimal.NewFromString(opening.StatedAs(l.Stated, "trickle.area"))
		if err != nil {
			return words
		}
		if fit, err := calc.VentsToFit(each, decimal.Zero, area); err == nil {
			words += " " + o.words(phrase.Of("sheet.new_vents.fit").WithInt("count", fit).With("area", area))
		}
		return words
	}
	return ""
}
