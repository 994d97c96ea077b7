package dialog

import (
	"slices"
	"time"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
	"sillbot/internal/tell"
)

// When people are reminded, by their own clock, and how often of the same. Common
// practice, no source.
const (
	dayFrom, dayTo = 7, 20 // hours; outside them nobody is disturbed, nor on a Sunday
	remindHour     = 8
	// gather is how long a chat with a chair in somebody's job waits for what the owners
	// of its jobs look up in the morning, so that all comes as one.
	gather = 15 * time.Minute
	// mostReminded is how many jobs a reminder names.
	mostReminded = 8
)

// asleep says whether people are left in peace.
func asleep(now time.Time) bool {
	return now.Hour() < dayFrom || now.Hour() >= dayTo || job.Quiet(now)
}

// due looks whether there is anything to remind of: the chairs of the chat's own jobs
// by mail, then the chat itself. The same is said by as many looks as there are, but no
// more than once a day; a second time that day only of a delivery that was named since.
func due(s State, in Input) (State, []Reply) {
	t := &turn{State: s, now: in.Now.In(s.clock()), device: in.Lang, chat: in.Chat, kind: in.Kind, group: in.Chat < 0}
	if t.Version == 0 && !t.group || asleep(t.now) {
		return s, nil
	}
	if t.Version == 0 {
		t.Version = schema
		t.begin()
	}
	var r reminders
	if s.Reminders != nil {
		r = *s.Reminders
	}
	t.Reminders = &r
	today := t.now.Format(opening.DateForm)
	asks := r.Asked != today
	var own []ripeJob
	for i := range in.Jobs {
		j := &in.Jobs[i]
		list, _ := j.Reminders(t.now)
		if list = r.ripe(j.Ref, list, t.now); r.Day == today {
			list = r.sinceSaid(j.Ref, list, today)
		}
		if len(list) == 0 || j.Handing != nil {
			continue
		}
		if r.note(j.Ref, list, t.now); asks {
			t.remindChairs(j, list)
		}
		own = append(own, ripeJob{j.Ref, j.Label, job.Fitter, list})
	}
	r.Asked = today
	if t.waitsForOwners() || t.Missed != nil {
		return t.State, t.out()
	}
	if r.Day != today {
		own = slices.Concat(own, t.settleOwed())
	}
	t.sayReminders(own)
	return t.State, t.out()
}

// ripeJob is what somebody in a chair is reminded of in one job.
type ripeJob struct {
	ref, label string
	role       job.Role
	list       []job.Reminder
}

// waitsForOwners: the owners of jobs that the chat has a chair in look at them now.
func (t *turn) waitsForOwners() bool {
	_, sits := t.lastSeat("")
	return sits && t.now.Before(Morning(t.now).Add(gather))
}

// Morning is when people are reminded first on a day, where that day is.
func Morning(day time.Time) time.Time {
	return time.Date(day.Year(), day.Month(), day.Day(), remindHour, 0, 0, 0, day.Location())
}

// remindChairs sends each chair what is theirs to do.
func (t *turn) remindChairs(j *job.Job, list []job.Reminder) {
	for _, s := range j.Shares {
		theirs := slices.DeleteFunc(slices.Clone(list), func(p job.Reminder) bool { return !slices.Contains(p.What.Whose(), s.Role) })
		if s.UsedBy == 0 || s.Revoked || len(theirs) == 0 || s.UsedBy == t.chat || talk.IsPage(s.UsedBy) { // who is not there reads no page
			continue
		}
		t.post(Mail{To: s.UsedBy, Ref: j.Ref, Remind: theirs})
	}
}

// owe keeps what the owner of a job sends to be reminded of.
func (t *turn) owe(from int64, ref string, list []job.Reminder) {
	t.Seats = slices.Clone(t.Seats)
	for i := range t.Seats {
		if s := &t.Seats[i]; s.Ref == ref && s.Owner == from && s.Role != "" {
			s.Owed = list
		}
	}
}

// settleOwed takes what is owed at all chairs, without what was done since.
func (t *turn) settleOwed() (list []ripeJob) {
	t.Seats = slices.Clone(t.Seats)
	for i := range t.Seats {
		s := &t.Seats[i]
		var left []job.Reminder
		for _, p := range s.Owed {
			if s.Role == job.Lead {
				p.Openings = slices.DeleteFunc(slices.Clone(p.Openings), func(id int) bool { return !toCheck(*s, id) })
			}
			if len(p.Openings) > 0 {
				left = append(left, p)
			}
		}
		if len(left) > 0 && !s.Done {
			list = append(list, ripeJob{s.Ref, "", s.Role, left})
		}
		s.Owed = nil
	}
	return list
}

// toCheck says whether a window still waited for the lead when the owner wrote last.
func toCheck(s Seat, id int) bool {
	return slices.ContainsFunc(s.Points, func(p job.OpenPoint) bool { return p.What == job.ToCheck && slices.Contains(p.Openings, id) })
}

