package job

import (
	"slices"
	"strings"
	"time"

	"sillbot/internal/opening"
)

// Store says all that a record says of an opening, and takes back what it does
// not: a test's way to give a whole window at once.
func (j Job) Store(who Who, at time.Time, id int, r Record) (Job, []Event, error) {
	o, _ := j.Find(id)
	return j.Describe(who, at, id, differing(o, r)...)
}

// differing are the entries that make what is known of o the record.
func differing(o Opening, r Record) []opening.Entry {
	want := opening.Values(r.Plan, r.MakeUp)
	if r.Colour != "" {
		want = append(want, opening.Entry{Act: opening.Set, Key: "colour", Value: r.Colour})
	}
	if len(r.Hardware) > 0 {
		want = append(want, opening.Entry{Act: opening.Set, Key: "hardware", Value: strings.Join(r.Hardware, hardwareMark)})
	}
	want = append(want, passedOver(want)...)
	known := o.Known()
	var list []opening.Entry
	for _, e := range want {
		if known.Value(e.Key) != e.Value {
			list = append(list, e)
		}
	}
	opening.Fields(func(f *opening.Field) bool {
		wanted := slices.ContainsFunc(want, func(e opening.Entry) bool { return e.Key == f.Key })
		if known.Has(f.Key) && !wanted && !slices.Contains(notCopied, f.Key) {
			list = append(list, opening.Entry{Act: opening.Clear, Key: f.Key})
		}
		return true
	})
	return list
}

// passedOver are the answers to what a survey would still ask and a plan does
// not say: passed over, or the usual one.
func passedOver(want []opening.Entry) []opening.Entry {
	var known opening.Known
	for _, e := range want {
		known.Set(e.Key, e.Value)
	}
	usual := map[opening.Key]string{"over": "drill", "door": "no", "bath": "no", "release": "no"}
	var list []opening.Entry
	for range 20 {
		for _, key := range known.Lacks() {
			value := usual[key]
			if opening.Find(key).Is(opening.Skips) {
				value = opening.Skipped
			}
			if value != "" {
				known.Set(key, value)
				list = append(list, opening.Entry{Act: opening.Set, Key: key, Value: value})
			}
		}
	}
	return list
}
