package dialog

import (
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// took replaces the open job by the result of an operation and announces its
// events, or says why the operation was refused.
func (t *turn) took(j job.Job, events []job.Event, err error) bool {
	if err != nil {
		t.say(tell.Refusal(err))
		return false
	}
	t.Job = &j
	t.announce(events)
	return true
}

// announce says events in this chat and mails them to the others, one message
// an event.
func (t *turn) announce(events []job.Event) {
	for _, e := range events {
		for _, to := range e.To {
			if e.Kind == job.ShareGranted {
				continue // the link itself says so
			}
			r := t.view().Event(e, to)
			if to.Chat == t.chat {
				t.say(r.Text)
				if len(r.Buttons) > 0 {
					t.buttons = r.Buttons
				}
				continue
			}
			m := Mail{To: to.Chat, Ref: e.Ref, Show: &r}
			if to.Role == job.Desk && (e.Kind == job.OrderSent || e.Kind == job.OrderRevised) {
				m.Order = t.Job.Order.Revision
			}
			t.post(m)
		}
	}
	if len(events) > 0 {
		t.postGlance()
	}
}

// postGlance sends the leads the figures for their glance command. No message
// is shown.
func (t *turn) postGlance() {
	for _, s := range t.Job.Shares {
		if s.Role != job.Lead || s.UsedBy == 0 || s.Revoked {
			continue
		}
		// Every day that is due counts as late on the last day there is, so
		// that the lead's chat can tell the late ones on any day.
		g := t.Job.Glance("9999-12-31")
		g.Points = t.Job.OpenPoints("9999-12-31")
		t.post(Mail{To: s.UsedBy, Ref: t.Job.Ref, Glance: &g})
	}
}

// ownJob reports whether a job is open, and says so if none is.
func (t *turn) ownJob() bool {
	if t.Job != nil {
		return true
	}
	t.say(phrase.Of("job.noopen"))
	return false
}
