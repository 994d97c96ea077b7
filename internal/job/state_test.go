package job

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// Actions are those of the table, each once.
var Actions = actions()

func actions() []Action {
	var list []Action
	for _, row := range Steps {
		list = append(list, row.Do)
	}
	return list
}

// rule states the rules of the job a second time, as a foreman would say them,
// and not as a table. Source: the steps of the trade as the project's design
// lists them (survey, second measure, order, confirmed, frame checked, old one
// out, fitted, glazed, sealed, paper); who may do what is this project's own.
func rule(s State, do Action, by Role) (State, bool) {
	before := func(limit State) bool { return slices.Index(States, s) < slices.Index(States, limit) }
	one := func(of ...State) bool { return slices.Contains(of, s) }
	compared := one(Differing, Agreed)
	withDesk := one(Ordered, Queried, Confirmed)

	switch by {
	case Lead: // measures, settles and signs, and nothing else
		switch do {
		case DoLook: // each lead for themselves
			return s, s == Checking || compared
		case DoReadSame:
			if s == Signed {
				return Signed, true
			}
			return Agreed, s == Checking || compared
		case DoReadApart: // one more measure may speak against what is signed
			return Differing, s == Checking || compared || s == Signed
		case DoReadLate: // kept, and nothing else
			return s, one(Survey, Changed) || withDesk || s.made()
		case DoSettle:
			return Differing, s == Differing
		case DoSettleLast:
			return Agreed, s == Differing
		case DoSign:
			return Signed, one(Checking, Agreed)
		case DoConfirmTold: // as the lead was told
			return Confirmed, withDesk
		case DoUntell:
			return Ordered, s == Confirmed
		}
	case Desk: // answers on a line that it has, and nothing else
		switch do {
		case DoConfirm:
			return Confirmed, withDesk // its own word beside what was told
		case DoQuery:
			return Queried, withDesk
		case DoWithdrawQuery: // whatever became of the line since
			if s == Queried {
				return Ordered, true
			}
			return s, true
		case DoPromise:
			return s, withDesk
		}
	case Fitter:
		switch do {
		// Before the frame is here anything may be changed. What the desk has
		// is then marked as changed; what was signed has to be checked again;
		// what was compared is compared again.
		case DoMeasure:
			if withDesk {
				return Changed, true
			}
			if s == Signed {
				return Checking, true
			}
			return s, before(Delivered) && !compared
		case DoMeasureSame:
			return Agreed, compared
		case DoMeasureApart:
			return Differing, compared
		case DoDescribe:
			if withDesk {
				return Changed, true
			}
			return s, before(Delivered)
		case DoDelete:
			return Deleted, before(Delivered)
		case DoUndo:
			if withDesk {
				return Changed, true
			}
			return s, before(Delivered)
		case DoRestore: // a deleted line that the desk still has as it was sent
			return s, withDesk
		// A check may be asked for until the frame is here: what the desk has
		// is then taken back. It ends with the signature or without one.
		case DoAskCheck:
			return Checking, one(Survey, Changed) || withDesk
		case DoWithdrawCheck:
			return Survey, s == Checking || compared
		case DoSettle:
			return Differing, s == Differing
		case DoSettleLast:
			return Agreed, s == Differing
		// The order holds nothing that is being checked. Sent again, all has
		// to be confirmed again, and a question stays open.
		case DoSend:
			if s == Queried {
				return Queried, true
			}
			return Ordered, before(Delivered) && s != Checking && !compared
		case DoSupersede:
			if s == Queried {
				return Queried, true
			}
			return Ordered, withDesk
		case DoAnswer: // a question stays open whatever becomes of the line
			if s == Queried {
				return Ordered, true
			}
			return s, true
		case DoConfirmTold: // as the fitter was told
			return Confirmed, withDesk
		case DoUntell:
			return Ordered, s == Confirmed
		// What is as it was sent stands again.
		case DoStand:
			return Ordered, one(Survey, Signed, Changed)
		case DoStandConfirmed:
			return Confirmed, one(Survey, Signed, Changed)
		// Fitting day: one step after the other, and the old window comes out
		// only after the new frame was checked.
		case DoDeliver:
			return Delivered, s == Confirmed
		case DoReject:
			return Ordered, one(Confirmed, Delivered)
		case DoTakeOut:
			return Out, s == Delivered
		case DoFit:
			return Fitted, s == Out
		case DoGlaze:
			return Glazed, s == Fitted
		case DoSeal:
			return Sealed, s == Glazed
		case DoHandOver:
			return Handed, s == Sealed
		case DoBreak:
			return Replaced, one(Confirmed, Delivered, Out)
		case DoFault:
			if one(Delivered, Out) {
				return Replaced, true
			}
			return s, one(Fitted, Glazed, Sealed, Handed)
		case DoBack:
			if one(Out, Fitted, Glazed, Sealed) {
				return States[slices.Index(States, s)-1], true
			}
		}
	}
	return "", false
}

