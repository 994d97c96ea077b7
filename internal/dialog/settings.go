package dialog

import (
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/plan"
)

// The tolerance is a setting of the job, not of the plan.
const toleranceSetting = "tolerance"

// setting is a setting of the crew by the name that it is stored under; nil
// for none.
func setting(name string) *opening.Field { return opening.Find(opening.CrewPrefix + name) }

// crewOf is what a list of settings makes; nil when all are the usual ones.
func crewOf(set []Answer) *plan.Crew { return known(nil, set).Crew() }

// settingsOf are the settings that make c, as they are kept with a window.
func settingsOf(c *plan.Crew) []Answer {
	var list []Answer
	for _, set := range c.Changed() {
		list = append(list, Answer{Key: strings.TrimPrefix(set.Key, opening.CrewPrefix), Value: set.Value})
	}
	return list
}

// jobSettings are those of a new job.
func (s State) jobSettings() job.Settings {
	js := job.DefaultSettings()
	for _, ans := range s.Crew {
		if n, err := decimal.NewFromString(ans.Value); ans.Key == toleranceSetting && err == nil {
			js.Tolerance = n
		}
	}
	return js
}

// usualSetting is what a setting is when nobody sets it.
func usualSetting(f *opening.Field) string {
	if f.File == "" {
		return job.DefaultSettings().Tolerance.String()
	}
	c := plan.DefaultCrew()
	return f.OfCrew(&c)
}

// number is a stored figure; zero for none.
func number(value string) decimal.Decimal {
	d, err := decimal.NewFromString(value)
	if err != nil {
		return decimal.Zero
	}
	return d
}
