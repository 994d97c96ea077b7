package safety

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/calc"
)

// Guarding: AD K K2 diagram 3.1 (R) below 800 mm; drop over 600 mm (M); full
// height upstairs 1100 mm (R); 100 mm sphere (R).
func TestGuarding(t *testing.T) {
	low := func() Facts {
		f := house()
		f.GlassAboveFloor = at(859) // the opening is 60 below the glass: at 799
		f.Panes[0].Clear = size(300, 1100)
		return f
	}
	got := need(t, Findings(low()), "guard", Ask)
	figure(t, got, "height", "799")
	figure(t, got, "below", "800")
	figure(t, got, "drop", "600")
	figure(t, got, "ball", "100")
	require.Equal(t, "ad_k", got.Document)
	require.Equal(t, calc.Practice, got.Mark, "the drop is from memory, where it opens is by the faces")

	f := low()
	f.GlassAboveFloor = at(860)
	need(t, Findings(f), "guard_clear", Clear)

	f = low() // downstairs, the ground 601 below the floor inside
	f.Storey, f.GlassAboveOutside = 0, at(859+601)
	need(t, Findings(f), "guard", Ask)
	f.GlassAboveOutside = at(859 + 600)
	none(t, Findings(f), "guard", "guard_clear")

	f = low() // upstairs onto a flat roof
	f.GlassAboveOutside = at(859)
	none(t, Findings(f), "guard")

	f = low()
	f.Panes[0].Hinge = calc.FixedLight
	none(t, Findings(f), "guard", "guard_clear")

	f = low()
	f.Guarded = true
	none(t, Findings(f), "guard")

	f = low()
	f.Panes[0].Restrictor = mm(100)
	need(t, Findings(f), "guard_held", Advise)
	f.Panes[0].Restrictor = mm(101)
	need(t, Findings(f), "guard_loose", Ask)

	f = low()
	f.GlassAboveFloor = at(150) // the opening begins at 90
	figure(t, need(t, Findings(f), "guard_full", Ask), "guard", "1100")

	f = low()
	f.Nation = Wales
	fs := Findings(f)
	got = need(t, fs, "guard", Ask)
	require.Equal(t, calc.Practice, got.Mark)
	got = need(t, fs, "unverified", Ask)
	require.Equal(t, "nation.wales", got.Words["nation"])
	require.Equal(t, "topic.guarding", got.Words["topic"])
}

