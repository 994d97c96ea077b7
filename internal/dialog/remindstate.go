package dialog

import (
	"slices"
	"time"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// remindWait is how many days lie between two reminders of the same. Common practice, no
// source.
const remindWait = 3

// reminders is what a chat is reminded of, and was.
type reminders struct {
	Off   []job.Matter `json:"f,omitempty"` // not to be reminded of
	Asked string       `json:"a,omitempty"` // the day on which the chairs were written to last
	Day   string       `json:"d,omitempty"` // of the last reminder: there is one a day, but for a delivery that is named later
	Said  []reminded   `json:"s,omitempty"`
}

// reminded is what people were reminded of, and on which day.
type reminded struct {
	Ref string `json:"j"`
	On  string `json:"n"`
	job.Reminder
}

// covers says whether somebody was reminded of all that on that day.
func (r reminded) covers(ref string, p job.Reminder) bool {
	if r.Ref != ref || r.What != p.What || p.What == job.DeliveryNear && r.Day != p.Day {
		return false
	}
	return !slices.ContainsFunc(p.Openings, func(id int) bool { return !slices.Contains(r.Openings, id) })
}

// ripe are those that nobody was reminded of in the last days. What was told today
// counts: the chairs hear of it before the owner does.
func (r *reminders) ripe(ref string, list []job.Reminder, now time.Time) (out []job.Reminder) {
	today, again := now.Format(opening.DateForm), now.AddDate(0, 0, -remindWait).Format(opening.DateForm)
	for _, p := range list {
		if !slices.ContainsFunc(r.Said, func(s reminded) bool {
			return s.covers(ref, p) && s.On != today && (p.What == job.DeliveryNear || s.On > again)
		}) {
			out = append(out, p)
		}
	}
	return out
}

// sinceSaid are the deliveries that were named after people were reminded that day.
func (r *reminders) sinceSaid(ref string, list []job.Reminder, today string) (out []job.Reminder) {
	for _, p := range list {
		said := func(s reminded) bool { return s.On == today && s.covers(ref, p) }
		if p.What == job.DeliveryNear && !slices.ContainsFunc(r.Said, said) {
			out = append(out, p)
		}
	}
	return out
}

// note keeps what people are reminded of today, and lets go of what is long over.
func (r *reminders) note(ref string, list []job.Reminder, now time.Time) {
	old := now.AddDate(0, -1, 0).Format(opening.DateForm)
	r.Said = slices.DeleteFunc(slices.Clone(r.Said), func(s reminded) bool {
		return s.On < old || slices.ContainsFunc(list, func(p job.Reminder) bool { return s.Ref == ref && s.What == p.What && s.Day == p.Day })
	})
	for _, p := range list {
		r.Said = append(r.Said, reminded{ref, now.Format(opening.DateForm), p})
	}
}

// line is what people are reminded of, in words.
func (r *reminders) line() phrase.Text {
	if r == nil || len(r.Off) == 0 {
		return phrase.Of("reminders.on")
	}
	var names []phrase.Text
	for _, what := range job.Reminded {
		if !slices.Contains(r.Off, what) {
			names = append(names, phrase.Of("reminders.of."+string(what)))
		}
	}
	if names == nil {
		return phrase.Of("reminders.off")
	}
	return phrase.Of("reminders.some").WithRow("names", names...)
}
