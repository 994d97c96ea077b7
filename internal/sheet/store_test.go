package sheet

import (
	"time"

	"sillbot/internal/job"
	"sillbot/internal/opening/openingtest"
)

// store says all that a record says of an opening, and takes back what it does
// not: a test's way to give a whole window at once.
func store(j job.Job, who job.Who, at time.Time, id int, r job.Record) (job.Job, []job.Event, error) {
	o, _ := j.Find(id)
	w := openingtest.Window{Plan: r.Plan, MakeUp: r.MakeUp, Colour: r.Colour, Hardware: r.Hardware}
	return j.Describe(who, at, id, openingtest.Complete(o.Known(), w)...)
}
