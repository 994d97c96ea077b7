package safety

import (
	"slices"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/calc"
)

func dec(s string) decimal.Decimal { return decimal.RequireFromString(s) }

func at(n int64) *decimal.Decimal {
	d := mm(n)
	return &d
}

func on(day string) time.Time {
	t, err := time.Parse(time.DateOnly, day)
	if err != nil {
		panic(err)
	}
	return t
}

func size(w, h int64) calc.Size { return calc.Size{Width: mm(w), Height: mm(h)} }

// house is a bedroom window upstairs in England with one wide side hung light
// that nothing is wrong with.
func house() Facts {
	return Facts{
		Nation: England, Date: on("2026-11-25"), Room: Bedroom, Storey: 1,
		GlassAboveFloor: at(1000),
		Panes: []Pane{{
			Light: 0, Size: size(700, 1000), Bottom: mm(120), Hinge: calc.SideLeft,
			Opening: size(800, 1100), OpenBottom: mm(60), Clear: size(710, 1100),
		}},
	}
}

func find(fs []Finding, rule string) (Finding, bool) {
	i := slices.IndexFunc(fs, func(f Finding) bool { return f.Rule == rule })
	if i < 0 {
		return Finding{}, false
	}
	return fs[i], true
}

func need(t *testing.T, fs []Finding, rule string, w Severity) Finding {
	t.Helper()
	f, ok := find(fs, rule)
	require.True(t, ok, "no %s among %v", rule, rules(fs))
	require.Equal(t, w, f.Severity, rule)
	return f
}

func none(t *testing.T, fs []Finding, names ...string) {
	t.Helper()
	for _, name := range names {
		_, ok := find(fs, name)
		require.False(t, ok, "%s among %v", name, rules(fs))
	}
}

func rules(fs []Finding) []string {
	var out []string
	for _, f := range fs {
		out = append(out, f.Rule)
	}
	return out
}

func figure(t *testing.T, f Finding, name, want string) {
	t.Helper()
	require.True(t, f.Figures[name].Equal(dec(want)), "%s: %s is %s, not %s", f.Rule, name, f.Figures[name], want)
}

func TestAQuietWindow(t *testing.T) {
	fs := Findings(house())
	for _, f := range fs {
		require.NotEqual(t, Stop, f.Severity)
		if f.Severity == Must {
			require.Contains(t, []string{"heat", "vents_new"}, f.Rule)
		}
	}
	for _, rule := range []string{"glass_clear", "guard_clear", "escape_clear"} {
		need(t, fs, rule, Clear)
	}
}

// The zones are AD K 2013 K4 section 5 as others quote it (S): a window
// below 800 mm. That both datums count is from memory, the cautious reading.
func TestWindowZone(t *testing.T) {
	for _, c := range []struct {
		name           string
		storey         int
		floor, outside *decimal.Decimal
		rule           string // "" for clear
		datum          string
		mark           calc.Mark
		lowest         string
	}{
		{"just above", 0, at(800), at(1100), "", "", "", ""},
		{"just below the floor's line", 0, dp("799.9"), at(1100), "glass_window", "datum.floor", calc.Quoted, "799.9"},
		{"only from outside", 0, at(900), at(700), "glass_window", "datum.outside", calc.FromMemory, "700"},
		{"from both, lower outside", 0, at(700), at(600), "glass_window", "datum.outside", calc.Quoted, "600"},
		{"upstairs nobody stands outside", 1, at(800), nil, "", "", "", ""},
		{"from the floor up", 1, at(0), nil, "glass_window", "datum.floor", calc.Quoted, "0"},
	} {
		f := house()
		f.Storey, f.GlassAboveFloor, f.GlassAboveOutside = c.storey, c.floor, c.outside
		fs := Findings(f)
		if c.rule == "" {
			need(t, fs, "glass_clear", Clear)
			none(t, fs, "glass_window")
			continue
		}
		got := need(t, fs, c.rule, Must)
		require.Equal(t, []int{0}, got.Lights, c.name)
		require.Equal(t, c.datum, got.Words["datum"], c.name)
		require.Equal(t, c.mark, got.Mark, c.name)
		require.Equal(t, "ad_k", got.Document)
		require.Equal(t, "2013", got.Edition)
		figure(t, got, "height", c.lowest)
		figure(t, got, "zone", "800")
		figure(t, got, "class", "3") // BS EN 12600 class 3: AD K 2013 para 5.4 (R)
		none(t, fs, "glass_clear")
	}
}

func dp(s string) *decimal.Decimal {
	d := dec(s)
	return &d
}

