package job

import (
	"fmt"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
)

// sent is a job of n openings whose order is with the desk.
func sent(t *testing.T, n int) Job {
	return must(t)(begun(t, n).Send(fitter, noon, calc0))
}

// recolour changes an opening in something that the desk has been sent.
func recolour(t *testing.T, j Job, id int, colour string) (Job, []Event, error) {
	o, ok := j.Find(id)
	require.True(t, ok)
	r := o.Record()
	r.Colour = colour
	return j.Store(fitter, noon, id, r)
}

// The order size is arithmetic from the table of "Gaps around windows", D:
// white, 1200 × 1000 → 1190 × 990.
func TestALineHoldsWhatTheDeskNeeds(t *testing.T) {
	j := begun(t, 1)
	r := measured()
	r.Plan.Widths, r.Plan.Heights = [3]decimal.Decimal{mm(1200), mm(1200), mm(1200)}, [3]decimal.Decimal{mm(1000), mm(1000), mm(1000)}
	r.Plan.OldVents, r.Plan.VentArea = true, mm(4000)
	low := mm(300)
	r.Plan.AboveFloor, r.Plan.Rising, r.Plan.Falling = &low, mm(1562), mm(1562)
	r.Hardware = []string{"key-locking handles"}
	j = must(t)(j.Store(fitter, noon, 1, r))
	j = must(t)(j.SetCount(fitter, noon, 1, 3))
	j, e := told(t, OrderSent)(j.Send(fitter, noon, calc0))
	require.Equal(t, []int64{1, 3}, chatsOf(e))
	require.Equal(t, "A", e.Say["revision"])

	sheet := j.OrderCopy()
	require.Equal(t, "outside", sheet.SeenFrom)
	require.Len(t, sheet.Lines, 1)
	l := sheet.Lines[0]
	require.Equal(t, "1190", l.Size.Width.String())
	require.Equal(t, "990", l.Size.Height.String())
	require.Equal(t, 3, l.Quantity)
	require.Equal(t, "outside", l.SeenFrom)
	require.Equal(t, calc.PVCUWhite, l.Material)
	require.Equal(t, "white", l.Colour)
	require.Equal(t, "4-20-4", l.MakeUp)
	require.True(t, l.OldVents)
	require.Len(t, l.Layout.Mullions, 1, "placed, though nobody measured it")
	require.Equal(t, []Fitting{{"hinges.side-left", 1}, {"handle", 1}}, l.Hardware)
	require.Equal(t, []string{"key-locking handles"}, l.Wanted)
	require.Equal(t, Ordered, l.State)
	// AD K 2013 K4 section 5: window glass with any part below 800 mm is
	// critical (S); class 3 of BS EN 12600 (R, para 5.4).
	for light := range l.Layout.Lights {
		class, why, ok := l.SafetyClass(light)
		require.True(t, ok)
		require.Equal(t, 3, class)
		require.NotEmpty(t, why.Document)
	}
}

func TestTheStricterClassOfALightRules(t *testing.T) {
	class := func(n int64, lights ...int) safety.Finding {
		return safety.Finding{Severity: safety.Must, Lights: lights, Figures: map[string]decimal.Decimal{"class": mm(n)}}
	}
	advice := class(1)
	advice.Severity = safety.Ask
	l := Line{Safety: []safety.Finding{class(3), class(2, 1), advice}}
	got, _, _ := l.SafetyClass(0)
	require.Equal(t, 3, got)
	got, _, _ = l.SafetyClass(1)
	require.Equal(t, 2, got)
	_, _, ok := Line{}.SafetyClass(0)
	require.False(t, ok)
}

