package job

import (
	"time"

	"sillbot/internal/opening/openingtest"
)

// Store says all that a record says of an opening, and takes back what it does
// not: a test's way to give a whole window at once.
func (j Job) Store(who Who, at time.Time, id int, r Record) (Job, []Event, error) {
	o, _ := j.Find(id)
	w := openingtest.Window{Plan: r.Plan, MakeUp: r.MakeUp, Colour: r.Colour, Hardware: r.Hardware}
	return j.Describe(who, at, id, openingtest.Complete(o.Known(), w)...)
}