func TestEveryPairAgainstTheTable(t *testing.T) {
	allowed := 0
	for _, s := range append(slices.Clone(States), Deleted, "nonsense") {
		for _, do := range append(slices.Clone(Actions), "nonsense") {
			for _, by := range []Role{Fitter, Lead, Desk, ""} {
				want, wantOK := rule(s, do, by)
				if s == Deleted || s == "nonsense" {
					wantOK = false
				}
				got, ok := Next(s, do, by)
				require.Equal(t, wantOK, ok, "%s %s %s", s, do, by)
				if ok {
					require.Equal(t, want, got, "%s %s %s", s, do, by)
					require.Contains(t, do.row().By, by)
					allowed++
				}
			}
		}
	}
	triples := 0
	for _, row := range Steps {
		triples += len(row.Leads) * len(row.By)
	}
	require.Equal(t, 163, triples)
	require.Equal(t, triples, allowed, "the table has no step that was not tried")
}

// try does an action through the methods of the job, whatever its state.
func try(j Job, id int, do Action) (Job, []Event, error) {
	o, _ := j.Find(id)
	r := o.Record()
	edition := o.Version
	switch do {
	case DoMeasure, DoMeasureSame:
		r.Plan.Widths[0] = r.Plan.Widths[0].Add(mm(1))
		return j.Store(fitter, noon, id, r)
	case DoMeasureApart:
		r.Plan.Widths[0] = r.Plan.Widths[0].Add(mm(40))
		return j.Store(fitter, noon, id, r)
	case DoDescribe:
		return j.Rename(fitter, noon, id, o.Name+"x")
	case DoDelete:
		return j.Delete(fitter, noon, id)
	case DoAskCheck:
		return j.AskCheck(fitter, noon, id)
	case DoWithdrawCheck:
		return j.WithdrawCheck(fitter, noon, id)
	case DoLook:
		return j.Look(lead, noon, id)
	case DoReadSame, DoReadLate:
		return j.Read(lead, noon, id, r.Plan.Readings())
	case DoReadApart:
		return j.Read(lead, noon, id, withValue(r.Plan.Readings(), "width.bottom", mm(1250)))
	case DoSettle:
		return j.Settle(fitter, noon, id, "width.top", Again)
	case DoSettleLast:
		return j.Settle(lead, noon, id, "width.top", Mine)
	case DoSign:
		return j.Sign(lead, noon, id, edition)
	case DoConfirm:
		return j.Confirm(desk, noon, RevisionName(j.Order.Revision), id)
	case DoQuery:
		return j.Query(desk, noon, id, "why?")
	case DoAnswer:
		return j.Answer(fitter, noon, id, 0, "so")
	case DoPromise:
		return j.Promise(desk, noon, id, "2026-06-01", nil)
	case DoConfirmTold:
		return j.ConfirmTold(fitter, noon, Reply{}, id)
	case DoUntell:
		return j.Untell(fitter, noon, id)
	case DoWithdrawQuery:
		return j.WithdrawQuery(desk, noon, id, 0)
	case DoReject:
		return j.Reject(fitter, noon, id, "bent")
	case DoHandOver:
		return j.HandOver(fitter, noon)
	case DoBreak:
		return j.Break(fitter, noon, id, 0, "bent", "remake")
	case DoFault:
		return j.Fault(fitter, noon, id, 0, "racked", "remake")
	}
	return j.Advance(fitter, noon, id, do)
}

// in brings the first opening of a fresh job into a state by the methods.
func in(t *testing.T, s State) Job {
	j := begun(t, 1)
	ask := func(do ...Action) Job {
		for _, d := range do {
			if d == DoSend {
				j = must(t)(j.Send(fitter, noon, calc0))
				continue
			}
			j = must(t)(try(j, 1, d))
		}
		require.Equal(t, s, stateOf(t, j, 1))
		return j
	}
	switch s {
	case Survey:
		return ask()
	case Checking:
		return ask(DoAskCheck)
	case Differing:
		j = must(t)(try(j, 1, DoAskCheck))
		o, _ := j.Find(1)
		r := withValue(o.Record().Plan.Readings(), "width.top", mm(1250))
		j = must(t)(j.Read(lead, noon, 1, r))
		return ask()
	case Agreed:
		return ask(DoAskCheck, DoReadSame)
	case Signed:
		return ask(DoAskCheck, DoReadSame, DoSign)
	case Changed:
		return ask(DoSend, DoMeasure)
	case Ordered:
		return ask(DoSend)
	case Queried:
		return ask(DoSend, DoQuery)
	case Replaced:
		return ask(DoSend, DoConfirm, DoBreak)
	}
	onTheDay := []Action{DoDeliver, DoTakeOut, DoFit, DoGlaze, DoSeal, DoHandOver}
	return ask(append([]Action{DoSend, DoConfirm}, onTheDay[:slices.Index(States, s)-slices.Index(States, Confirmed)]...)...)
}