// Escape: AD B vol 1 2.10 (R/S) and Scotland 2.9.4 (the same figures): 0.33 m²,
// each side 450 mm, bottom at most 1100 mm above the floor.
func TestEscape(t *testing.T) {
	for _, c := range []struct {
		w, h, glass int64
		ok          bool
		rule, fails string
	}{
		{450, 734, 1000, true, "", ""}, // AD B vol 1 2.10: 0.33 m² with a side of 450, D
		{450, 733, 1000, false, "escape_size", "escape.fails.area"},
		{449, 1200, 1000, false, "escape_size", "escape.fails.width"},
		{1200, 449, 1000, false, "escape_size", "escape.fails.height"},
		{449, 449, 1000, false, "escape_size", "escape.fails.area_sides"},
		{575, 575, 1160, true, "", ""}, // the opening at 1100
		{575, 575, 1161, false, "escape_sill", ""},
		{449, 1200, 1161, false, "escape_size_sill", "escape.fails.width"},
	} {
		f := house()
		f.GlassAboveFloor = at(c.glass)
		f.Panes[0].Clear = size(c.w, c.h)
		for nation, clause := range map[Nation]string{England: "2.10", Scotland: "2.9.4"} {
			f.Nation = nation
			fs := Findings(f)
			f.OldEscape = true
			old := Findings(f)
			f.OldEscape = false
			if c.ok {
				got := need(t, fs, "escape_clear", Clear)
				require.Equal(t, clause, got.Clause)
				require.Equal(t, []int{0}, got.Lights)
				need(t, old, "escape_clear", Clear)
				continue
			}
			severity, then := Ask, "escape.then.check"
			if nation == Scotland { // today's figures, schedule 3 types 20 and 24 (R)
				severity, then = Must, "escape.then.today"
			}
			got := need(t, fs, c.rule, severity)
			figure(t, got, "area", "0.33")
			figure(t, got, "side", "450")
			figure(t, got, "bottom", "1100")
			require.Equal(t, then, got.Words["then"])
			require.Equal(t, c.fails, got.Words["fails"])
			require.Equal(t, "escape.then.old", need(t, old, c.rule, Must).Words["then"])
		}
	}
	quiet := func(change func(*Facts)) {
		f := house()
		change(&f)
		none(t, Findings(f), "escape_clear", "escape_size", "escape_sill", "escape_none", "escape_measure", "escape_high")
		none(t, Findings(f), "escape_top_hung")
	}
	quiet(func(f *Facts) { f.Room = Bathroom })
	quiet(func(f *Facts) { f.Room = Kitchen })
	quiet(func(f *Facts) { f.Storey, f.GlassAboveOutside = 0, at(1200) })

	f := house()
	f.Storey, f.GlassAboveOutside, f.InnerRoom = 0, at(1200), true
	need(t, Findings(f), "escape_clear", Clear)

	f = house() // a floor at 4.5 m is still escaped from, one above is not (R/S)
	f.GlassAboveOutside = at(1000 + 4500)
	need(t, Findings(f), "escape_clear", Clear)
	f.GlassAboveOutside = at(1000 + 4501)
	need(t, Findings(f), "escape_high", Advise)
	f = house()
	f.Storey = 2
	need(t, Findings(f), "escape_high", Advise)

	f = house()
	f.Panes[0].Clear = calc.Size{}
	need(t, Findings(f), "escape_measure", Ask)
	f.Panes[0].Hinge = calc.FixedLight
	f.Panes[0].Clear = size(700, 700)
	f.Panes[0].Hinge = calc.FixedLight
	f.Panes[0].Clear = calc.Size{}
	need(t, Findings(f), "escape_none", Ask)
}

func TestPullsAreSaidTogether(t *testing.T) {
	f := house()
	f.Panes[0].Restrictor = mm(100)
	fs := Findings(f)
	got := need(t, fs, "pull_all", Ask)
	figure(t, got, "gap", "100")
	none(t, fs, "pull_escape_held", "pull_purge_held", "pull_escape_guard")

	f.Panes[0].Releasable = true
	fs = Findings(f)
	need(t, fs, "pull_purge_held", Advise)
	none(t, fs, "pull_all")

	f.Room, f.OldEscape = Kitchen, true
	f.Panes[0].Releasable = false
	need(t, Findings(f), "pull_escape_held", Must)

	f = house() // the only way out is also low: a guard would stand in it
	f.GlassAboveFloor = at(700)
	fs = Findings(f)
	need(t, fs, "pull_escape_guard", Ask)
	none(t, fs, "guard")

	// A second light that is free and high enough takes the pull away.
	other := f.Panes[0]
	other.Light, other.Bottom, other.OpenBottom = 1, mm(120+300), mm(60+300)
	f.Panes = append(f.Panes, other)
	fs = Findings(f)
	none(t, fs, "pull_escape_guard")
	got = need(t, fs, "guard", Ask)
	require.Equal(t, []int{0}, got.Lights)
}

// A guard in the way out is England's figure as well where a nation's own rule
// is not verified.
func TestAGuardInTheWayOutSaysWhoseFigureItIs(t *testing.T) {
	f := house()
	f.Nation, f.GlassAboveFloor = Scotland, at(700)
	fs := Findings(f)
	need(t, fs, "pull_escape_guard", Must)
	require.Equal(t, "topic.guarding", need(t, fs, "unverified", Ask).Words["topic"])
}

// low makes the light of house open at 500 mm and too narrow to climb out of.
func low(f *Facts) { f.GlassAboveFloor, f.Panes[0].Clear = at(560), size(300, 1100) }

