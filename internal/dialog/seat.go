package dialog

import (
	"slices"
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// sit takes a chair in another chat's job.
func (t *turn) sit(seat Seat) {
	t.Seats = append(t.without(seat.Ref), seat)
}

// without is the chairs but for that in a job.
func (t *turn) without(ref string) []Seat {
	return slices.DeleteFunc(slices.Clone(t.Seats), func(s Seat) bool { return s.Ref == ref })
}

// stand leaves the chair in a job. A seat without a role marks the chair that
// was lost last, so that job can say so.
func (t *turn) stand(ref string) {
	t.Seats = slices.DeleteFunc(t.without(ref), func(s Seat) bool { return s.Role == "" })
	t.Seats = append(t.Seats, Seat{Ref: ref})
	if t.Second != nil && t.Second.Ref == ref {
		t.endSecond()
	}
}

func (t *turn) seat(ref string) (Seat, bool) {
	i := slices.IndexFunc(t.Seats, func(s Seat) bool { return s.Ref == ref && s.Role != "" })
	if i < 0 {
		return Seat{}, false
	}
	return t.Seats[i], true
}

// noteGlance keeps how a job stands, for the figures at a glance.
func (t *turn) noteGlance(from int64, g job.GlanceJob) {
	t.Seats = slices.Clone(t.Seats)
	for i := range t.Seats {
		s := &t.Seats[i]
		if s.Ref != g.Ref || s.Owner != from {
			continue
		}
		s.Unsigned, s.Unconfirmed, s.Done, s.Due = g.Unsigned, g.Unconfirmed, !g.Open, nil
		for _, late := range g.Late {
			s.Due = append(s.Due, late.Due)
		}
	}
}

// join asks the owner of a job for the chair that a link is for.
func (t *turn) join() {
	l := t.link
	t.quiet = true
	if t.group {
		t.say(phrase.Of("job.notgroup"))
		return
	}
	t.mails = append(t.mails, Reply{Lang: t.lang(), Mail: &Mail{
		From: t.chat, To: l.Owner, Ref: l.Ref, Ask: &Ask{Who: job.Who{Chat: t.chat, Person: t.user, Name: t.name, Role: l.Role}, Do: "join", Token: l.Token},
	}})
	t.say(phrase.Of("job.joining").Word("role", "role."+string(l.Role)))
}

// askOwner sends an ask to the owner of a job that the chat has a chair in.
func (t *turn) askOwner(a Ask) {
	seat, ok := t.seat(a.Ref)
	if !ok && a.Do == "leave" {
		return // lost already
	}
	if !ok {
		t.say(phrase.Of("job.unknown").Saying("ref", a.Ref))
		return
	}
	a.Who = job.Who{Chat: t.chat, Person: t.user, Name: t.name, Role: seat.Role}
	t.post(Mail{To: seat.Owner, Ref: a.Ref, Ask: &a})
	t.quiet = true
	// The chair that was used last is meant by commands that name no job.
	t.sit(seat)
}

// beginSecond starts a second measure. The survey at hand waits.
func (t *turn) beginSecond(a Ask) {
	ref, id, name := a.Ref, a.Opening, a.Words
	seat, ok := t.seat(ref)
	if !ok || id == 0 {
		t.say(phrase.Of("job.unknown").Saying("ref", ref))
		return
	}
	// Only the owner knows where the fitter held the tape.
	where := Ask{Who: job.Who{Chat: t.chat, Person: t.user, Name: t.name, Role: seat.Role}, Do: "where", Opening: id}
	t.post(Mail{To: seat.Owner, Ref: ref, Ask: &where})
	if t.Second == nil {
		t.Second = &Measure{Waiting: t.Answers}
	}
	second := *t.Second
	second.Ref, second.Opening, second.Name = ref, id, name
	t.Second = &second
	t.Conv++
	t.Answers, t.Doubt, t.Asking, t.Fails, t.FigureKept = nil, nil, "", 0, false
	t.wasDone, t.quiet = false, false
	t.say(phrase.Of("job.measure.begin").WithInt("n", id).Saying("name", name))
}

// sayWhere tells a lead who has begun a second measure where the fitter held
// the tape: a whole sill may lie between the two places that heights start at.
func (t *turn) sayWhere(a Ask) {
	to := Mail{To: a.Who.Chat, Ref: t.Job.Ref}
	o, err := t.Job.ToCheck(a.Who, a.Opening)
	if err != nil {
		to.Tape, to.Show = &Tape{Opening: a.Opening, Not: true}, &Reply{Text: tell.Refusal(err)}
	} else {
		to.Tape, to.Show = &Tape{Opening: o.ID, Name: o.Name, Sill: !o.NewSill}, &Reply{Text: tell.Where(o)}
	}
	t.post(to)
}

// holdTape takes the owner's word on a second measure that is under way. One
// that nobody waits for is left, unless something was measured already.
func (t *turn) holdTape(from int64, ref string, tape Tape) {
	seat, ok := t.seat(ref)
	if !ok || seat.Owner != from || t.Second == nil || t.Second.Ref != ref || t.Second.Opening != tape.Opening {
		return
	}
	switch {
	case !tape.Not:
		second := *t.Second
		second.Name = tape.Name
		t.Second = &second
		if tape.Sill {
			t.Answers = append([]Answer{noSillPiece}, t.Answers...)
		}
	case !t.hasMeasured():
		t.endSecond()
	}
}

// noSillPiece among the answers of a second measure makes its heights start
// where the fitter's did.
var noSillPiece = Answer{Key: "sill", Value: "none"}

// hasMeasured says whether a second measure under way has a reading.
func (t *turn) hasMeasured() bool {
	return slices.ContainsFunc(t.Answers, func(a Answer) bool { return isReading(a.Key) })
}

// leaveSecond leaves a second measure that has no reading yet.
func (t *turn) leaveSecond() {
	t.endSecond()
	t.say(phrase.Of("job.measure.left"))
}

// endSecond brings the survey that waited back.
func (t *turn) endSecond() {
	t.Answers = t.Second.Waiting
	t.Second, t.Doubt, t.Asking, t.Fails, t.FigureKept = nil, nil, "", 0, false
	t.Conv++
	t.wasDone = t.done()
	t.quiet = t.quiet || t.atChair()
}

// sendSecond sends the readings of a complete second measure to the owner.
func (t *turn) sendSecond() {
	readings := t.answers().Opening().Readings()
	ref, id := t.Second.Ref, t.Second.Opening
	t.endSecond()
	t.say(phrase.Of("job.measure.sent"))
	t.askOwner(Ask{Do: "read", Ref: ref, Opening: id, Readings: &readings})
}

// lastSeat is the chair that was used last, among those of a role; any, when
// role is "".
func (t *turn) lastSeat(role job.Role) (Seat, bool) {
	for i := len(t.Seats) - 1; i >= 0; i-- {
		if has := t.Seats[i].Role; has != "" && (role == "" || has == role) {
			return t.Seats[i], true
		}
	}
	return Seat{}, false
}

// lostChair says once that a chair was taken back: job would else begin a job
// of the chat's own without a word.
func (t *turn) lostChair() bool {
	i := slices.IndexFunc(t.Seats, func(s Seat) bool { return s.Role == "" })
	if i < 0 || t.Job != nil {
		return false
	}
	t.say(phrase.Of("job.lost").Saying("ref", t.Seats[i].Ref))
	t.Seats = slices.Delete(slices.Clone(t.Seats), i, i+1)
	t.quiet = true
	return true
}

// atChair says that the chat has a chair in somebody's job and is in the middle
// of nothing of its own.
func (t *turn) atChair() bool {
	_, sits := t.lastSeat("")
	return sits && t.Job == nil && t.Second == nil && t.Doubt == nil && t.Asking == "" && len(t.Answers) <= len(t.Kept)
}

// takes says whether the open question takes the text as its answer.
func (t *turn) takes(text string) bool {
	q := t.next(t.answers())
	if q == nil || text == "" {
		return false
	}
	probe := *t
	_, trouble := probe.take(q, text)
	return trouble == nil
}

// mostGreeted is how many chairs a greeting names.
const mostGreeted = 5

// greetChair says what somebody with a chair can type, and has the owner of the
// job that was used last say what waits.
func (t *turn) greetChair() {
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
	t.say(phrase.Of("chair.own"))
	t.askOwner(Ask{Do: "show", Ref: last.Ref})
}

// seatFor is the chair that a typed command means: the only one of its kind,
// or the one whose job's reference begins what was typed. With several and no
// reference it asks, because the wrong one would be somebody else's order.
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

// howToQuery says how the desk types a question on a line.
func (t *turn) howToQuery(id int) {
	t.say(phrase.Of("job.query.how").WithInt("n", id))
	t.quiet = true
}

// glance says how all the jobs stand that the chat leads, and its own open
// one.
func (t *turn) glance() {
	today := t.now.Format(dateForm)
	var g job.Glance
	for _, s := range t.Seats {
		if s.Role == job.Lead {
			g = g.With(s.Glance(today))
		}
	}
	if t.Job != nil {
		g = g.With(t.Job.Glance(today))
	}
	t.say(phrase.Of("job.glance").WithInt("open", g.Open).WithInt("unsigned", g.Unsigned).
		WithInt("unconfirmed", g.Unconfirmed).WithInt("late", g.Late))
	for _, j := range g.Jobs {
		t.say(phrase.Of("job.glance.job").Saying("ref", j.Ref).WithInt("unsigned", j.Unsigned).
			WithInt("unconfirmed", j.Unconfirmed).WithInt("late", len(j.Late)))
	}
}
