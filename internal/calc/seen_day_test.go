package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
)

// What is on its limit is taken, what is beyond it refused: the day's plans.
func TestTheDaysPlansRefuseWhatCannotBe(t *testing.T) {
	taken := func(err error, kind error, rule string) {
		t.Helper()
		if rule == "" {
			require.NoError(t, err)
			return
		}
		refusedBy(t, err, kind, rule)
	}
	o, p := packers(t, plain(1200, 1000, PVCUWhite), Layout{})
	c := SectionOf(o, decimal.Zero, DefaultSettings())
	for _, r := range []struct {
		pilot, beyond string
		m             Masonry
		rule          string
	}{
		{"0", "10", SolidBrick, "drill_settings"}, {"7.5", "10", SolidBrick, "drill_settings"}, {"7.4", "0", SolidBrick, ""},
		{"6", "-1", SolidBrick, "drill_settings"}, {"0", "-1", Hollow, ""},
	} {
		s := DefaultDrillSettings()
		s.Pilot, s.Beyond = map[Masonry]decimal.Decimal{r.m: dec(r.pilot)}, dec(r.beyond)
		_, err := Drill(c, p, r.m, DefaultSettings(), s)
		taken(err, ErrImpossible, r.rule)
	}
	for i, spoil := range []func(*FoamSettings){
		func(s *FoamSettings) { s.Can = mm(0) }, func(s *FoamSettings) { s.Yield = mm(0) }, func(s *FoamSettings) { s.Yield = dec("1.01") },
		func(s *FoamSettings) { s.Waste = mm(-1) }, func(s *FoamSettings) { s.Over = dec("1.01") },
		func(s *FoamSettings) { s.Yield, s.Waste, s.Over = mm(1), mm(0), mm(0) },
	} {
		s := DefaultFoamSettings()
		spoil(&s)
		_, err := PlanFoam(size("1000", "2000"), nil, c, s)
		taken(err, ErrImpossible, map[bool]string{true: "foam_settings"}[i < 5])
	}
	_, err := PlanFoam(Size{}, nil, c, DefaultFoamSettings())
	taken(err, ErrImpossible, "foam_settings")

	edges := [2]decimal.Decimal{mm(90), mm(95)}
	for _, r := range []CutBackRequest{
		{Work: InsideBoard, Edges: [2]decimal.Decimal{mm(90), mm(-1)}}, {Work: InsideBoard, Edges: edges, Wide: mm(-1)},
		{Work: InsidePlaster, Edges: edges, Clear: mm(-1)},
	} {
		_, err := CutBackFor(c, r)
		taken(err, ErrImpossible, "cut_back_readings")
	}
	_, err = CutBackFor(c, CutBackRequest{Work: InsidePlaster})
	taken(err, nil, "")

	for _, r := range []struct {
		pieces      int
		stock, kerf string
		rule        string
	}{
		{1, "0", "0", "cut_stock"}, {1, "5000", "5000", "cut_stock"}, {1, "5000", "4999", ""}, {500, "5000", "3", ""}, {501, "5000", "3", "cut_stock"},
		{1, longestStock.String(), "3", ""}, {1, longestStock.Add(mm(1)).String(), "3", "cut_stock"},
	} {
		pieces := make([]decimal.Decimal, r.pieces)
		for i := range pieces {
			pieces[i] = mm(1)
		}
		_, _, err := CutList(pieces, dec(r.stock), dec(r.kerf))
		taken(err, ErrImpossible, r.rule)
	}

	sash := size("600", "1000")
	for _, r := range []struct {
		by, inset string
		rule      string
	}{
		{"60", "50", ""}, {"60.1", "50", "toe_reading"}, {"0", "50", "toe_reading"}, {"3", "-1", "toe_reading"}, {"3", "0", ""},
		{"3", "299", ""}, {"3", "300", "sash_inset"},
	} {
		_, err := ToeStep(ToeReading{Corner: FreeTop, By: dec(r.by), Drags: true}, SideLeft, sash, dec(r.inset), nil)
		taken(err, ErrImpossible, r.rule)
	}
	_, err = ToeStep(ToeReading{By: mm(3)}, SideLeft, sash, mm(50), nil)
	taken(err, ErrImpossible, "toe_reading")
	_, err = ToeStep(ToeReading{Corner: FreeTop, By: mm(3)}, SideLeft, Size{}, mm(50), nil)
	taken(err, ErrImpossible, "toe_reading")
}

