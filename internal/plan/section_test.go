package plan

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/safety"
)

// made is a plan of the sample opening with some of it changed.
func made(t *testing.T, change func(*Opening)) Plan {
	t.Helper()
	o := sample()
	change(&o)
	p, err := Make(o, calc.DefaultSettings())
	require.NoError(t, err)
	return p
}

// rulesOn are the rules of findings on a topic.
func rulesOn(p Plan, topic safety.Topic) []string {
	var rules []string
	for _, f := range p.Findings {
		if f.Topic == topic {
			rules = append(rules, f.Rule)
		}
	}
	return rules
}

// An opening light below 800 mm asks for a guard (AD K K2 diagram 3.1, R). What
// is measured from the floor is where the glass begins to be seen. With a face
// of 60 and a sash face of 75 the opening begins 75 below that, however deep the
// glass goes into the rebate: glass at 858 opens at 783, which the check of the
// shipped rules found cleared (truth-check part 3: 723 and 783).
func TestAGuardIsAskedForWhereTheOpeningReallyBegins(t *testing.T) {
	for glass, want := range map[int64]string{858: "guard", 874: "guard", 875: "guard_clear", 892: "guard_clear"} {
		p := made(t, func(o *Opening) {
			at := mm(glass)
			o.AboveFloor, o.AboveOutside, o.Storey, o.Room = &at, nil, 1, safety.Hall
			o.Layout = calc.Layout{Lights: []calc.Light{{Hinge: calc.SideLeft}}}
		})
		require.Equal(t, []string{want}, rulesOn(p, safety.Guarding), glass)
		for _, f := range p.Findings {
			if f.Rule == "guard_clear" {
				require.Equal(t, calc.Practice, f.Mark, "cleared by face widths that have no source")
			}
		}
		f, err := p.facts(p.Crew.Settings)
		require.NoError(t, err)
		same(t, "60", f.Panes[0].OpenBottom)
		same(t, "135", f.Panes[0].Bottom)
	}
}

// The same over a fixed light: the fixed light's glass begins at the face of 60,
// the light above at 700 and half a transom of 80.
func TestAGuardOverAFixedLight(t *testing.T) {
	for glass, want := range map[int64][]string{119: {"guard", "contain"}, 120: {"contain"}} {
		p := made(t, func(o *Opening) {
			at := mm(glass)
			o.AboveFloor, o.AboveOutside, o.Storey, o.Room = &at, nil, 1, safety.Hall
			o.Layout = calc.Layout{Transoms: []decimal.Decimal{mm(700)}, Lights: []calc.Light{{Hinge: calc.FixedLight}, {Row: 1, Hinge: calc.TopHung}}}
		})
		require.Equal(t, want, rulesOn(p, safety.Guarding), glass)
	}
}

// From the opening's lower edge the section gives the height: the bed, 5 of gap,
// 30 of sill piece and 60 of face make where the light opens, 75 of sash face more
// where its glass is seen. The old window's glass doesn't count then.
func TestTheSectionGivesTheHeightsFromTheBed(t *testing.T) {
	for bed, want := range map[int64]string{704: "guard", 705: "guard_clear"} {
		p := made(t, func(o *Opening) {
			at, old, outside := mm(bed), mm(1200), mm(4000)
			o.BedAboveFloor, o.AboveFloor, o.AboveOutside, o.Storey, o.Room = &at, &old, &outside, 1, safety.Hall
			o.Layout = calc.Layout{Lights: []calc.Light{{Hinge: calc.SideLeft}}}
		})
		require.Equal(t, []string{want}, rulesOn(p, safety.Guarding), bed)
		f, err := p.facts(p.Crew.Settings)
		require.NoError(t, err)
		require.True(t, f.GlassAboveFloor.Equal(mm(bed+170)))
		require.True(t, f.GlassAboveOutside.Equal(mm(4000+bed+170-1200)), "as much higher than the floor as before")
	}
	p := made(t, func(o *Opening) {
		at := mm(705)
		o.BedAboveFloor, o.AboveFloor = &at, nil
	})
	f, err := p.facts(p.Crew.Settings)
	require.NoError(t, err)
	require.True(t, f.GlassAboveFloor.Equal(mm(705+5+30+60)), "the lowest light is fixed")
	require.Equal(t, p.Opening.AboveOutside, f.GlassAboveOutside)
}