// The desk sees no address, no names and no people's numbers unless they are
// shared; its own name it may see.
func TestOrderCopyKeepsPeopleOut(t *testing.T) {
	j := begun(t, 1)
	j = must(t)(j.SetLabel(fitter, noon, "Invented Row"))
	j = must(t)(j.SetAddress(fitter, noon, "1 Invented Row", false))
	j = must(t)(j.AskCheck(fitter, noon))
	j = must(t)(j.Read(lead, noon, 1, measured().Plan.Readings()))
	j = must(t)(j.Sign(lead, noon, 1, j.Openings[0].Version))
	j = must(t)(j.Send(fitter, noon, calc0))
	j = must(t)(j.Query(desk, noon, 1, "which handle?"))
	j = must(t)(j.Answer(fitter, noon, 1, 0, "the white one"))
	j = must(t)(j.Confirm(desk, noon, "A", 1))
	text := asJSON(t, j.OrderCopy())
	for _, secret := range []string{"Fay", "Lou", "Invented", "person"} {
		require.NotContains(t, text, secret)
	}
	require.Contains(t, text, "which handle?")
	l := j.OrderCopy().Lines[0]
	require.Equal(t, "Dee Desk", l.Confirmed.Name)
	require.Equal(t, Lead, l.Checked.Role)
	require.Equal(t, noon, l.Measured.At)

	j = must(t)(j.SetShareNames(fitter, noon, true))
	j = must(t)(j.SetAddress(fitter, noon, "1 Invented Row", true))
	sheet := j.OrderCopy()
	require.Equal(t, "Fay Fitter", sheet.Fitter)
	require.Equal(t, "Lou Lead", sheet.Lines[0].Checked.Name)
	require.Equal(t, "1 Invented Row", sheet.Address)
	require.NotContains(t, asJSON(t, sheet), "person")
}

func TestOnlyWhatIsReadyIsSent(t *testing.T) {
	j := begun(t, 2)
	j = must(t)(j.Add(fitter, noon, "half done"))
	j = must(t)(j.AskCheck(fitter, noon, 2))
	lines, not := j.Ready(calc0)
	require.Len(t, lines, 1)
	require.Len(t, not, 2)
	require.Equal(t, "send", not[0].Why.Reason)
	require.Equal(t, "incomplete", not[1].Why.Reason)
	j, e := told(t, OrderSent)(j.Send(fitter, noon, calc0))
	require.Equal(t, "2", e.Figures["left_out"].String())
	require.Equal(t, []int{1}, e.Openings)
	refused(t, "waits_for_lead")(j.Send(fitter, noon, calc0))
}

// What is seen of the wall over an opening, or a higher-risk building (the regime of 2023,
// S), stops its order until a qualified person has
// spoken to it (guidance of an installers' scheme, S), and stops no other window.
func TestTheWallOverAnOpeningStopsItsOrder(t *testing.T) {
	for name, see := range map[string]func(*plan.Opening){
		"no lintel": func(o *plan.Opening) { o.NoLintel = true },
		"bricks":    func(o *plan.Opening) { o.Over = safety.OverBricks },
		"cracks":    func(o *plan.Opening) { o.Cracks = true },
		"bowed":     func(o *plan.Opening) { o.Bowed = true },
		"regulator": func(o *plan.Opening) { o.Flat, o.HigherRisk = true, true },
	} {
		j := begun(t, 2)
		r := measured()
		see(&r.Plan)
		j = must(t)(j.Store(fitter, noon, 1, r))
		lines, not := j.Ready(calc0)
		require.Len(t, lines, 1, name)
		require.True(t, len(not) == 1 && not[0].ID == 1 && not[0].Stopped(), name)
		alone := must(t)(j.Delete(fitter, noon, 2))
		refused(t, "stopped")(alone.Send(fitter, noon, calc0))
		_, e := told(t, OrderSent)(j.Send(fitter, noon, calc0))
		require.Equal(t, []int{2}, e.Openings, name)

		r.Plan.Cleared = &opening.Cleared{Who: "J Doe", Capacity: "structural engineer", Day: "2026-11-24", Words: "it holds"}
		j = must(t)(j.Store(fitter, noon, 1, r))
		_, not = j.Ready(calc0)
		require.Empty(t, not, name)
	}
}

func TestAnOpeningThatNoPlanCanBeMadeOf(t *testing.T) {
	j := begun(t, 1)
	r := measured()
	for k := range r.Plan.Widths {
		r.Plan.Widths[k] = mm(4700) // over 4.5 m no gap is published ("Gaps around windows", R)
	}
	r.Plan.Rising, r.Plan.Falling = decimal.Zero, decimal.Zero
	j = must(t)(j.Store(fitter, noon, 1, r))
	_, not := j.Ready(calc0)
	require.Len(t, not, 1)
	require.Equal(t, "no_plan", not[0].Why.Reason)
	require.ErrorIs(t, not[0].Why, calc.ErrBeyondTable)
	require.Equal(t, "why.gap_beyond_table", not[0].Why.Text().Sub["why"].Key)
	refused(t, "nothing_to_send")(j.Send(fitter, noon, calc0))
}

