package dialog

import (
	"cmp"
	"time"

	"sillbot/internal/phrase"
)

// homeZone is where people are taken to be until they say otherwise.
const homeZone = "Europe/London"

// zone is that of the reader's clock.
func (s State) zone() string { return cmp.Or(s.Zone, homeZone) }

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
