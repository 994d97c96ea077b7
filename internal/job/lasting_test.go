package job

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
)

// What was deleted stands again where the desk has it as it was, and only there.
func TestWhatIsRestoredStandsWhereTheDeskHasIt(t *testing.T) {
	j := must(t)(sent(t, 3).ConfirmAll(desk, noon, "A"))
	gone := must(t)(j.Delete(fitter, noon, 1))
	back, events, err := gone.Undo(fitter, noon)
	require.NoError(t, err)
	require.Equal(t, []EventKind{OpeningRestored, OrderStands}, kindsOf(events))
	require.Equal(t, Confirmed, stateOf(t, back, 1))
	require.False(t, back.Order.Held)

	// Another line was changed meanwhile: the order is held still.
	held, events, err := must0(recolour(t, gone, 2, "grey")).Undo(fitter, noon)
	require.NoError(t, err)
	require.Equal(t, []EventKind{OpeningRestored}, kindsOf(events))
	require.True(t, held.Order.Held)

	// A revision went out without it: it is to be sent again.
	without := must(t)(gone.Send(fitter, noon, calc0))
	without, _ = told(t, OpeningRestored)(without.Undo(fitter, noon))
	require.Equal(t, Changed, stateOf(t, without, 1))
	require.False(t, without.Order.Held)
	_, _ = told(t, OpeningChanged)(without.Rename(fitter, noon, 1, "Attic"))
	again, e := told(t, OrderRevised)(without.Send(fitter, noon, calc0))
	require.Equal(t, []ChangeKind{LineAdded}, kinds(e.Changes))
	_, e = told(t, LineRenamed)(again.Rename(fitter, noon, 1, "Attic"))
	require.Equal(t, "Window 1", e.Say["before"])

	// A name makes no other window, also beside one that changed.
	renamed := must(t)(again.Rename(fitter, noon, 1, "Attic"))
	_, e = told(t, OrderRevised)(must0(recolour(t, renamed, 2, "grey")).Send(fitter, noon, calc0))
	require.Equal(t, []ChangeKind{ColourChanged}, kinds(e.Changes))
}

// What is said again of a frame that is here is no news; anything else is refused.
func TestNothingNewIsSaidOfAFrameThatIsHere(t *testing.T) {
	j := must(t)(must(t)(sent(t, 1).ConfirmAll(desk, noon, "A")).Advance(fitter, noon, 1, DoDeliver))
	same, err := j.Say(fitter, noon, 1, value("colour", "white"))
	require.NoError(t, err)
	require.Equal(t, asJSON(t, entriesOf(j)), asJSON(t, entriesOf(same)))
	_, err = j.Say(fitter, noon, 1, value("colour", "grey"))
	require.Equal(t, "describe", reasonOf(t, err))
	named := say(t, say(t, begun(t, 1), value("material", "timber")), value("colour", string(calc.PVCUWhite)))
	require.Equal(t, string(calc.PVCUWhite), knownOf(named, "colour"), "a colour of that name is no frame")
}

// A window was changed when something is known of it that was not looked at yet.
func TestAWindowIsChangedUntilItIsLookedAt(t *testing.T) {
	j := begun(t, 1)
	require.False(t, j.Openings[0].Changed())
	j = say(t, j, value("colour", "grey"))
	require.True(t, j.Openings[0].Changed())
	j = must(t)(j.Review(fitter, noon, 1))
	require.False(t, j.Openings[0].Changed())
	fresh, err := j.Begin(fitter, noon, "Bath", opening.Record{})
	require.NoError(t, err)
	fresh, err = fresh.Say(fitter, noon, 2, value("colour", "grey"))
	require.NoError(t, err)
	require.False(t, fresh.Openings[1].Changed(), "it was never looked at")
}

