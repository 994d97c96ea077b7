package dialog

import (
	"slices"
	"time"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// undelivered notes that a reply to the chat was given up, and tells whose mail it
// was, once until somebody writes here. Nothing is said here, and nothing is
// kept of a person who has no conversation, so that forget stays whole. Without Lost
// there is nothing to do.
func undelivered(s State, in Input) (State, []Reply) {
	if in.Lost == nil || in.Elsewhere {
		return s, nil
	}
	t := &turn{State: s, now: in.Now, device: in.Lang, chat: in.Chat}
	missed := Missed{Since: t.now.Unix()}
	if t.Missed != nil {
		missed = *t.Missed
	}
	if in.Lost.Why == Left {
		return t.left(s, missed, in.Lost.Chairs)
	}
	missed.Count++
	if of := in.Lost.Of; of != nil && !slices.ContainsFunc(missed.From, func(l Letter) bool { return l.From == of.From && l.Ref == of.Ref }) {
		missed.From = append(slices.Clip(missed.From), Letter{From: of.From, Ref: of.Ref})
		t.post(Mail{To: of.From, Ref: of.Ref, Lost: in.Lost.Why})
	}
	group := t.chat < 0 // nobody in it is begun by this
	if t.Version == 0 && !group {
		return s, t.mails
	}
	if t.Version == 0 {
		t.Version = schema
		t.begin()
	}
	t.Missed = &missed
	return t.State, t.mails
}

// left notes that the person blocked the bot, or the group put it out, and tells who has
// a chair in the chat's jobs, and those whose jobs it has a chair in, before they wait
// for an answer. Nothing is kept where there is nobody to tell.
func (t *turn) left(s State, missed Missed, chairs []Letter) (State, []Reply) {
	others := slices.Clone(chairs)
	for _, seat := range t.Seats {
		if seat.Owner != 0 && !seat.Done {
			others = append(others, Letter{From: seat.Owner, Ref: seat.Ref})
		}
	}
	for _, o := range others {
		if !slices.ContainsFunc(missed.From, func(l Letter) bool { return l.From == o.From && l.Ref == o.Ref }) {
			missed.From = append(slices.Clip(missed.From), o)
			t.post(Mail{To: o.From, Ref: o.Ref, Lost: Left})
		}
	}
	if missed.From == nil {
		return s, nil
	}
	if t.Version == 0 { // of a group in which each has their own
		t.Version = schema
		t.begin()
	}
	t.Missed = &missed
	return t.State, t.mails
}

// Chairs are the chats that wait for the owner of a job.
func Chairs(j job.Job) (chairs []Letter) {
	for _, s := range j.Shares {
		if s.UsedBy != 0 && !s.Revoked && j.Stage() != job.Handed && j.Stage() != job.Replaced {
			chairs = append(chairs, Letter{From: s.UsedBy, Ref: j.Ref})
		}
	}
	return chairs
}

// returned tells a group, or a person who let the bot write again, what was missed.
func (t *turn) returned() (State, []Reply) {
	t.sayMissed()
	t.catchUp()
	if len(t.lines) > 0 {
		t.replies = append(t.replies, t.message())
	}
	return t.State, t.out()
}

// sayMissed says how much could not be sent here. What the chat has no chair for
// it can look up itself.
func (t *turn) sayMissed() {
	if t.Missed == nil {
		return
	}
	if t.Missed.Count > 0 {
		when := t.view().When(time.Unix(t.Missed.Since, 0))
		t.say(phrase.Of("missed.told").WithInt("count", t.Missed.Count).Sub1("when", when))
	}
	switch {
	case slices.ContainsFunc(t.Missed.From, t.seated):
		t.say(phrase.Of("missed.next"))
	case t.Missed.Count > 0:
		t.say(phrase.Of("missed.look"))
	}
}

// seated says whether mail comes of the owner of a job that the chat has a chair in.
func (t *turn) seated(l Letter) bool {
	seat, ok := t.seat(l.Ref)
	return ok && seat.Owner == l.From
}

// catchUp asks the owners of jobs for what waits, after all that was said, and
// tells the chairs of its own jobs that the chat is there again.
func (t *turn) catchUp() {
	if t.Missed == nil {
		return
	}
	for _, l := range t.Missed.From {
		asked := func(r Reply) bool {
			return r.Mail != nil && r.Mail.Ref == l.Ref && r.Mail.Ask != nil && r.Mail.Ask.Do == "show"
		}
		seat, _ := t.seat(l.Ref)
		switch {
		case !t.seated(l):
			t.post(Mail{To: l.From, Ref: l.Ref, Back: true})
		case !slices.ContainsFunc(t.mails, asked):
			t.post(Mail{To: l.From, Ref: l.Ref, Ask: &Ask{
				Who: job.Who{Chat: t.chat, Person: t.user, Name: t.name, Role: seat.Role}, Do: "show",
			}})
		}
	}
	t.Missed = nil
}

// chairOf is the role in the chat's own job of who sent mail, "" for none.
func (t *turn) chairOf(m *Mail) job.Role {
	if t.Job == nil || t.Job.Ref != m.Ref {
		return ""
	}
	return t.Job.Chair(m.From)
}

// lost takes notice that what was sent to a chair, or to the owner of a job,
// did not arrive. It is said once, until they write again.
func (t *turn) lost(m *Mail) {
	said := phrase.Of("reach.lost."+string(m.Lost)).Saying("ref", m.Ref)
	if talk.IsPage(m.From) && m.Lost == talk.Gone {
		said = phrase.Of("reach.lost.page").Saying("ref", m.Ref)
	}
	if role := t.chairOf(m); role != "" {
		j, first := t.Job.Unreached(m.From, t.now)
		if t.Job = &j; !first {
			return
		}
		t.say(said.Word("role", "role."+string(role)))
		switch {
		case j.Order.Revision > 0 && role == job.Desk && j.Had(m.From) < j.Order.Revision:
			t.say(phrase.Of("reach.order").Saying("revision", job.RevisionName(j.Order.Revision)))
		case m.Lost != Left:
			t.say(phrase.Of("reach.last"))
		}
		do := phrase.Of("reach.do.lead")
		switch role {
		case job.Desk:
			do = phrase.Of("reach.do.desk")
		case job.Customer:
			do = phrase.Of("reach.do.customer")
		}
		t.say(do)
		return
	}
	seat, ok := t.seat(m.Ref)
	if !ok || seat.Owner != m.From || seat.Lost != 0 {
		return
	}
	t.noteAway(m.Ref, t.now.Unix())
	t.say(said.Word("role", "role.fitter"), phrase.Of("reach.do.fitter"))
}

// back takes notice that the owner of a job can be reached again.
func (t *turn) back(m *Mail) {
	if seat, ok := t.seat(m.Ref); ok && seat.Owner == m.From && seat.Lost != 0 {
		t.noteAway(m.Ref, 0)
		t.say(phrase.Of("reach.back.fitter").Saying("ref", m.Ref))
	}
}

// noteAway keeps since when the owner of a job can't be reached.
func (t *turn) noteAway(ref string, since int64) {
	t.Seats = slices.Clone(t.Seats)
	for i := range t.Seats {
		if t.Seats[i].Ref == ref {
			t.Seats[i].Lost = since
		}
	}
}

// reachedAgain takes notice, in the owner's chat, that a chair writes again.
func (t *turn) reachedAgain(m *Mail) {
	if m.Ask.Do == "shown" { // the chat's own conversation says so, not a person
		return
	}
	if j, back := t.Job.Reached(m.From); back {
		t.Job = &j
		t.say(phrase.Of("reach.back").Saying("ref", m.Ref).Word("role", "role."+string(j.Chair(m.From))))
	}
}

// arrived takes the receipt for an order. Nothing is said: the list says so.
func (t *turn) arrived(m *Mail) {
	if t.chairOf(m) == job.Desk {
		j, _ := t.Job.Arrived(m.From, m.Got).Reached(m.From)
		t.Job = &j
	}
}