// A way out has its bottom at most 1100 mm above the floor (AD B vol 1 2.10, R):
// the frame's inner edge, 75 below the glass that is seen.
func TestAWayOutIsMeasuredToTheFramesInnerEdge(t *testing.T) {
	for glass, want := range map[int64]string{1175: "escape_clear", 1176: "escape_sill"} {
		p := made(t, func(o *Opening) {
			at := mm(glass)
			o.AboveFloor, o.AboveOutside, o.Storey, o.Room = &at, nil, 1, safety.Bedroom
			o.Layout = calc.Layout{Lights: []calc.Light{{Hinge: calc.SideLeft}}}
		})
		require.Equal(t, []string{want}, rulesOn(p, safety.Escape), glass)
	}
}

// What a plan says by itself of its section, and what only its reasons say.
func TestWhatThePlanSaysOfItsSection(t *testing.T) {
	board := func(mm string) *decimal.Decimal { d := decimal.RequireFromString(mm); return &d }
	for name, c := range map[string]struct {
		change func(*Opening)
		told   []string
	}{
		"all well":        {func(o *Opening) { o.SillDepth = mm(150) }, nil},
		"a short sill":    {func(o *Opening) { o.SillDepth = mm(120) }, []string{"sill_short"}},
		"a stub of one":   {func(o *Opening) { o.SillDepth = mm(85) }, []string{"sill_inside"}},
		"a board to cut":  {func(o *Opening) { o.BoardEdge = board("88") }, []string{"board_cut"}},
		"a board behind":  {func(o *Opening) { o.BoardEdge = board("140") }, nil},
		"over the cavity": {func(o *Opening) { c := DefaultCrew(); c.Setback = mm(90); o.Settings = &c; o.SillDepth = mm(220) }, []string{"screw_cavity"}},
	} {
		p := made(t, func(o *Opening) { o.Finish = calc.Bare; c.change(o) })
		said, _ := p.sectionReasons()
		var told []string
		for _, r := range said {
			told = append(told, r.Rule)
		}
		require.Equal(t, c.told, told, name)
		lines := len(p.fixingLines())
		p.Section.Setback, p.Section.Depth, p.Section.SillDepth, p.Opening.BoardEdge = mm(10), mm(70), mm(150), nil
		require.Equal(t, lines-len(c.told), len(p.fixingLines()), "%s: each is a line of the plan", name)
	}
}

// A head on brackets takes no frame screw, so none is sized for it; hollow
// masonry takes none at all, and the file says so.
func TestScrewsOnlyWhereTheyHold(t *testing.T) {
	p := made(t, func(o *Opening) { o.NoHead = true })
	for _, w := range p.Screws {
		require.False(t, w.At(calc.Head))
	}
	p = made(t, func(o *Opening) { o.Masonry = calc.Hollow })
	r := p.Report(english(t))
	require.True(t, r.Fixings.ScrewLength.IsZero())
	for _, s := range r.Fixings.Screws {
		require.True(t, s.Length.IsZero())
		require.Equal(t, "screw_own", s.Why.Rule)
	}
	require.Contains(t, english(t)(p.screwLines()[0]), "Hollow masonry")
	require.Len(t, p.screwLines(), 1, "said once for all sides")
}

func TestTheReportHasTheSection(t *testing.T) {
	edge := mm(88)
	p := made(t, func(o *Opening) { o.Finish, o.SillDepth, o.BoardEdge = calc.Bare, mm(150), &edge })
	r := p.Report(english(t)).Section
	same(t, "40", r.InProfile)
	same(t, "100", r.Back)
	same(t, "50", *r.StandOut)
	same(t, "12", *r.BoardCut)
	same(t, "37.5", r.Edge)
	p = made(t, func(o *Opening) { o.SillDepth = decimal.Zero })
	require.Nil(t, p.Report(english(t)).Section.StandOut)
}
