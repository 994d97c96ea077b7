package sheet

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

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

// mostShared is how many windows may well be in one room. Common practice, no source.
const mostShared = 6

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
	return []row{{label: o.key("name.trickle"), parts: []part{{words, loud}}}}
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