func TestWhereAGuardIsAskedFor(t *testing.T) {
	after := func(do func(*Facts)) func(*Facts) { return func(f *Facts) { low(f); do(f) } }
	second := func(f *Facts, bottom int64) *Pane {
		p := f.Panes[0]
		p.Light, p.Bottom, p.OpenBottom = 1, mm(bottom), mm(bottom-60)
		f.Panes = append(f.Panes, p)
		return &f.Panes[1]
	}
	flatRoof := func(f *Facts) { f.GlassAboveOutside = f.GlassAboveFloor }
	sayAll(t, []Topic{Guarding}, []change{
		{"low", low, []string{"guard", "contain"}},
		{"ground floor, outside not measured", after(func(f *Facts) { f.Storey = 0 }), nil},
		{"glass alone", after(func(f *Facts) { f.GlassOnly = true }), nil},
		{"a shop", after(func(f *Facts) { f.NotHouse = true }), []string{"guard", "contain"}},
		{"how it opens is not known", after(func(f *Facts) { f.Panes[0].Hinge = "" }), []string{"contain"}},
		{"fixed below, open above", after(func(f *Facts) { second(f, 900); f.Panes[0].Hinge = calc.FixedLight }), []string{"contain"}},
		{"onto a flat roof, low and high", after(func(f *Facts) { second(f, 900); flatRoof(f) }), nil},
		{"height not measured", after(func(f *Facts) { f.GlassAboveFloor = nil }), nil},
		{"high in Wales", func(f *Facts) { f.Nation = Wales }, nil},
		{"before the first edition, and a way out", func(f *Facts) { f.Date, f.GlassAboveFloor = on("2013-12-31"), at(560) }, []string{"guard_early"}},
		// The full height is for upstairs: diagram 3.1 of AD K 2013 K2 (R). That
		// 100 mm above the floor is no longer full height is common practice.
		{"from the floor", after(func(f *Facts) { f.GlassAboveFloor = dp("159.9") }), []string{"guard_full", "contain"}},
		{"nearly from the floor", after(func(f *Facts) { f.GlassAboveFloor = at(160) }), []string{"guard", "contain"}},
		{"from the floor over a basement", after(func(f *Facts) {
			f.Storey, f.GlassAboveFloor, f.GlassAboveOutside = 0, at(100), at(3000)
		}), []string{"guard", "contain"}},
	})
	f := house()
	low(&f)
	second(&f, 100)
	got := need(t, Findings(f), "guard", Ask)
	require.Equal(t, []int{0, 1}, got.Lights)
	figure(t, got, "height", "500") // the lower of the two

	// An opening whose lower edge is not known begins 100 mm below the glass
	// (common practice), and for escape at the glass.
	for floor, want := range map[int64]string{899: "guard", 900: "guard_clear"} {
		require.Equal(t, []string{want}, said(func(f *Facts) {
			low(f)
			f.Panes[0].OpenBottom, f.GlassAboveFloor = mm(0), at(floor)
		}, Guarding))
	}
	for floor, want := range map[int64]string{1100: "escape_clear", 1101: "escape_sill"} {
		require.Equal(t, []string{want}, said(func(f *Facts) { f.Panes[0].OpenBottom, f.GlassAboveFloor = mm(0), at(floor) }, Escape))
	}
}

