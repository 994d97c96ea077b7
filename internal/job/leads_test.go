package job

import (
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
)

var other = Who{Chat: 4, Person: 14, Name: "Oz Other", Role: Lead}

const otherToken = "other-other-other-other-other"

// twoLeads is a job with two leads in their chairs, whose one opening is asked for.
func twoLeads(t *testing.T) Job {
	j := must(t)(begun(t, 1).Grant(fitter, noon, otherToken, Lead, noon.Add(time.Hour)))
	return must(t)(must(t)(j.Use(other, noon, otherToken)).AskCheck(fitter, noon))
}

func readings(top int64) calc.Readings {
	r := measured().Plan.Readings()
	r.Widths[0] = mm(top)
	return r
}

func tops(t *testing.T, j Job) []string {
	t.Helper()
	c, ok := j.Comparison(fitter.Chat, 1)
	require.True(t, ok)
	var list []string
	for _, v := range c.Differences[0].All() {
		list = append(list, v.String())
	}
	return list
}

func kindsOf(events []Event) []EventKind {
	var list []EventKind
	for _, e := range events {
		list = append(list, e.Kind)
	}
	return list
}

// Nobody's measure takes the place of another's, and who measures again replaces
// their own alone. A reading is apart where any two are.
func TestEachLeadsMeasureIsItsOwn(t *testing.T) {
	j := must(t)(twoLeads(t).Read(lead, noon, 1, readings(1207)))
	require.Equal(t, Agreed, stateOf(t, j, 1))
	j = must(t)(j.Read(other, noon, 1, readings(1203)))
	require.Equal(t, []string{"1204", "1207", "1203"}, tops(t, j))
	require.Equal(t, Differing, stateOf(t, j, 1), "1207 and 1203 are 4 apart, though each is near the first")
	require.True(t, j.Openings[0].Check.Leads[0].Blind)
	require.True(t, j.Openings[0].Check.Leads[1].Blind, "the second lead saw nothing of the first")
	j = must(t)(j.Read(lead, noon, 1, readings(1204)))
	require.Equal(t, []string{"1204", "1204", "1203"}, tops(t, j))
	require.Equal(t, Agreed, stateOf(t, j, 1))
	require.False(t, j.Openings[0].Check.Leads[0].Blind)
	require.Equal(t, Signed, stateOf(t, must(t)(j.Sign(other, noon, 1, version(j))), 1))
}

// What one lead sent reaches no lead who is still measuring, as a figure or as a
// refusal; that somebody measured does.
func TestNoFigureReachesALeadWhoIsStillMeasuring(t *testing.T) {
	j, events, err := twoLeads(t).Read(lead, noon, 1, readings(1214))
	require.NoError(t, err)
	require.Equal(t, []EventKind{ReadingsDiffer, MeasuredBeside}, kindsOf(events))
	require.Equal(t, []int64{1, 2}, chatsOf(events[0]))
	require.Equal(t, []int64{4}, chatsOf(events[1]))
	require.Empty(t, events[1].Figures)
	_, ok := j.Comparison(other.Chat, 1)
	require.False(t, ok)
	_, ok = j.Figures(other.Chat, 1)
	require.False(t, ok)
	refused(t, "look_first")(j.Sign(other, noon, 1, version(j)))
	refused(t, "look_first")(j.SettleAt(other, noon, 1, "width.top", mm(1204)))
	settled, e := told(t, AllSettled)(j.SettleAt(fitter, noon, 1, "width.top", mm(1214)))
	require.Equal(t, []int64{1, 2}, chatsOf(e))
	refused(t, "look_first")(settled.Reread(other, noon, 1, "width.top", mm(1204)))

	looked, e := told(t, FiguresOpened)(j.Look(other, noon, 1))
	require.Equal(t, []int64{4}, chatsOf(e))
	require.True(t, looked.Sees(other.Chat, 1))
	refused(t, "which_figure")(looked.Settle(other, noon, 1, "width.top", Theirs))
	refused(t, "which_figure")(looked.SettleAt(other, noon, 1, "width.top", mm(1210)))
	looked = must(t)(looked.SettleAt(other, noon, 1, "width.top", mm(1204)))
	lost := refused(t, "settled_already")(looked.SettleAt(lead, noon, 1, "width.top", mm(1214)))
	require.Equal(t, "1204", lost.Figures["value"].String())
	require.False(t, must(t)(looked.Read(other, noon, 1, readings(1204))).Openings[0].Check.Leads[1].Blind, "who looked has looked")
}

