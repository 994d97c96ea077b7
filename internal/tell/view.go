// Package tell puts a job in words: what an event, a row of the list or a line
// of the order says to somebody in a chair, with the buttons and the paper that
// go with it. It changes no job.
package tell

import (
	"strconv"
	"strings"
	"sync"
	"time"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// View is a job at a moment, for a reader in a time zone.
type View struct {
	Job  *job.Job
	Now  time.Time
	Zone string // of the reader's clock
}

// mostRows is how many rows of buttons a reply has at the most: the platform
// takes a hundred buttons.
const mostRows = 30

// Button is a button that names the job, so it works in any chat and whatever
// job is open there.
func (v View) Button(label, name, do string, args ...any) talk.Button {
	parts := []string{talk.JobPress, v.Job.Ref, do}
	for _, arg := range args {
		switch v := arg.(type) {
		case int:
			parts = append(parts, strconv.Itoa(v))
		case string:
			parts = append(parts, strings.ReplaceAll(v, ":", " "))
		}
	}
	data := strings.Join(parts, ":")
	data = strings.ToValidUTF8(data[:min(len(data), talk.MostData)], "")
	text := phrase.Of("button." + label)
	if name != "" {
		text = text.Saying("name", name)
	}
	return talk.Button{Label: text, Data: data}
}

// spaceBefore keeps a space between words when there are any.
func spaceBefore(words string) string {
	if words == "" {
		return ""
	}
	return " " + words
}

// Name is the name of an answer for people, by the key of its question: "light
// 2", "top width".
func Name(key string) phrase.Text {
	f := opening.Find(key)
	if f == nil || f.N == 0 {
		return phrase.Of("name." + key)
	}
	return phrase.Of("name."+f.Name).WithInt("n", f.N)
}

// StoredDay is a stored day, 2006-01-02, in words.
func StoredDay(value string) phrase.Text {
	d, err := time.Parse(time.DateOnly, value)
	if err != nil {
		return phrase.Of("date.unknown")
	}
	return phrase.Day(d)
}

// When is a moment in words, as the reader's clock and calendar have it:
// today, yesterday, or the day.
func (v View) When(at time.Time) phrase.Text {
	zone := v.clock()
	now, at := v.Now.In(zone), at.In(zone)
	clock := at.Format("15:04")
	day := func(d time.Time) string { return d.Format(time.DateOnly) }
	switch day(at) {
	case day(now):
		return phrase.Of("when.today").Saying("time", clock)
	case day(now.AddDate(0, 0, -1)):
		return phrase.Of("when.yesterday").Saying("time", clock)
	}
	return phrase.Of("when.day").Sub1("day", phrase.Day(at)).Saying("time", clock)
}

// clock is the reader's zone.
func (v View) clock() *time.Location { return Clock(v.Zone) }

// zones are those that were asked for: the machine has each as a file.
var zones sync.Map

// Clock is the zone of a name; UTC where the machine has no such zone.
func Clock(name string) *time.Location {
	if zone, ok := zones.Load(name); ok {
		return zone.(*time.Location)
	}
	zone, err := time.LoadLocation(name)
	if err != nil {
		return time.UTC // a machine without the zones' table
	}
	zones.Store(name, zone)
	return zone
}