func TestQueryAndAnswerUntilConfirmed(t *testing.T) {
	j := sent(t, 2)
	j, e := told(t, LineQueried)(j.Query(desk, noon, 1, "Which side <left>?"))
	require.Equal(t, "Which side <left>?", e.Say["words"])
	require.Equal(t, []int64{1, 3}, chatsOf(e))
	refused(t, "answer")(j.Answer(fitter, noon, 2, 0, "nobody asked"))
	refused(t, "no_words")(j.Answer(fitter, noon, 1, 0, "  "))
	refused(t, "too_long")(j.Answer(fitter, noon, 1, 0, strings.Repeat("x", longestWords+1)))
	j, e = told(t, LinesConfirmed)(j.ConfirmAll(desk, noon, "A"))
	require.Equal(t, []int{2}, e.Openings, "what the desk asked about is not confirmed with the rest")
	require.Equal(t, "1", e.Figures["open"].String())
	j, _ = told(t, QueryAnswered)(j.Answer(fitter, noon, 1, 0, "left"))
	j = must(t)(j.Query(desk, noon, 1, "sure?"))
	j = must(t)(j.Answer(fitter, noon, 1, 0, "yes"))
	j, e = told(t, OrderConfirmed)(j.Confirm(desk, noon, "a", 1))
	require.Equal(t, "2", e.Figures["count"].String())
	require.Len(t, j.OrderCopy().Lines[0].Notes, 4)
	refused(t, "nothing_to_confirm")(j.ConfirmAll(desk, noon, "A"))
	j = must(t)(j.Query(desk, noon, 2, "we can't get this colour"))
	require.Nil(t, j.OrderCopy().Lines[1].Confirmed, "asked again, it is confirmed no longer")
}

// Two answers to one job make two jobs, of which neither sees the other's.
func TestNotesOfTwoFuturesStayApart(t *testing.T) {
	j := sent(t, 1)
	for range 3 { // so that the list has room to grow in place
		j = must(t)(j.Query(desk, noon, 1, "and?"))
	}
	one := must(t)(j.Query(desk, noon, 1, "one"))
	two := must(t)(j.Query(desk, noon, 1, "two"))
	require.Equal(t, "one", one.OrderCopy().Lines[0].Notes[3].Words)
	require.Equal(t, "two", two.OrderCopy().Lines[0].Notes[3].Words)
}

func TestPromises(t *testing.T) {
	price := decimal.RequireFromString("412.50")
	minus := price.Neg()
	j := sent(t, 1)
	j, e := told(t, LinePromised)(j.Promise(desk, noon, 1, "2026-05-20", nil))
	require.Equal(t, "2026-05-20", e.Due)
	require.Equal(t, "job.event.promised.day", e.Text().Key)
	j, e = told(t, LinePromised)(j.Promise(desk, noon, 1, "", &price))
	require.Equal(t, "job.event.promised.both", e.Text().Key)
	require.Equal(t, "2026-05-20", j.OrderCopy().Lines[0].Due)
	require.Equal(t, "412.5", j.OrderCopy().Lines[0].Price.String())
	refused(t, "no_day")(j.Promise(desk, noon, 1, "20.5.", nil))
	refused(t, "price_negative")(j.Promise(desk, noon, 1, "", &minus))
	refused(t, "nothing_promised")(j.Promise(desk, noon, 1, "", nil))
}

