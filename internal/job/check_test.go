package job

import (
	"math"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/plan"
)

// checking is a job whose one opening the lead was asked to check.
func checking(t *testing.T) Job {
	return must(t)(begun(t, 1).AskCheck(fitter, noon))
}

// seconds are the lead's readings of the same window: one is far apart.
func seconds() calc.Readings {
	r := measured().Plan.Readings()
	r.Widths = [3]decimal.Decimal{mm(1214), mm(1205), mm(1203)}
	return r
}

func TestCheckIsAskedOnceForAll(t *testing.T) {
	j := must(t)(begun(t, 3).Add(fitter, noon, "not measured"))
	refused(t, "not_measured")(j.AskCheck(fitter, noon, 4))
	j, e := told(t, CheckAsked)(j.AskCheck(fitter, noon))
	require.Equal(t, []int{1, 2, 3}, e.Openings)
	require.Equal(t, []int64{1, 2}, chatsOf(e), "one message each, however many openings")
	refused(t, "nothing_to_check")(j.AskCheck(fitter, noon))
	refused(t, "ask_check")(j.AskCheck(fitter, noon, 1))
}

// What the lead holds before measuring has no figure of the fitter's, no name
// and no address.
func TestCheckCopyIsBlind(t *testing.T) {
	j := begun(t, 0)
	j = must(t)(j.SetLabel(fitter, noon, "Invented Row"))
	j = must(t)(j.SetAddress(fitter, noon, "1 Invented Row", false))
	j = must(t)(j.Add(fitter, noon, "Bay"))
	r := measured()
	r.Plan.Widths, r.Plan.Heights = [3]decimal.Decimal{mm(7771), mm(7772), mm(7773)}, [3]decimal.Decimal{mm(7774), mm(7775), mm(7776)}
	r.Plan.Rising, r.Plan.Falling, r.Plan.SillDepth = mm(7777), mm(7778), mm(7779)
	fall := decimal.RequireFromString("7.7")
	r.Plan.SillFall, r.Plan.Inner = &fall, calc.Size{Width: mm(7780), Height: mm(7781)}
	j = must(t)(j.Store(fitter, noon, 1, r))
	j, e := told(t, CheckAsked)(j.AskCheck(fitter, noon))
	for _, text := range []string{asJSON(t, j.CheckCopy()), asJSON(t, e)} {
		for _, secret := range []string{"77", "7.7", "Fay", "Invented", "width.top"} {
			require.NotContains(t, text, secret)
		}
	}
	require.True(t, j.CheckCopy().Openings[0].NewSill, "where to hold the tape is no figure")
	_, ok := j.Figures(lead.Chat, 1)
	require.False(t, ok)
	_, ok = j.Comparison(fitter.Chat, 1)
	require.False(t, ok)

	j = must(t)(j.SetAddress(fitter, noon, "1 Invented Row", true))
	j = must(t)(j.SetShareNames(fitter, noon, true))
	sheet := j.CheckCopy()
	require.Equal(t, "Invented Row", sheet.Label)
	require.Equal(t, "1 Invented Row", sheet.Address)
	require.Equal(t, "Fay Fitter", sheet.FirstBy)
}

func TestReadingsWithinTheToleranceAgree(t *testing.T) {
	j := checking(t)
	r := measured().Plan.Readings()
	r.Widths[0] = r.Widths[0].Add(mm(3)) // the default, common practice, no source
	j, e := told(t, ReadingsAgree)(j.Read(lead, noon, 1, r))
	require.Equal(t, []int64{1, 2}, chatsOf(e))
	o, _ := j.Find(1)
	require.Equal(t, "1204", o.Record().Plan.Widths[0].String(), "the first reading stands")
	c, ok := j.Comparison(fitter.Chat, 1)
	require.True(t, ok)
	require.Empty(t, c.Apart())
	require.Equal(t, "3", c.Differences[0].Apart.String())
}