// The list says of a confirmation whether it is hearsay.
func TestTheListSaysWhatIsConfirmedAsTold(t *testing.T) {
	row := func(j Job) []bool {
		var list []bool
		for _, r := range storedAndRead(t, j).List() {
			list = append(list, r.Told)
		}
		return list
	}
	j := sent(t, 3)
	require.Equal(t, []bool{false, false, false}, row(j))
	j = must(t)(j.ConfirmTold(fitter, noon, anna, 1, 2))
	require.Equal(t, []bool{true, true, false}, row(j))
	j = must(t)(j.Confirm(desk, noon, "A", 1))
	require.Equal(t, []bool{false, true, false}, row(j))
	j = must(t)(j.Confirm(desk, noon, "A", 3))
	require.Equal(t, []bool{false, true, false}, row(j))
	require.Equal(t, []State{Confirmed, Confirmed, Confirmed}, []State{stateOf(t, j, 1), stateOf(t, j, 2), stateOf(t, j, 3)})
	require.False(t, j.Openings[0].OnlyTold())
	require.True(t, j.Openings[1].OnlyTold())
}

// Without numbers a word of the supplier is of the lines that wait for it, and where none
// waits of those that were told before.
func TestWhatIsToldWithoutNumbers(t *testing.T) {
	j := must(t)(must(t)(sent(t, 4).Confirm(desk, noon, "A", 1)).ConfirmTold(fitter, noon, anna, 2))
	j = must(t)(must(t)(j.Add(fitter, noon, "New")).Store(fitter, noon, 5, measured()))
	j = must(t)(j.Query(desk, noon, 4, "which side?"))
	j, e := told(t, LinesTold)(j.ConfirmTold(fitter, noon, Reply{Heard: Heard{Way: ByMail}}))
	require.Equal(t, []int{3, 4}, e.Openings)
	require.Equal(t, "1", e.Figures["first"].String())
	require.Equal(t, "0", e.Figures["open"].String())
	require.Equal(t, ByPhone, j.Openings[1].Supply.Told.Heard.Way, "as it was told before")
	j, e = told(t, LinesTold)(j.ConfirmTold(lead, noon, Reply{Heard: Heard{Order: "4712"}}))
	require.Equal(t, []int{2, 3, 4}, e.Openings, "not what the desk confirmed itself")
	require.NotContains(t, e.Figures, "first")
	require.Equal(t, Heard{Way: ByMail, Order: "4712"}, j.Openings[2].Supply.Told.Heard)

	// Another revision begins anew.
	j = must(t)(must0(recolour(t, j, 1, "grey")).Send(fitter, noon, calc0))
	j, e = told(t, LinesTold)(j.ConfirmTold(fitter, noon, Reply{}, 2))
	require.Equal(t, "1", e.Figures["first"].String())
	require.Equal(t, Heard{}, j.Openings[1].Supply.Told.Heard, "what was told of A is not said of B")
	j, e = told(t, LinesUntold)(j.Untell(lead, noon, 2))
	require.Equal(t, []int64{1, 2, 3}, chatsOf(e))
	require.Equal(t, "2", e.Say["lines"])
	refused(t, "untell")(j.Untell(lead, noon, 3, 2))
}

// A line whose question is open stays with the desk as asked, and a promise alone is
// written of it.
func TestAPromiseOfALineThatIsAskedAbout(t *testing.T) {
	j := must(t)(sent(t, 1).Query(desk, noon, 1, "which side?"))
	j = must(t)(must0(recolour(t, j, 1, "grey")).Send(fitter, noon, calc0))
	require.Equal(t, Queried, stateOf(t, j, 1))
	before := len(entriesOf(j))
	j = must(t)(j.Promise(desk, noon, 1, "2026-05-20", nil))
	require.Len(t, entriesOf(j), before+1)
}

// Nobody is asked to measure again what was not measured yet.
func TestOnlyWhatIsMeasuredIsMeasuredAgain(t *testing.T) {
	for _, key := range []opening.Key{"width.top", "width.bottom", "height.left", "height.right"} {
		j := say(t, begun(t, 2), opening.Entry{Act: opening.Clear, Key: key})
		refused(t, "not_measured")(j.AskCheck(fitter, noon, 1))
		_, e := told(t, CheckAsked)(j.AskCheck(fitter, noon))
		require.Equal(t, []int{2}, e.Openings)
		refused(t, "not_measured")(j.Read(lead, noon, 1, seconds()))
	}
	j := say(t, begun(t, 1), opening.Entry{Act: opening.Clear, Key: "diagonal.rising"})
	_, _ = told(t, CheckAsked)(j.AskCheck(fitter, noon, 1))
	refused(t, "at_desk")(sent(t, 1).AskCheck(fitter, noon))
	refused(t, "nothing_to_check")(begun(t, 0).AskCheck(fitter, noon))
}