// Each nation has its own document for the same zones (S/M, taken as M).
func TestGlassDocuments(t *testing.T) {
	for nation, want := range map[Nation]struct {
		document, clause string
		mark             calc.Mark
	}{
		England:  {"ad_k", "K4 section 5", calc.Quoted},
		Wales:    {"ad_n_wales", "", calc.FromMemory},
		Scotland: {"technical_handbook", "4.8", calc.FromMemory},
		NI:       {"booklet_v", "", calc.FromMemory},
	} {
		f := house()
		f.Nation, f.GlassAboveFloor = nation, at(500)
		got := need(t, Findings(f), "glass_window", Must)
		require.Equal(t, want.document, got.Document)
		require.Equal(t, want.clause, got.Clause)
		require.Equal(t, want.mark, got.Mark)
	}
}

func TestEachPaneHasItsOwnLowerEdge(t *testing.T) {
	f := house()
	f.GlassAboveFloor = at(400)
	top := Pane{Light: 1, Size: size(700, 300), Bottom: mm(600), Hinge: calc.TopHung}
	f.Panes = append(f.Panes, top)
	// The upper pane is 600 − 120 above the lowest glass: at 880.
	got := need(t, Findings(f), "glass_window", Must)
	require.Equal(t, []int{0}, got.Lights)
	f.Panes[1].Bottom = mm(519) // at 799
	got = need(t, Findings(f), "glass_window", Must)
	require.Equal(t, []int{0, 1}, got.Lights)
	figure(t, got, "height", "400")
}

// Doors and side panels: below 1500 mm, within 300 mm of the door (S); class 2
// where the pane is over 900 wide (AD K 2013 para 5.4, R).
func TestDoorZone(t *testing.T) {
	for _, c := range []struct {
		width, floor int64
		rule, class  string
	}{
		{900, 1499, "glass_beside_door", "3"},
		{901, 1499, "glass_beside_door", "2"},
		{700, 1500, "", ""},
		{700, 100, "glass_beside_door", "3"},
	} {
		f := house()
		f.Storey, f.BesideDoor = 0, true
		f.GlassAboveFloor, f.GlassAboveOutside = at(c.floor), at(2000)
		f.Panes[0].Size.Width = mm(c.width)
		fs := Findings(f)
		if c.rule == "" {
			none(t, fs, "glass_beside_door", "glass_window")
			continue
		}
		got := need(t, fs, c.rule, Must)
		figure(t, got, "class", c.class)
		figure(t, got, "zone", "1500")
		figure(t, got, "reach", "300")
		f.BesideDoor, f.Door = false, true
		figure(t, need(t, Findings(f), "glass_door", Must), "class", c.class)
	}
	// A wide pane in a window that stands by itself is class 3.
	f := house()
	f.GlassAboveFloor = at(100)
	f.Panes[0].Size.Width = mm(1500)
	figure(t, need(t, Findings(f), "glass_window", Must), "class", "3")
}

// Small panes: 250 mm and 0.5 m² at most, 6 mm glass, 4 mm in lead (S).
func TestSmallPanesAreNeverClearedSilently(t *testing.T) {
	for _, c := range []struct {
		w, h     int64
		thick    string
		leaded   bool
		rule     string
		severity Severity
	}{
		{250, 2000, "6", false, "glass_small", Advise},
		{2000, 250, "6.4", false, "glass_small", Advise},
		{250, 2001, "6", false, "glass_window", Must},
		{251, 300, "6", false, "glass_window", Must},
		{250, 300, "4", false, "glass_small_thin", Must},
		{250, 300, "0", false, "glass_small_thin", Must},
		{250, 300, "4", true, "glass_small", Advise},
		{250, 300, "3", true, "glass_small_thin", Must},
	} {
		f := house()
		f.GlassAboveFloor = at(300)
		f.Panes[0].Size, f.Thickness, f.Leaded = size(c.w, c.h), dec(c.thick), c.leaded
		fs := Findings(f)
		got := need(t, fs, c.rule, c.severity)
		require.Equal(t, []int{0}, got.Lights)
		none(t, fs, "glass_clear")
	}
}

// Glass alone into the old frame is not building work: AD K 2013 0.2 (R).
func TestGlassAlone(t *testing.T) {
	f := house()
	f.GlassAboveFloor, f.GlassOnly = at(300), true
	fs := Findings(f)
	got := need(t, fs, "glass_only", Advise)
	require.Equal(t, "0.2", got.Clause)
	none(t, fs, "glass_window", "heat", "vents_new", "escape_clear", "paper_notify", "caution_silica")
	need(t, fs, "glass_only_rest", Ask)
}