func TestDifferencesAreSettledOneByOne(t *testing.T) {
	j := checking(t)
	r := seconds()
	r.Heights[2] = mm(1019)
	j, e := told(t, ReadingsDiffer)(j.Read(lead, noon, 1, r))
	require.Equal(t, "2", e.Figures["count"].String())
	refused(t, "not_apart")(j.Settle(fitter, noon, 1, "width.middle", Mine))
	refused(t, "no_pick")(j.Settle(fitter, noon, 1, "width.top", "ours"))
	refused(t, "not_settled")(j.Reread(fitter, noon, 1, "width.top", mm(1210)))
	open := refused(t, "sign_open")(j.Sign(lead, noon, 1, version(j)))
	require.Equal(t, []string{"reading.width.top", "reading.height.right"}, open.Rows["readings"])

	j, e = told(t, ReadingSettled)(j.Settle(fitter, noon, 1, "width.top", Theirs))
	require.Equal(t, "1214", e.Figures["value"].String())
	require.Equal(t, "width.top", e.Reading)
	require.Equal(t, "1214", j.Openings[0].Record().Plan.Widths[0].String())

	j, e = told(t, ReadingAgain)(j.Settle(lead, noon, 1, "height.right", Again))
	require.Empty(t, e.Figures)
	refused(t, "again_already")(j.Settle(fitter, noon, 1, "height.right", Mine))
	refused(t, "not_positive")(j.Reread(fitter, noon, 1, "height.right", mm(0)))
	j, e = told(t, AllSettled)(j.Reread(fitter, noon, 1, "height.right", mm(1011)))
	require.Equal(t, "1011", e.Figures["value"].String())
	require.Equal(t, Agreed, stateOf(t, j, 1))
	require.Equal(t, "1011", j.Openings[0].Record().Plan.Heights[2].String())
	lost := refused(t, "settled_already")(j.Reread(lead, noon, 1, "height.right", mm(1012)))
	require.Equal(t, "role.fitter", lost.Words["by"])
	require.Equal(t, "1011", lost.Figures["value"].String())
}

func version(j Job) string { return j.Openings[0].Version }

// Two people settle the same reading at once: whichever comes first wins, and
// the other is told who won and with what.
func TestTwoSettlementsAtOnceHaveOneWinner(t *testing.T) {
	type settler struct {
		who   Who
		pick  Pick
		value string
	}
	both := [2]settler{{fitter, Mine, "1204"}, {lead, Mine, "1214"}}
	for first := range both {
		j := must(t)(checking(t).Read(lead, noon, 1, seconds()))
		winner, loser := both[first], both[1-first]
		j, e := told(t, AllSettled)(j.Settle(winner.who, noon, 1, "width.top", winner.pick))
		require.Equal(t, []int64{1, 2}, chatsOf(e))
		r := refused(t, "settled_already")(j.Settle(loser.who, noon, 1, "width.top", loser.pick))
		require.Equal(t, "role."+string(winner.who.Role), r.Words["by"])
		require.Equal(t, winner.value, r.Figures["value"].String())
		require.Equal(t, winner.value, j.Openings[0].Record().Plan.Widths[0].String())
		c, _ := j.Comparison(fitter.Chat, 1)
		require.Len(t, c.Apart(), 1)
		require.Equal(t, winner.who.Role, c.Apart()[0].Settled.By.Role)
		require.Empty(t, c.Apart()[0].Settled.By.Name, "names are not shared")
	}
}

