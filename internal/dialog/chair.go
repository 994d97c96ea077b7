package dialog

import (
	"slices"
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// followLink takes a link that leads somewhere: into the crew, where the engine has
// let the person in, or to a chair.
func followLink(t *turn) {
	if t.link.IntoCrew() {
		t.say(phrase.Of("crew.admitted"))
		return
	}
	if t.link.Role == job.Fitter {
		takeJob(t)
		return
	}
	askToJoin(t)
}

// askToJoin asks the owner of a job for the chair that a link is for.
func askToJoin(t *turn) {
	l := t.link
	t.quiet = true
	if t.group {
		t.say(phrase.Of("job.notgroup"))
		return
	}
	if l.Role == job.Customer && !talk.IsPage(t.chat) {
		t.say(phrase.Of("page.only"))
		return
	}
	t.mails = append(t.mails, Reply{Lang: t.lang(), Mail: &Mail{
		From: t.chat, To: l.Owner, Ref: l.Ref, Ask: &Ask{Who: job.Who{Chat: t.chat, Person: t.user, Name: t.name, Role: l.Role}, Do: "join", Token: l.Token},
	}})
	t.say(phrase.Of("job.joining").Word("role", "role."+string(l.Role)))
}

// lostChair says once that a chair was taken back. Without it the job command
// would begin a job of the chat's own.
func lostChair(t *turn) bool {
	i := slices.IndexFunc(t.Seats, func(s Seat) bool { return s.Role == "" })
	if i < 0 || t.Job != nil {
		return false
	}
	t.say(phrase.Of("job.lost").Saying("ref", t.Seats[i].Ref))
	t.Seats = slices.Delete(slices.Clone(t.Seats), i, i+1)
	t.quiet = true
	return true
}

// mostGreeted is how many chairs a greeting names.
const mostGreeted = 5

// greetChair says what a chair can type, and asks the owner of the job that was
// used last for what waits.
func greetChair(t *turn) {
	last, _ := t.lastSeat("")
	named := 0
	for _, s := range t.Seats {
		if s.Role != "" && named < mostGreeted {
			t.say(phrase.Of("chair.in").Saying("ref", s.Ref).Word("role", "role."+string(s.Role)))
			named++
		}
	}
	for _, role := range []job.Role{job.Lead, job.Desk} {
		if _, ok := t.lastSeat(role); ok {
			t.say(phrase.Of("chair.can." + string(role)))
		}
	}
	if !t.guest() {
		t.say(phrase.Of("chair.own"))
	}
	if last.Ref == "" {
		t.refuseGuest()
		return
	}
	t.askOwner(Ask{Do: "show", Ref: last.Ref, Words: briefly})
}

// seatFor is the chair that a typed command is meant for: the only one of that
// role, or the one whose reference comes first in the text. With several and no
// reference it asks, because a guess could confirm the wrong order.
func (t *turn) seatFor(role job.Role, rest string) (Seat, string, bool) {
	var seats []Seat
	for _, s := range t.Seats {
		if s.Role == role {
			seats = append(seats, s)
		}
	}
	first, after, _ := strings.Cut(strings.TrimSpace(rest), " ")
	if ref, err := job.ParseReference(first); err == nil {
		if seat, ok := t.seat(ref); ok && seat.Role == role {
			return seat, after, true
		}
	}
	t.quiet = true
	switch {
	case len(seats) == 1:
		return seats[0], rest, true
	case len(seats) == 0 && role == job.Desk:
		t.say(phrase.Of("job.notdesk"))
	case len(seats) == 0:
		t.say(phrase.Of("job.measure.how"))
	default:
		var refs []phrase.Text
		for _, s := range seats {
			refs = append(refs, phrase.Of("job.ref").Saying("ref", s.Ref))
		}
		t.say(phrase.Of("job.whichjob").WithRow("refs", refs...))
	}
	return Seat{}, "", false
}
