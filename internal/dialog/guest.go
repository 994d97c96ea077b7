package dialog

import (
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// guests says when a guest may use a row besides those of their chair.
type guests int

const (
	chairsOnly guests = iota // only with a chair that the row is for
	always
	measuring // as long as a second measure is under way
)

// guest says whether the person is one: they have a chair in a job, and do that job's
// part and nothing else.
func (t *turn) guest() bool { return t.access != nil && t.access.As == talk.Guest }

// putAside leaves a job of a guest's own, which one of before guests had none may have. It
// is there again when they are one of the crew.
func (t *turn) putAside() {
	if t.guest() && t.Second == nil {
		t.Job, t.Ref, t.Editing, t.Day = nil, "", 0, nil
	}
}

// refuseGuest says what a guest can do instead.
func (t *turn) refuseGuest() {
	t.quiet = true
	if _, ok := t.lastSeat(""); !ok {
		t.say(phrase.Of("crew.guest.over"))
		return
	}
	t.say(phrase.Of("crew.guest.not"))
	for _, role := range []job.Role{job.Lead, job.Desk} {
		if seat, ok := t.lastSeat(role); ok {
			t.say(phrase.Of("crew.guest.chair").Saying("ref", seat.Ref).Word("role", "role."+string(role)), phrase.Of("chair.can."+string(role)))
		}
	}
}

// helpGuest says what a guest can type.
func helpGuest(t *turn) {
	t.quiet = true
	for _, role := range []job.Role{job.Lead, job.Desk} {
		if _, ok := t.lastSeat(role); ok {
			t.say(phrase.Of("help.job." + string(role)))
		}
	}
	t.say(phrase.Of("crew.guest.help"))
}
