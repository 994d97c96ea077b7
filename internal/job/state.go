package job

import (
	"slices"

	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// Role is the chair a person sits in.
type Role = opening.Role

// The three chairs, and the customer's.
const (
	Fitter = opening.Fitter
	Lead   = opening.Lead
	Desk   = opening.Desk
	// Customer has a chair on a page alone.
	Customer = opening.Customer
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
	Replaced  State = "replaced"  // no good and never fitted: a remake takes its place
	// Deleted is off the list. It is no state of an opening in the job.
	Deleted State = "deleted"
)

// States lists them in the order of the work.
var States = []State{
	Survey, Checking, Differing, Agreed, Signed, Changed, Ordered, Queried, Confirmed,
	Delivered, Out, Fitted, Glazed, Sealed, Handed, Replaced,
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
	DoUndo         Action = "undo"    // of a delete, of what the desk has no line of
	DoRestore      Action = "restore" // of a delete, of what is as the desk has it

	DoAskCheck      Action = "ask_check"
	DoWithdrawCheck Action = "withdraw_check"
	DoLook          Action = "look"       // the lead opens the first figures
	DoReadSame      Action = "read_same"  // the lead's readings, and they agree
	DoReadApart     Action = "read_apart" // and they don't
	DoReadLate      Action = "read_late"  // the lead's readings, while nobody waits for them: they are kept
	DoSettle        Action = "settle"     // one reading settled, others are not
	DoSettleLast    Action = "settle_last"
	DoSign          Action = "sign"

	DoSend      Action = "send"      // the order goes to the desk, or its next revision
	DoSupersede Action = "supersede" // another line was changed, so nothing is confirmed
	DoConfirm   Action = "confirm"
	DoQuery     Action = "query"
	DoAnswer    Action = "answer"
	DoPromise   Action = "promise" // a delivery date or a price
	// Nothing differs from what was sent, so that it stands again.
	DoStand          Action = "stand"
	DoStandConfirmed Action = "stand_confirmed"
	DoWithdrawQuery  Action = "withdraw_query"
	DoConfirmTold    Action = "confirm_told" // by the supplier off the messenger
	DoUntell         Action = "untell"       // it was not, or no longer is

	DoDeliver  Action = "deliver"
	DoReject   Action = "reject" // the delivered frame is wrong
	DoTakeOut  Action = "take_out"
	DoFit      Action = "fit"
	DoGlaze    Action = "glaze"
	DoSeal     Action = "seal"
	DoHandOver Action = "hand_over"
	DoBack     Action = "back" // a step was taken by mistake

	DoBreak Action = "break" // a frame is no good and was not fitted: it is made again
	DoFault Action = "fault" // and one that was: it is made again and stays until then
)

// paths are the states that a step leads from and to.
type paths map[State]State

// Step is one row of the table of what may happen to an opening.
type Step struct {
	Do    Action
	By    []Role
	Day   bool // a step of the fitting day, which comes by itself after the one before
	Leads paths
}

var (
	byFitter = []Role{Fitter}
	byLead   = []Role{Lead}
	byDesk   = []Role{Desk}
	byEither = []Role{Fitter, Lead}
)

// Steps is what may happen in each state, by whom, and the state it leads to,
// one row an action. Anything that is not in it is refused.
var Steps = []Step{
	// Survey. A change after signing asks for the check again; a change after
	// the order went out holds the order.
	{Do: DoMeasure, By: byFitter, Leads: paths{
		Survey: Survey, Checking: Checking, Signed: Checking, Changed: Changed,
		Ordered: Changed, Queried: Changed, Confirmed: Changed,
	}},
	{Do: DoMeasureSame, By: byFitter, Leads: paths{Differing: Agreed, Agreed: Agreed}},
	{Do: DoMeasureApart, By: byFitter, Leads: paths{Differing: Differing, Agreed: Differing}},
	{Do: DoDescribe, By: byFitter, Leads: paths{
		Survey: Survey, Checking: Checking, Differing: Differing, Agreed: Agreed, Signed: Signed,
		Changed: Changed, Ordered: Changed, Queried: Changed, Confirmed: Changed,
	}},
	// Delete, until the new frame is here.
	{Do: DoDelete, By: byFitter, Leads: paths{
		Survey: Deleted, Checking: Deleted, Differing: Deleted, Agreed: Deleted, Signed: Deleted,
		Changed: Deleted, Ordered: Deleted, Queried: Deleted, Confirmed: Deleted,
	}},
	{Do: DoUndo, By: byFitter, Leads: paths{
		Survey: Survey, Checking: Checking, Differing: Differing, Agreed: Agreed, Signed: Signed,
		Changed: Changed, Ordered: Changed, Queried: Changed, Confirmed: Changed,
	}},
	{Do: DoRestore, By: byFitter, Leads: paths{Ordered: Ordered, Queried: Queried, Confirmed: Confirmed}},
	// Second measure. What the desk has is taken back from it.
	{Do: DoAskCheck, By: byFitter, Leads: paths{Survey: Checking, Changed: Checking, Ordered: Checking, Queried: Checking, Confirmed: Checking}},
	{Do: DoWithdrawCheck, By: byFitter, Leads: paths{Checking: Survey, Differing: Survey, Agreed: Survey}},
	{Do: DoLook, By: byLead, Leads: paths{Checking: Checking, Differing: Differing, Agreed: Agreed}},
	{Do: DoReadSame, By: byLead, Leads: paths{Checking: Agreed, Differing: Agreed, Agreed: Agreed, Signed: Signed}},
	{Do: DoReadApart, By: byLead, Leads: paths{Checking: Differing, Differing: Differing, Agreed: Differing, Signed: Differing}},
	{Do: DoReadLate, By: byLead, Leads: paths{
		Survey: Survey, Changed: Changed, Ordered: Ordered, Queried: Queried, Confirmed: Confirmed,
		Delivered: Delivered, Out: Out, Fitted: Fitted, Glazed: Glazed, Sealed: Sealed, Handed: Handed, Replaced: Replaced,
	}},
	{Do: DoSettle, By: byEither, Leads: paths{Differing: Differing}},
	{Do: DoSettleLast, By: byEither, Leads: paths{Differing: Agreed}},
	{Do: DoSign, By: byLead, Leads: paths{Checking: Signed, Agreed: Signed}},
	// Order. What the desk asked stays open.
	{Do: DoSend, By: byFitter, Leads: paths{Survey: Ordered, Signed: Ordered, Changed: Ordered, Ordered: Ordered, Queried: Queried, Confirmed: Ordered}},
	{Do: DoSupersede, By: byFitter, Leads: paths{Ordered: Ordered, Queried: Queried, Confirmed: Ordered}},
	{Do: DoStand, By: byFitter, Leads: paths{Survey: Ordered, Signed: Ordered, Changed: Ordered}},
	{Do: DoStandConfirmed, By: byFitter, Leads: paths{Survey: Confirmed, Signed: Confirmed, Changed: Confirmed}},
	// The desk's own word may follow what was told, and the other way round.
	{Do: DoConfirm, By: byDesk, Leads: paths{Ordered: Confirmed, Queried: Confirmed, Confirmed: Confirmed}},
	{Do: DoConfirmTold, By: byEither, Leads: paths{Ordered: Confirmed, Queried: Confirmed, Confirmed: Confirmed}},
	{Do: DoUntell, By: byEither, Leads: paths{Confirmed: Ordered}},
	{Do: DoQuery, By: byDesk, Leads: paths{Ordered: Queried, Queried: Queried, Confirmed: Queried}},
	// A question may be answered or withdrawn whatever became of the line.
	{Do: DoAnswer, By: byFitter, Leads: anywhere(paths{Queried: Ordered})},
	{Do: DoWithdrawQuery, By: byDesk, Leads: anywhere(paths{Queried: Ordered})},
	{Do: DoPromise, By: byDesk, Leads: paths{Ordered: Ordered, Queried: Queried, Confirmed: Confirmed}},
	// Fitting day. The old window stays in until the new frame was checked.
	{Do: DoDeliver, By: byFitter, Day: true, Leads: paths{Confirmed: Delivered}},
	{Do: DoReject, By: byFitter, Leads: paths{Confirmed: Ordered, Delivered: Ordered}},
	{Do: DoTakeOut, By: byFitter, Day: true, Leads: paths{Delivered: Out}},
	{Do: DoFit, By: byFitter, Day: true, Leads: paths{Out: Fitted}},
	{Do: DoGlaze, By: byFitter, Day: true, Leads: paths{Fitted: Glazed}},
	{Do: DoSeal, By: byFitter, Day: true, Leads: paths{Glazed: Sealed}},
	{Do: DoHandOver, By: byFitter, Day: true, Leads: paths{Sealed: Handed}},
	{Do: DoBack, By: byFitter, Leads: paths{Out: Delivered, Fitted: Out, Glazed: Fitted, Sealed: Glazed}},
	// Faults, at any state from the delivery on. What is fitted stays.
	{Do: DoBreak, By: byFitter, Leads: paths{Confirmed: Replaced, Delivered: Replaced, Out: Replaced}},
	{Do: DoFault, By: byFitter, Leads: paths{
		Delivered: Replaced, Out: Replaced, Fitted: Fitted, Glazed: Glazed, Sealed: Sealed, Handed: Handed,
	}},
}

// anywhere leaves every state as it is, but for those of the paths.
func anywhere(but paths) paths {
	for _, s := range States {
		if _, leads := but[s]; !leads {
			but[s] = s
		}
	}
	return but
}

// row is the step of an action. An unknown one has the zero Step, which leads
// nowhere.
func (do Action) row() Step {
	i := slices.IndexFunc(Steps, func(s Step) bool { return s.Do == do })
	if i < 0 {
		return Step{}
	}
	return Steps[i]
}

// Next is the state that an action of a role leads to; ok is false when it may
// not be done.
func Next(s State, do Action, by Role) (next State, ok bool) {
	row := do.row()
	if !slices.Contains(row.By, by) {
		return "", false
	}
	next, ok = row.Leads[s]
	return next, ok
}

// Waits is the step of the fitting day that the state waits for, "" for none.
func (s State) Waits() Action {
	for _, row := range Steps {
		if _, leaves := row.Leads[s]; row.Day && leaves {
			return row.Do
		}
	}
	return ""
}

// Reaches says whether do is the step of the fitting day that led to the state.
func (do Action) Reaches(s State) bool {
	row := do.row()
	for _, to := range row.Leads {
		if row.Day && to == s {
			return true
		}
	}
	return false
}

// withLead: the lead has been asked and has not signed.
func (s State) withLead() bool { return s == Checking || s == Differing || s == Agreed }

// atDesk: the desk has the line and may still be told of a change.
func (s State) atDesk() bool { return s == Ordered || s == Queried || s == Confirmed }

// made: the new frame is here.
func (s State) made() bool { return s.rank() >= Delivered.rank() }

func (s State) rank() int { return slices.Index(States, s) }

// Text is the state in words.
func (s State) Text() phrase.Text { return phrase.Of("job.state." + string(s)) }

// after is the state that an action leads to, whoever may do it.
func after(s State, do Action) (State, bool) {
	for _, role := range []Role{Fitter, Lead, Desk} {
		if next, ok := Next(s, do, role); ok {
			return next, true
		}
	}
	return "", false
}

func stepEntry(do Action) opening.Entry { return opening.Entry{Act: opening.Step, Value: string(do)} }
