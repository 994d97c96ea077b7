package job

import (
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/safety"
)

// A window is since then in its state when what brought it there was said: a look, a
// promise or a colour is no new state.
func TestSinceWhenAWindowStandsWhereItDoes(t *testing.T) {
	at := func(hours int) time.Time { return noon.Add(time.Duration(hours) * time.Hour) }
	since := func(j Job, want int) {
		t.Helper()
		require.Equal(t, at(want), j.Openings[0].Since)
	}
	j := must(t)(begun(t, 1).AskCheck(fitter, at(1)))
	since(j, 1)
	since(must(t)(j.Look(lead, at(2), 1)), 1)
	j = must(t)(j.Read(lead, at(3), 1, seconds()))
	since(j, 3)
	since(must(t)(j.SetColour(fitter, at(4), 1, "grey")), 3)
	agreed := must(t)(j.Describe(fitter, at(5), 1, value("width.top", "1213")))
	require.Equal(t, Agreed, stateOf(t, agreed, 1))
	since(agreed, 5)
	differing := must(t)(agreed.Describe(fitter, at(6), 1, value("width.top", "1204")))
	require.Equal(t, Differing, stateOf(t, differing, 1))
	since(differing, 6)

	j = must(t)(sent(t, 1).Promise(desk, at(1), 1, "2026-05-20", nil))
	since(j, 0)
	j = must(t)(j.Query(desk, at(2), 1, "which side?"))
	since(j, 2)
	j = must(t)(j.Query(desk, at(3), 1, "which grey?"))
	since(j, 2)
	j = must(t)(j.Answer(fitter, at(4), 1, 1, "left"))
	require.Equal(t, Queried, stateOf(t, j, 1))
	since(must(t)(j.Answer(fitter, at(5), 1, 2, "light")), 5)
}

// What nobody waits for counts when a check is asked for again, whatever became of the
// window meanwhile.
func TestAMeasureThatIsKeptIsNotLost(t *testing.T) {
	kept := func(j Job) {
		t.Helper()
		j, events, err := j.AskCheck(fitter, noon, 1)
		require.NoError(t, err)
		require.Equal(t, []EventKind{CheckAsked, ReadingsDiffer}, kindsOf(events))
		require.Equal(t, []string{"1204", "1214"}, tops(t, j))
	}
	deleted := must(t)(begun(t, 1).Delete(fitter, noon, 1))
	deleted, _ = told(t, MeasureKept)(deleted.Read(lead, noon, 1, readings(1214)))
	kept(must(t)(deleted.Undo(fitter, noon)))

	back := must(t)(must(t)(checking(t).Delete(fitter, noon, 1)).Undo(fitter, noon))
	back = must(t)(back.WithdrawCheck(fitter, noon, 1))
	back, _ = told(t, MeasureKept)(back.Read(lead, noon, 1, readings(1214)))
	kept(back)
	twice := must(t)(back.Read(lead, noon, 1, readings(1224)))
	twice = must(t)(twice.Read(lead, noon, 1, readings(1214)))
	kept(twice)

	// Who reads the figures is noted once, each lead by themselves.
	j := must(t)(must(t)(twoLeads(t).Look(lead, noon, 1)).Look(other, noon, 1))
	j = must(t)(must(t)(j.Look(lead, noon, 1)).Look(other, noon, 1))
	require.Len(t, j.Openings[0].Check.Looked, 2)
}

// A job of the first schema does not tell its leads apart: once figures were seen
// nobody measures blind. A check that was only asked for leaves the readings.
func TestOlderChecksAreReadAsTheyWere(t *testing.T) {
	old := func(known string) Job {
		window := `{"id":1,"name":"bay","count":3,"state":"check","check":{"asked":{"role":"fitter","person":1,"at":"2026-05-04T12:00:00Z"}` + known + `},
			"record":{"plan":{"nation":"england","finish":"bare","material":"timber","widths":["1204","1202","1203"],"heights":["1006","1005","1007"]}},"since":"2026-05-04T12:00:00Z"}`
		shares := `[{"token":"lead-lead-lead-lead-lead","role":"lead","expires":"2026-05-05T12:00:00Z","used_by":2,"person":12}]`
		j, err := Stored{Head: []byte(`{"v":1,"ref":"PDYMNW","owner":{"chat":1,"person":1,"role":"fitter"},"began":"2026-05-04T12:00:00Z","settings":{"tolerance":"3"},"last_id":1,"shares":` + shares + `,"openings":[` + window + `]}`)}.Decode()
		require.NoError(t, err)
		return j
	}
	for known, blind := range map[string]bool{"": true, `,"known":true`: false} {
		j := old(known)
		require.Equal(t, "1204", knownOf(j, "width.top"))
		j = must(t)(j.Read(lead, noon, 1, readings(1204)))
		require.Equal(t, blind, j.Openings[0].Check.Leads[0].Blind, "%q", known)
	}
}

