package job

import "time"

// Advance takes one opening through a step of the fitting day, or a step back.
// See Reject and HandOver for the others.
func (j Job) Advance(who Who, at time.Time, id int, do Action) (Job, []Event, error) {
	if row := do.row(); do != DoBack && (!row.Day || do == DoHandOver) {
		return Job{}, nil, refuse("no_step")
	}
	kind := StepTaken
	if do == DoBack {
		kind = StepBack
	}
	return j.take(who, at, id, do, func(o Opening) Event { return about(kind, o).word("state", "job.state."+string(o.State)) })
}

// HandOver hands the paper of the whole job over. Every opening has to be
// sealed and made good; those of an earlier hand-over stay as they are.
func (j Job) HandOver(who Who, at time.Time) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	var ids []int
	for i, o := range j.Openings {
		if o.State == Handed {
			continue
		}
		j.need(o)
		var err error
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