// What was confirmed is frozen. A change makes revision B, with the
// differences; the desk is told once that A is superseded; nothing counts as
// confirmed until B is.
func TestAChangeMakesTheNextRevision(t *testing.T) {
	j := must(t)(sent(t, 3).ConfirmAll(desk, noon, "A"))
	j = must(t)(j.Promise(desk, noon, 1, "2026-05-20", nil))
	j = must(t)(j.Promise(desk, noon, 2, "2026-05-20", nil))
	frozen := asJSON(t, j.Lines())

	j, e := told(t, OrderHeld)(recolour(t, j, 2, "grey"))
	require.Equal(t, []int64{1, 3}, chatsOf(e))
	require.Equal(t, frozen, asJSON(t, j.Lines()), "what was sent stays as it was")
	require.Equal(t, 3, j.unconfirmed())
	for _, l := range j.OrderCopy().Lines {
		require.Nil(t, l.Confirmed)
	}
	require.True(t, j.OrderCopy().Held)
	refused(t, "held")(j.Confirm(desk, noon, "A", 1))
	refused(t, "deliver")(j.Advance(fitter, noon, 1, DoDeliver))

	j, e = told(t, OpeningChanged)(recolour(t, j, 3, "brown"))
	require.Equal(t, []int64{1}, chatsOf(e), "the desk was told already")

	j, e = told(t, OrderRevised)(j.Send(fitter, noon, calc0))
	require.Equal(t, "B", e.Say["revision"])
	require.Equal(t, "A", e.Say["before"])
	require.Equal(t, []Change{
		{Kind: ColourChanged, Opening: 2, Name: "Window 2", Old: said("white"), New: said("grey")},
		{Kind: ColourChanged, Opening: 3, Name: "Window 3", Old: said("white"), New: said("brown")},
	}, e.Changes)
	require.Equal(t, e.Changes, j.OrderCopy().Changes)
	require.Equal(t, "Window 2", e.Say["lapsed"], "nothing was promised for the third, and the first is as it was")
	require.Equal(t, 2, j.unconfirmed(), "the unchanged line stays confirmed")
	r := refused(t, "superseded")(j.Confirm(desk, noon, "A", 1))
	require.Equal(t, "B", r.Say["now"])
	require.Equal(t, "2026-05-20", j.OrderCopy().Lines[0].Due)
	require.Empty(t, j.OrderCopy().Lines[1].Due, "what was promised was for another window")
	_, e = told(t, OrderConfirmed)(j.ConfirmAll(desk, noon, "B"))
	require.Equal(t, "3", e.Figures["count"].String())
}

// The desk confirms while the fitter sends the next revision: the answer to
// the old one is refused, in whichever order they come.
func TestRevisionWhileTheDeskIsConfirming(t *testing.T) {
	j := must(t)(sent(t, 2).Confirm(desk, noon, "A", 1))
	j = must(t)(recolour(t, j, 2, "grey"))
	refused(t, "held")(j.Confirm(desk, noon, "A", 2))
	j = must(t)(j.Send(fitter, noon, calc0))
	refused(t, "superseded")(j.Confirm(desk, noon, "A", 2))
	refused(t, "superseded")(j.ConfirmAll(desk, noon, "A"))
	require.Equal(t, 1, j.unconfirmed())
}

func TestAMeasureAfterConfirmingVoidsBoth(t *testing.T) {
	j := must(t)(begun(t, 2).AskCheck(fitter, noon, 1))
	j = must(t)(j.Read(lead, noon, 1, measured().Plan.Readings()))
	j = must(t)(j.Sign(lead, noon, 1, j.Openings[0].Version))
	j = must(t)(must(t)(j.Send(fitter, noon, calc0)).ConfirmAll(desk, noon, "A"))
	r := measured()
	r.Plan.Widths[1] = mm(1199)
	j, events, err := j.Store(fitter, noon, 1, r)
	require.NoError(t, err)
	require.Len(t, events, 2)
	require.Equal(t, SignatureVoid, events[0].Kind)
	require.Equal(t, []int64{1, 2}, chatsOf(events[0]))
	require.Equal(t, OrderHeld, events[1].Kind)
	require.Equal(t, []int64{1, 3}, chatsOf(events[1]))
	require.Equal(t, Changed, stateOf(t, j, 1))
	require.Equal(t, Ordered, stateOf(t, j, 2))

	j = must(t)(j.AskCheck(fitter, noon, 1))
	refused(t, "send")(j.Send(fitter, noon, calc0)) // on A and now being checked
	j = must(t)(j.Read(lead, noon, 1, r.Plan.Readings()))
	j = must(t)(j.Sign(lead, noon, 1, j.Openings[0].Version))
	_, e := told(t, OrderRevised)(j.Send(fitter, noon, calc0))
	require.Equal(t, []ChangeKind{WidthChanged, MullionMoved}, kinds(e.Changes), "an even mullion moves with the width")
}

