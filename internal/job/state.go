package job

import (
	"slices"
	"time"
)

// Role is the chair a person sits in.
type Role string

// The three chairs.
const (
	Fitter Role = "fitter"
	Lead   Role = "lead"
	Desk   Role = "desk"
)

// State is the step of the trade that an opening has reached.
type State string

// The states in the order of the work. The second measure may be left out.
const (
	Survey    State = "survey"    // being measured
	Checking  State = "check"     // the lead is to measure again, or to read and sign
	Differing State = "differs"   // the two measures are apart
	Agreed    State = "agreed"    // the two measures are one, to be signed
	Signed    State = "signed"    // the lead signed
	Changed   State = "changed"   // changed since the order went out
	Ordered   State = "ordered"   // with the desk, which has not confirmed
	Queried   State = "queried"   // the desk asked, the fitter is to answer
	Confirmed State = "confirmed" // the desk confirmed the line as it stands
	Delivered State = "delivered" // the new frame is here and was checked
	Out       State = "out"       // the old window is out
	Fitted    State = "fitted"    // the frame is fitted, levelled and fixed
	Glazed    State = "glazed"    // glazed and blocked
	Sealed    State = "sealed"    // sealed and made good
	Handed    State = "handed"    // the paper was handed over
	// Deleted is off the list. It is no state of an opening in the job.
	Deleted State = "deleted"
)

// States lists them in the order of the work.
var States = []State{
	Survey, Checking, Differing, Agreed, Signed, Changed, Ordered, Queried, Confirmed,
	Delivered, Out, Fitted, Glazed, Sealed, Handed,
}

// Action is what a person does to an opening.
type Action string

// The actions. Those with two outcomes are two actions.
const (
	DoMeasure      Action = "measure"       // the fitter gives a figure that sizes the window
	DoMeasureSame  Action = "measure_same"  // and it now agrees with the lead's readings
	DoMeasureApart Action = "measure_apart" // and it doesn't
	DoDescribe     Action = "describe"      // anything else of the record: name, count, colour, lights, room
	DoDelete       Action = "delete"
	DoUndo         Action = "undo" // of a delete; the state is the one it was deleted in

	DoAskCheck      Action = "ask_check"
	DoWithdrawCheck Action = "withdraw_check"
	DoLook          Action = "look"       // the lead opens the first figures
	DoReadSame      Action = "read_same"  // the lead's readings, and they agree
	DoReadApart     Action = "read_apart" // and they don't
	DoSettle        Action = "settle"     // one reading settled, others are not
	DoSettleLast    Action = "settle_last"
	DoSign          Action = "sign"

	DoSend      Action = "send"      // the order goes to the desk, or its next revision
	DoSupersede Action = "supersede" // another line was changed, so nothing is confirmed
	DoConfirm   Action = "confirm"
	DoQuery     Action = "query"
	DoAnswer    Action = "answer"
	DoPromise   Action = "promise" // a delivery date or a price

	DoDeliver  Action = "deliver"
	DoReject   Action = "reject" // the delivered frame is wrong
	DoTakeOut  Action = "take_out"
	DoFit      Action = "fit"
	DoGlaze    Action = "glaze"
	DoSeal     Action = "seal"
	DoHandOver Action = "hand_over"
	DoBack     Action = "back" // a step was taken by mistake
)

// Actions lists them.
var Actions = []Action{
	DoMeasure, DoMeasureSame, DoMeasureApart, DoDescribe, DoDelete, DoUndo,
	DoAskCheck, DoWithdrawCheck, DoLook, DoReadSame, DoReadApart, DoSettle, DoSettleLast, DoSign,
	DoSend, DoSupersede, DoConfirm, DoQuery, DoAnswer, DoPromise,
	DoDeliver, DoReject, DoTakeOut, DoFit, DoGlaze, DoSeal, DoHandOver, DoBack,
}

type step struct {
	from State
	do   Action
	by   Role
}