func TestTheLeadMayReadAndSign(t *testing.T) {
	j := checking(t)
	refused(t, "look_first")(j.Sign(lead, noon, 1, version(j)))
	j, e := told(t, FiguresOpened)(j.Look(lead, noon, 1))
	require.Equal(t, []int64{2}, chatsOf(e))
	f, ok := j.Figures(lead.Chat, 1)
	require.True(t, ok)
	require.Equal(t, "1204", f.Record().Plan.Widths[0].String())

	changed := measured()
	changed.Plan.Widths[0] = mm(1205)
	moved := must(t)(j.Store(fitter, noon, 1, changed))
	refused(t, "changed_since")(moved.Sign(lead, noon, 1, f.Version))

	j, e = told(t, FiguresSigned)(j.Sign(lead, noon, 1, f.Version))
	require.Equal(t, []int64{1, 2}, chatsOf(e))
	s := j.Openings[0].Signature
	require.False(t, s.Measured)
	require.False(t, s.Blind)
	require.Equal(t, "Lou Lead", s.By.Name)
	require.Equal(t, noon, s.By.At)
}

func TestMeasuringAfterLookingIsNotBlind(t *testing.T) {
	blind := must(t)(checking(t).Read(lead, noon, 1, measured().Plan.Readings()))
	blind = must(t)(blind.Sign(lead, noon, 1, version(blind)))
	require.True(t, blind.Openings[0].Signature.Blind)
	seen := must(t)(checking(t).Look(lead, noon, 1))
	seen = must(t)(seen.Read(lead, noon, 1, measured().Plan.Readings()))
	seen = must(t)(seen.Sign(lead, noon, 1, version(seen)))
	require.True(t, seen.Openings[0].Signature.Measured)
	require.False(t, seen.Openings[0].Signature.Blind)
}

// Whoever signed an opening has seen its figures, and a measure after a change
// is not blind any more.
func TestMeasuringAfterSigningIsNotBlind(t *testing.T) {
	j := must(t)(checking(t).Read(lead, noon, 1, measured().Plan.Readings()))
	j = must(t)(j.Sign(lead, noon, 1, version(j)))
	r := measured()
	r.Plan.Widths[0] = r.Plan.Widths[0].Add(mm(4))
	j = must(t)(j.Store(fitter, noon, 1, r))
	j = must(t)(j.Read(lead, noon, 1, r.Plan.Readings()))
	j = must(t)(j.Sign(lead, noon, 1, version(j)))
	require.False(t, j.Openings[0].Signature.Blind)
}

func TestNobodyChecksTheirOwnMeasure(t *testing.T) {
	j := must(t)(checking(t).Look(lead, noon, 1))
	self := Who{Chat: lead.Chat, Person: fitter.Person, Role: Lead}
	refused(t, "own_measure")(j.Read(self, noon, 1, seconds()))
	refused(t, "own_measure")(j.Sign(self, noon, 1, version(j)))
}

func TestReadingsThatNoOpeningHasAreRefused(t *testing.T) {
	r := seconds()
	r.Widths[0] = decimal.Zero
	why := refused(t, "readings_impossible")(checking(t).Read(lead, noon, 1, r))
	require.ErrorIs(t, why, calc.ErrImpossible)
}

// What the lead is told before measuring says where to hold the tape, and
// refuses what would be refused afterwards.
func TestToCheckSaysWhereToHoldTheTape(t *testing.T) {
	j := must(t)(begun(t, 2).AskCheck(fitter, noon, 1))
	o, err := j.ToCheck(lead, 1)
	require.NoError(t, err)
	require.Equal(t, j.CheckCopy().Openings[0], o)
	require.False(t, o.NewSill)
	for who, reason := range map[Who]string{lead: "read", fitter: "not_your_part", {Chat: 9, Role: Lead}: "not_yours"} {
		_, err = j.ToCheck(who, 2)
		require.Equal(t, reason, err.(*Refusal).Reason)
	}
	_, err = j.ToCheck(Who{Chat: lead.Chat, Person: fitter.Person, Role: Lead}, 1)
	require.Equal(t, "own_measure", err.(*Refusal).Reason)
}

