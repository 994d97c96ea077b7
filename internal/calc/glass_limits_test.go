package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
)

func glassIn(t *testing.T, width, height string, h Hinge, s Settings, panes ...string) (GlassPlan, error) {
	t.Helper()
	plans, err := Glass(size(width, height), Layout{Lights: []Light{{Hinge: h}}}, dxs(panes...), s)
	if err != nil {
		return GlassPlan{}, err
	}
	return plans[0], nil
}

func figureOf(t *testing.T, reasons []Reason, rule, name string) decimal.Decimal {
	t.Helper()
	for _, r := range reasons {
		if r.Rule == rule {
			require.Contains(t, r.Figures, name)
			return r.Figures[name]
		}
	}
	require.Fail(t, "missing reason", "%s in %v", rule, rules(reasons))
	return decimal.Zero
}

// The outer frame of 60 a side leaves nothing of 120. With no rebate the 6 mm
// that glass is smaller (R) leave nothing of 6.
func TestGlassNeedsSomethingToSee(t *testing.T) {
	bare := DefaultSettings()
	bare.EdgeCover = decimal.Zero
	for _, c := range []struct {
		width, height string
		s             Settings
		ok            bool
	}{
		{"120", "1000", DefaultSettings(), false}, {"121", "1000", DefaultSettings(), true},
		{"1000", "120", DefaultSettings(), false}, {"1000", "121", DefaultSettings(), true},
		{"126", "1000", bare, false}, {"127", "1000", bare, true},
		{"1000", "126", bare, false}, {"1000", "127", bare, true},
	} {
		_, err := glassIn(t, c.width, c.height, FixedLight, c.s)
		if c.ok {
			require.NoError(t, err, "%s × %s", c.width, c.height)
			continue
		}
		refusedBy(t, err, ErrTooSmall, "light_too_small")
	}
}

func TestGlassNumbersItsLightsFromOne(t *testing.T) {
	l := Layout{Mullions: dxs("600"), Lights: []Light{{Column: 0, Hinge: FixedLight}, {Column: 1, Hinge: SideLeft}}}
	plans, err := Glass(size("1200", "1000"), l, nil, DefaultSettings())
	require.NoError(t, err)
	for _, rule := range []string{"glass_sight", "glass_size", "glass_mass_unknown", "blocks_brace"} {
		same(t, "2", figureOf(t, plans[1].Reasons, rule, "number"), rule)
	}
	_, err = Glass(size("1200", "1000"), l, dxs("4", "0"), DefaultSettings())
	same(t, "2", refusedBy(t, err, ErrImpossible, "pane_thickness").Figures["number"])
}

// 2.5 kg per m² and mm (R), with 10 % for spacer and seal from two panes (S).
// Filters of 25 and of 16 kg (S), shares of a team (R).
func TestGlassSaysWhoLiftsIt(t *testing.T) {
	s := DefaultSettings()
	s.OuterFace, s.EdgeCover = dx("0"), dx("3") // glass as large as the frame
	for _, c := range []struct {
		each, width, height string
		panes               []string
		mass, rule, limit   string
		team                int
	}{
		{"25", "590", "1080", []string{"12"}, "glass_mass_pane", "lift_one", "", 1}, // 19.2 kg
		{"16", "590", "1080", []string{"12"}, "glass_mass_pane", "lift_team", "21.3", 2},
		{"0", "590", "1080", []string{"12"}, "glass_mass_pane", "lift_one", "", 1}, // zero: the filter
		{"25", "1000", "1000", []string{"6", "6"}, "glass_mass_unit", "lift_team", "33.3", 2},
		{"25", "1100", "1000", []string{"6", "6"}, "glass_mass_unit", "lift_team", "37.5", 3}, // 36.3 kg
		{"25", "1200", "1000", []string{"6", "6"}, "glass_mass_unit", "lift_aid", "37.5", 0},  // 39.6 kg
	} {
		s.LiftEach = dx(c.each)
		p, err := glassIn(t, c.width, c.height, FixedLight, s, c.panes...)
		require.NoError(t, err)
		require.Equal(t, c.team, p.Team, "%v", c)
		require.True(t, hasRule(p.Reasons, c.mass), "%v", c)
		require.True(t, hasRule(p.Reasons, c.rule), "%v", c)
		if c.limit != "" {
			same(t, c.limit, figureOf(t, p.Reasons, c.rule, "limit"))
		}
	}
	p, err := glassIn(t, "590", "1080", FixedLight, s, "4")
	require.NoError(t, err)
	same(t, "0.64", figureOf(t, p.Reasons, "glass_mass_pane", "area")) // 0.6372
	same(t, "0.64", figureOf(t, p.Reasons, "block_length", "area"))
}

func TestTeamLimitIsRoundedDown(t *testing.T) {
	same(t, "25.5", TeamLimit(dxs("25.58")...))
	same(t, "25", TeamLimit(dxs("16.7", "16.7", "16.7")...)) // 25.05
	require.Equal(t, 2, LiftingTeam(dx("25.05"), Settings{LiftEach: dx("25.07")}.TeamLimits()), "one lifts 25.0 by the rounded figure")
}