// steps is what may happen in each state, by whom, and the state it leads to.
// Anything that is not in it is refused.
var steps = map[step]State{
	// Survey. A change after signing asks for the check again; a change after
	// the order went out holds the order.
	{Survey, DoMeasure, Fitter}:         Survey,
	{Checking, DoMeasure, Fitter}:       Checking,
	{Signed, DoMeasure, Fitter}:         Checking,
	{Changed, DoMeasure, Fitter}:        Changed,
	{Ordered, DoMeasure, Fitter}:        Changed,
	{Queried, DoMeasure, Fitter}:        Changed,
	{Confirmed, DoMeasure, Fitter}:      Changed,
	{Differing, DoMeasureSame, Fitter}:  Agreed,
	{Agreed, DoMeasureSame, Fitter}:     Agreed,
	{Differing, DoMeasureApart, Fitter}: Differing,
	{Agreed, DoMeasureApart, Fitter}:    Differing,
	{Survey, DoDescribe, Fitter}:        Survey,
	{Checking, DoDescribe, Fitter}:      Checking,
	{Differing, DoDescribe, Fitter}:     Differing,
	{Agreed, DoDescribe, Fitter}:        Agreed,
	{Signed, DoDescribe, Fitter}:        Signed,
	{Changed, DoDescribe, Fitter}:       Changed,
	{Ordered, DoDescribe, Fitter}:       Changed,
	{Queried, DoDescribe, Fitter}:       Changed,
	{Confirmed, DoDescribe, Fitter}:     Changed,

	// Delete, until the new frame is here.
	{Survey, DoDelete, Fitter}:    Deleted,
	{Checking, DoDelete, Fitter}:  Deleted,
	{Differing, DoDelete, Fitter}: Deleted,
	{Agreed, DoDelete, Fitter}:    Deleted,
	{Signed, DoDelete, Fitter}:    Deleted,
	{Changed, DoDelete, Fitter}:   Deleted,
	{Ordered, DoDelete, Fitter}:   Deleted,
	{Queried, DoDelete, Fitter}:   Deleted,
	{Confirmed, DoDelete, Fitter}: Deleted,
	{Survey, DoUndo, Fitter}:      Survey,
	{Checking, DoUndo, Fitter}:    Checking,
	{Differing, DoUndo, Fitter}:   Differing,
	{Agreed, DoUndo, Fitter}:      Agreed,
	{Signed, DoUndo, Fitter}:      Signed,
	{Changed, DoUndo, Fitter}:     Changed,
	{Ordered, DoUndo, Fitter}:     Changed,
	{Queried, DoUndo, Fitter}:     Changed,
	{Confirmed, DoUndo, Fitter}:   Changed,

	// Second measure.
	{Survey, DoAskCheck, Fitter}:         Checking,
	{Changed, DoAskCheck, Fitter}:        Checking,
	{Ordered, DoAskCheck, Fitter}:        Checking, // taken back from the desk, which is told
	{Queried, DoAskCheck, Fitter}:        Checking,
	{Confirmed, DoAskCheck, Fitter}:      Checking,
	{Checking, DoWithdrawCheck, Fitter}:  Survey,
	{Differing, DoWithdrawCheck, Fitter}: Survey,
	{Agreed, DoWithdrawCheck, Fitter}:    Survey,
	{Checking, DoLook, Lead}:             Checking,
	{Checking, DoReadSame, Lead}:         Agreed,
	{Differing, DoReadSame, Lead}:        Agreed,
	{Agreed, DoReadSame, Lead}:           Agreed,
	{Checking, DoReadApart, Lead}:        Differing,
	{Differing, DoReadApart, Lead}:       Differing,
	{Agreed, DoReadApart, Lead}:          Differing,
	{Differing, DoSettle, Fitter}:        Differing,
	{Differing, DoSettle, Lead}:          Differing,
	{Differing, DoSettleLast, Fitter}:    Agreed,
	{Differing, DoSettleLast, Lead}:      Agreed,
	{Checking, DoSign, Lead}:             Signed,
	{Agreed, DoSign, Lead}:               Signed,

	// Order.
	{Survey, DoSend, Fitter}:         Ordered,
	{Signed, DoSend, Fitter}:         Ordered,
	{Changed, DoSend, Fitter}:        Ordered,
	{Ordered, DoSend, Fitter}:        Ordered,
	{Queried, DoSend, Fitter}:        Queried, // what the desk asked is still open
	{Confirmed, DoSend, Fitter}:      Ordered,
	{Ordered, DoSupersede, Fitter}:   Ordered,
	{Queried, DoSupersede, Fitter}:   Queried,
	{Confirmed, DoSupersede, Fitter}: Ordered,
	{Ordered, DoConfirm, Desk}:       Confirmed,
	{Queried, DoConfirm, Desk}:       Confirmed,
	{Ordered, DoQuery, Desk}:         Queried,
	{Queried, DoQuery, Desk}:         Queried,
	{Confirmed, DoQuery, Desk}:       Queried,
	{Queried, DoAnswer, Fitter}:      Ordered,
	{Ordered, DoPromise, Desk}:       Ordered,
	{Queried, DoPromise, Desk}:       Queried,
	{Confirmed, DoPromise, Desk}:     Confirmed,

	// Fitting day. The old window stays in until the new frame was checked.
	{Confirmed, DoDeliver, Fitter}: Delivered,
	{Confirmed, DoReject, Fitter}:  Ordered,
	{Delivered, DoReject, Fitter}:  Ordered,
	{Delivered, DoTakeOut, Fitter}: Out,
	{Out, DoFit, Fitter}:           Fitted,
	{Fitted, DoGlaze, Fitter}:      Glazed,
	{Glazed, DoSeal, Fitter}:       Sealed,
	{Sealed, DoHandOver, Fitter}:   Handed,
	{Out, DoBack, Fitter}:          Delivered,
	{Fitted, DoBack, Fitter}:       Out,
	{Glazed, DoBack, Fitter}:       Fitted,
	{Sealed, DoBack, Fitter}:       Glazed,
}

