package job

import (
	"strings"

	"sillbot/internal/opening"
	"sillbot/internal/plan"
)

// Record is what the survey of one opening says.
type Record struct {
	Plan plan.Opening
	// What the desk needs beyond the plan, in the fitter's words.
	Colour   string
	MakeUp   string // of the glass, such as 4-20-4
	Hardware []string
	Left     []opening.Pair // the items that nobody decided
}

// hardwareMark stands between the pieces of the field hardware.
const hardwareMark = "\n"

func recordOf(known *opening.Known) Record {
	r := Record{Plan: known.Opening(), Left: known.Left()}
	r.Plan.Count = 0 // the plan is of one window
	if known.Given("colour") {
		r.Colour = known.Value("colour")
	}
	if known.Given("glass") {
		r.MakeUp = known.Value("glass")
	}
	if list := known.Value("hardware"); list != "" {
		r.Hardware = strings.Split(list, hardwareMark)
	}
	return r
}