// Pieces of a job of the first schema moved together, and may go apart now. The last
// sentence of a desk that was asking is its question.
func TestOlderWindowsGoOnFromWhereTheyStood(t *testing.T) {
	old := func(state, more string) Job {
		line := asJSON(t, must0(begun(t, 1).Send(fitter, noon, calc0)).Lines()[0])
		window := `{"id":1,"name":"bay","count":3,"state":"` + state + `","record":{"plan":` + asJSON(t, measured().Plan) + `},"since":"2026-05-04T12:00:00Z"` + more + `}`
		j, err := Stored{Head: []byte(`{"v":1,"ref":"PDYMNW","owner":{"chat":1,"person":11,"role":"fitter"},"began":"2026-05-04T12:00:00Z","settings":{"tolerance":"3"},"last_id":1,"order":{"revision":1,"lines":[` + line + `]},"openings":[` + window + `]}`)}.Decode()
		require.NoError(t, err)
		return j
	}
	j := must(t)(old("delivered", "").AdvancePieces(fitter, noon, 1, DoTakeOut, 1))
	require.Equal(t, []Part{{Delivered, 2}, {Out, 1}}, partsOf(t, j, 1))
	asked := old("queried", `,"supply":{"notes":[{"by":{"role":"desk","at":"2026-05-04T12:30:00Z"},"words":"which side?"}]}`)
	require.Len(t, asked.Openings[0].Supply.Open(), 1)
	require.Empty(t, old("ordered", `,"supply":{"notes":[{"by":{"role":"desk","at":"2026-05-04T12:30:00Z"},"words":"which side?"}]}`).Openings[0].Supply.Open())
}

// Of three, one is out of the wall already when the others are sent back: it stays, and
// the supplier owes the others.
func TestWhatIsSentBackIsWhatIsNotFittedYet(t *testing.T) {
	j := must(t)(must(t)(alike(t).Advance(fitter, noon, 1, DoDeliver)).AdvancePieces(fitter, noon, 1, DoTakeOut, 1))
	j = must(t)(j.Reject(fitter, noon, 1, "bent"))
	require.Equal(t, []Part{{Ordered, 2}, {Out, 1}}, partsOf(t, j, 1))
	require.Equal(t, j.List(), storedAndRead(t, j).List())
	require.Equal(t, Ordered, stateOf(t, j, 1))
	j = must(t)(j.Promise(desk, noon, 1, "2026-05-20", nil))
	j = must(t)(must(t)(j.Query(desk, noon, 1, "how?")).Answer(fitter, noon, 1, 0, "in the middle"))
	j = must(t)(j.ConfirmAll(desk, noon, "A"))
	j = must(t)(j.Advance(fitter, noon, 1, DoDeliver))
	require.Equal(t, []Part{{Delivered, 2}, {Out, 1}}, partsOf(t, j, 1))

	all := must(t)(must(t)(alike(t).Advance(fitter, noon, 1, DoDeliver)).Reject(fitter, noon, 1, "bent"))
	require.Nil(t, partsOf(t, all, 1))
	require.Equal(t, all.List(), storedAndRead(t, all).List(), "the row is stored as it is")
	all = must(t)(must(t)(all.ConfirmAll(desk, noon, "A")).AdvancePieces(fitter, noon, 1, DoDeliver, 1))
	require.Equal(t, []Part{{Confirmed, 2}, {Delivered, 1}}, partsOf(t, all, 1))
	refused(t, "confirm_told")(must(t)(alike(t).Advance(fitter, noon, 1, DoDeliver)).ConfirmTold(fitter, noon, anna, 1))

	// What is partly here takes the fitter's answer and the step back.
	some := must(t)(must(t)(alike(t).Query(desk, noon, 1, "which side?")).Confirm(desk, noon, "A", 1))
	some = must(t)(some.AdvancePieces(fitter, noon, 1, DoDeliver, 1))
	some = must(t)(some.Answer(fitter, noon, 1, 0, "left"))
	require.Empty(t, some.Openings[0].Supply.Open())
	require.Equal(t, Ordered, stateOf(t, must(t)(some.Reject(fitter, noon, 1, "bent")), 1))
	refused(t, "untell")(some.Untell(fitter, noon, 1))
}

