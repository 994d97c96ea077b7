package dialog

import (
	"slices"

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

// keepOpening puts the complete survey into the open job, as a new opening or
// in place of what was known of it.
func (t *turn) keepOpening() bool {
	if t.Job == nil {
		return true
	}
	j, id := *t.Job, t.Editing
	if id == 0 {
		var err error
		name := words().Plain(t.lang(), phrase.Of("job.window").WithInt("n", j.LastID+1))
		if j, err = j.Begin(t.who(), t.now, name); err != nil {
			return t.took(j, nil, err)
		}
		id = j.LastID
	}
	o, _ := j.Find(id)
	if !t.took(j.Describe(t.who(), t.now, id, t.surveyEntries(o)...)) {
		return false
	}
	t.Editing = id
	return true
}

// surveyEntries are the survey as the job keeps it.
func (t *turn) surveyEntries(o job.Opening) []opening.Entry {
	var list []opening.Entry
	a := t.answers()
	known := o.Known()
	for _, ans := range t.Answers {
		list = append(list, opening.Entry{Act: opening.Set, Key: ans.Key, Value: ans.Value})
		if ans.Sure && !known.Sure(ans.Key) {
			list = append(list, opening.Entry{Act: opening.Sure, Key: ans.Key})
		}
	}
	for _, set := range t.Set {
		list = append(list, opening.Entry{Act: opening.Set, Key: opening.CrewPrefix + set.Key, Value: set.Value})
	}
	opening.Fields(func(f *opening.Field) bool {
		asked := !f.Is(opening.ByCommand) || f.Scope == opening.CrewWide
		if asked && known.Has(f.Key) && !a.Has(f.Key) {
			list = append(list, opening.Entry{Act: opening.Clear, Key: f.Key})
		}
		return true
	})
	return list
}

// load makes what is known of an opening the survey at hand.
func (t *turn) load(o job.Opening) {
	t.remember()
	t.begin()
	t.Answers, t.Set = nil, settingsOf(o.Record().Plan.Settings)
	known := o.Known()
	for _, key := range known.InOrder() {
		if find(key) != nil {
			t.Answers = append(t.Answers, Answer{Key: key, Value: known.Value(key), Sure: known.Sure(key)})
		}
	}
}

// followReadings brings the readings of the survey at hand up to what the job
// says of its opening: a settled reading may be another than the one typed.
func (t *turn) followReadings() {
	if t.Job == nil || t.Ref != t.Job.Ref || t.Second != nil {
		return
	}
	o, ok := t.Job.Find(t.Editing)
	if !ok {
		return
	}
	known := o.Known()
	t.Answers = slices.Clone(t.Answers)
	for i, ans := range t.Answers {
		if isReading(ans.Key) && ans.Value != skipped && known.Given(ans.Key) {
			t.Answers[i].Value = known.Value(ans.Key)
		}
	}
}
