package job

import (
	"encoding/json"
	"slices"
	"time"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/plan"
)

// NewRules gives notice, once, of what newer rules of the program make another of
// what was told of the job's windows before: sent, signed or shown. Nobody's figures
// change unseen. The lead whose signature falls and the desk whose revision no longer
// stands are told too. It is for the fitter's chat, when it next opens the job.
func (j Job) NewRules(who Who, at time.Time) (Job, []Event, error) {
	if j.Rules == plan.Rules || j.missing != nil && len(j.missing.unread) > 0 {
		return j, nil, nil // or later, when every window can be read
	}
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	all, heldBefore := j.All(), j.heldSaid()
	if len(all) < len(j.Openings) {
		return j, nil, nil // they are being loaded
	}
	notice := Event{Kind: RulesMoved}
	var others []Event
	for i, o := range slices.Clone(all) {
		changes := o.movedByRules()
		if len(changes) == 0 {
			continue
		}
		notice.Openings, notice.Changes = append(notice.Openings, o.ID), append(notice.Changes, changes...)
		j.write(who, at, i, append(o.caughtUp(), o.lookedOver())...)
		if o.taken == Signed && j.Openings[i].Signature == nil {
			void := about(SignatureVoid, o).word("state", "job.state."+string(j.Openings[i].State))
			void.To = j.recipients([]Role{Lead})
			others = append(others, void)
		}
		if o.taken.atDesk() && !heldBefore && j.heldSaid() {
			heldBefore = true
			held := j.heldEvent(o)
			held.To = j.recipients([]Role{Desk})
			others = append(others, held)
		}
	}
	j.Rules = plan.Rules
	if len(notice.Openings) == 0 {
		return j, nil, nil
	}
	return j.done(who, at, append([]Event{notice.num("count", len(notice.Openings))}, others...)...)
}

// movedByRules is what of the window is another by the rules of now than was told,
// although nothing was said of it since. What is made already stays as it was told.
func (o Opening) movedByRules() []Change {
	if o.State.made() {
		return nil
	}
	if told, ok := o.Told(); ok && o.sent.Told.Rules != plan.Rules && o.sent.Told.Version == o.Version {
		now, err := o.line(calc.DefaultSettings())
		if err != nil {
			return []Change{{Kind: LineRemoved, Opening: o.ID, Name: o.Name}}
		}
		return Diff(told, now)
	}
	for _, told := range o.sizesTold() {
		if told == nil || told.Rules == plan.Rules || told.Version != o.Version || told.Figures == o.figures() {
			continue
		}
		var before, now calc.Size
		if json.Unmarshal([]byte(told.Figures), &before) != nil || json.Unmarshal([]byte(o.figures()), &now) != nil {
			continue
		}
		d := differ{opening: o.ID, name: o.Name}
		d.number(WidthChanged, 0, before.Width, now.Width)
		d.number(HeightChanged, 0, before.Height, now.Height)
		return d.changes
	}
	return nil
}

// sizesTold are what was told of the order size: signed, and said to the fitter.
func (o Opening) sizesTold() []*opening.Told {
	var list []*opening.Told
	if e := o.Said.LastAct(opening.Agree, toldShown); e != nil {
		list = append(list, e.Told)
	}
	if e := o.Said.LastAct(opening.Reviewed, ""); e != nil {
		list = append(list, e.Told)
	}
	return list
}

// lookedOver is the mark that the window was looked at as a whole, with the size that
// it came to.
func (o Opening) lookedOver() opening.Entry {
	e := opening.Entry{Act: opening.Reviewed}
	if size := o.figures(); size != "" {
		e.Told = telling(o.Version, size)
	}
	return e
}
