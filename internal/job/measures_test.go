package job

import (
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
)

// reading is the readings with some of them others; 0: not taken.
func reading(r calc.Readings, others map[opening.Key]int64) calc.Readings {
	for key, v := range others {
		r = withValue(r, key, mm(v))
	}
	return r
}

// closing are readings of a square opening that close: 1200 by 900, diagonals 1500 by
// Pythagoras.
func closing() calc.Readings {
	return calc.Readings{
		Widths: [3]decimal.Decimal{mm(1200), mm(1200), mm(1200)}, Heights: [3]decimal.Decimal{mm(900), mm(900), mm(900)},
		Rising: mm(1500), Falling: mm(1500),
	}
}

func differenceOf(t *testing.T, c Comparison, key opening.Key) Difference {
	t.Helper()
	for _, d := range c.Differences {
		if d.Reading == key {
			return d
		}
	}
	t.Fatalf("%s is not compared", key)
	return Difference{}
}

// What the measures agree on speaks with its mean, to the tolerance; what they differ in
// does not speak at all.
func TestOnlyWhatIsAgreedSpeaksForAReading(t *testing.T) {
	top := func(measures ...calc.Readings) Difference {
		return differenceOf(t, Compare(mm(3), measures[0], measures[1:]...), "width.top")
	}
	wrong := map[opening.Key]int64{"width.top": 1210}
	same := func(want, got Difference) {
		t.Helper()
		require.NotEmpty(t, want.Likelier)
		require.Equal(t, want.Likelier, got.Likelier)
		require.Equal(t, want.Chance, got.Chance)
	}
	right := reading(closing(), map[opening.Key]int64{"diagonal.falling": 0})
	// The heights left are 40 apart, so that none of them counts.
	apart := top(reading(right, map[opening.Key]int64{"width.top": 1210, "height.left": 940}), right)
	without := map[opening.Key]int64{"height.left": 0}
	same(top(reading(reading(right, wrong), without), reading(right, without)), apart)
	// The heights left are 3 apart, which is within 3.
	mean := map[opening.Key]int64{"height.left": 902}
	near := top(reading(right, map[opening.Key]int64{"width.top": 1210, "height.left": 900}), reading(right, map[opening.Key]int64{"height.left": 903}))
	half := reading(right, mean)
	half.Heights[0] = decimal.RequireFromString("901.5")
	same(top(reading(half, wrong), half), near)
}

// The value that the others speak for is called likelier, those within the tolerance of
// it together; of two near each other the one that closes better.
func TestOfThreeMeasuresTheClosestOneIsLikelier(t *testing.T) {
	likely := func(tolerance int64, tops ...int64) Side {
		var measures []calc.Readings
		for _, v := range tops {
			measures = append(measures, reading(closing(), map[opening.Key]int64{"width.top": v}))
		}
		return differenceOf(t, Compare(mm(tolerance), measures[0], measures[1:]...), "width.top").Likelier
	}
	require.Equal(t, SideOf(2), likely(3, 1208, 1202, 1200))
	require.Equal(t, SideOf(1), likely(3, 1208, 1200, 1202))
	require.Equal(t, SideOf(0), likely(3, 1200, 1208, 1202))
	require.Empty(t, likely(3, 1198, 1202), "both are as near")
	require.NotEmpty(t, likely(4, 1208, 1198, 1202), "4 apart they speak for each other")

	alone := calc.Readings{Widths: [3]decimal.Decimal{mm(1200)}}
	c := Compare(mm(3), alone, reading(alone, map[opening.Key]int64{"width.top": 1230}))
	require.Empty(t, differenceOf(t, c, "width.top").Likelier, "nothing else was measured")
	require.Zero(t, differenceOf(t, c, "width.top").Chance)
	require.Nil(t, c.FirstMisclosure)
}

// How a sill falls no other reading says: five measures of it are no vote.
func TestAFallOfTheSillIsNotLikelier(t *testing.T) {
	falls := func(mmFall int64) calc.Readings { return withValue(closing(), "sill.fall", mm(mmFall)) }
	c := Compare(mm(3), falls(6), falls(-6), falls(-6), falls(-6), falls(-6))
	d := differenceOf(t, c, "sill.fall")
	require.Empty(t, d.Likelier)
	require.Zero(t, d.Chance)

	// A width that is apart leaves the falls as they were read.
	first, second := reading(falls(6), map[opening.Key]int64{"width.top": 1230}), falls(4)
	c = Compare(mm(3), first, second)
	d = differenceOf(t, c, "sill.fall")
	require.Equal(t, []string{"6", "4"}, []string{d.First.String(), d.Second.String()})
	require.Equal(t, "6", first.SillFall.String())
	require.Nil(t, Compare(mm(3), first).SecondMisclosure, "nobody measured again")
}