// A record holds what was said and done, once: a promise and a settlement are their own
// step.
func TestAStepIsWrittenOnce(t *testing.T) {
	acts := func(before, after Job) (list []string) {
		for _, e := range entriesOf(after)[len(entriesOf(before)):] {
			list = append(list, string(e.Act)+" "+e.Key+e.Value)
		}
		return list
	}
	j := sent(t, 1)
	require.Equal(t, []string{"= due2026-05-20"}, acts(j, must(t)(j.Promise(desk, noon, 1, "2026-05-20", nil))))
	require.Equal(t, []string{"+ line", "@ confirm"}, acts(j, must(t)(j.Confirm(desk, noon, "A", 1))))
	c := checking(t)
	require.Equal(t, []string{"@ look"}, acts(c, must(t)(c.Look(lead, noon, 1))))
	apart := must(t)(c.Read(lead, noon, 1, seconds()))
	again := must(t)(apart.Settle(lead, noon, 1, "width.top", Again))
	require.Equal(t, []string{"@ measure_apart", "? width.top"}, acts(apart, again), "the figures made it differ")
}

// The revision holds the lines of what was deleted as they were told, each its own.
func TestDeletedLinesStayTheirOwn(t *testing.T) {
	j := must(t)(must(t)(sent(t, 3).Delete(fitter, noon, 1)).Delete(fitter, noon, 3))
	var names []string
	for _, l := range j.OrderCopy().Lines {
		names = append(names, l.Name+" "+string(l.State))
	}
	require.Equal(t, []string{"Window 1 deleted", "Window 2 ordered", "Window 3 deleted"}, names)
	require.True(t, j.Has(2))
	require.False(t, j.Has(1))
}

// A group's chair belongs to who took it last, not to who had it before.
func TestAChairThatWasTakenBackIsTheNextPersons(t *testing.T) {
	const token = "third-third-third-third-third"
	second := Who{Chat: lead.Chat, Person: 22, Name: "Sue Second", Role: Lead}
	j := must(t)(checking(t).Revoke(fitter, noon, leadToken))
	j = must(t)(must(t)(j.Grant(fitter, noon, token, Lead, noon.Add(time.Hour))).Use(second, noon, token))
	j = must(t)(j.Read(second, noon, 1, readings(1204)))
	require.True(t, j.Sees(lead.Chat, 1))
	c, ok := j.Comparison(lead.Chat, 1)
	require.True(t, ok)
	require.Equal(t, 1, c.Own)
}

// What holds a line back stands on it: readings that can't all be right, and no finding,
// which stands there by itself. Safety glass by a bath counts as a class.
func TestWhatHoldsALineBackStandsOnIt(t *testing.T) {
	holds := func(see func(*Record)) []string {
		r := measured()
		see(&r)
		l, err := NewLine(Line{Opening: 1, Name: "Bay", Quantity: 1}, r, calc0)
		require.NoError(t, err)
		var keys []string
		for _, h := range l.Holds {
			keys = append(keys, h.Key)
		}
		return keys
	}
	require.Empty(t, holds(func(*Record) {}))
	require.Empty(t, holds(func(r *Record) { r.Plan.Over, r.Plan.NoLintel = "", true }), "a stop is a finding")
	require.Len(t, holds(func(r *Record) { r.Plan.Rising = mm(1780) }), 1)
	bath := safety.Finding{Topic: safety.Bath, Severity: safety.Advise, Figures: map[string]decimal.Decimal{"class": mm(2)}}
	class, _, ok := Line{Safety: []safety.Finding{bath}}.SafetyClass(0)
	require.True(t, ok)
	require.Equal(t, 2, class)
}