func TestWhereAWayOutIsAskedFor(t *testing.T) {
	narrow := func(f *Facts) { f.Panes[0].Clear = size(300, 1100) }
	sayAll(t, []Topic{Escape}, []change{
		{"living room", func(f *Facts) { f.Room = Living }, []string{"escape_clear"}},
		{"kitchen", func(f *Facts) { f.Room = Kitchen }, nil},
		{"hall", func(f *Facts) { f.Room = Hall }, nil},
		{"shop", func(f *Facts) { f.NotHouse = true }, nil},
		{"an old way out on the ground floor", func(f *Facts) {
			f.Storey, f.GlassAboveOutside, f.OldEscape = 0, at(1000), true
		}, []string{"escape_clear"}},
		{"second floor", func(f *Facts) { f.Storey = 2 }, []string{"escape_high"}},
		{"an old way out on the second floor", func(f *Facts) { f.Storey, f.OldEscape = 2, true }, []string{"escape_clear"}},
		{"lights not known", func(f *Facts) { f.Panes = nil }, []string{"escape_measure"}},
		{"bottom hung, not measured", func(f *Facts) { f.Panes[0].Hinge, f.Panes[0].Clear = calc.BottomHung, calc.Size{} }, []string{"escape_none"}},
		{"large enough, height not measured", func(f *Facts) { f.GlassAboveFloor = nil }, []string{"escape_measure"}},
		{"too narrow, height not measured", func(f *Facts) { f.GlassAboveFloor = nil; narrow(f) }, []string{"escape_size"}},
		// AD B vol 1 2.10 (R/S): 0.33 m² and 450 mm are enough.
		{"0.33 m²", func(f *Facts) { f.Panes[0].Clear = size(550, 600) }, []string{"escape_clear"}},
		{"450 mm high", func(f *Facts) { f.Panes[0].Clear = size(800, 450) }, []string{"escape_clear"}},
	})
	// The largest light is named, and the first of two alike.
	for _, c := range []struct {
		one, other calc.Size
		width      string
	}{
		{size(300, 1100), size(440, 1100), "440"}, {size(440, 1100), size(300, 1100), "440"},
		{size(400, 600), size(600, 400), "400"},
	} {
		f := house()
		f.Panes = append(f.Panes, f.Panes[0])
		f.Panes[0].Clear, f.Panes[1].Clear = c.one, c.other
		figure(t, need(t, Findings(f), "escape_size", Ask), "width", c.width)
	}
}

// What a restrictor does to the way out: one that does not let go by hand
// blocks it, unless another light is free; a guard would block it where nothing
// else keeps people in.
func TestRestrictorsAndTheWayOut(t *testing.T) {
	noAiring := func(do func(f *Facts, held *Pane)) func(*Facts) {
		return func(f *Facts) { // without airing
			f.MVHR, f.Panes[0].Restrictor = true, mm(100)
			do(f, &f.Panes[0])
		}
	}
	with := func(f *Facts, other func(*Pane)) {
		p := f.Panes[0]
		p.Light, p.Restrictor = 1, mm(0)
		other(&p)
		f.Panes = append(f.Panes, p)
	}
	blocked, clear := []string{"pull_escape_held"}, []string{"escape_clear"}
	sayAll(t, []Topic{Escape}, []change{
		{"held", noAiring(func(*Facts, *Pane) {}), blocked},
		{"lets go", noAiring(func(_ *Facts, p *Pane) { p.Releasable = true }), clear},
		{"no restrictor", noAiring(func(_ *Facts, p *Pane) { p.Restrictor = mm(0) }), clear},
		{"wider than the sash", noAiring(func(_ *Facts, p *Pane) { p.Restrictor = mm(5000) }), blocked},
		{"wider than the sash, in a bedroom", noAiring(func(f *Facts, p *Pane) { f.MVHR, p.Restrictor = false, mm(5000) }), clear},
		{"no way out anyhow", noAiring(func(_ *Facts, p *Pane) { p.Clear = size(300, 1100) }), []string{"escape_size"}},
		{"too high a sill", noAiring(func(f *Facts, _ *Pane) { f.GlassAboveFloor = at(1200) }), []string{"escape_sill"}},
		{"sill not measured", noAiring(func(f *Facts, _ *Pane) { f.GlassAboveFloor = nil }), []string{"escape_measure"}},
		{"glass alone", noAiring(func(f *Facts, _ *Pane) { f.GlassOnly = true }), nil},
		{"shop", noAiring(func(f *Facts, _ *Pane) { f.NotHouse = true }), nil},
		{"hall", noAiring(func(f *Facts, _ *Pane) { f.Room = Hall }), nil},
		{"too high up", noAiring(func(f *Facts, _ *Pane) { f.Storey = 2 }), []string{"escape_high"}},
		{"too high up, an old way out", noAiring(func(f *Facts, _ *Pane) { f.Storey, f.OldEscape = 2, true }), blocked},
		{"another is free", noAiring(func(f *Facts, _ *Pane) { with(f, func(*Pane) {}) }), clear},
		{"another is free but small", noAiring(func(f *Facts, _ *Pane) {
			with(f, func(p *Pane) { p.Clear = size(300, 1100) })
		}), blocked},
		{"another is held too", noAiring(func(f *Facts, _ *Pane) {
			with(f, func(p *Pane) { p.Restrictor = mm(100) })
		}), blocked},
		{"another is low, its restrictor lets go", noAiring(func(f *Facts, _ *Pane) {
			f.GlassAboveFloor = at(700)
			with(f, func(p *Pane) { p.Restrictor, p.Releasable = mm(100), true })
		}), clear},
		{"another is low and needs a guard", noAiring(func(f *Facts, p *Pane) {
			f.GlassAboveFloor = at(700)
			p.Bottom, p.OpenBottom = mm(420), mm(360)
			with(f, func(p *Pane) { p.Bottom, p.OpenBottom = mm(120), mm(60) })
		}), []string{"pull_escape_held", "pull_escape_guard"}},
		{"low and guarded", noAiring(func(f *Facts, p *Pane) {
			f.GlassAboveFloor, f.Guarded, p.Restrictor = at(700), true, mm(0)
		}), clear},
	})
	// The fall is said beside it.
	require.Equal(t, []string{"contain", "pull_escape_held", "guard_held"},
		said(noAiring(func(f *Facts, _ *Pane) { f.GlassAboveFloor = at(700) }), Escape, Guarding))
	// A fixed light is no place to fall from, whatever its maker's sheet says.
	require.Equal(t, []string{"escape_clear"}, said(func(f *Facts) {
		f.GlassAboveFloor = at(700)
		with(f, func(p *Pane) { p.Hinge = calc.FixedLight })
	}, Escape))
}

