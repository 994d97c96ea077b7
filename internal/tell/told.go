package tell

import (
	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// told is what somebody was told of a confirmation.
func (v View) told(c job.Confirmation) phrase.Text { return c.Text(phrase.Day(c.By.At.In(v.clock()))) }