// BS 6262-4:2005 as quoted: within 800 mm of the base of a bath or shower.
func TestBath(t *testing.T) {
	f := house()
	f.Room, f.NearBath = Bathroom, true
	got := need(t, Findings(f), "glass_bath", Must)
	require.Equal(t, "bs_6262_4", got.Document)
	require.Equal(t, "2005", got.Edition)
	require.Equal(t, calc.Quoted, got.Mark)
	figure(t, got, "reach", "800")
}

// Diagram 5.2 of AD K 2013 (R).
func TestAnnealedDiagram(t *testing.T) {
	for _, c := range []struct {
		thickness string
		size      calc.Size
		ok        bool
	}{
		{"6", size(500, 500), false},
		{"8", size(1100, 1100), true}, {"8", size(1101, 1100), false}, {"7.9", size(500, 500), false},
		{"10", size(2250, 2250), true}, {"10", size(2250, 2251), false},
		{"12", size(3000, 4500), true}, {"12", size(4500, 3000), true}, {"12", size(3001, 4500), false},
		{"15", size(9000, 9000), true},
		{"15", calc.Size{}, false},
	} {
		require.Equal(t, c.ok, zones2013.takes(dec(c.thickness), c.size), "%s mm %v", c.thickness, c.size)
	}
}

func TestAnnealedDiagramIsForShopFrontsOnly(t *testing.T) {
	f := house()
	f.GlassAboveFloor, f.Thickness = at(100), dec("15")
	need(t, Findings(f), "glass_window", Must)
	f.NotHouse = true
	fs := Findings(f)
	got := need(t, fs, "glass_annealed", Advise)
	require.Contains(t, got.Clause, "5.5")
	none(t, fs, "glass_window")
	f.Thickness = dec("6")
	need(t, Findings(f), "glass_window", Must)
}

func TestUnknownHeightsAreAskedFor(t *testing.T) {
	f := house()
	f.GlassAboveFloor = nil
	fs := Findings(f)
	need(t, fs, "height_floor", Ask)
	none(t, fs, "glass_clear", "guard_clear", "escape_clear", "height_outside")
	need(t, fs, "escape_measure", Ask)

	f = house()
	f.Storey = 0
	fs = Findings(f)
	need(t, fs, "height_outside", Ask)
	none(t, fs, "glass_clear", "height_floor")

	f = Facts{}
	fs = Findings(f)
	need(t, fs, "nation", Ask)
	need(t, fs, "date", Ask)
}

func TestAWindowOfUnknownLights(t *testing.T) {
	f := house()
	f.Panes, f.GlassAboveFloor = nil, at(500)
	got := need(t, Findings(f), "glass_window", Must)
	require.Empty(t, got.Lights, "the whole window")
}

// Guarding: AD K K2 diagram 3.1 (R) below 800 mm; drop over 600 mm (M); full
// height upstairs 1100 mm (R); 100 mm sphere (R).
func TestGuarding(t *testing.T) {
	low := func() Facts {
		f := house()
		f.GlassAboveFloor = at(859) // the opening is 60 below the glass: at 799
		f.Panes[0].Clear = size(300, 1100)
		return f
	}
	got := need(t, Findings(low()), "guard", Must)
	figure(t, got, "height", "799")
	figure(t, got, "below", "800")
	figure(t, got, "drop", "600")
	figure(t, got, "ball", "100")
	require.Equal(t, "ad_k", got.Document)
	require.Equal(t, calc.FromMemory, got.Mark, "the drop is from memory")

	f := low()
	f.GlassAboveFloor = at(860)
	need(t, Findings(f), "guard_clear", Clear)

	f = low() // downstairs, the ground 601 below the floor inside
	f.Storey, f.GlassAboveOutside = 0, at(859+601)
	need(t, Findings(f), "guard", Must)
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
	need(t, Findings(f), "guard_loose", Must)

	f = low()
	f.GlassAboveFloor = at(150) // the opening begins at 90
	figure(t, need(t, Findings(f), "guard_full", Must), "guard", "1100")

	f = low()
	f.Nation = Wales
	fs := Findings(f)
	got = need(t, fs, "guard", Must)
	require.Equal(t, calc.FromMemory, got.Mark)
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
	}{
		{450, 734, 1000, true}, // AD B vol 1 2.10: 0.33 m² with a side of 450, D
		{450, 733, 1000, false},
		{449, 1200, 1000, false},
		{1200, 449, 1000, false},
		{575, 575, 1160, true}, // the opening at 1100
		{575, 575, 1161, false},
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
			got := need(t, fs, "escape_small", Ask)
			figure(t, got, "area", "0.33")
			figure(t, got, "side", "450")
			figure(t, got, "bottom", "1100")
			need(t, old, "escape_less", Must)
		}
	}
	quiet := func(change func(*Facts)) {
		f := house()
		change(&f)
		none(t, Findings(f), "escape_clear", "escape_small", "escape_measure", "escape_less")
	}
	quiet(func(f *Facts) { f.Room = Bathroom })
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
	need(t, Findings(f), "escape_small", Ask)
}

