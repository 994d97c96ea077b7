package sheet

import (
	"slices"
	"time"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/opening/openingtest"
)

// store says all that a record says of an opening, and takes back what it does
// not: a test's way to give a whole window at once.
func store(j job.Job, who job.Who, at time.Time, id int, r job.Record) (job.Job, []job.Event, error) {
	o, _ := j.Find(id)
	w := openingtest.Window{Plan: r.Plan, MakeUp: r.MakeUp, Colour: r.Colour, Hardware: r.Hardware}
	known := o.Known()
	entries := slices.DeleteFunc(openingtest.Differing(known, w), func(e opening.Entry) bool {
		return e.Act == opening.Clear && known.Value(e.Key) == opening.DeskSays
	})
	for _, key := range opening.ItemKeys {
		if known.Entry(key) == nil && key != "colour" {
			entries = append(entries, opening.Entry{Act: opening.Set, Key: key, Value: opening.DeskSays})
		}
	}
	return j.Describe(who, at, id, entries...)
}