// A joint as narrow as the nozzle takes foam, and a square sash is packed at its head.
func TestTheDaysPlansOnTheirLimits(t *testing.T) {
	c := SectionOf(Order{}, decimal.Zero, DefaultSettings())
	for gap, why := range map[string]string{"4": "", "15": "", "3.9": "foam_narrow", "15.1": "foam_wide"} {
		p, err := PlanFoam(size("1000", "2000"), map[Side]Joint{Head: foamed(t, gap)}, c, DefaultFoamSettings())
		require.NoError(t, err)
		side := p.Sides[0]
		require.Equal(t, why == "", side.Why == nil, gap)
		require.Equal(t, why == "", side.Foam.IsPositive(), gap)
		if side.Why != nil {
			require.Equal(t, why, side.Why.Rule)
			require.Equal(t, "side.head", side.Why.Words["side"])
		}
	}
	square, err := ToeStep(ToeReading{Corner: FreeBottom, By: mm(2), Drags: true}, SideLeft, size("800", "800"), mm(50), nil)
	require.NoError(t, err)
	require.Equal(t, Head, square.Edge)
	even, err := ToeStep(ToeReading{HeelToe: mm(1166), Across: mm(1166)}, SideLeft, size("600", "1000"), mm(50), nil)
	require.NoError(t, err)
	require.True(t, even.Done)
	require.False(t, hasRule(even.Reasons, "toe_made_longer"))

	for _, r := range []struct {
		at   string
		up   bool
		days []string
	}{
		{"5", false, []string{"patch_cold"}}, {"5", true, nil}, {"4.9", true, []string{"patch_cold_rising"}}, {"5.1", false, nil},
		{"30", false, nil}, {"30.1", false, []string{"patch_hot"}},
	} {
		require.ElementsMatch(t, r.days, rules(RenderWeather(RenderDay{Temperature: dec(r.at), Rising: r.up})), "%v", r)
	}
	for _, side := range []Side{Head, Sill, Left, Right} {
		b, err := CutBackFor(c, CutBackRequest{Work: InsidePlaster, Side: side, Edges: [2]decimal.Decimal{mm(1), mm(2)}})
		require.NoError(t, err)
		require.Equal(t, side.dimension() == Width, hasRule(b.Reasons, "cut_back_askew_up"), side)
	}
}

// The packing before is held against what it did: less than half of what was out, or the
// wrong way by more than half a millimetre.
func TestThePackingBeforeIsHeldAgainstWhatItDid(t *testing.T) {
	sash := size("600", "1000")
	before := ToeAdvice{Sag: Sag{Drop: mm(4)}, Pack: 6}
	for drags, want := range map[string]string{"4.6": "toe_worse", "4.5": "toe_no_hold", "2.1": "toe_no_hold", "2": ""} {
		a, err := ToeStep(ToeReading{Corner: FreeBottom, By: dec(drags), Drags: true}, SideLeft, sash, mm(50), &before)
		require.NoError(t, err)
		for _, rule := range []string{"toe_worse", "toe_no_hold"} {
			require.Equal(t, rule == want, hasRule(a.Reasons, rule), "%s %s", drags, rule)
		}
	}
	none := before
	none.Pack = 0
	a, err := ToeStep(ToeReading{Corner: FreeBottom, By: mm(5), Drags: true}, SideLeft, sash, mm(50), &none)
	require.NoError(t, err)
	require.False(t, hasRule(a.Reasons, "toe_worse"), "nothing was packed")
}

// A clearance is taken from 2 mm, the thinnest packer either side; under 4 it is tight and
// over 10 loose (C). A hinge carries its rating and no more.
func TestStacksAndHingesOnTheirLimits(t *testing.T) {
	g := GlassPlan{Blocks: []Block{{Role: Heel, Edge: Sill}}}
	for clear, want := range map[string]string{"2": "stack_tight", "3.9": "stack_tight", "4": "", "10": "", "10.1": "stack_loose"} {
		s, err := StackBlocks(g, Size{mm(600).Add(dec(clear)), mm(800).Add(dec(clear))}, size("600", "800"))
		require.NoError(t, err)
		require.Equal(t, want != "", len(s.Warnings) == 1, clear)
		if want != "" {
			require.Equal(t, want, s.Warnings[0].Rule)
		}
	}
	_, err := StackBlocks(g, size("601.9", "810"), size("600", "800"))
	refusedBy(t, err, ErrTooSmall, "stack_no_room")
	_, err = StackBlocks(g, size("610", "1000"), size("600", "800"))
	require.NoError(t, err)
	for _, bad := range [][2]Size{{size("610", "1000.1"), size("600", "800")}, {{}, size("600", "800")}, {size("610", "810"), {}}} {
		_, err = StackBlocks(g, bad[0], bad[1])
		refusedBy(t, err, ErrImpossible, "stack_sizes")
	}
	carries := mm(30).Mul(hingeFactor).RoundUp(1)
	for rated, want := range map[string]bool{carries.String(): true, carries.Sub(dec("0.1")).String(): false} {
		why, ok, err := HingeReason(mm(30), dec(rated), Practice)
		require.NoError(t, err)
		require.Equal(t, want, ok)
		require.Equal(t, map[bool]string{true: "hinge_enough", false: "hinge_over"}[want], why.Rule)
	}
	for _, masses := range [][2]decimal.Decimal{{mm(0), mm(80)}, {mm(30), mm(0)}} {
		_, _, err := HingeReason(masses[0], masses[1], Practice)
		refusedBy(t, err, ErrImpossible, "hinge_masses")
	}
}