// Below 15° a light does not count (AD F vol 1 2021, R/S). An opening 800 wide
// is at 15° with 2 · 800 · sin 7.5° = 208.8 mm at its free edge (elementary
// geometry).
func TestRestrictorsAndAiring(t *testing.T) {
	held := func(do func(*Pane)) func(*Facts) {
		return func(f *Facts) {
			f.Panes[0].Restrictor, f.Panes[0].Releasable = mm(208), true
			do(&f.Panes[0])
		}
	}
	sayAll(t, []Topic{Purge}, []change{
		{"208 mm", held(func(*Pane) {}), []string{"purge_area", "pull_purge_held"}},
		{"209 mm", held(func(p *Pane) { p.Restrictor = mm(209) }), []string{"purge_area"}},
		{"no restrictor", held(func(p *Pane) { p.Restrictor = mm(0) }), nil},
		{"wider than the sash", held(func(p *Pane) { p.Restrictor = mm(5000) }), []string{"purge_area"}},
		{"fixed", held(func(p *Pane) { p.Hinge = calc.FixedLight }), []string{"purge_none"}},
	})
	f := house()
	held(func(*Pane) {})(&f)
	got := need(t, Findings(f), "pull_purge_held", Advise)
	figure(t, got, "needed", "209")
	figure(t, got, "least", "15")
	figure(t, got, "gap", "208")
	require.True(t, got.Figures["angle"].LessThan(mm(15)))
	require.Equal(t, []int{0}, got.Lights)
	f.NotHouse = true
	none(t, Findings(f), "pull_purge_held")
	// Where the angle does not count, nothing pulls.
	f.NotHouse, f.Nation = false, Scotland
	none(t, Findings(f), "pull_purge_held")
	// What pulls only together is said once, and of the way out.
	f = house()
	f.Panes[0].Restrictor = mm(208)
	figure(t, need(t, Findings(f), "pull_all", Ask), "needed", "209")
}

func TestTheGapThatIsAskedForIsEnough(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := house()
		p := &f.Panes[0]
		p.Hinge = rapid.SampledFrom([]calc.Hinge{calc.SideLeft, calc.TopHung}).Draw(t, "hinge")
		p.Opening = size(rapid.Int64Range(300, 1500).Draw(t, "width"), rapid.Int64Range(300, 1500).Draw(t, "height"))
		p.Restrictor, p.Releasable = mm(10), true
		got, ok := find(Findings(f), "pull_purge_held")
		require.True(t, ok)
		p.Restrictor = got.Figures["needed"]
		_, ok = find(Findings(f), "pull_purge_held")
		require.False(t, ok)
	})
}
