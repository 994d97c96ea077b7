package safety

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/calc"
)

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
		{"from the floor up", 1, at(0), nil, "glass_window_inner", "datum.floor", calc.Quoted, "0"},
	} {
		f := house()
		f.Storey, f.GlassAboveFloor, f.GlassAboveOutside = c.storey, c.floor, c.outside
		fs := Findings(f)
		if c.rule == "" {
			need(t, fs, "glass_clear", Clear)
			none(t, fs, "glass_window", "glass_window_inner")
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
		got := need(t, Findings(f), "glass_window_inner", Must)
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
	got := need(t, Findings(f), "glass_window_inner", Must)
	require.Equal(t, []int{0}, got.Lights)
	f.Panes[1].Bottom = mm(519) // at 799
	got = need(t, Findings(f), "glass_window_inner", Must)
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
		require.Equal(t, "K4 section 5, para 5.4", got.Clause)
		f.BesideDoor, f.Door = false, true
		got = need(t, Findings(f), "glass_door", Must)
		figure(t, got, "class", c.class)
		require.Equal(t, "K4 section 5, para 5.4", got.Clause)
	}
	// A wide pane in a window that stands by itself is class 3.
	f := house()
	f.GlassAboveFloor = at(100)
	f.Panes[0].Size.Width = mm(1500)
	figure(t, need(t, Findings(f), "glass_window_inner", Must), "class", "3")
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
		{250, 2001, "6", false, "glass_window_inner", Must},
		{251, 300, "6", false, "glass_window_inner", Must},
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
	got := need(t, Findings(f), "glass_bath_code", Advise)
	require.Equal(t, "bs_6262_4", got.Document)
	require.Equal(t, "2005", got.Edition)
	require.Equal(t, calc.FromMemory, got.Mark, "the class is from memory")
	figure(t, got, "class", "3")
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
		{"12", size(3000, 4500), true}, {"12", size(4500, 3000), true}, {"12", size(3001, 4500), false}, {"12", size(3000, 4501), false},
		{"15", size(9000, 9000), true},
		{"15", calc.Size{}, false},
	} {
		require.Equal(t, c.ok, zones2013.takes(dec(c.thickness), c.size), "%s mm %v", c.thickness, c.size)
	}
}

func TestAnnealedDiagramIsForShopFrontsOnly(t *testing.T) {
	f := house()
	f.GlassAboveFloor, f.Thickness = at(100), dec("15")
	need(t, Findings(f), "glass_window_inner", Must)
	f.NotHouse = true
	fs := Findings(f)
	got := need(t, fs, "glass_annealed", Advise)
	require.Contains(t, got.Clause, "5.5")
	none(t, fs, "glass_window")
	f.Thickness = dec("6")
	need(t, Findings(f), "glass_window_inner", Must)
}

// severity of what is said of each light's glass: higher is graver.
func glassSeverity(f Facts) map[int]int {
	grave := map[string]int{
		"glass_window": 3, "glass_window_inner": 3, "glass_beside_any": 3, "glass_door": 3, "glass_beside_door": 3, "glass_small_thin": 3,
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
		critical := false
		for _, l := range f.lights() {
			zone := zones2013.zone(f, l)
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

// Of two heights the lower one is named, and the inside floor where they are
// alike.
func TestWhichHeightOfTheGlassIsNamed(t *testing.T) {
	for _, c := range []struct {
		floor, outside int64
		datum, height  string
	}{
		{600, 700, "datum.floor", "600"}, {700, 600, "datum.outside", "600"}, {700, 700, "datum.floor", "700"},
	} {
		f := house()
		f.Storey, f.GlassAboveFloor, f.GlassAboveOutside = 0, at(c.floor), at(c.outside)
		got := need(t, Findings(f), "glass_window", Must)
		require.Equal(t, c.datum, got.Words["datum"])
		figure(t, got, "height", c.height)
	}
	// The lowest pane gives the height, whichever comes first.
	f := house()
	f.GlassAboveFloor = at(300)
	low := f.Panes[0]
	f.Panes[0].Bottom, low.Light = mm(420), 1
	f.Panes = append(f.Panes, low)
	figure(t, need(t, Findings(f), "glass_window_inner", Must), "height", "300")
}

// A pane of unknown width beside a door is taken as a wide one: AD K 2013 para
// 5.4 (R).
func TestAPaneOfUnknownWidthBesideADoor(t *testing.T) {
	f := house()
	f.Panes, f.BesideDoor, f.GlassAboveFloor = nil, true, at(100)
	figure(t, need(t, Findings(f), "glass_beside_door", Must), "class", "2")
}

// A screen stands in for safety glass that must be (AD K 2013 K4, S), and for
// nothing else.
func TestAScreenInsteadOfSafetyGlass(t *testing.T) {
	small := func(f *Facts) { f.GlassAboveFloor, f.Thickness, f.Panes[0].Size = at(100), mm(6), size(250, 300) }
	sayAll(t, []Topic{Glass}, []change{
		{"high", func(*Facts) {}, []string{"glass_clear"}},
		{"low", func(f *Facts) { f.GlassAboveFloor = at(100) }, []string{"glass_window_inner"}},
		{"low in a shop", func(f *Facts) { f.GlassAboveFloor, f.NotHouse = at(100), true }, []string{"glass_window_inner", "glass_screen"}},
		{"small", small, []string{"glass_small"}},
		{"one of two small", func(f *Facts) {
			small(f)
			f.Panes = append(f.Panes, f.Panes[0])
			f.Panes[0].Size = size(700, 1000)
		}, []string{"glass_window_inner", "glass_small"}},
		{"height unknown", func(f *Facts) { f.GlassAboveFloor = nil }, nil},
		{"ground outside unknown", func(f *Facts) { f.Storey = 0 }, nil},
	})
	f := house()
	f.GlassAboveFloor, f.NotHouse = at(100), true
	figure(t, need(t, Findings(f), "glass_screen", Advise), "height", "800")
	figure(t, need(t, Findings(f), "glass_screen", Advise), "ball", "75")
}
