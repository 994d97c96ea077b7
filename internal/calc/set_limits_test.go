package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
)

// At most 1.6 mm under a level of 600 and 3.2 under one of 1200 (R, a North American
// window maker's dimensions guide); 2 mm per m and 3 over all (R, a PVC-U mounting
// sheet). The tighter decides, and both are named.
func TestLevelAndPlumbHaveTwoLimits(t *testing.T) {
	for _, c := range []struct {
		length, level, gap string
		sheet, guide       bool
	}{
		{"1190", "600", "1.2", true, true}, // 2 mm per m
		{"1190", "600", "1.21", false, true},
		{"1190", "600", "1.6", false, true},
		{"1190", "600", "1.61", false, false},
		{"1200", "1200", "2.4", true, true},
		{"1200", "1200", "3.2", false, true},
		{"1200", "1200", "3.21", false, false},
		{"1500", "1500", "3", true, true}, // 3 over all
		{"1800", "1800", "3", true, true},
		{"1800", "1800", "3.01", false, true},
		{"1800", "1800", "3.2", false, true}, // 3.2 under one that is longer too
		{"1800", "1800", "3.21", false, false},
	} {
		r := mustSet(t, SetRequest{Frame: Size{dec(c.length), mm(990)}, Readings: SetReadings{Sill: gapOf(c.level, c.gap, LeftEndLow)}})
		v := verdictOf(t, r.Now, SetSill)
		require.Equal(t, []bool{c.sheet, c.guide}, []bool{v.Limits[0].Within, v.Limits[1].Within}, c)
		require.Equal(t, c.sheet, v.Within)
		require.Equal(t, "mounting_and_window_guide", v.Reason.Source)
		require.Equal(t, Read, v.Reason.Mark)
		require.Equal(t, c.sheet, r.True)
		require.Equal(t, LeftEndLow, v.To)

		upright := mustSet(t, SetRequest{Frame: Size{mm(990), dec(c.length)}, Readings: SetReadings{RightFace: gapOf(c.level, c.gap, LeansIn)}})
		require.Equal(t, c.sheet, verdictOf(t, upright.Now, SetRightFace).Within)
	}
	// The sheet speaks of PVC-U: for timber it is borrowed.
	r := mustSet(t, SetRequest{Frame: setFrame, Material: Timber, Readings: SetReadings{Sill: gapOf("600", "1", LeftEndLow)}})
	require.Equal(t, Practice, verdictOf(t, r.Now, SetSill).Reason.Mark)
	require.Equal(t, Read, verdictOf(t, r.Now, SetSill).Reason.Own)
}

// The rule of a verdict says whether it is within, and a member that is not out at all
// has no way in which it is.
func TestTheRuleOfAVerdict(t *testing.T) {
	for fall, want := range map[string]string{"0": "set_level_true", "0.01": "set_level_true", "2": "set_level", "2.1": "set_level_off"} {
		r := mustSet(t, SetRequest{Frame: setFrame, Readings: SetReadings{Sill: fallOf(fall, LeftEndLow)}})
		v := verdictOf(t, r.Now, SetSill)
		require.Equal(t, want, v.Reason.Rule)
		require.Equal(t, want == "set_level_true", v.To == "" && v.Reason.Words["to"] == "")
	}
}

// Diagonals within 3 mm in use (R, VMRG quality requirements 4.12); fitted, 3 mm up to
// 1.86 m² and 6 above (R, the dimensions guide).
func TestSetDiagonals(t *testing.T) {
	for _, c := range []struct {
		width, height int64
		apart         string
		within, guide bool
	}{
		{1200, 1550, "3", true, true}, // 1.86 m²
		{1200, 1550, "3.1", false, false},
		{1200, 1551, "3", true, true},
		{1200, 1551, "6", false, true},
		{1200, 1551, "6.1", false, false},
	} {
		r := mustSet(t, SetRequest{Frame: Size{mm(c.width), mm(c.height)}, Readings: SetReadings{Rising: dec("1960").Add(dec(c.apart)), Falling: mm(1960)}})
		v := verdictOf(t, r.Now, SetDiagonals)
		require.Equal(t, c.within, v.Within, c)
		require.Equal(t, c.guide, v.Limits[len(v.Limits)-1].Within, c)
		require.Equal(t, c.within, r.True)
		equalDec(t, c.apart, v.Out)
		require.Equal(t, []string{"set_assumed_level"}, rules(r.Assumed))
	}
}