func TestPullsAreSaidTogether(t *testing.T) {
	f := house()
	f.Panes[0].Restrictor = mm(100)
	fs := Findings(f)
	got := need(t, fs, "pull_all", Must)
	figure(t, got, "gap", "100")
	none(t, fs, "pull_escape_held", "pull_purge_held", "pull_escape_guard")

	f.Panes[0].Releasable = true
	fs = Findings(f)
	need(t, fs, "pull_purge_held", Advise)
	none(t, fs, "pull_all")

	f.Room = Kitchen
	f.Panes[0].Releasable = false
	need(t, Findings(f), "pull_escape_held", Must)

	f = house() // the only way out is also low: a guard would stand in it
	f.GlassAboveFloor = at(700)
	fs = Findings(f)
	need(t, fs, "pull_escape_guard", Must)
	none(t, fs, "guard")

	// A second light that is free and high enough takes the pull away.
	other := f.Panes[0]
	other.Light, other.Bottom, other.OpenBottom = 1, mm(120+300), mm(60+300)
	f.Panes = append(f.Panes, other)
	fs = Findings(f)
	none(t, fs, "pull_escape_guard")
	got = need(t, fs, "guard", Must)
	require.Equal(t, []int{0}, got.Lights)
}

// AD F vol 1 2021 3.14 and 3.15 (R): equivalent area per room.
func TestVents(t *testing.T) {
	for _, c := range []struct {
		room Room
		area string
	}{{Living, "8000"}, {Bedroom, "8000"}, {Kitchen, "8000"}, {Bathroom, "4000"}} {
		f := house()
		f.Room = c.room
		got := need(t, Findings(f), "vents_new", Must)
		figure(t, got, "area", c.area)
		require.Equal(t, "room."+string(c.room), got.Words["room"])
		require.Equal(t, "ad_f_1", got.Document)
		require.Equal(t, "3.15", got.Clause)
		require.Equal(t, "2021", got.Edition)
		require.Equal(t, calc.Read, got.Mark)
		f.NewVentArea = dec(c.area)
		need(t, Findings(f), "vents_clear", Clear)
		f.NewVentArea = dec(c.area).Sub(dec("1"))
		figure(t, need(t, Findings(f), "vents_short", Must), "short", "1")
		f.MVHR = true
		fs := Findings(f)
		need(t, fs, "vents_mvhr", Clear)
		none(t, fs, "vents_short", "vents_new")
	}
	f := house()
	f.OldVents = true
	got := need(t, Findings(f), "vents_keep_unknown", Must)
	require.Equal(t, "3.14", got.Clause)
	need(t, Findings(f), "caution_flue", Advise)
	f.OldVentArea = dec("2500")
	figure(t, need(t, Findings(f), "vents_keep", Must), "area", "2500")
	f.NewVentArea = dec("2500")
	need(t, Findings(f), "vents_clear", Clear)
	f.OpenFlue = true
	fs := Findings(f)
	require.Equal(t, "open_flue", fs[0].Rule, "what stops the work comes first")
	none(t, fs, "caution_flue")

	f = house()
	f.Room = Hall
	none(t, Findings(f), "vents_new", "vents_keep")
	for _, nation := range []Nation{Wales, Scotland, NI} {
		f = house()
		f.Nation = nation
		fs := Findings(f)
		none(t, fs, "vents_new", "vents_keep", "vents_mvhr")
		need(t, fs, "vents_unverified", Ask)
	}
}