// sayReminders says all that is not switched off as one message.
func (t *turn) sayReminders(jobs []ripeJob) {
	var kinds []job.Matter
	var show []Button
	named := 0
	for _, j := range jobs {
		j.list = slices.DeleteFunc(slices.Clone(j.list), func(p job.Reminder) bool { return slices.Contains(t.Reminders.Off, p.What) })
		if len(j.list) == 0 {
			continue
		}
		for _, p := range j.list {
			if !slices.Contains(kinds, p.What) {
				kinds = append(kinds, p.What)
			}
		}
		if named++; named > mostReminded {
			continue
		}
		title := phrase.Of("remind.job").Saying("ref", j.ref)
		if j.label != "" {
			title = phrase.Of("remind.job.label").Saying("ref", j.ref).Saying("label", j.label)
		}
		t.say(title)
		if j.role == job.Fitter && t.Ref != "" && j.ref != t.Ref {
			t.say(phrase.Of("remind.first").Saying("ref", j.ref))
		}
		for _, p := range j.list {
			t.say(t.reminder(j, p))
		}
		label := phrase.Of("button.remind.show").Saying("ref", j.ref)
		show = append(show, Button{Label: label, Data: talk.JobPress + ":" + j.ref + ":show"})
	}
	if named == 0 {
		return
	}
	if named > mostReminded {
		t.say(phrase.Of("remind.more").WithInt("count", named-mostReminded))
	}
	t.Reminders.Day = t.now.Format(opening.DateForm)
	t.buttons = slices.Collect(slices.Chunk(show, 2))
	for _, what := range kinds {
		t.buttons = append(t.buttons, []Button{remindButton(talk.RemindOff, what)})
	}
	t.replies = append(t.replies, t.message())
}

// reminder is one thing in words, for who has the chair.
func (t *turn) reminder(j ripeJob, p job.Reminder) phrase.Text {
	key := "remind.fitter." + string(p.What)
	switch tomorrow := t.now.AddDate(0, 0, 1).Format(opening.DateForm); {
	case j.role == job.Lead:
		key = "remind.lead.check"
	case j.role == job.Desk:
		key = "remind.desk.unconfirmed"
	case p.What == job.DeliveryNear && p.Day != tomorrow:
		key = "remind.fitter.delivery.later" // on a Monday: nobody is reminded on the Sunday before
	}
	return phrase.Of(key).WithInt("count", len(p.Openings)).Saying("numbers", job.Numbers(p.Openings)).
		WithInt("n", p.Openings[0]).Saying("ref", j.ref).Sub1("day", tell.StoredDay(p.Day))
}

// Look is when to look at a chat again, after a turn that led from one state to
// another; zero: never. before is the job that the turn began with; nil: none. must says
// that this takes effect at once: what another turn of the last hour said may be too late,
// and after a look for reminders it is wrong. It may be too early, which does no harm: a
// turn does not know all jobs of the chat, and who looks then does.
func Look(was, now State, before *job.Job, in Input) (at time.Time, must bool) {
	clock := in.Now.In(now.clock())
	if in.Kind == Due {
		return now.lookAgain(in.Jobs, clock), true
	}
	if at := now.lookSoon(before, clock); !at.IsZero() {
		return at, true
	}
	owes := now.owes()
	switch {
	case owes && (now.Reminders == nil || now.Reminders.Day != clock.Format(opening.DateForm)):
		soon := clock.Add(gather)
		if first := Morning(clock).Add(gather); soon.Before(first) {
			soon = first
		}
		if !asleep(soon) {
			return soon, in.Mail != nil && in.Mail.Remind != nil
		}
	case !owes && !now.watches():
		return time.Time{}, false
	}
	must = in.Group || !was.watches() || was.zone() != now.zone() || owes && in.Mail != nil && in.Mail.Remind != nil
	return nextMorning(clock), must
}

// lookSoon is when to look at a chat today because a turn has set a delivery that comes
// next after people were reminded of those; zero: not for that. Several that are set in a
// row come as one.
func (s State) lookSoon(before *job.Job, clock time.Time) time.Time {
	if s.Job == nil || asleep(clock) || clock.Before(Morning(clock)) {
		return time.Time{}
	}
	var r reminders
	if before != nil {
		r.note(before.Ref, before.ComesNext(clock), clock)
	}
	if len(r.sinceSaid(s.Job.Ref, s.Job.ComesNext(clock), clock.Format(opening.DateForm))) == 0 {
		return time.Time{}
	}
	if soon := clock.Add(gather); !asleep(soon) {
		return soon
	}
	return clock
}

// watches says whether the chat has a job, or may have one.
func (s State) watches() bool { return s.Job != nil || s.Ref != "" || len(s.Own) > 0 }

func (s State) owes() bool {
	return slices.ContainsFunc(s.Seats, func(seat Seat) bool { return len(seat.Owed) > 0 })
}

// lookAgain is when there may be something to remind of next, as all jobs are now.
func (s State) lookAgain(jobs []job.Job, clock time.Time) time.Time {
	t := turn{State: s, now: clock}
	var next time.Time
	switch {
	case asleep(clock), s.owes() && !t.waitsForOwners():
		return nextMorning(clock)
	case t.waitsForOwners():
		return Morning(clock).Add(gather)
	}
	for i := range jobs {
		if _, day := jobs[i].Reminders(clock); !day.IsZero() && (next.IsZero() || day.Before(next)) {
			next = day
		}
	}
	if next.IsZero() {
		return next
	}
	return nextMorning(next)
}

// nextMorning is the next time at which people are reminded.
func nextMorning(now time.Time) time.Time {
	day := now
	for !Morning(day).After(now) || job.Quiet(day) {
		day = day.AddDate(0, 0, 1)
	}
	return Morning(day)
}