// Twist: the strings' gap at most 3 mm up to 1.2 m wide or high, 5 above (R, the
// dimensions guide). Where one side alone is longer that can be read in two ways.
func TestSetTwist(t *testing.T) {
	gap := dec("4")
	for _, c := range []struct {
		frame       Size
		tight, wide bool
	}{{Size{mm(1200), mm(1200)}, false, false}, {Size{mm(1201), mm(1200)}, false, true}, {Size{mm(1201), mm(1201)}, true, true}} {
		r := mustSet(t, SetRequest{Frame: c.frame, Readings: SetReadings{Strings: &gap}})
		v := verdictOf(t, r.Now, SetTwist)
		require.Equal(t, c.tight, v.Within)
		require.Equal(t, c.wide, v.Limits[len(v.Limits)-1].Within)
	}
	// 3 mm per m out at the left and in at the right, 1000 high: 3 mm between the strings.
	r := mustSet(t, SetRequest{Frame: Size{mm(1200), mm(1000)}, Readings: SetReadings{LeftFace: fallOf("3", LeansOut), RightFace: fallOf("3", LeansIn)}})
	equalDec(t, "3", r.Now.Stance.Twist)
	equalDec(t, "0", r.Now.Stance.Leans)
	require.True(t, verdictOf(t, r.Now, SetTwist).Within)
}

func TestSetRefuses(t *testing.T) {
	rule := func(err error) string {
		var refused *RefusalError
		require.ErrorAs(t, err, &refused)
		require.ErrorIs(t, err, ErrImpossible)
		return refused.Reason.Rule
	}
	_, err := GapUnder(mm(99), mm(1), LeansIn)
	require.Equal(t, "set_level_length", rule(err))
	_, err = GapUnder(mm(6001), mm(1), LeansIn)
	require.Equal(t, "set_level_length", rule(err))
	_, err = GapUnder(mm(600), dec("30.1"), LeansIn)
	require.Equal(t, "set_tilt_steep", rule(err))
	_, err = GapUnder(mm(600), mm(-1), LeansIn)
	require.Equal(t, "set_tilt_steep", rule(err))
	_, err = BubbleOff(mm(1), mm(-1), LeansIn)
	require.Equal(t, "set_bubble", rule(err))
	_, err = FallPerMetre(mm(51), LeansIn)
	require.Equal(t, "set_tilt_steep", rule(err))

	for name, req := range map[string]SetRequest{
		"frame_size_impossible":    {Frame: Size{mm(199), mm(990)}},
		"set_place":                {Frame: setFrame, Places: []PackerPlace{{Side: Left, At: mm(991)}}},
		"set_which_way":            {Frame: setFrame, Readings: SetReadings{Sill: fallOf("1", LeansIn)}},
		"set_corner_which_way":     {Frame: setFrame, Readings: SetReadings{Corner: &CornerOff{TopRightCorner, mm(3), ""}}},
		"set_tilt_steep":           {Frame: setFrame, Readings: SetReadings{Corner: &CornerOff{TopRightCorner, mm(60), CornerOut}}},
		"set_diagonals_impossible": {Frame: setFrame, Readings: SetReadings{Rising: mm(1550)}},
		"set_strings":              {Frame: setFrame, Readings: SetReadings{Strings: &[]decimal.Decimal{mm(-1)}[0]}},
	} {
		_, err := Set(req)
		require.Equal(t, name, rule(err))
	}
	for _, p := range []PackerPlace{{Side: "north"}, {Side: Sill, At: mm(-1)}, {Side: Sill, Stack: []int{11}}, {Side: Sill, Stack: []int{10, 10, 10, 1}}} {
		_, err := Set(SetRequest{Frame: setFrame, Places: []PackerPlace{p}})
		require.Equal(t, "set_place", rule(err))
	}
}
