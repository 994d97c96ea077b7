package dialog

import (
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/plan"
)

// Settings of the job, not of the plan.
const (
	toleranceSetting = "tolerance"
	customerSetting  = "customer"
)

// crew is what the crew's settings make; nil when all are the usual ones.
func (s State) crew() *plan.Crew {
	k := opening.Record{Entries: s.crewEntries()}.Known()
	return k.Crew()
}

// jobSettings are those of a new job.
func (s State) jobSettings() job.Settings {
	js := job.DefaultSettings()
	for _, ans := range s.Crew {
		js.Customer = js.Customer || ans.Key == customerSetting && ans.Value == "yes"
		if n, err := decimal.NewFromString(ans.Value); ans.Key == toleranceSetting && err == nil {
			js.Tolerance = n
		}
	}
	return js
}

// usualSetting is what a setting is when nobody sets it.
func usualSetting(f *opening.Field) string {
	if f.Key == opening.CrewPrefix+certifiesSetting {
		return "unknown"
	}
	if f.Key == opening.CrewPrefix+customerSetting {
		return "no"
	}
	if usual, ok := usualTerms[strings.TrimPrefix(f.Key, opening.CrewPrefix)]; ok {
		return usual.String()
	}
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