// Purging: 1/20 of the floor at 30° or more, 1/10 at 15° to 30°, below not
// counted (AD F vol 1 2021, R/S); Scotland 1/30 (S).
func TestPurge(t *testing.T) {
	for _, c := range []struct {
		nation         Nation
		degrees, floor string
		ok             bool
	}{
		// The opening is 800 × 1100 = 0.88 m².
		{England, "30", "17.6", true}, {England, "30", "17.7", false},
		{England, "29.9", "8.8", true}, {England, "29.9", "8.9", false},
		{England, "15", "8.8", true}, {England, "14.9", "1", false},
		{Scotland, "10", "26.4", true}, {Scotland, "10", "26.5", false},
	} {
		f := house()
		f.Nation, f.FloorArea = c.nation, dec(c.floor)
		f.Panes[0].Degrees = dec(c.degrees)
		fs := Findings(f)
		if c.ok {
			need(t, fs, "purge_clear", Clear)
			none(t, fs, "purge_small")
		} else {
			need(t, fs, "purge_small", Advise)
			none(t, fs, "purge_clear")
		}
	}
	// How far a light opens is never guessed in the favourable direction: what
	// is enough only at 30° is asked about, and marked as from memory.
	f := house()
	f.FloorArea, f.Panes[0].Degrees = dec("17.6"), dec("0")
	fs := Findings(f)
	none(t, fs, "purge_clear", "purge_small")
	need(t, fs, "purge_angle", Ask)
	require.Equal(t, calc.FromMemory, fs[slices.IndexFunc(fs, func(x Finding) bool { return x.Rule == "purge_angle" })].Mark)
	f.Nation = Scotland
	need(t, Findings(f), "purge_clear", Clear) // where the angle does not count
	for _, nation := range []Nation{Wales, NI} {
		f.Nation = nation
		need(t, Findings(f), "purge_unverified", Ask)
	}
	f = house()
	f.Panes[0].Hinge = calc.FixedLight
	need(t, Findings(f), "purge_none", Advise)
	f = house()
	f.Panes[0].Restrictor, f.FloorArea = mm(100), dec("10")
	fs = Findings(f)
	none(t, fs, "purge_clear", "purge_small")
	need(t, fs, "pull_all", Must)
}

// Heat by nation and day: AD L vol 1 2021 from 2022-06-15 (S), Wales 2022 (S),
// Scotland from 2023 (weak S), NI not verified; AD L 2026 from 2027-03-24 (S).
func TestHeatByNationAndDate(t *testing.T) {
	for _, c := range []struct {
		nation   Nation
		day      string
		rule     string
		severity Severity
		document string
	}{
		{England, "2022-06-14", "heat_early", Ask, ""},
		{England, "2022-06-15", "heat", Must, "ad_l_1"},
		{England, "2027-03-23", "heat", Must, "ad_l_1"},
		{England, "2027-03-24", "edition_ended", Stop, "ad_l_1"},
		{Wales, "2022-12-31", "heat_early", Ask, ""},
		{Wales, "2026-01-01", "heat", Must, "ad_l_wales"},
		{Wales, "2027-03-24", "heat", Must, "ad_l_wales"},
		{Scotland, "2023-12-31", "heat_early", Ask, ""},
		{Scotland, "2026-01-01", "heat", Must, "technical_handbook"},
		{NI, "2026-01-01", "heat_unverified", Ask, ""},
	} {
		f := house()
		f.Nation, f.Date = c.nation, on(c.day)
		fs := slices.DeleteFunc(Findings(f), func(fd Finding) bool { return fd.Topic != Heat })
		got := need(t, fs, c.rule, c.severity)
		require.Equal(t, c.document, got.Document)
		if c.rule == "heat" {
			figure(t, got, "limit", "1.4")
			none(t, fs, "edition_ended", "heat_early")
			continue
		}
		require.NotContains(t, got.Figures, "limit", "no figure is guessed")
		if c.rule == "edition_ended" {
			require.Equal(t, "2026", got.Edition)
			require.Equal(t, calc.Quoted, got.Mark)
			continue // the known limit stays beside it
		}
		none(t, fs, "heat")
	}
	f := house()
	f.Date = on("2022-06-14")
	none(t, Findings(f), "vents_new", "purge_clear")
	need(t, Findings(f), "vents_early", Ask)
}

