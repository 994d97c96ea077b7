package job

import (
	"slices"
	"time"

	"sillbot/internal/calc"
)

// Read takes a lead's readings of an opening and sets them beside the others.
// Each lead's are their own: readings that somebody sends again take the place of
// their own ones before. What was settled about a reading that is now another, or
// that a new measure speaks against, is open again. Readings that nobody waits for
// any more are kept in the record, and count when a check is asked for again.
func (j Job) Read(who Who, at time.Time, id int, r calc.Readings) (Job, []Event, error) {
	if err := j.admit(who, Lead); err != nil {
		return Job{}, nil, err
	}
	if k := j.binned(id); k >= 0 {
		return j.readDeleted(who, at, k, r)
	}
	i, err := j.find(id)
	if err != nil {
		return Job{}, nil, err
	}
	o := j.Openings[i]
	if err := o.readable(who, r); err != nil {
		return Job{}, nil, err
	}
	switch {
	case o.State.withLead():
		return j.readAsked(who, at, i, r)
	case o.State == Signed && o.Check != nil:
		return j.readSigned(who, at, i, r)
	}
	entries := (&Check{}).readAgain(who.Person, r)
	if j, err = j.step(who, at, i, DoReadLate, append(entries, stepEntry(DoReadLate))...); err != nil {
		return Job{}, nil, err
	}
	return j.done(who, at, j.kept(who, j.Openings[i], r))
}

// readable is why readings can't be those of the opening by who, nil when they can.
func (o Opening) readable(who Who, r calc.Readings) error {
	if o.measuredBy(who) {
		return refuse("own_measure").say("name", o.Name)
	}
	if _, err := calc.Survey(r); err != nil {
		return impossible(o, err)
	}
	if o.unmeasured() {
		return refuse("not_measured").say("name", o.Name)
	}
	return nil
}

// readAsked takes readings that were asked for.
func (j Job) readAsked(who Who, at time.Time, i int, r calc.Readings) (Job, []Event, error) {
	entries := append(j.Openings[i].Check.readAgain(who.Person, r), stepEntry(DoReadSame))
	j, err := j.step(who, at, i, DoReadSame, entries...)
	if err != nil {
		return Job{}, nil, err
	}
	o := j.Openings[i]
	return j.done(who, at, append([]Event{o.compared()}, j.beside(o)...)...)
}

// beside tells the leads who have not seen figures that another one measured, and
// nothing of what.
func (j Job) beside(o Opening) []Event {
	e := about(MeasuredBeside, o)
	for _, r := range j.recipients([]Role{Lead}) {
		if !j.Sees(r.Chat, o.ID) {
			e.To = append(e.To, r)
		}
	}
	if len(e.To) == 0 {
		return nil
	}
	return []Event{e}
}

// readSigned takes one more measure of what is signed. Where it differs, the
// signature stands for figures that are in doubt, and is void.
func (j Job) readSigned(who Who, at time.Time, i int, r calc.Readings) (Job, []Event, error) {
	entries := j.Openings[i].Check.readAgain(who.Person, r)
	same, err := j.step(who, at, i, DoReadSame, append(slices.Clip(entries), stepEntry(DoReadSame))...)
	if err != nil {
		return Job{}, nil, err
	}
	if o := same.Openings[i]; o.State == Signed && len(o.Check.open()) == 0 {
		return same.done(who, at, about(MeasureAgrees, o))
	}
	if j, err = j.step(who, at, i, DoReadApart, append(entries, stepEntry(DoReadApart))...); err != nil {
		return Job{}, nil, err
	}
	o := j.Openings[i]
	return j.done(who, at, about(SignatureDoubted, o), o.compared())
}

// binned is the place in the bin of the opening that was deleted last under that
// number; -1 for none.
func (j Job) binned(id int) int {
	return slices.IndexFunc(j.Bin, func(b Binned) bool { return b.Opening.ID == id })
}

// readDeleted keeps readings with an opening that was deleted.
func (j Job) readDeleted(who Who, at time.Time, k int, r calc.Readings) (Job, []Event, error) {
	o := j.Bin[k].Opening
	if j.need(o) {
		return Job{}, nil, refuse("no_opening")
	}
	if err := o.readable(who, r); err != nil {
		return Job{}, nil, err
	}
	check := o.Check
	if check == nil {
		check = &Check{}
	}
	o.Said = o.Said.Put(who.writes(at), append(check.readAgain(who.Person, r), stepEntry(DoReadLate))...)
	j.meet(who)
	j.Bin = slices.Clone(j.Bin)
	j.Bin[k].Opening = j.derive(o)
	return j.done(who, at, j.kept(who, o, r))
}

// kept tells the fitter and who measured that readings are kept, and the fitter in
// how many they differ from the first ones.
func (j Job) kept(who Who, o Opening, r calc.Readings) Event {
	k := o.Known()
	apart := len(Compare(j.Settings.Tolerance, readingsOf(&k), r).Apart())
	e := about(MeasureKept, o).num("n", o.ID).num("count", apart).word("state", "job.state."+string(o.State))
	e.To = []Recipient{{j.Owner.Chat, Fitter}, {who.Chat, Lead}}
	return e
}