// Near ends at least 100 mm from the corners of an opening light (R); fixed
// lights at the quarter points (R). What becomes of a short edge is common
// practice.
func TestBlocksOnShortEdges(t *testing.T) {
	s := DefaultSettings()
	at := func(p GlassPlan) (out []string) {
		for _, b := range p.Blocks {
			out = append(out, string(b.Edge)+" "+b.At.String())
		}
		return out
	}
	// A fixed light's glass is 86 less than its frame, an opening one's 236.
	p, err := glassIn(t, "620", "1120", FixedLight, s)
	require.NoError(t, err)
	require.Equal(t, []string{"sill 134", "sill 400"}, at(p), "quarter points of 534, to the millimetre")
	require.False(t, hasRule(p.Reasons, "block_quarter"))
	p, err = glassIn(t, "286", "1000", FixedLight, s)
	require.NoError(t, err)
	require.Equal(t, []string{"sill 50", "sill 150"}, at(p), "200 takes two blocks of 100")
	p, err = glassIn(t, "166", "1000", FixedLight, s)
	require.NoError(t, err)
	require.Equal(t, []string{"sill 40"}, at(p))
	same(t, "80", p.Blocks[0].Length, "cut to the pane")
	same(t, "80", figureOf(t, p.Reasons, "block_short_edge", "length"))

	p, err = glassIn(t, "636", "1000", TopHung, s)
	require.NoError(t, err)
	require.Equal(t, []string{"sill 150", "sill 250"}, at(p))
	require.False(t, hasRule(p.Reasons, "block_quarter"))
	require.True(t, hasRule(p.Reasons, "block_corner"))
	p, err = glassIn(t, "634", "1000", TopHung, s)
	require.NoError(t, err)
	require.Equal(t, []string{"sill 100", "sill 298"}, at(p), "quarter points of 398")
	require.True(t, hasRule(p.Reasons, "block_quarter"))
	require.True(t, hasRule(p.Reasons, "block_slot"), "none keeps clear of a corner")

	p, err = glassIn(t, "536", "1000", SideLeft, s)
	require.NoError(t, err)
	require.Equal(t, []string{"sill 150", "left 150", "head 150", "right 614"}, at(p))
	require.False(t, hasRule(p.Reasons, "block_short_edge"))
	require.True(t, hasRule(p.Reasons, "block_corner"))
	p, err = glassIn(t, "516", "1000", SideLeft, s)
	require.NoError(t, err)
	require.Equal(t, []string{"sill 140", "left 150", "head 140", "right 614"}, at(p))
	require.True(t, hasRule(p.Reasons, "block_corner_rest"), "the upright edges still have the room")
}

func TestSashDropRefusesWhatNoSashHas(t *testing.T) {
	for _, tt := range []struct {
		heelToe, other string
		sash           Size
		inset, rule    string
	}{
		{"-1166", "1166", size("600", "1000"), "0", "sash_readings"},
		{"1166", "-1166", size("600", "1000"), "0", "sash_readings"},
		{"0", "1", size("600", "1000"), "0", "sash_readings"},
		{"1", "0", size("600", "1000"), "0", "sash_readings"},
		{"1300", "1000", size("600", "1000"), "0", "sash_readings"},
		{"1166", "1166", size("1000", "600"), "300", "sash_inset"},
	} {
		_, err := SashDrop(dx(tt.heelToe), dx(tt.other), tt.sash, dx(tt.inset))
		refusedBy(t, err, ErrImpossible, tt.rule)
	}
	// (700² − 500²) / 4 · 1000 = 60, a tenth of the width: the most.
	g, err := SashDrop(dx("500"), dx("700"), size("600", "1000"), dx("0"))
	require.NoError(t, err)
	same(t, "60", g.Drop)
}

// A sash of 600 × 800 has diagonals of 1000 (3, 4, 5). 10 mm off is the most
// that is not doubted: common practice, no source.
func TestSashDropDoubtsReadings(t *testing.T) {
	for both, off := range map[string]string{"1010": "", "1010.16": "10.2", "990": "", "989": "11"} {
		g, err := SashDrop(dx(both), dx(both), size("600", "800"), dx("0"))
		require.NoError(t, err)
		require.Equal(t, off != "", hasRule(g.Reasons, "sash_doubt"), both)
		if off != "" {
			same(t, off, figureOf(t, g.Reasons, "sash_doubt", "off"))
		}
	}
}

// As TestSashDrop (D), with the arms of an inset: 10.41 × 900 / 1000.
func TestSashDropIsSaidWithoutItsSign(t *testing.T) {
	g, err := SashDrop(dx("1554"), dx("1570"), size("1000", "1200"), dx("150"))
	require.NoError(t, err)
	same(t, "9.3", g.StilePacking)
	high, err := SashDrop(dx("1570"), dx("1554"), size("1000", "1200"), dx("150"))
	require.NoError(t, err)
	same(t, "-9.3", high.StilePacking)
	for name, want := range map[string]string{"drop": "10.4", "head": "7.2", "stile": "9.3"} {
		same(t, want, figureOf(t, high.Reasons, "sash_high", name))
	}
}
