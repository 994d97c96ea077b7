package job

import (
	"time"

	"sillbot/internal/opening"
)

// Keep writes what is kept of an opening beside the survey, at whatever state it is: a
// snag, the number of a certificate. The entries are of no field of the survey, so that
// nothing that was agreed hangs on them, and nobody is told.
func (j Job) Keep(who Who, at time.Time, id int, entries ...opening.Entry) (Job, error) {
	i, err := j.admitTo(id, who, Fitter)
	if err != nil {
		return Job{}, err
	}
	j.write(who, at, i, entries...)
	return j, nil
}