// What the desk has is checked only when it is named, and then the desk is
// told to make nothing of it.
func TestACheckOfWhatTheDeskHasTakesItBack(t *testing.T) {
	j := must(t)(sent(t, 2).ConfirmAll(desk, noon, "A"))
	r := refused(t, "at_desk")(j.AskCheck(fitter, noon))
	require.Equal(t, "Window 1", r.Say["name"])
	j, events, err := j.AskCheck(fitter, noon, 1, 2)
	require.NoError(t, err)
	require.Len(t, events, 2, "the desk is told once")
	require.Equal(t, LineTakenBack, events[0].Kind)
	require.Equal(t, []int64{1, 3}, chatsOf(events[0]))
	require.Equal(t, CheckAsked, events[1].Kind)
	require.Equal(t, Checking, stateOf(t, j, 1))
	refused(t, "held")(j.Confirm(desk, noon, "A", 2))
	refused(t, "send")(j.Send(fitter, noon, calc0))
	for id := 1; id <= 2; id++ {
		j = must(t)(j.WithdrawCheck(fitter, noon, id))
	}
	j, e := told(t, OrderStands)(j.Send(fitter, noon, calc0))
	require.Equal(t, "A", e.Say["revision"], "nothing differs")
	require.False(t, j.Order.Held)
	require.Equal(t, "0", e.Figures["open"].String(), "what was confirmed of A is")
}

func TestNothingToSendNamesWhatWaitsForTheLead(t *testing.T) {
	j := sent(t, 1)
	refused(t, "nothing_to_send")(j.Send(fitter, noon, calc0))
	for k := 2; k <= 3; k++ {
		j = must(t)(j.Add(fitter, noon, fmt.Sprint("Window ", k)))
		j = must(t)(j.Store(fitter, noon, k, measured()))
	}
	j = must(t)(j.AskCheck(fitter, noon))
	r := refused(t, "waits_for_lead")(j.Send(fitter, noon, calc0))
	require.Equal(t, "Window 2, Window 3", r.Say["names"])
	require.Equal(t, "2", r.Figures["n"].String())
}

func TestUnsignedIsWhatWentToTheDeskWithoutTheLead(t *testing.T) {
	j := must(t)(begun(t, 3).AskCheck(fitter, noon, 1, 3))
	j = must(t)(j.Look(lead, noon, 1))
	j = must(t)(j.Sign(lead, noon, 1, j.Openings[0].Version))
	j = must(t)(j.Send(fitter, noon, calc0))
	require.Len(t, j.Unsigned(), 1, "what waits for the lead is not with the desk")
	require.Equal(t, 2, j.Unsigned()[0].ID)
	alone := must(t)(j.Revoke(fitter, noon, leadToken))
	require.Empty(t, alone.Unsigned(), "without a lead nobody signs")
}

func TestAJobRemembersTheNewestSendingsOnly(t *testing.T) {
	j := sent(t, 1)
	for i := range mostSent + 5 {
		r := j.Openings[0].Record()
		r.Colour = fmt.Sprint("white ", i)
		j = must(t)(j.Store(fitter, noon, 1, r))
		j = must(t)(j.Send(fitter, noon, calc0))
	}
	require.Len(t, j.Order.Sent, mostSent)
	require.Equal(t, j.Order.Revision, j.Order.Sent[mostSent-1].Revision)
}

func TestDeletedAndAddedLines(t *testing.T) {
	j := must(t)(sent(t, 2).ConfirmAll(desk, noon, "A"))
	j, e := told(t, LineDeleted)(j.Delete(fitter, noon, 2))
	require.Equal(t, []int64{1, 3}, chatsOf(e))
	require.Equal(t, Deleted, j.OrderCopy().Lines[1].State)
	require.True(t, j.Order.Held)
	back, events, err := j.Undo(fitter, noon)
	require.NoError(t, err)
	require.Equal(t, Confirmed, stateOf(t, back, 2), "nothing else was changed")
	require.False(t, back.Order.Held)
	require.Len(t, events, 2)
	require.Equal(t, OrderStands, events[1].Kind)
	require.Equal(t, []int64{1, 3}, chatsOf(events[1]), "the desk was told to make nothing by it")
	refused(t, "nothing_to_send")(back.Send(fitter, noon, calc0))

	j = must(t)(j.Add(fitter, noon, "New"))
	j = must(t)(j.Store(fitter, noon, 3, measured()))
	j, e = told(t, OrderRevised)(j.Send(fitter, noon, calc0))
	require.Equal(t, []ChangeKind{LineAdded, LineRemoved}, kinds(e.Changes))
	require.Equal(t, "Window 2", e.Changes[1].Name)

	j = must(t)(j.Undo(fitter, noon))
	require.Equal(t, Changed, stateOf(t, j, 2), "revision B has no line of it")
	_, e = told(t, OrderRevised)(j.Send(fitter, noon, calc0))
	require.Equal(t, []ChangeKind{LineAdded}, kinds(e.Changes))
	require.Equal(t, "C", e.Say["revision"])
}