// A measure that speaks against what was settled before it opens that again.
func TestANewMeasureAgainstWhatWasSettledOpensItAgain(t *testing.T) {
	j := must(t)(twoLeads(t).Read(lead, noon, 1, readings(1214)))
	j = must(t)(j.SettleAt(fitter, noon, 1, "width.top", mm(1214)))
	near := must(t)(j.Read(other, noon, 1, readings(1213)))
	require.Equal(t, Agreed, stateOf(t, near, 1))
	far := must(t)(j.Read(other, noon, 1, readings(1203)))
	require.Equal(t, Differing, stateOf(t, far, 1))
	refused(t, "sign_open")(far.Sign(other, noon, 1, version(far)))
}

func TestAMeasureThatNobodyWaitsForIsKept(t *testing.T) {
	withdrawn := must(t)(twoLeads(t).WithdrawCheck(fitter, noon, 1))
	j, e := told(t, MeasureKept)(withdrawn.Read(other, noon, 1, readings(1214)))
	require.Equal(t, []int64{1, 4}, chatsOf(e))
	require.Equal(t, "1", e.Figures["count"].String())
	require.Equal(t, Survey, stateOf(t, j, 1))
	require.Equal(t, "1204", j.Openings[0].Record().Plan.Widths[0].String())
	again, events, err := j.AskCheck(fitter, noon, 1)
	require.NoError(t, err)
	require.Equal(t, []EventKind{CheckAsked, ReadingsDiffer}, kindsOf(events))
	require.Equal(t, []int64{1, 4}, chatsOf(events[1]), "the lead who has not measured hears no figure")
	require.Equal(t, Differing, stateOf(t, again, 1))
	require.True(t, again.Openings[0].Check.Leads[0].Blind)

	// What was sent before it was withdrawn is of that check.
	dropped := must(t)(must(t)(twoLeads(t).Read(lead, noon, 1, readings(1204))).WithdrawCheck(fitter, noon, 1))
	dropped = must(t)(dropped.Read(other, noon, 1, readings(1204)))
	dropped = must(t)(dropped.AskCheck(fitter, noon, 1))
	require.Len(t, dropped.Openings[0].Check.Leads, 1)
	require.EqualValues(t, 14, dropped.Openings[0].Check.Leads[0].By.Person)
}

func TestAMeasureOfADeletedWindowComesBackWithIt(t *testing.T) {
	for _, top := range []int64{1204, 1214} {
		j := must(t)(twoLeads(t).Delete(fitter, noon, 1))
		j, _ = told(t, MeasureKept)(j.Read(lead, noon, 1, readings(top)))
		refused(t, "readings_impossible")(j.Read(lead, noon, 1, readings(0)))
		j = must(t)(j.Undo(fitter, noon))
		require.Equal(t, map[int64]State{1204: Agreed, 1214: Differing}[top], stateOf(t, j, 1))
		require.Equal(t, []string{"1204", decimal.NewFromInt(top).String()}, tops(t, j))
	}
}

// One more measure of what is signed: it agrees, or the signature is void before
// anything is made by it.
func TestAMeasureAfterTheSignature(t *testing.T) {
	j := must(t)(twoLeads(t).Read(lead, noon, 1, readings(1204)))
	j = must(t)(j.Sign(lead, noon, 1, version(j)))
	same, e := told(t, MeasureAgrees)(j.Read(other, noon, 1, readings(1205)))
	require.Equal(t, []int64{1, 2, 4}, chatsOf(e))
	require.Equal(t, Signed, stateOf(t, same, 1))
	apart, events, err := j.Read(other, noon, 1, readings(1214))
	require.NoError(t, err)
	require.Equal(t, []EventKind{SignatureDoubted, ReadingsDiffer}, kindsOf(events))
	require.Equal(t, Differing, stateOf(t, apart, 1))
	require.Nil(t, apart.Openings[0].Signature)

	sent := must(t)(j.Send(fitter, noon, calc0))
	kept, _ := told(t, MeasureKept)(sent.Read(other, noon, 1, readings(1214)))
	require.Equal(t, Ordered, stateOf(t, kept, 1), "the fitter is told, and decides")
	kept = must(t)(kept.AskCheck(fitter, noon, 1))
	require.Equal(t, Differing, stateOf(t, kept, 1))
}

// Two leads who are forgotten don't become one, and a chair that was taken before
// the person was kept beside it counts for the number of its chat.
func TestForgottenLeadsStayApart(t *testing.T) {
	j := must(t)(must(t)(twoLeads(t).Read(lead, noon, 1, readings(1204))).Read(other, noon, 1, readings(1214)))
	j = j.Forget(lead.Person).Forget(other.Person)
	require.Equal(t, []string{"1204", "1204", "1214"}, tops(t, j))

	old := twoLeads(t)
	for i := range old.Shares {
		old.Shares[i].Person = 0
	}
	self := Who{Chat: 4, Person: 4, Role: Lead}
	old = must(t)(old.Read(self, noon, 1, readings(1204)))
	require.True(t, old.Sees(4, 1))
	require.False(t, old.Sees(2, 1))
}
