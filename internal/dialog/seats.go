package dialog

import (
	"slices"
	"time"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

func (s State) seat(ref string) (Seat, bool) {
	i := slices.IndexFunc(s.Seats, func(seat Seat) bool { return seat.Ref == ref && seat.Role != "" })
	if i < 0 {
		return Seat{}, false
	}
	return s.Seats[i], true
}

// lastSeat is the chair that was used last, among those of a role; any, when
// role is "".
func (s State) lastSeat(role job.Role) (Seat, bool) {
	for i := len(s.Seats) - 1; i >= 0; i-- {
		if has := s.Seats[i].Role; has != "" && (role == "" || has == role) {
			return s.Seats[i], true
		}
	}
	return Seat{}, false
}

// without is the chairs but for that in a job.
func (s State) without(ref string) []Seat {
	return slices.DeleteFunc(slices.Clone(s.Seats), func(seat Seat) bool { return seat.Ref == ref })
}

// sit takes a chair in another chat's job.
func (s *State) sit(seat Seat) {
	s.Seats = append(s.without(seat.Ref), seat)
	s.Stood = slices.DeleteFunc(slices.Clone(s.Stood), func(was Seat) bool { return was.Ref == seat.Ref })
}

// noteGlance keeps how a job stands, for the figures at a glance.
func (s *State) noteGlance(from int64, g job.GlanceJob) {
	s.Seats = slices.Clone(s.Seats)
	for i := range s.Seats {
		seat := &s.Seats[i]
		if seat.Ref != g.Ref || seat.Owner != from {
			continue
		}
		seat.Unsigned, seat.Unconfirmed, seat.Done, seat.Due = g.Unsigned, g.Unconfirmed, !g.Open, nil
		seat.Points = g.Points
		for _, late := range g.Late {
			seat.Due = append(seat.Due, late.Due)
		}
	}
}

// sits reports whether the chat has a chair in that job.
func (s State) sits(ref string) bool {
	return slices.ContainsFunc(s.Seats, func(seat Seat) bool { return seat.Ref == ref && seat.Role != "" })
}

// atChair reports that the chat has a chair in another chat's job and nothing of
// its own begun.
func (s State) atChair() bool {
	_, sits := s.lastSeat("")
	return sits && s.Job == nil && s.Second == nil && s.Doubt == nil && s.Asking == "" && !s.answered()
}

// askOwner sends an ask to the owner of a job that the chat has a chair in.
func (t *turn) askOwner(a Ask) {
	seat, ok := t.seat(a.Ref)
	if !ok {
		t.say(phrase.Of("job.unknown").Saying("ref", a.Ref))
		return
	}
	a.Who = job.Who{Chat: t.chat, Person: t.user, Name: t.name, Role: seat.Role}
	if seat.Lost != 0 && a.Do == "show" {
		t.say(t.view().Away(job.Fitter, time.Unix(seat.Lost, 0)))
	}
	t.post(Mail{To: seat.Owner, Ref: a.Ref, Ask: &a})
	t.quiet = true
	seat.Owed = nil // they are at it
	// The chair that was used last is meant by commands that name no job.
	t.sit(seat)
}

// briefly asks for the state of a job without what is long and was shown before.
const briefly = "brief"
