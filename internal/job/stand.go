package job

import (
	"slices"
	"time"

	"sillbot/internal/opening"
)

// standAgain lets the revision stand that was held, for nothing differs from it:
// what was changed was changed back, or what was checked is as it was. No
// revision is made, and what was confirmed stays so.
func (j Job) standAgain(who Who, at time.Time, lines []Line) (Job, []Event, error) {
	for _, l := range lines {
		i, err := j.find(l.Opening)
		if err != nil {
			return Job{}, nil, err
		}
		o := j.Openings[i]
		if o.State.made() || o.State.atDesk() {
			continue
		}
		do := DoStand
		if o.staysConfirmed(nil) {
			do = DoStandConfirmed
		}
		// What was said since may be other readings of the same window: told anew,
		// so that it is what the desk has.
		told := opening.Entry{Act: opening.Tell, Value: toldLine, Told: telling(o.Version, stored(l))}
		if j, err = j.step(who, at, i, do, told, stepEntry(do)); err != nil {
			return Job{}, nil, err
		}
	}
	return j.done(who, at, j.standsEvent())
}

// staysConfirmed says whether the line that the desk was told last was confirmed, and
// nothing is another in the next revision by those changes. That less stands against it
// makes no other window.
func (o Opening) staysConfirmed(changes []Change) bool {
	if o.sent == nil || o.confirmedOf != o.sent.Seq || o.Supply.latest() == 0 {
		return false
	}
	return !slices.ContainsFunc(changes, func(c Change) bool { return c.Opening == o.ID && c.Kind != AgainstGone })
}

// Under is the revision of before that a line is confirmed under, for it has not
// changed since; "": it is not confirmed, or under the present one.
func (j Job) Under(id int) string {
	for _, o := range j.Openings {
		if o.ID == id && o.State == Confirmed && o.Supply.latest() != j.Order.Revision {
			return j.Order.Name(o.Supply.latest())
		}
	}
	return ""
}

// underBefore are the lines that are confirmed under a revision of before.
func (j Job) underBefore() []int {
	var ids []int
	for _, o := range j.Openings {
		if o.State == Confirmed && o.Supply.latest() != j.Order.Revision {
			ids = append(ids, o.ID)
		}
	}
	return ids
}

// standsEvent tells that the revision stands as it was sent.
func (j Job) standsEvent() Event {
	return Event{Kind: OrderStands}.say("revision", j.Order.Name(j.Order.Revision)).num("open", j.unconfirmed())
}

// unconfirmed is how many lines of the order are not confirmed, or no longer.
func (j Job) unconfirmed() int {
	n := 0
	for _, o := range j.Openings {
		if o.State != Confirmed && !o.State.made() && j.onOrder(o.ID) {
			n++
		}
	}
	return n
}

// restoring is the step that brings a deleted opening back: as it was, when the
// desk still has its line, else as one that is to be sent.
func (j Job) restoring(o Opening) Action {
	if o.was.atDesk() && j.onOrder(o.ID) && o.asTold() {
		return DoRestore
	}
	return DoUndo
}

// named are lines under the names that their openings have now: a name makes no
// other window, so it is no difference.
func (j Job) named(lines []Line) []Line {
	lines = slices.Clone(lines)
	for i := range lines {
		if o, ok := j.Find(lines[i].Opening); ok {
			lines[i].Name = o.Name
		}
	}
	return lines
}
