package job

import (
	"slices"
	"time"

	"sillbot/internal/opening"
)

// Review looks at what was said of an opening since it was looked at last, and
// tells whom it concerns: the lead whose signature no longer stands, the desk
// whose revision no longer does. Answers that say the same as before tell
// nobody.
func (j Job) Review(who Who, at time.Time, id int) (Job, []Event, error) {
	i, err := j.admitTo(id, who, Fitter)
	if err != nil {
		return Job{}, nil, err
	}
	o := j.Openings[i]
	before, looked := o.lookedAt()
	if !looked {
		j.write(who, at, i, o.lookedOver())
		return j.done(who, at, about(OpeningAdded, o))
	}
	now := o.Known()
	keys := slices.DeleteFunc(before.Differ(&now), func(key opening.Key) bool { return slices.Contains(promises, key) })
	if len(keys) == 0 {
		return j, nil, nil
	}
	heldBefore, signed, agreed := j.heldSaid(), o.signedBefore(before.Version()), o.agreedAs(before)
	do := o.becomes(keys, before.Version() != now.Version())
	j.write(who, at, i, append(do, o.lookedOver())...)
	o = j.Openings[i]
	var events []Event
	if signed && o.Signature == nil {
		events = append(events, about(SignatureVoid, o).word("state", "job.state."+string(o.State)))
	}
	if !heldBefore && j.heldSaid() {
		events = append(events, j.heldEvent(o))
	}
	if slices.Contains(keys, "name") && o.sent != nil && j.onOrder(id) {
		events = append(events, about(LineRenamed, o).num("n", id).say("before", before.Value("name")).say("revision", j.Order.Name(j.Order.Revision)))
	}
	if agreed && !o.agreedNow() {
		events = append(events, about(CustomerVoid, o).num("n", o.ID))
	}
	if len(events) == 0 {
		events = append(events, o.reviewed(keys))
	}
	return j.done(who, at, events...)
}

// lookedAt is what was known when the opening was looked at last, with what was
// settled since: that was told when it was settled. It is false for an opening
// that was never looked at.
func (o Opening) lookedAt() (opening.Known, bool) {
	mark := o.Said.LastAct(opening.Reviewed, "")
	if mark == nil {
		return opening.Known{}, false
	}
	return opening.Record{Entries: slices.DeleteFunc(slices.Clone(o.Said.Entries), func(e opening.Entry) bool {
		settled := e.How == opening.Settled && e.Act == opening.Set
		return e.Seq > mark.Seq && e.Role == opening.Fitter && !settled
	})}.Known(), true
}

// Changed says whether anything was said of a window that was complete since it
// was looked at last.
func (o Opening) Changed() bool {
	before, looked := o.lookedAt()
	now := o.Known()
	return looked && len(before.Differ(&now)) > 0
}

// promises are the desk's words, of which the desk itself tells.
var promises = []opening.Key{"due", "price"}

// signedBefore says whether the lead's signature stood for figures of that
// version.
func (o Opening) signedBefore(version string) bool {
	var signed bool
	o.Said.Standing(func(e *opening.Entry) {
		switch {
		case e.Act == opening.Agree && e.Value == toldShown && e.Told != nil:
			signed = e.Told.Version == version
		case e.Act == opening.Step && Action(e.Value) == DoMeasure, e.Act == opening.Step && Action(e.Value) == DoAskCheck:
			signed = false
		}
	})
	return signed
}

// becomes is the step that a change of those fields makes, if it makes one.
func (o Opening) becomes(keys []opening.Key, covered bool) []opening.Entry {
	switch {
	case o.taken == Signed && covered, o.taken.atDesk() && covered:
		return []opening.Entry{stepEntry(DoMeasure)}
	case o.taken == Changed && covered:
		return []opening.Entry{stepEntry(DoMeasure)}
	}
	return o.caughtUp()
}

// reviewed is what there is to say of a change that nobody else has to act on.
func (o Opening) reviewed(keys []opening.Key) Event {
	reading := slices.ContainsFunc(keys, func(key opening.Key) bool { return slices.Contains(opening.ReadingKeys, key) })
	switch {
	case !reading:
	case o.State == Differing, o.State == Agreed:
		return o.compared()
	}
	return about(OpeningChanged, o)
}
