package dialog

import (
	"slices"
	"time"

	"sillbot/internal/hear"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// passed says whether a day, at UTC midnight, is over by the reader's clock.
func (t *turn) passed(day time.Time) bool { return t.over(day.Format(opening.DateForm)) }

func (t *turn) over(day string) bool { return day < t.now.Format(opening.DateForm) }

// overDay takes a day of the work that is over out of what was said: the rules go by
// it, and a survey may be typed in after the work, so that it is asked about first.
func (t *turn) overDay(said []hear.Value) ([]hear.Value, *hear.Held) {
	i := slices.IndexFunc(said, func(v hear.Value) bool { return v.Key == "date" && v.Value != skipped && t.over(v.Value) })
	if i < 0 {
		return said, nil
	}
	return slices.Delete(slices.Clone(said), i, i+1), &hear.Held{Why: hear.Past, Ways: [][]hear.Value{{said[i]}}}
}

// dayToCome refuses a day that is over where one to come is asked for.
func (t *turn) dayToCome(day time.Time) *phrase.Text {
	if !t.passed(day) {
		return nil
	}
	return sorry(phrase.Of("fail.date.past").Sub1("day", phrase.Day(day)))
}