// AD K is the edition of 2013 and BS 6262-4 that of 2005. The day in those years
// is not verified, so the whole year counts as not covered. No edition was
// noted of the other nations' documents on safety glass, of AD B, and of the
// regulations on paper: they have no first day.
func TestGlassBathAndGuardsByDate(t *testing.T) {
	low := func(n Nation, day string) []Finding {
		f := house()
		f.Nation, f.Date, f.GlassAboveFloor, f.NearBath = n, on(day), at(500), true
		f.Panes[0].Clear = size(300, 1100)
		return Findings(f)
	}
	for _, c := range []struct {
		nation Nation
		day    string
		has    map[string]Severity
		none   []string
	}{
		{England, "2014-01-01", map[string]Severity{"glass_window": Must, "guard": Must, "glass_bath": Must}, []string{"glass_early", "guard_early"}},
		{England, "2013-12-31", map[string]Severity{"glass_early": Ask, "guard_early": Ask, "glass_bath": Must, "escape_small": Ask}, []string{"glass_window", "glass_clear", "glass_screen", "guard", "guard_clear"}},
		{England, "2006-01-01", map[string]Severity{"glass_bath": Must}, []string{"glass_bath_early"}},
		{England, "2005-12-31", map[string]Severity{"glass_bath_early": Ask, "paper_notify": Advise}, []string{"glass_bath"}},
		{Wales, "2013-12-31", map[string]Severity{"glass_window": Must, "guard_unverified": Ask}, []string{"guard", "glass_early"}},
		{Scotland, "2014-01-01", map[string]Severity{"glass_window": Must, "guard": Must, "unverified": Ask}, []string{"guard_unverified"}},
		{NI, "2005-12-31", map[string]Severity{"glass_window": Must, "guard_unverified": Ask, "glass_bath_early": Ask}, []string{"guard", "glass_bath"}},
	} {
		fs := low(c.nation, c.day)
		for name, w := range c.has {
			got := need(t, fs, name, w)
			if w == Ask && name != "escape_small" {
				require.Empty(t, got.Figures, "no figure is guessed")
			}
		}
		none(t, fs, c.none...)
	}

	f := house() // nothing opens: no guard to ask about
	f.Date, f.Panes[0].Hinge = on("2013-12-31"), calc.FixedLight
	none(t, Findings(f), "guard_early")
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

// Every ruling has the figures of its topic, so no rule reads nothing.
func TestEveryRulingHasItsFigures(t *testing.T) {
	for _, r := range rulings {
		has := map[Topic]bool{
			Glass: r.glass != nil, Bath: r.bath != nil, Guarding: r.guard != nil, Escape: r.escape != nil,
			Vents: r.vents != nil, Purge: r.purge != nil, Heat: r.heat != nil,
			Paper: r.paper != nil, Hazards: r.hazards != nil,
		}
		require.True(t, has[r.topic], "%s in %s", r.topic, r.nation)
		if r.edition != "" {
			require.NotEmpty(t, r.from, "%s in %s names an edition and no first day", r.topic, r.nation)
			require.GreaterOrEqual(t, r.from, r.edition, "%s in %s begins before its edition", r.topic, r.nation)
		}
	}
}

func TestHeatFigures(t *testing.T) {
	f := house()
	f.UValue = dec("1.4")
	need(t, Findings(f), "heat_clear", Clear)
	f.UValue = dec("1.41")
	figure(t, need(t, Findings(f), "heat_over", Must), "u", "1.41")
	f.Heritage = true // centre pane at most 1.2 (S)
	figure(t, need(t, Findings(f), "heat_heritage", Must), "limit", "1.2")
	f.CentreU = dec("1.2")
	need(t, Findings(f), "heat_heritage_clear", Clear)
	f.CentreU = dec("1.3")
	need(t, Findings(f), "heat_heritage_over", Must)
}

// Paper: reg 20 (R) in England and Wales, sch 3 type 20 (R) in Scotland, NI (S).
func TestPaper(t *testing.T) {
	for nation, want := range map[Nation][2]string{
		England: {"paper_notify", "reg 20"}, Wales: {"paper_notify", "reg 20"},
		Scotland: {"paper_scotland", "sch 3 type 20"}, NI: {"paper_ni", ""},
	} {
		f := house()
		f.Nation = nation
		require.Equal(t, want[1], need(t, Findings(f), want[0], Advise).Clause)
	}
	f := house()
	f.Nation, f.Flat = Scotland, true
	need(t, Findings(f), "paper_scotland_flat", Ask)
}

func TestHazardsAreSaidWhereTheyArise(t *testing.T) {
	f := house()
	fs := Findings(f)
	figure(t, need(t, fs, "caution_height", Advise), "rail", "950")  // HSE, R
	figure(t, need(t, fs, "caution_silica", Advise), "limit", "0.1") // S
	need(t, fs, "caution_glass", Advise)
	none(t, fs, "caution_asbestos", "caution_lead", "bay", "no_lintel", "open_flue")
	f.Storey, f.BuiltBefore2000, f.Bay, f.NoLintel, f.Widened = 0, true, true, true, true
	fs = Findings(f)
	none(t, fs, "caution_height")
	need(t, fs, "caution_asbestos", Advise)
	need(t, fs, "caution_lead", Advise)
	require.ElementsMatch(t, []string{"no_lintel", "bay", "widened"}, rules(fs)[:3])
	for _, rule := range []string{"no_lintel", "bay", "widened"} {
		need(t, fs, rule, Stop)
	}
}

func anyFacts(t *rapid.T) Facts {
	height := func(name string) *decimal.Decimal {
		if rapid.Bool().Draw(t, name+" known") {
			return at(rapid.Int64Range(0, 6500).Draw(t, name))
		}
		return nil
	}
	yes := func(name string) bool { return rapid.Bool().Draw(t, name) }
	num := func(name string, most int64) decimal.Decimal {
		return mm(rapid.SampledFrom([]int64{0, 1, 2}).Draw(t, name+" kind")).Mul(mm(rapid.Int64Range(0, most).Draw(t, name))).Div(mm(2))
	}
	hinges := []calc.Hinge{calc.FixedLight, calc.SideLeft, calc.SideRight, calc.TopHung, calc.BottomHung, calc.TiltTurnLeft, calc.TiltTurnRight, ""}
	f := Facts{
		Nation:          rapid.SampledFrom([]Nation{England, Wales, Scotland, NI}).Draw(t, "nation"),
		Date:            on(rapid.SampledFrom([]string{"2026-11-25", "2022-06-14", "2022-06-15", "2024-02-29", "2027-03-23", "2027-03-24", "2017-01-01", "2013-12-31", "2005-12-31"}).Draw(t, "day")),
		Room:            rapid.SampledFrom([]Room{Living, Bedroom, Kitchen, Bathroom, Hall, ""}).Draw(t, "room"),
		Storey:          rapid.IntRange(-1, 4).Draw(t, "storey"),
		GlassAboveFloor: height("floor"), GlassAboveOutside: height("outside"),
		BesideDoor: yes("beside"), Door: yes("door"), NearBath: yes("bath"), NotHouse: yes("shop"), GlassOnly: yes("glass"),
		Leaded: yes("lead"), Thickness: num("thick", 20), Guarded: yes("guarded"),
		OldVents: yes("vents"), OldVentArea: num("old", 9000), NewVentArea: num("new", 9000), MVHR: yes("mvhr"), OpenFlue: yes("flue"),
		FloorArea: num("area", 40), InnerRoom: yes("inner"), OldEscape: yes("escape"),
		UValue: num("u", 3), Heritage: yes("heritage"), CentreU: num("centre", 3),
		Flat: yes("flat"), Widened: yes("wide"), NoLintel: yes("lintel"), Bay: yes("bay"), BuiltBefore2000: yes("old house"),
	}
	for i := range rapid.IntRange(0, 4).Draw(t, "panes") {
		side := func(name string) int64 { return rapid.Int64Range(0, 2000).Draw(t, name) }
		f.Panes = append(f.Panes, Pane{
			Light: i, Size: size(side("w"), side("h")), Bottom: mm(side("bottom")),
			Hinge:      rapid.SampledFrom(hinges).Draw(t, "hinge"),
			OpenBottom: num("open", 500), Clear: size(side("clear w"), side("clear h")),
			Degrees: num("degrees", 90), Restrictor: num("restrictor", 200), Releasable: yes("releasable"),
		})
	}
	return f
}

func TestFindingsComeInReadingOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := anyFacts(t)
		fs := Findings(f)
		require.NotEmpty(t, fs)
		last := 0
		for _, fd := range fs {
			n := fd.Severity.rank()
			require.GreaterOrEqual(t, n, last, "%s is out of order", fd.Rule)
			last = n
			require.Contains(t, outcomes, fd.Rule)
			require.Contains(t, []Topic{fd.Topic, ""}, outcomes[fd.Rule].topic)
			require.Equal(t, outcomes[fd.Rule].severity, fd.Severity)
			require.Equal(t, fd.Severity == Must || fd.Severity == Ask, fd.OnOrder, fd.Rule)
			require.NotEmpty(t, fd.Topic, fd.Rule)
			if fd.Severity == Must {
				require.NotEmpty(t, fd.Document, fd.Rule)
				require.NotEmpty(t, fd.Mark, fd.Rule)
			}
			if fd.Document != "" {
				require.NotEmpty(t, fd.Mark, fd.Rule)
			}
			for _, l := range fd.Lights {
				require.Less(t, l, len(f.Panes))
			}
		}
		require.Equal(t, fs, Findings(f), "the same facts give the same findings")
	})
}