// Settings of patches, sill pieces and trims are taken up to their limits.
func TestTheStoresSettingsOnTheirLimits(t *testing.T) {
	for i, spoil := range []func(*PatchRequest){
		func(r *PatchRequest) { r.Length = mm(0) }, func(r *PatchRequest) { r.Width = mm(-1) }, func(r *PatchRequest) { r.Depth = mm(0) },
		func(r *PatchRequest) { r.Depth = dec("2.9") }, func(r *PatchRequest) { r.Depth = dec("100.1") }, func(r *PatchRequest) { r.Wall = "wet" },
		func(r *PatchRequest) { r.Settings.Bucket = mm(0) }, func(r *PatchRequest) { r.Settings.LimeSand = mm(0) },
		func(r *PatchRequest) { r.Settings.LimeMost = dec("9.9") }, func(r *PatchRequest) { r.Settings.LimeMost = dec("15.1") },
		func(r *PatchRequest) { r.Settings.LimeDays = mm(-1) }, func(r *PatchRequest) { r.Settings.Waste = dec("1.1") },
		func(r *PatchRequest) { r.Settings.Waste = mm(-1) },
		func(r *PatchRequest) { r.Depth = mm(3) }, func(r *PatchRequest) { r.Depth = mm(100) }, func(r *PatchRequest) { r.Wall = "" },
		func(r *PatchRequest) {
			r.Settings.LimeMost, r.Settings.LimeDays, r.Settings.Waste = mm(10), mm(0), mm(0)
		},
		func(r *PatchRequest) { r.Settings.LimeMost, r.Settings.Waste = mm(15), mm(1) },
	} {
		r := patchOf("300", "200", "22")
		spoil(&r)
		_, err := PlanPatch(r)
		require.Equal(t, i >= 13, err == nil, "%d: %v", i, err)
	}

	o, c := withSill(t)
	for i, spoil := range []func(*SillPieceSettings){
		func(s *SillPieceSettings) { s.EndGap = mm(-1) }, func(s *SillPieceSettings) { s.Cap = mm(-1) }, func(s *SillPieceSettings) { s.Kerf = mm(-1) },
		func(s *SillPieceSettings) { s.FallPer100 = mm(-1) }, func(s *SillPieceSettings) { s.FallPer100 = dec("50.1") },
		func(s *SillPieceSettings) { s.Degrees = mm(-1) }, func(s *SillPieceSettings) { s.Degrees = dec("30.1") },
		func(s *SillPieceSettings) { s.FallPer100 = mm(50) },
		func(s *SillPieceSettings) { s.Degrees = mm(30) }, func(s *SillPieceSettings) { s.Degrees, s.Cap, s.Kerf = mm(0), mm(0), mm(0) },
	} {
		s := DefaultSillPieceSettings()
		spoil(&s)
		p, err := PlanSillPiece(o, c, decimal.Zero, s)
		if i < 7 {
			refusedBy(t, err, ErrImpossible, "sill_piece_settings")
			continue
		}
		require.NoError(t, err, i)
		require.Equal(t, i < 9, hasRule(p.Reasons, "sill_piece_fall"), "a level top does not fall")
	}
	_, err := PlanSillPiece(o, c, mm(-1), DefaultSillPieceSettings())
	refusedBy(t, err, ErrImpossible, "sill_piece_settings")
	// A cap either end leaves nothing to saw of a piece as short as both.
	s := DefaultSillPieceSettings()
	s.Cap = o.Size.Width.Mul(oneHalf)
	_, err = PlanSillPiece(o, c, decimal.Zero, s)
	refusedBy(t, err, ErrTooSmall, "sill_piece_short")

	trims := DefaultTrimSettings()
	trims.Kerf = mm(-1)
	_, err = GapTrim(o, Head, trims)
	refusedBy(t, err, ErrImpossible, "trim_settings")
	trims.Kerf, trims.Lap = mm(0), mm(0)
	_, err = GapTrim(o, Head, trims)
	refusedBy(t, err, ErrImpossible, "trim_settings")
	trims.Lap = mm(1)
	p, err := GapTrim(o, Head, trims)
	require.NoError(t, err)
	require.False(t, p.Needed)
	require.True(t, p.Extension.IsZero(), "a gap that is right needs no extension")
	require.Equal(t, []string{"trim_none"}, rules(p.Reasons))
}