// Next is the state that an action of a role leads to; ok is false when it may
// not be done.
func Next(s State, do Action, by Role) (next State, ok bool) {
	next, ok = steps[step{s, do, by}]
	return next, ok
}

// withLead: the lead has been asked and has not signed.
func (s State) withLead() bool { return s == Checking || s == Differing || s == Agreed }

// atDesk: the desk has the line and may still be told of a change.
func (s State) atDesk() bool { return s == Ordered || s == Queried || s == Confirmed }

// made: the new frame is here.
func (s State) made() bool { return s.rank() >= Delivered.rank() }

func (s State) rank() int { return slices.Index(States, s) }

// Stage is how far the whole job is: the state of the opening that is least
// far. A job without openings is being surveyed.
func (j Job) Stage() State {
	if len(j.Openings) == 0 {
		return Survey
	}
	least := Handed
	for _, o := range j.Openings {
		if o.State.rank() < least.rank() {
			least = o.State
		}
	}
	return least
}

// step takes an opening through the table, or refuses.
func (j Job) step(who Who, at time.Time, i int, do Action) (Job, error) {
	if err := j.admit(who, rolesOf(do)...); err != nil {
		return Job{}, err
	}
	o, err := j.Openings[i].step(who, at, do)
	if err != nil {
		return Job{}, err
	}
	j.put(i, o)
	return j, nil
}

// stepOf is step for the opening of this number, and where it stands.
func (j Job) stepOf(who Who, at time.Time, id int, do Action) (Job, int, error) {
	i, err := j.find(id)
	if err != nil {
		return Job{}, 0, err
	}
	j, err = j.step(who, at, i, do)
	return j, i, err
}

// step takes the opening through the table. Who was admitted.
func (o Opening) step(who Who, at time.Time, do Action) (Opening, error) {
	next, ok := Next(o.State, do, who.Role)
	if !ok {
		return Opening{}, wrongState(o, do)
	}
	if next != o.State {
		o.State, o.Since = next, moment(at)
	}
	return o, nil
}

// rolesOf are the chairs that may ever do it.
func rolesOf(do Action) []Role {
	switch do {
	case DoSettle, DoSettleLast:
		return []Role{Fitter, Lead}
	case DoLook, DoReadSame, DoReadApart, DoSign:
		return []Role{Lead}
	case DoConfirm, DoQuery, DoPromise:
		return []Role{Desk}
	}
	return []Role{Fitter}
}

// Advance takes one opening through a step of the fitting day: DoDeliver,
// DoTakeOut, DoFit, DoGlaze, DoSeal, or DoBack. See Reject and HandOver for
// the others.
func (j Job) Advance(who Who, at time.Time, id int, do Action) (Job, []Event, error) {
	switch do {
	case DoDeliver, DoTakeOut, DoFit, DoGlaze, DoSeal, DoBack:
	default:
		return Job{}, nil, refuse("no_step")
	}
	j, i, err := j.stepOf(who, at, id, do)
	if err != nil {
		return Job{}, nil, err
	}
	kind := StepTaken
	if do == DoBack {
		kind = StepBack
	}
	o := j.Openings[i]
	return j.done(who, at, about(kind, o).word("state", "job.state."+string(o.State)))
}

// HandOver hands the paper of the whole job over. Every opening has to be
// sealed and made good; those of an earlier hand-over stay as they are.
func (j Job) HandOver(who Who, at time.Time) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	var ids []int
	j.Openings = slices.Clone(j.Openings)
	for i, o := range j.Openings {
		if o.State == Handed {
			continue
		}
		var err error
		if j.Openings[i], err = o.step(who, at, DoHandOver); err != nil {
			return Job{}, nil, err
		}
		ids = append(ids, o.ID)
	}
	if len(ids) == 0 {
		return Job{}, nil, refuse("nothing_to_hand_over")
	}
	return j.done(who, at, Event{Kind: HandedOver, Openings: ids}.num("count", len(ids)))
}
