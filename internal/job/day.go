package job

import (
	"slices"
	"time"
)

// Advance takes one opening through a step of the fitting day, or a step back.
// See Reject and HandOver for the others.
func (j Job) Advance(who Who, at time.Time, id int, do Action) (Job, []Event, error) {
	return j.AdvancePieces(who, at, id, do, 0)
}

// AdvancePieces takes n pieces of one opening through a step of the fitting day,
// or a step back; all that it can be done to for 0.
func (j Job) AdvancePieces(who Who, at time.Time, id int, do Action, n int) (Job, []Event, error) {
	if row := do.row(); do != DoBack && (!row.Day || do == DoHandOver) {
		return Job{}, nil, refuse("no_step")
	}
	i, err := j.admitTo(id, who, Fitter)
	if err != nil {
		return Job{}, nil, err
	}
	o := j.Openings[i]
	_, have, to := o.takes(do)
	switch {
	case do.Reaches(o.State):
		return Job{}, nil, refuse("already").say("name", o.Name).word("state", "job.state."+string(o.State))
	case have == 0:
		return Job{}, nil, wrongState(o, do)
	case n > have:
		return Job{}, nil, o.fewer(have)
	}
	kind, all := StepTaken, have == o.live()
	if do == DoBack {
		kind = StepBack
	}
	step := stepEntry(do)
	step.Of = n
	if n == 0 {
		n = have
	}
	return j.take(who, at, id, do, func(o Opening) Event {
		e := about(kind, o).word("state", "job.state."+string(to))
		if !all || n < have {
			e = e.num("pieces", n).num("of", o.Count)
		}
		return e
	}, step)
}

// fewer refuses more pieces than there are where a step begins.
func (o Opening) fewer(have int) *Refusal {
	return refuse("pieces").say("name", o.Name).num("have", have).num("of", o.Count)
}

// HandOver hands the paper of the whole job over, or of those openings. Every
// one has to be sealed and made good; those of an earlier hand-over stay as they
// are.
func (j Job) HandOver(who Who, at time.Time, only ...int) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	var ids []int
	for i, o := range j.Openings {
		if o.State == Handed || o.State == Replaced || len(only) > 0 && !slices.Contains(only, o.ID) {
			continue
		}
		j.need(o)
		var err error
		if o.State != Sealed && len(only) == 0 {
			return Job{}, nil, wrongState(o, DoHandOver)
		}
		if j, err = j.step(who, at, i, DoHandOver); err != nil {
			return Job{}, nil, err
		}
		ids = append(ids, o.ID)
	}
	if len(ids) == 0 {
		return Job{}, nil, refuse("nothing_to_hand_over")
	}
	return j.done(who, at, Event{Kind: HandedOver, Openings: ids}.num("count", len(ids)))
}
