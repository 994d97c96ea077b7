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

// mostLate is how long after the work a survey is still typed in without a question.
// Common practice, no source.
const mostLate = 31 * 24 * time.Hour

// longOver takes a day of the work that is long over out of what was said: the rules
// go by it, and rather its year is wrong, so that it is asked about first.
func (t *turn) longOver(said []hear.Value) ([]hear.Value, *hear.Held) {
	first := t.now.Add(-mostLate).Format(opening.DateForm)
	i := slices.IndexFunc(said, func(v hear.Value) bool { return v.Key == "date" && v.Value < first })
	if i < 0 {
		return said, nil
	}
	return slices.Delete(slices.Clone(said), i, i+1), &hear.Held{Why: hear.Past, Ways: [][]hear.Value{{said[i]}}}
}

// sayOver says that the day of the work that was taken is over.
func (t *turn) sayOver(said []hear.Value) {
	if slices.ContainsFunc(said, func(v hear.Value) bool { return v.Key == "date" && t.over(v.Value) }) {
		t.say(phrase.Of("date.late"))
	}
}

// dayToCome refuses a day that is over where one to come is asked for.
func (t *turn) dayToCome(day time.Time) *phrase.Text {
	if !t.passed(day) {
		return nil
	}
	return sorry(phrase.Of("fail.date.past").Sub1("day", phrase.Day(day)))
}