// severity of what is said of each light's glass: higher is graver.
func glassSeverity(f Facts) map[int]int {
	grave := map[string]int{
		"glass_window": 3, "glass_door": 3, "glass_beside_door": 3, "glass_small_thin": 3,
		"glass_small": 2, "glass_annealed": 2, "glass_only": 2,
	}
	out := map[int]int{}
	for _, fd := range Findings(f) {
		n, ok := grave[fd.Rule]
		if !ok {
			continue
		}
		lights := fd.Lights
		if len(lights) == 0 {
			lights = []int{-1}
		}
		for _, l := range lights {
			out[l] = max(out[l], n)
		}
	}
	return out
}

func TestLoweringTheGlassNeverLightensAFinding(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := anyFacts(t)
		before := glassSeverity(f)
		lower := func(h *decimal.Decimal, name string) *decimal.Decimal {
			if h == nil {
				return nil
			}
			low := h.Sub(mm(rapid.Int64Range(0, 3000).Draw(t, name)))
			return &low
		}
		f.GlassAboveFloor = lower(f.GlassAboveFloor, "lower inside")
		f.GlassAboveOutside = lower(f.GlassAboveOutside, "lower outside")
		after := glassSeverity(f)
		for l, n := range before {
			require.GreaterOrEqual(t, after[l], n, "light %d", l)
		}
	})
}