func kinds(changes []Change) []ChangeKind {
	var out []ChangeKind
	for _, c := range changes {
		out = append(out, c.Kind)
	}
	return out
}

func TestWhatWasDeliveredIsNotTouchedByTheNextRevision(t *testing.T) {
	j := must(t)(sent(t, 2).ConfirmAll(desk, noon, "A"))
	j = must(t)(j.Advance(fitter, noon, 1, DoDeliver))
	refused(t, "describe")(recolour(t, j, 1, "grey"))
	j = must(t)(recolour(t, j, 2, "grey"))
	j = must(t)(j.Send(fitter, noon, calc0))
	require.Equal(t, Delivered, stateOf(t, j, 1))
	require.NotNil(t, j.OrderCopy().Lines[0].Confirmed)
	require.Equal(t, 1, j.unconfirmed())
	j = must(t)(j.Confirm(desk, noon, "B", 2))
	j, e := told(t, FrameRejected)(j.Reject(fitter, noon, 1, "sash is bent"))
	require.Equal(t, []int64{1, 3}, chatsOf(e))
	require.Equal(t, 1, j.unconfirmed())
	must(t)(j.Confirm(desk, noon, "B", 1))
}

func TestTheSameAnswersInAnotherFormChangeNothing(t *testing.T) {
	j := must(t)(sent(t, 1).ConfirmAll(desk, noon, "A"))
	r := measured()
	r.Plan.Widths[0] = decimal.RequireFromString("1204.0")
	j, events, err := j.Store(fitter, noon, 1, r)
	require.NoError(t, err)
	require.Empty(t, events)
	require.Equal(t, Confirmed, stateOf(t, j, 1))
	j, events, err = j.Rename(fitter, noon, 1, "Window 1")
	require.NoError(t, err)
	require.Empty(t, events)
	require.False(t, j.Order.Held)
}

func TestDiff(t *testing.T) {
	base := func() Line {
		l, err := NewLine(Line{Opening: 7, Name: "Bay", Quantity: 1}, measured(), calc0)
		require.NoError(t, err)
		return l
	}
	type want struct {
		kind     ChangeKind
		n        int
		old, now string
	}
	tests := []struct {
		name   string
		change func(*Line)
		want   []want
	}{
		{"nothing", func(*Line) {}, nil},
		{"name", func(l *Line) { l.Name = "Bay left" }, []want{{NameChanged, 0, "Bay", "Bay left"}}},
		{"quantity", func(l *Line) { l.Quantity = 4 }, []want{{QuantityChanged, 0, "1", "4"}}},
		{"size", func(l *Line) { l.Size = calc.Size{Width: mm(1100), Height: mm(900)} }, []want{{WidthChanged, 0, "1192", "1100"}, {HeightChanged, 0, "995", "900"}}},
		{"sill", func(l *Line) { l.Sill = mm(150) }, []want{{SillChanged, 0, "", "150"}}},
		{"material", func(l *Line) { l.Material = calc.Timber }, []want{{MaterialChanged, 0, "job.material.pvcu-white", "job.material.timber"}}},
		{"colour", func(l *Line) { l.Colour = "" }, []want{{ColourChanged, 0, "white", ""}}},
		{"hinge", func(l *Line) {
			l.Layout.Lights = []calc.Light{{Hinge: calc.SideRight}, {Column: 1, Hinge: calc.FixedLight}}
		}, []want{{HingeChanged, 1, "job.hinge.side-left", "job.hinge.side-right"}}},
		{"mullion", func(l *Line) { l.Layout.Mullions = []decimal.Decimal{mm(400)} }, []want{{MullionMoved, 1, "596", "400"}}},
		{"transom put in", func(l *Line) { l.Layout.Transoms = []decimal.Decimal{decimal.Zero, mm(700)} }, []want{{TransomMoved, 2, "", "700"}}},
		{"lights", func(l *Line) {
			l.Layout = calc.Layout{Lights: []calc.Light{{Hinge: calc.TopHung}}}
		}, []want{{LightsChanged, 0, "2", "1"}, {HingeChanged, 1, "", "job.hinge.top"}}},
		{"glass", func(l *Line) { l.MakeUp, l.Panes = "6-16-6", []decimal.Decimal{mm(6), mm(6)} }, []want{{MakeUpChanged, 0, "4-20-4", "6-16-6"}, {PanesChanged, 0, "8", "12"}}},
		{"vents", func(l *Line) { l.OldVents, l.VentArea = true, mm(4000) }, []want{{VentsChanged, 0, "job.no", "job.yes"}, {VentAreaChanged, 0, "", "4000"}}},
		{"hardware", func(l *Line) { l.Wanted = []string{"restrictors"} }, []want{{WantedAdded, 0, "", "restrictors"}}},
		{"safety", func(l *Line) {
			l.Safety = []safety.Finding{{Rule: "glass_window", Severity: safety.Must}}
		}, []want{{SafetyAdded, 0, "", "glass_window"}, {SafetyGone, 0, "vents_ask", ""}}},
	}
	flat := func(v Value) string {
		switch {
		case v.Num != nil:
			return v.Num.String()
		case v.Finding != nil:
			return v.Finding.Rule
		}
		return v.Word + v.Say
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			old, now := base(), base()
			old.Safety = []safety.Finding{{Rule: "vents_ask", Severity: safety.Ask}}
			now.Safety = old.Safety
			tt.change(&now)
			var got []want
			for _, c := range Diff(old, now) {
				require.Equal(t, 7, c.Opening)
				require.Equal(t, now.Name, c.Name)
				got = append(got, want{c.Kind, c.N, flat(c.Old), flat(c.New)})
			}
			require.Equal(t, tt.want, got)
		})
	}
	require.Equal(t, []ChangeKind{LineAdded}, kinds(Diff(Line{}, base())))
	require.Equal(t, []ChangeKind{LineRemoved}, kinds(Diff(base(), Line{})))
	require.Empty(t, Diff(Line{}, Line{}))
}

