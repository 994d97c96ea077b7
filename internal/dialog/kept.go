package dialog

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/job"
	"sillbot/internal/opening"
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
			r := t.view().Event(e, to.Role)
			if to.Chat == t.chat {
				t.say(r.Text)
				if len(r.Buttons) > 0 {
					t.buttons = r.Buttons
				}
				continue
			}
			t.post(Mail{To: to.Chat, Ref: e.Ref, Show: &r})
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

// keepOpening stores the complete survey in the open job, as a new opening or in
// place of the stored one. It reports whether the job took it.
func (t *turn) keepOpening() bool {
	if t.Job == nil {
		return true
	}
	if t.Editing != 0 {
		return t.took(t.Job.Store(t.who(), t.now, t.Editing, t.surveyRecord()))
	}
	name := words().Plain(t.lang(), phrase.Of("job.window").WithInt("n", t.Job.LastID+1))
	j, added, err := t.Job.Add(t.who(), t.now, name)
	if err == nil {
		j, _, err = j.Store(t.who(), t.now, j.LastID, t.surveyRecord())
	}
	if !t.took(j, added, err) {
		return false
	}
	t.Editing = t.Job.LastID
	return true
}

// surveyRecord is the survey in the form in which a job stores it.
func (t *turn) surveyRecord() job.Record {
	a := t.answers()
	r := job.Record{Plan: a.Opening()}
	if o, ok := t.Job.Find(t.Editing); ok {
		r.Colour, r.Hardware = o.Record.Colour, o.Record.Hardware
	}
	if a.Given("glass") {
		r.MakeUp = a.Value("glass")
	}
	for _, ans := range t.Answers {
		raw, err := ans.MarshalText()
		if err == nil {
			r.Answers = append(r.Answers, string(raw))
		}
	}
	return r
}

// load opens a stored record as the current survey.
func (t *turn) load(r job.Record) {
	t.remember()
	t.begin()
	t.Answers, t.Set = nil, settingsOf(r.Plan.Settings)
	for _, text := range r.Answers {
		var ans Answer
		if ans.UnmarshalText([]byte(text)) == nil && find(ans.Key) != nil {
			t.Answers = append(t.Answers, ans)
		}
	}
}

// followReadings copies the readings of the job into the current survey: a
// settled reading may differ from the one that was typed.
func (t *turn) followReadings() {
	if t.Job == nil || t.Ref != t.Job.Ref || t.Second != nil {
		return
	}
	o, ok := t.Job.Find(t.Editing)
	if !ok {
		return
	}
	p := o.Record.Plan
	now := map[string]decimal.Decimal{"diagonal.rising": p.Rising, "diagonal.falling": p.Falling}
	for i := range 3 {
		now[opening.Widths[i]], now[opening.Heights[i]] = p.Widths[i], p.Heights[i]
	}
	t.Answers = slices.Clone(t.Answers)
	for i, ans := range t.Answers {
		if mm, ok := now[ans.Key]; ok && mm.IsPositive() && ans.Value != skipped {
			t.Answers[i].Value = mm.String()
		}
	}
}
