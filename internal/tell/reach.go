package tell

import (
	"slices"
	"time"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// Away says since when a chair can't be reached.
func (v View) Away(role job.Role, since time.Time) phrase.Text {
	return phrase.Of("reach.away").Word("role", "role."+string(role)).Sub1("when", v.When(since))
}

// OutOfReach says who in those chairs can't be reached.
func (v View) OutOfReach(roles ...job.Role) (lines []phrase.Text) {
	for _, s := range v.Job.Shares {
		if slices.Contains(roles, s.Role) && s.UsedBy != 0 && !s.Revoked && !s.Lost.IsZero() {
			lines = append(lines, v.Away(s.Role, s.Lost))
		}
	}
	return lines
}

// reach says which chairs can't be reached, and how far the order has come while
// the desk has not answered.
func (v View) reach() []phrase.Text {
	lines := v.OutOfReach(job.Lead, job.Desk)
	if reach, sent := v.Job.OrderReach(); reach != "" {
		lines = append(lines, phrase.Of("reach.order."+string(reach)).
			Saying("revision", job.RevisionName(v.Job.Order.Revision)).Sub1("when", v.When(sent)))
	}
	return lines
}