func TestTheDiagramNeverClearsAHouse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := anyFacts(t)
		f.NotHouse, f.GlassOnly = false, false
		fs := Findings(f)
		if _, early := find(fs, "glass_early"); early {
			require.Empty(t, glassSeverity(f))
			return
		}
		none2 := func(rule string) bool { _, ok := find(fs, rule); return !ok }
		require.True(t, none2("glass_annealed"))
		zone := zones2013.zone(f)
		critical := false
		for _, l := range f.lights() {
			critical = critical || below(l.floor, zone) || below(l.outside, zone)
		}
		require.Equal(t, critical, len(glassSeverity(f)) > 0)
		if critical {
			require.True(t, none2("glass_clear"))
		}
	})
}

func TestMeasuringMoreNeverRemovesAGlassFinding(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := anyFacts(t)
		f.GlassAboveOutside = nil
		before := glassSeverity(f)
		f.GlassAboveOutside = at(rapid.Int64Range(0, 9000).Draw(t, "measured"))
		after := glassSeverity(f)
		for l, n := range before {
			require.GreaterOrEqual(t, after[l], n)
		}
	})
}

func TestNoNationGetsAnothersDocumentWithoutSayingSo(t *testing.T) {
	own := map[Nation][]string{
		England:  {"ad_k", "ad_b_1", "ad_f_1", "ad_l_1", "building_regulations"},
		Wales:    {"ad_n_wales", "ad_l_wales", "building_regulations"},
		Scotland: {"technical_handbook", "building_scotland"},
		NI:       {"booklet_v", "building_ni"},
	}
	rapid.Check(t, func(t *rapid.T) {
		f := anyFacts(t)
		fs := Findings(f)
		_, said := find(fs, "unverified")
		for _, fd := range fs {
			if fd.Document == "" || fd.Document == "hse" || fd.Document == "bs_6262_4" || slices.Contains(own[f.Nation], fd.Document) {
				continue
			}
			require.True(t, said, "%s names %s in %s", fd.Rule, fd.Document, f.Nation)
			require.Equal(t, calc.FromMemory, fd.Mark)
		}
	})
}

func BenchmarkFindings(b *testing.B) {
	f := house()
	f.GlassAboveFloor = at(500)
	for b.Loop() {
		Findings(f)
	}
}

func BenchmarkCheckRestricted(b *testing.B) {
	f := house()
	f.Panes[0].Restrictor = mm(100)
	for b.Loop() {
		Findings(f)
	}
}

// TestNoSentenceIsStrongerThanItsWeakestPart: reg 20 was read, the building
// notice is quoted (S); for Scotland's flats no clause was read; the rating
// band is not given for Scotland.
func TestNoSentenceIsStrongerThanItsWeakestPart(t *testing.T) {
	mark := func(f Facts, rule string) Finding {
		fs := Findings(f)
		i := slices.IndexFunc(fs, func(x Finding) bool { return x.Rule == rule })
		require.GreaterOrEqual(t, i, 0, rule)
		return fs[i]
	}
	f := house()
	require.Equal(t, calc.Quoted, mark(f, "paper_notify").Mark)
	f.Nation, f.Flat = Scotland, true
	flat := mark(f, "paper_scotland_flat")
	require.Equal(t, calc.Quoted, flat.Mark)
	require.Empty(t, flat.Clause)
	require.Equal(t, calc.FromMemory, mark(f, "heat").Mark)
}