// The maker reads which figures of the profile are nobody's, of what the window has.
func TestTheMakerReadsWhichFiguresAreExamples(t *testing.T) {
	worked := func(s calc.Settings, see func(*Record)) Worked {
		r := measured()
		see(&r)
		l, err := NewLine(Line{Opening: 1, Name: "Bay", Quantity: 1}, r, s)
		require.NoError(t, err)
		return *l.Worked
	}
	w := worked(calc0, func(*Record) {})
	require.Equal(t, []string{"outer", "sash", "mullion", "rebate", "depth", "profile"}, w.Examples)
	require.Empty(t, w.Without)
	require.True(t, w.Even, "nobody placed the mullion")
	require.False(t, w.TwoThirds)
	require.True(t, w.GlassByExamples())
	require.True(t, w.Mass.IsPositive())
	require.Len(t, w.Glass, 2)
	require.True(t, w.Glass[0].Sash.IsPositive())

	w = worked(calc0, func(r *Record) { r.Plan.Layout = calc.Layout{Lights: []calc.Light{{Hinge: calc.FixedLight}}} })
	require.Equal(t, []string{"sash", "mullion"}, w.Without)
	require.True(t, w.Unused("mullion"))
	require.False(t, w.Unused("outer"))
	require.False(t, w.Even)
	w = worked(calc0, func(r *Record) { r.Plan.Layout.Mullions = []decimal.Decimal{mm(500)} })
	require.False(t, w.Even)
	w = worked(calc0, func(r *Record) { r.Plan.Panes, r.MakeUp = nil, "" })
	require.True(t, w.Unused("profile"), "no mass without its glass")
	require.True(t, w.Mass.IsZero())

	own := calc0
	own.OuterFace = own.OuterFace.Add(mm(1))
	w = worked(own, func(*Record) {})
	require.False(t, w.IsExample("outer"))
	require.True(t, w.IsExample("outer", "sash"), "one of them")
	require.True(t, w.GlassByExamples())
	require.False(t, Worked{}.GlassByExamples())
}

// Who is forgotten leaves no number behind: a private chat has its person's. The others'
// stay.
func TestForgettingSomebodyLeavesTheOthers(t *testing.T) {
	const token = "third-third-third-third-third"
	self := Who{Chat: 7, Person: 7, Name: "Sam Self", Role: Lead}
	j := must(t)(begun(t, 1).SetContact(fitter, noon, "Fay, at the yard", true))
	j = must(t)(j.Grant(fitter, noon, token, Lead, noon.AddDate(0, 0, 1)))
	j = must(t)(j.Use(self, noon, token))
	j = must(t)(must(t)(j.Send(fitter, noon, calc0)).Delete(fitter, noon, 1))
	require.Equal(t, allOf(t, j), allOf(t, j.Forget(0)), "nobody")
	used := j.Forget(self.Person)
	require.EqualValues(t, 7, used.Shares[2].UsedBy, "the chat has its chair still")
	require.Zero(t, used.Shares[2].Person)
	require.Equal(t, "Fay Fitter", used.Order.Sent[0].By.Name)
	require.Equal(t, "Fay, at the yard", used.Contact)
	require.Equal(t, "Fay Fitter", used.Owner.Name)
	require.EqualValues(t, lead.Person, used.Shares[0].Person)

	revoked := must(t)(must(t)(j.Revoke(fitter, noon, token)).Revoke(fitter, noon, leadToken))
	revoked = revoked.Forget(self.Person)
	require.Zero(t, revoked.Shares[2].UsedBy)
	require.EqualValues(t, lead.Chat, revoked.Shares[0].UsedBy)

	gone := j.Forget(fitter.Person)
	require.Empty(t, gone.Order.Sent[0].By.Name)
	require.EqualValues(t, opening.Former, gone.Order.Sent[0].By.Person)
	require.Empty(t, gone.Contact)
	require.Equal(t, "Fay Fitter", j.Order.Sent[0].By.Name, "the job it was called on stays as it was")
	require.Len(t, gone.Bin, 1)
	require.NotContains(t, allOf(t, gone), "Fay")
}