// Every action is tried in every state through the methods, and what the table
// refuses is refused with a reason while the job stays as it was.
func TestEveryActionInEveryState(t *testing.T) {
	for _, s := range States {
		for _, do := range Actions {
			switch do {
			case DoSend, DoSupersede, DoUndo, DoStand, DoStandConfirmed, DoRestore:
				continue // of the whole order, or of what is deleted: see order_test.go
			case DoAnswer, DoWithdrawQuery:
				if s != Queried {
					continue // of a question that is open: see question_test.go
				}
			case DoMeasureSame, DoMeasureApart:
				if s != Differing && s != Agreed {
					continue // with nothing to compare it is DoMeasure
				}
			}
			j := in(t, s)
			before := asJSON(t, j)
			got, _, err := try(j, 1, do)
			require.Equal(t, before, asJSON(t, j), "%s in %s changed the job it was asked of", do, s)
			next, ok := Next(s, do, do.row().By[0])
			want, known := outcomes[stateAction{s, do}]
			asked := s.withLead() || s == Signed
			switch {
			case do == DoReadLate && asked, (do == DoReadSame || do == DoReadApart) && !asked:
				// The same readings, by whether somebody waits for them.
				require.NoError(t, err, "%s in %s", do, s)
			case known && want.refused != "":
				refused(t, want.refused)(got, nil, err)
			case known:
				require.NoError(t, err, "%s in %s", do, s)
				require.Equal(t, want.state, stateOf(t, got, 1), "%s in %s", do, s)
			case ok && next == Deleted:
				require.NoError(t, err, "%s in %s", do, s)
				require.Empty(t, got.Openings)
			case ok:
				require.NoError(t, err, "%s in %s", do, s)
				require.Equal(t, next, stateOf(t, got, 1), "%s in %s", do, s)
			default:
				var r *Refusal
				require.ErrorAs(t, err, &r, "%s in %s", do, s)
				require.NotEmpty(t, r.Reason)
			}
		}
	}
}

type stateAction struct {
	s  State
	do Action
}

// outcomes are the pairs whose outcome hangs on more than the state.
var outcomes = map[stateAction]struct {
	state   State
	refused string
}{
	{Checking, DoSign}:         {refused: "look_first"}, // only after the figures were opened
	{Differing, DoSettle}:      {state: Differing},      // to be measured again, so still open
	{Differing, DoMeasure}:     {state: Differing},      // a millimetre nearer is not near enough
	{Differing, DoMeasureSame}: {state: Differing},
	{Agreed, DoMeasure}:        {state: Agreed}, // a millimetre off is within the tolerance
	{Agreed, DoSettle}:         {refused: "not_apart"},
	{Agreed, DoSettleLast}:     {refused: "not_apart"},
	{Confirmed, DoConfirm}:     {refused: "confirm"}, // once is enough
	{Confirmed, DoUntell}:      {refused: "untell"},  // the desk itself confirmed it
	{Ordered, DoDescribe}:      {state: Ordered},     // a name makes no other window
	{Queried, DoDescribe}:      {state: Queried},
	{Confirmed, DoDescribe}:    {state: Confirmed},
	{Signed, DoSettle}:         {refused: "not_apart"},
	{Signed, DoSettleLast}:     {refused: "not_apart"},
}

// The steps of the fitting day follow one another from a confirmed line to the
// paper.
func TestTheDayIsOneChain(t *testing.T) {
	s := Confirmed
	var done []Action
	for do := s.Waits(); do != ""; do = s.Waits() {
		next, ok := Next(s, do, Fitter)
		require.True(t, ok)
		require.True(t, do.Reaches(next))
		require.False(t, do.Reaches(s))
		s, done = next, append(done, do)
	}
	require.Equal(t, Handed, s)
	require.Equal(t, []Action{DoDeliver, DoTakeOut, DoFit, DoGlaze, DoSeal, DoHandOver}, done)
	for _, s := range States[:slices.Index(States, Confirmed)] {
		require.Empty(t, s.Waits(), s)
	}
	require.Len(t, Actions, 37)
	require.Len(t, slices.Compact(slices.Sorted(slices.Values(Actions))), 37)
}

func TestHandOverIsOfTheWholeJob(t *testing.T) {
	j := begun(t, 2)
	refused(t, "nothing_to_hand_over")(begun(t, 0).HandOver(fitter, noon))
	j = must(t)(j.Send(fitter, noon, calc0))
	j = must(t)(j.ConfirmAll(desk, noon, "A"))
	for _, do := range []Action{DoDeliver, DoTakeOut, DoFit, DoGlaze, DoSeal} {
		j = must(t)(j.Advance(fitter, noon, 1, do))
	}
	r := refused(t, "hand_over")(j.HandOver(fitter, noon))
	require.Equal(t, "Window 2", r.Say["name"])
	require.Equal(t, Confirmed, j.Stage())
	for _, do := range []Action{DoDeliver, DoTakeOut, DoFit, DoGlaze, DoSeal} {
		j = must(t)(j.Advance(fitter, noon, 2, do))
	}
	j, e := told(t, HandedOver)(j.HandOver(fitter, noon))
	require.Equal(t, []int{1, 2}, e.Openings)
	require.Equal(t, Handed, j.Stage())
	refused(t, "nothing_to_hand_over")(j.HandOver(fitter, noon))
}