// What is open of a window by where it stands.
func TestWhatIsOpenOfAWindow(t *testing.T) {
	signed := &Stamp{Role: Lead}
	for _, c := range []struct {
		row  Row
		held bool
		want Matter
	}{
		{Row{State: Survey, Lacks: []string{"room"}}, false, HalfDone},
		{Row{State: Survey, Lacks: []string{"room"}, Copied: true}, true, HalfDone},
		{Row{State: Survey, Copied: true, Against: 1}, false, StandsOpen},
		{Row{State: Survey, Against: 2}, false, StandsOpen},
		{Row{State: Survey, Copied: true}, false, Unsigned},
		{Row{State: Signed, Signed: signed, Against: 1}, false, StandsOpen},
		{Row{State: Checking, Against: 1}, false, ToCheck},
		{Row{State: Survey}, false, Unsigned},
		{Row{State: Survey, Signed: signed}, false, ""},
		{Row{State: Checking, Lacks: []string{"room"}}, false, ToCheck},
		{Row{State: Agreed}, false, ToCheck},
		{Row{State: Signed, Signed: signed}, false, ""},
		{Row{State: Signed, Signed: signed, Copied: true}, false, ""},
		{Row{State: Changed, Signed: signed}, false, HeldOrder},
		{Row{State: Ordered}, false, Unconfirmed},
		{Row{State: Ordered, Copied: true, Lacks: []string{"sill"}}, false, Unconfirmed},
		{Row{State: Ordered, Signed: signed}, true, HeldOrder},
		{Row{State: Queried, Questions: 1}, false, ""},
		{Row{State: Queried, Questions: 1}, true, HeldOrder},
		{Row{State: Confirmed}, true, ""},
		{Row{State: Delivered}, true, ""},
	} {
		require.Equal(t, c.want, Job{Order: Order{Held: c.held}}.matter(c.row), "%v", c)
	}
	j := must(t)(sent(t, 3).ConfirmAll(desk, noon, "A"))
	for id, day := range map[int]string{1: "2026-05-10", 2: "2026-05-12", 3: "2026-05-10"} {
		j = must(t)(j.Promise(desk, noon, id, day, nil))
	}
	require.Equal(t, []OpenPoint{{LateFrame, []int{1, 3}, "2026-05-10"}, {LateFrame, []int{2}, "2026-05-12"}}, j.OpenPoints("2026-05-20"), "each day by itself")
	j = must(t)(j.Advance(fitter, noon, 1, DoDeliver))
	require.Equal(t, []OpenPoint{{LateFrame, []int{3}, "2026-05-10"}}, j.OpenPoints("2026-05-11"), "a frame that is here is not late")
}

// The customer's page shows what they pay, and nothing that the desk asks for.
func TestTheCustomersPageShowsTheirOwnPrice(t *testing.T) {
	j := must(t)(sent(t, 2).Promise(desk, noon, 1, "", price("310.50")))
	j, events, err := j.Quote(fitter, noon, mm(0), 2)
	require.NoError(t, err)
	require.Equal(t, []EventKind{CustomerQuoted}, kindsOf(events), "nobody had agreed")
	_, sheet, err := j.CustomerPage(fitter, noon, 1, 2)
	require.NoError(t, err)
	require.Nil(t, sheet.Windows[0].Price)
	require.Equal(t, "0", sheet.Windows[1].Price.String())

	agreed := shownAndAgreed(t, 2)
	_, events, err = must0(agreed.CustomerAgrees(fitter, noon, "Mrs Hill", "2026-05-04", 1)).Quote(fitter, noon, mm(450), 1)
	require.NoError(t, err)
	require.Equal(t, []EventKind{CustomerQuoted, CustomerVoid}, kindsOf(events))
	quoted := must0(agreed.Quote(fitter, noon, mm(450), 1))
	quoted, _, err = quoted.CustomerPage(fitter, noon, 1)
	require.NoError(t, err)
	quoted = must(t)(quoted.CustomerAgrees(fitter, noon, "Mrs Hill", "2026-05-04", 1))
	_, events, err = quoted.Quote(fitter, noon, mm(450), 1)
	require.NoError(t, err)
	require.Equal(t, []EventKind{CustomerQuoted}, kindsOf(events), "the same price voids nothing")
}

func TestTheNinthRevisionIsNamedAsItWasSent(t *testing.T) {
	require.Equal(t, "J", Order{Revision: 9, Sent: []Sending{{Revision: 9, Name: "J"}}}.Name(9))
	require.Equal(t, "I", Order{Revision: 9, Sent: []Sending{{Revision: 9}}}.Name(9), "sent before I was left out")
}
