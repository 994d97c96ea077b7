package job

import (
	"time"

	"sillbot/internal/opening"
)

// OnDay writes what was read, done or seen at an opening on the fitting day. The
// entries are of no field of the survey: the order stays as it is, and nobody is told.
// It is refused before the desk confirmed the line: there is no frame to read.
func (j Job) OnDay(who Who, at time.Time, id int, entries ...opening.Entry) (Job, error) {
	i, err := j.admitTo(id, who, Fitter)
	if err != nil {
		return Job{}, err
	}
	o := j.Openings[i]
	if !o.OnDay() {
		return Job{}, refuse("no_frame").say("name", o.Name).word("state", o.stateKey())
	}
	j.write(who, at, i, entries...)
	return j, nil
}

// OnDay says whether the opening's fitting day may have begun.
func (o Opening) OnDay() bool {
	return o.State.rank() >= Confirmed.rank() && o.State != Replaced
}