// What is signed by a typed word is what the lead's chat has shown, and no
// figures that came afterwards.
func TestATypedWordSignsWhatWasShownLast(t *testing.T) {
	show := func(j Job, who Who, version string) Job {
		j, err := j.Shown(who, noon, 1, version)
		require.NoError(t, err)
		return j
	}
	j := checking(t)
	refused(t, "look_first")(j.SignShown(lead, noon, 1))
	j = show(j, lead, version(j))
	require.Empty(t, j.Openings[0].Check.Shown, "no figures were open")
	j = must(t)(j.Look(lead, noon, 1))
	refused(t, "changed_since")(j.SignShown(lead, noon, 1))
	j = show(j, lead, "000000000000")
	require.Empty(t, j.Openings[0].Check.Shown)
	seen := show(j, lead, version(j))
	_, err := j.Shown(fitter, noon, 1, version(j))
	require.Error(t, err)
	r := measured()
	r.Plan.Widths[0] = mm(1205)
	refused(t, "changed_since")(must(t)(seen.Store(fitter, noon, 1, r)).SignShown(lead, noon, 1))
	refused(t, "not_your_part")(seen.SignShown(fitter, noon, 1))
	refused(t, "no_opening")(seen.SignShown(lead, noon, 7))
	require.Equal(t, Signed, stateOf(t, must(t)(seen.SignShown(lead, noon, 1)), 1))
	refused(t, "sign")(begun(t, 1).SignShown(lead, noon, 1))
}

// A change after signing voids the signature of that opening only, and both
// are told once.
func TestAChangeAfterSigningVoidsThatSignatureOnly(t *testing.T) {
	j := must(t)(begun(t, 2).AskCheck(fitter, noon))
	for id := 1; id <= 2; id++ {
		j = must(t)(j.Look(lead, noon, id))
		f, _ := j.Figures(lead.Chat, id)
		j = must(t)(j.Sign(lead, noon, id, f.Version))
	}
	r := measured()
	r.Plan.Lighter = true
	j = must(t)(j.Store(fitter, noon, 1, r))
	require.NotNil(t, j.Openings[0].Signature, "the fixing pattern is not what the desk makes by")
	r.Plan.Heights[0] = mm(1008)
	j, e := told(t, SignatureVoid)(j.Store(fitter, noon, 1, r))
	require.Equal(t, []int64{1, 2}, chatsOf(e))
	require.Equal(t, []int{1}, e.Openings)
	require.NotContains(t, asJSON(t, e), "1008", "the next check is blind again")
	require.Nil(t, j.Openings[0].Signature)
	require.Equal(t, Checking, stateOf(t, j, 1))
	require.NotNil(t, j.Openings[1].Signature)
	require.Equal(t, Signed, stateOf(t, j, 2))
	_, ok := j.Figures(lead.Chat, 1)
	require.False(t, ok)
}

// The plaster of the crew makes the order size, how deep its screws go does not.
func TestASettingThatMovesTheOrderSizeVoidsTheSignature(t *testing.T) {
	j := must(t)(begun(t, 1).AskCheck(fitter, noon))
	j = must(t)(j.Look(lead, noon, 1))
	f, _ := j.Figures(lead.Chat, 1)
	j = must(t)(j.Sign(lead, noon, 1, f.Version))
	c := plan.DefaultCrew()
	c.Embedment = mm(45)
	r := measured()
	r.Plan.Settings = &c
	j = must(t)(j.Store(fitter, noon, 1, r))
	require.NotNil(t, j.Openings[0].Signature)
	thicker := c
	thicker.PlasterThickness = mm(15)
	r.Plan.Settings = &thicker
	j, _ = told(t, SignatureVoid)(j.Store(fitter, noon, 1, r))
	require.Nil(t, j.Openings[0].Signature)
}

func TestTheFittersCorrectionIsComparedAgain(t *testing.T) {
	j := must(t)(checking(t).Read(lead, noon, 1, seconds()))
	j = must(t)(j.Settle(lead, noon, 1, "width.top", Theirs))
	require.Equal(t, Agreed, stateOf(t, j, 1))
	r := j.Openings[0].Record()
	r.Plan.Heights[1] = mm(1030)
	j, e := told(t, ReadingsDiffer)(j.Store(fitter, noon, 1, r))
	require.Equal(t, "1", e.Figures["count"].String(), "what was settled about another reading stands")
	r.Plan.Heights[1] = mm(1004)
	j, _ = told(t, ReadingsAgree)(j.Store(fitter, noon, 1, r))
	require.Equal(t, Agreed, stateOf(t, j, 1))
}

