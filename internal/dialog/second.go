package dialog

import (
	"slices"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// endSecond ends the second measure and returns to the survey before it.
func (t *turn) endSecond() {
	t.Hand = t.Second.Waiting
	t.Second, t.Doubt, t.Proposed, t.Asking, t.Fails = nil, nil, nil, "", 0
	t.Conv++
	t.wasDone = t.done()
	t.quiet = t.quiet || t.atChair()
}

// beginSecond starts a second measure. The current survey is kept for afterwards.
func beginSecond(t *turn, a Ask) {
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
		t.Second = &Measure{Waiting: t.Hand}
	}
	second := *t.Second
	second.Ref, second.Opening, second.Name = ref, id, name
	t.Second = &second
	t.Conv++
	t.Hand = opening.Record{}
	t.Doubt, t.Proposed, t.Asking, t.Fails = nil, nil, "", 0
	t.wasDone, t.quiet = false, false
	t.say(phrase.Of("job.measure.begin").WithInt("n", id).Saying("name", name))
}

// hasMeasured says whether a second measure under way has a reading.
func (s State) hasMeasured() bool {
	k := s.Hand.Known()
	return slices.ContainsFunc(k.InOrder(), isReading)
}

// leaveSecond leaves a second measure that has no reading yet.
func leaveSecond(t *turn) {
	t.endSecond()
	t.say(phrase.Of("job.measure.left"))
}

// sendSecond sends the readings of a complete second measure to the owner.
func (t *turn) sendSecond() {
	readings := t.answers().Readings()
	ref, id := t.Second.Ref, t.Second.Opening
	t.endSecond()
	t.say(phrase.Of("job.measure.sent"))
	t.askOwner(Ask{Do: "read", Ref: ref, Opening: id, Readings: &readings})
}

// holdTape takes the owner's answer about a second measure that was begun: where
// heights start, or that no measure is wanted. In that case it ends, unless a
// reading was typed already.
func holdTape(t *turn, from int64, ref string, tape Tape) {
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
			t.Hand = t.Hand.Put(opening.Stamp{Role: opening.Fitter, At: t.now.Unix(), Turn: t.Turn}, noSillPiece)
		}
	case !t.hasMeasured():
		t.endSecond()
	}
}

// noSillPiece in a second measure makes its heights start where the fitter's did.
var noSillPiece = opening.Entry{Act: opening.Set, Key: "sill", Value: "none", How: opening.Assumed}

// mostStood is how many lost chairs are kept: a conversation has to stay small.
const mostStood = 50

// stand leaves the chair in a job. A seat without a role stays, so that the next
// job command can say that the chair is lost.
func (t *turn) stand(ref string) {
	was, _ := t.seat(ref)
	t.Stood = append(slices.DeleteFunc(slices.Clone(t.Stood), func(s Seat) bool { return s.Ref == ref }), Seat{Ref: ref, Owner: was.Owner})
	t.Stood = t.Stood[max(0, len(t.Stood)-mostStood):]
	t.Seats = slices.DeleteFunc(t.without(ref), func(s Seat) bool { return s.Role == "" })
	t.Seats = append(t.Seats, Seat{Ref: ref})
	if t.Second != nil && t.Second.Ref == ref {
		t.tellUnsent()
		t.endSecond()
	}
}

// tellUnsent tells the readings of a second measure back that can't be sent any
// more, so that they are not lost.
func (t *turn) tellUnsent() {
	if t.hasMeasured() {
		k := t.Hand.Known()
		t.say(tell.WithReadings(phrase.Of("job.measure.unsent").WithInt("n", t.Second.Opening).Saying("name", t.Second.Name), k.Readings()))
	}
}
