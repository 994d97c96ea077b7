package dialog

import (
	"time"

	"sillbot/internal/phrase"
)

// homeZone is where people are taken to be until they say otherwise.
const homeZone = "Europe/London"

// zone is the reader's.
func (t *turn) zone() *time.Location {
	name := t.Zone
	if name == "" {
		name = homeZone
	}
	zone, err := time.LoadLocation(name)
	if err != nil {
		return time.UTC // a machine without the zones' table
	}
	return zone
}

// setZone changes the zone in which times are said.
func (t *turn) setZone(name string) {
	zone, err := time.LoadLocation(name)
	if err != nil || name == "" || name == "Local" {
		t.say(phrase.Of("zone.which"))
		return
	}
	t.Zone = name
	t.say(phrase.Of("zone.now").Saying("zone", name).Saying("time", t.now.In(zone).Format("15:04")))
}

// whenText is a moment in words, as the reader's clock and calendar have it:
// today, yesterday, or the day.
func (t *turn) whenText(at time.Time) phrase.Text {
	zone := t.zone()
	now, at := t.now.In(zone), at.In(zone)
	clock := at.Format("15:04")
	day := func(d time.Time) string { return d.Format(time.DateOnly) }
	switch day(at) {
	case day(now):
		return phrase.Of("when.today").Saying("time", clock)
	case day(now.AddDate(0, 0, -1)):
		return phrase.Of("when.yesterday").Saying("time", clock)
	}
	return phrase.Of("when.day").Sub1("day", dateText(at)).Saying("time", clock)
}