// A comparison of before there were several leads has two values.
func TestTheValuesOfADifference(t *testing.T) {
	old := Difference{First: mm(1204), Second: mm(1214)}
	at := func(d Difference, place int) string {
		v, ok := d.At(place)
		if !ok {
			require.True(t, v.IsZero())
			return "none"
		}
		return v.String()
	}
	require.Equal(t, []string{"none", "1204", "1214", "none"}, []string{at(old, -1), at(old, 0), at(old, 1), at(old, 2)})
	zero, level := mm(0), Difference{Values: []*decimal.Decimal{nil, nil, nil}}
	level.Values[2] = &zero
	require.Equal(t, []string{"none", "none", "0", "none"}, []string{at(level, 0), at(level, 1), at(level, 2), at(level, 3)})
	for place, side := range map[int]Side{0: First, 1: Second, 2: "lead.2", 11: "lead.11"} {
		require.Equal(t, side, SideOf(place))
		require.Equal(t, place, side.Place())
	}
	require.Equal(t, -1, Side("").Place())
	require.Equal(t, -1, Side("lead.").Place())
}

// What was settled stays so while a measure is within the tolerance of it, or says
// nothing of it, and opens where one speaks against it.
func TestWhatANewMeasureDoesToWhatWasSettled(t *testing.T) {
	apart := must(t)(twoLeads(t).Read(lead, noon, 1, readings(1214)))
	for _, c := range []struct {
		settled, then int64
		want          State
	}{
		{1214, 1211, Agreed}, {1214, 1217, Agreed}, {1214, 1210, Differing}, {1214, 1218, Differing}, {1204, 1214, Differing}, {1204, 1203, Agreed},
	} {
		j := must(t)(apart.SettleAt(fitter, noon, 1, "width.top", mm(c.settled)))
		require.Equal(t, c.want, stateOf(t, must(t)(j.Read(other, noon, 1, readings(c.then))), 1), "%v", c)
	}
	again := must(t)(apart.Settle(fitter, noon, 1, "width.top", Again))
	again = must(t)(again.Read(other, noon, 1, readings(1204)))
	require.Equal(t, Differing, stateOf(t, again, 1))
	c, _ := again.Comparison(fitter.Chat, 1)
	require.NotNil(t, c.Apart()[0].Settled, "it is still to be measured again")
	require.Nil(t, c.Apart()[0].Settled.Value)

	// A lead who takes no diagonals says nothing of one that was settled.
	second := measured().Plan.Readings()
	second.Rising = mm(1578)
	j := must(t)(twoLeads(t).Read(lead, noon, 1, second))
	j = must(t)(j.SettleAt(fitter, noon, 1, "diagonal.rising", mm(1568)))
	none := measured().Plan.Readings()
	none.Rising, none.Falling = decimal.Zero, decimal.Zero
	require.Equal(t, Agreed, stateOf(t, must(t)(j.Read(other, noon, 1, none)), 1))

	// A level sill that its own measurer does not say any more is no longer settled.
	r, fall, level := measured(), mm(6), mm(0)
	r.Plan.SillFall = &fall
	j = must(t)(begun(t, 1).Store(fitter, noon, 1, r))
	j = must(t)(j.AskCheck(fitter, noon))
	second = r.Plan.Readings()
	second.SillFall = &level
	j = must(t)(j.Read(lead, noon, 1, second))
	j = must(t)(j.SettleAt(fitter, noon, 1, "sill.fall", level))
	require.Equal(t, "0", knownOf(j, "sill.fall"))
	second.SillFall = nil
	j = must(t)(j.Read(lead, noon, 1, second))
	require.Equal(t, "6", knownOf(j, "sill.fall"))
}