func TestTheLeadsSecondTryReopensWhatItChanges(t *testing.T) {
	r := seconds()
	r.Heights[0] = mm(1019)
	j := must(t)(checking(t).Read(lead, noon, 1, r))
	j = must(t)(j.Settle(fitter, noon, 1, "width.top", Theirs))
	j = must(t)(j.Settle(fitter, noon, 1, "height.left", Mine))
	r.Widths[0] = mm(1216)
	j, e := told(t, ReadingsDiffer)(j.Read(lead, noon, 1, r))
	require.Equal(t, "1", e.Figures["count"].String())
	require.Equal(t, "1204", j.Openings[0].Record().Plan.Widths[0].String(), "back to the first, until settled")
}

func TestWithdrawnCheck(t *testing.T) {
	j := must(t)(checking(t).Read(lead, noon, 1, seconds()))
	j, e := told(t, CheckWithdrawn)(j.WithdrawCheck(fitter, noon, 1))
	require.Equal(t, []int64{1, 2}, chatsOf(e))
	require.Equal(t, Survey, stateOf(t, j, 1))
	require.Empty(t, j.CheckCopy().Openings)
	refused(t, "settle")(j.Settle(lead, noon, 1, "width.top", Mine))
}

func TestDiagonalsThatOnlyOneTookAreNotCompared(t *testing.T) {
	first, second := measured().Plan.Readings(), seconds()
	first.Rising, first.Falling = decimal.Zero, decimal.Zero
	second.Rising, second.Falling = mm(1570), mm(1570)
	c := Compare(mm(3), first, second)
	require.Equal(t, []string{"diagonal.rising", "diagonal.falling"}, c.NotCompared)
	require.Len(t, c.Differences, 7)
	require.Nil(t, c.FirstMisclosure)
	require.NotNil(t, c.SecondMisclosure)
}

// square is an opening whose corners are drawn at random and whose readings
// are worked out here, in floating point, by Pythagoras: no formula of calc is
// used. Rounded to 0.1 mm.
func square(t *rapid.T) calc.Readings {
	w, h := rapid.Float64Range(700, 2500).Draw(t, "w"), rapid.Float64Range(700, 2200).Draw(t, "h")
	off := func(name string) float64 { return rapid.Float64Range(-5, 5).Draw(t, name) }
	type corner struct{ x, y float64 }
	bl, br := corner{0, 0}, corner{w, 0}
	tl, tr := corner{off("tlx"), h + off("tly")}, corner{w + off("trx"), h + off("try")}
	middle := func(a, b corner) corner { return corner{(a.x + b.x) / 2, (a.y + b.y) / 2} }
	length := func(a, b corner) decimal.Decimal { return decimal.NewFromFloat(math.Hypot(a.x-b.x, a.y-b.y)).Round(1) }
	return calc.Readings{
		Widths:  [3]decimal.Decimal{length(tl, tr), length(middle(tl, bl), middle(tr, br)), length(bl, br)},
		Heights: [3]decimal.Decimal{length(bl, tl), length(middle(bl, br), middle(tl, tr)), length(br, tr)},
		Rising:  length(bl, tr), Falling: length(tl, br),
	}
}