func TestGlance(t *testing.T) {
	late := must(t)(sent(t, 3).ConfirmAll(desk, noon, "A"))
	late = must(t)(late.Promise(desk, noon, 1, "2026-05-19", nil))
	late = must(t)(late.Promise(desk, noon, 2, "2026-05-20", nil))
	late = must(t)(late.Promise(desk, noon.AddDate(0, 0, -5), 3, "2026-05-01", nil))
	late = must(t)(late.Advance(fitter, noon, 3, DoDeliver))
	late = must(t)(late.Query(desk, noon, 2, "hm?"))

	signing := must(t)(begun(t, 3).AskCheck(fitter, noon, 1, 2))
	signing = must(t)(signing.Look(lead, noon, 1))
	signing = must(t)(signing.Sign(lead, noon, 1, signing.Openings[0].Version))

	over := must(t)(sent(t, 1).ConfirmAll(desk, noon, "A"))
	for _, do := range []Action{DoDeliver, DoTakeOut, DoFit, DoGlaze, DoSeal} {
		over = must(t)(over.Advance(fitter, noon, 1, do))
	}
	over = must(t)(over.HandOver(fitter, noon))

	var g Glance
	for _, j := range []Job{late, over, signing, begun(t, 0)} {
		g = g.With(j.Glance("2026-05-20"))
	}
	require.Equal(t, 3, g.Open)
	require.Equal(t, 5, g.Unsigned, "three of the first, though one is delivered, and two of the second; a job that is over counts no more")
	require.Equal(t, 1, g.Waiting)
	require.Equal(t, 1, g.Unconfirmed)
	require.Equal(t, 1, g.Late, "due today is not late, and what is here is not late")
	require.Equal(t, []Late{{1, "Window 1", "2026-05-19"}}, g.Jobs[0].Late)
	require.Equal(t, Queried, g.Jobs[0].Stage)
}

func TestGlanceHasNoLabelUnlessTheAddressIsShared(t *testing.T) {
	j := must(t)(begun(t, 1).SetLabel(fitter, noon, "Invented Row"))
	require.NotContains(t, asJSON(t, j.Glance("2026-05-20")), "Invented")
}

func TestALargeOrderIsConfirmedInOneMessage(t *testing.T) {
	j := sent(t, 60)
	_, e := told(t, OrderConfirmed)(j.ConfirmAll(desk, noon, "A"))
	require.Equal(t, fmt.Sprint(60), e.Figures["count"].String())
}