// Whose value is whose: each reads their own as mine, and the others' each once. Who took
// no reading of it has none.
func TestWhoseFiguresAreMine(t *testing.T) {
	const third = "third-third-third-third-third"
	tim := Who{Chat: 5, Person: 15, Name: "Tim Third", Role: Lead}
	j := must(t)(must(t)(twoLeads(t).Grant(fitter, noon, third, Lead, noon.Add(time.Hour))).Use(tim, noon, third))
	none := readings(1214)
	none.Rising, none.Falling = decimal.Zero, decimal.Zero
	j = must(t)(j.Read(lead, noon, 1, none))
	more := readings(1224)
	more.Rising = mm(1578)
	j = must(t)(j.Read(other, noon, 1, more))
	j = must(t)(j.Look(tim, noon, 1))
	sides := func(who Who, key opening.Key) (string, []string) {
		c, ok := j.Comparison(fitter.Chat, 1)
		require.True(t, ok)
		mine, theirs := j.Sides(1, differenceOf(t, c, key), who)
		var list []string
		for _, v := range theirs {
			list = append(list, v.String())
		}
		if mine == nil {
			return "", list
		}
		return mine.String(), list
	}
	mine, theirs := sides(lead, "width.top")
	require.Equal(t, "1214", mine)
	require.Equal(t, []string{"1204", "1224"}, theirs)
	mine, theirs = sides(lead, "diagonal.rising")
	require.Empty(t, mine)
	require.Equal(t, []string{"1568", "1578"}, theirs)
	mine, theirs = sides(tim, "width.middle")
	require.Empty(t, mine)
	require.Equal(t, []string{"1202"}, theirs, "all three read the same")
	nothing, nobodys := j.Sides(9, Difference{}, lead)
	require.Nil(t, nothing)
	require.Empty(t, nobodys)

	refused(t, "which_figure")(j.Settle(tim, noon, 1, "width.top", Mine))
	refused(t, "which_figure")(j.Settle(lead, noon, 1, "diagonal.rising", Mine))
	refused(t, "which_figure")(j.SettleAt(lead, noon, 1, "diagonal.rising", mm(1500)))
	refused(t, "no_pick")(j.Settle(lead, noon, 1, "width.top", Figure))
	_, e := told(t, ReadingSettled)(j.SettleAt(lead, noon, 1, "diagonal.rising", mm(1578)))
	require.Equal(t, "1578", e.Figures["value"].String())

	for chat, own := range map[int64]int{fitter.Chat: 0, lead.Chat: 1, other.Chat: 2, tim.Chat: -1} {
		c, ok := j.Comparison(chat, 1)
		require.True(t, ok)
		require.Equal(t, own, c.Own, "chat %d", chat)
	}
	o, ok := j.Figures(fitter.Chat, 1)
	require.True(t, ok, "one looked and two measured")
	require.Equal(t, 1, o.ID)
}

// Figures are open to nobody before somebody looked or measured, and a lead who has not
// looked is shown none.
func TestFiguresAreClosedUntilSomebodyLooks(t *testing.T) {
	_, ok := begun(t, 1).Figures(fitter.Chat, 1)
	require.False(t, ok, "no check was asked for")
	_, ok = checking(t).Figures(fitter.Chat, 1)
	require.False(t, ok)
	require.False(t, begun(t, 1).Sees(lead.Chat, 1))
	require.True(t, begun(t, 1).Sees(fitter.Chat, 1))
	one := must(t)(must(t)(twoLeads(t).Look(other, noon, 1)).Read(lead, noon, 1, readings(1204)))
	_, ok = one.Figures(fitter.Chat, 1)
	require.True(t, ok, "one looked and one measured")

	j := twoLeads(t)
	shown, err := j.Shown(lead, noon, 1, version(j))
	require.NoError(t, err)
	require.Equal(t, asJSON(t, entriesOf(j)), asJSON(t, entriesOf(shown)), "nothing was shown to who has not looked")

	// The second lead may still measure what the first one signed; the first has.
	j = must(t)(must(t)(j.Read(lead, noon, 1, readings(1204))).Sign(lead, noon, 1, version(must(t)(j.Read(lead, noon, 1, readings(1204))))))
	_, err = j.ToCheck(other, 1)
	require.NoError(t, err)
	_, err = j.ToCheck(lead, 1)
	require.Equal(t, "read", reasonOf(t, err))

	// No signature under readings that no opening has.
	looked := must(t)(checking(t).Look(lead, noon, 1))
	looked = say(t, looked, value("width.top", "204"))
	refused(t, "readings_impossible")(looked.Sign(lead, noon, 1, version(looked)))
}
