package tell

import (
	"errors"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// Refusal is why a job's owner or a chair can't do something.
func Refusal(err error) phrase.Text {
	if refused, ok := errors.AsType[*job.Refusal](err); ok {
		return phrase.Of("job.refused").Sub1("reason", refused.Text())
	}
	return phrase.Of("error.internal")
}