// With one reading of one measure wrong by 20 mm or more, the program names
// the other measure, whichever it is.
func TestTheLikelierReadingIsTheRightOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		right := square(t)
		name := rapid.SampledFrom(opening.ReadingKeys[:8]).Draw(t, "reading")
		by := mm(rapid.Int64Range(20, 60).Draw(t, "by"))
		if rapid.Bool().Draw(t, "less") {
			by = by.Neg()
		}
		was, _ := valueOf(right, name)
		wrong := withValue(right, name, was.Add(by))
		for _, secondIsRight := range []bool{true, false} {
			first, second, want := wrong, right, Second
			if !secondIsRight {
				first, second, want = right, wrong, First
			}
			c := Compare(mm(3), first, second)
			require.Len(t, c.Apart(), 1)
			require.Equal(t, name, c.Apart()[0].Reading)
			require.Equal(t, want, c.Apart()[0].Likelier)
		}
	})
}

// Without diagonals the two fellows of a reading speak, and say how surely.
func TestWithoutDiagonalsTheFellowsSpeak(t *testing.T) {
	c := Compare(mm(3), measured().Plan.Readings(), seconds())
	require.Len(t, c.Apart(), 1)
	require.Equal(t, First, c.Apart()[0].Likelier)
	require.GreaterOrEqual(t, c.Apart()[0].Chance, likelyEnough)
	require.True(t, c.Differences[1].Within, "1202 and 1205 are 3 apart, which is within 3")
}

// A leaning opening is no mistake: W 1200, H 1000, diagonals 1570 and 1554, lean
// |d1² − d2²| / 4W, D. The figure closes, so a diagonal that is
// 30 mm off is the wrong one.
func TestALeanIsNotTakenForAMistake(t *testing.T) {
	right := calc.Readings{
		Widths:  [3]decimal.Decimal{mm(1200), mm(1200), mm(1200)},
		Heights: [3]decimal.Decimal{mm(1000), mm(1000), mm(1000)},
		Rising:  mm(1570), Falling: mm(1554),
	}
	c := Compare(mm(3), withValue(right, "diagonal.rising", mm(1600)), right)
	require.Len(t, c.Apart(), 1)
	require.Equal(t, Second, c.Apart()[0].Likelier)
	require.True(t, c.SecondMisclosure.Abs().LessThan(c.FirstMisclosure.Abs()))
}

// A person who is forgotten leaves the figures behind, and nothing of their own.
func TestForgetTakesAPersonOutOfEveryRecord(t *testing.T) {
	j := must(t)(begun(t, 2).AskCheck(fitter, noon, 1))
	j = must(t)(j.Read(lead, noon, 1, seconds()))
	j = must(t)(j.Settle(lead, noon, 1, "width.top", Mine))
	j = must(t)(j.Sign(lead, noon, 1, version(j)))
	j = must(t)(j.Send(fitter, noon, calc0, 1))
	j = must(t)(j.Query(desk, noon, 1, "ring Dee on 0123"))
	j = must(t)(j.Delete(fitter, noon, 2))
	before := asJSON(t, []any{j.Openings[0].State, j.Openings[0].Version, j.Openings[0].Record(), j.Lines()})

	left := j.Forget(lead.Person).Forget(desk.Person)
	stored := allOf(t, left)
	for _, own := range []string{"Lou Lead", "Dee Desk", "0123", `"12":`, `"13":`} {
		require.NotContains(t, stored, own)
	}
	for _, o := range append(left.Openings, left.Bin[0].Opening) {
		for _, e := range o.Said.Entries {
			require.NotContains(t, []int64{lead.Person, desk.Person}, e.By)
		}
	}
	require.Contains(t, stored, "Fay Fitter")
	require.Equal(t, before, asJSON(t, []any{left.Openings[0].State, left.Openings[0].Version, left.Openings[0].Record(), left.Lines()}))
	require.NotNil(t, left.Openings[0].Signature, "the signature stands as a former member's")
	require.Empty(t, left.Openings[0].Signature.By.Name)
	require.Contains(t, allOf(t, j), "Lou Lead", "the job it was called on stays as it was")
	gone := j.Forget(fitter.Person)
	require.NotContains(t, allOf(t, gone), "Fay Fitter")
	require.Equal(t, fitter.Chat, gone.Owner.Chat)
}
