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
		GlassAboveFloor: at(1000), Over: OverLintel,
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

// said are the rules on some topics of a window after a change to house.
func said(change func(*Facts), topics ...Topic) []string {
	f := house()
	change(&f)
	return rules(slices.DeleteFunc(Findings(f), func(fd Finding) bool { return !slices.Contains(topics, fd.Topic) }))
}

// change is a change to house and what is then said.
type change struct {
	name string
	do   func(*Facts)
	want []string
}

func sayAll(t *testing.T, topics []Topic, changes []change) {
	t.Helper()
	for _, c := range changes {
		require.Equal(t, c.want, said(c.do, topics...), c.name)
	}
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
			require.Equal(t, "heat", f.Rule)
		}
	}
	for _, rule := range []string{"glass_clear", "guard_clear", "escape_clear"} {
		need(t, fs, rule, Clear)
	}
}

func dp(s string) *decimal.Decimal {
	d := dec(s)
	return &d
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
	got := need(t, Findings(f), "glass_window_inner", Must)
	require.Empty(t, got.Lights, "the whole window")
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
	rail, silica := need(t, fs, "caution_height", Advise), need(t, fs, "caution_silica", Advise)
	figure(t, rail, "rail", "950")
	figure(t, silica, "limit", "0.1")
	figure(t, silica, "hours", "8")
	require.Equal(t, calc.Read, rail.Mark)
	require.Equal(t, calc.Quoted, silica.Mark)
	need(t, fs, "caution_glass", Advise)
	none(t, fs, "caution_asbestos", "caution_lead", "bay", "no_lintel", "open_flue")
	f.Storey, f.BuiltBefore2000, f.BuiltBefore1992, f.Bay, f.NoLintel, f.Widened = 0, true, true, true, true, true
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
		Over: rapid.SampledFrom([]Over{OverLintel, OverArch, OverTimber, OverBricks, OverHidden, ""}).Draw(t, "over"), Cracks: yes("cracks"), Bowed: yes("bowed"),
		HigherRisk: yes("high"), Extract: yes("extract"), FewWindows: yes("few"), BuiltBefore1992: yes("lead"),
		Certifies: rapid.SampledFrom([]Way{ByInstaller, ByNotice, ""}).Draw(t, "certifies"),
		Flat:      yes("flat"), Widened: yes("wide"), NoLintel: yes("lintel"), Bay: yes("bay"), BuiltBefore2000: yes("old house"),
	}
	if yes("cleared") {
		f.Cleared = &Clearance{"A. N. Other", "structural engineer", "2026-11-20", "sound"}
	}
	for i := range rapid.IntRange(0, 4).Draw(t, "panes") {
		side := func(name string) int64 { return rapid.Int64Range(0, 2000).Draw(t, name) }
		f.Panes = append(f.Panes, Pane{
			Light: i, Size: size(side("w"), side("h")), Bottom: mm(side("bottom")),
			Hinge:      rapid.SampledFrom(hinges).Draw(t, "hinge"),
			OpenBottom: num("open", 500), Clear: size(side("clear w"), side("clear h")),
			Degrees: num("degrees", 90), Restrictor: num("restrictor", 200), Releasable: yes("releasable"),
			ClearGiven: yes("given"), BesideDoor: yes("pane beside"),
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
			require.GreaterOrEqual(t, n, outcomes[fd.Rule].severity.rank(), "%s is never graver than its rule", fd.Rule)
			// What the desk can't settle does not stand on the order.
			named := slices.Contains([]string{"edition_ended", "glass_bath_code", "cleared"}, fd.Rule)
			fitters := slices.Contains([]string{"over_ask", "paper_more", "paper_ni_door"}, fd.Rule)
			require.Equal(t, (fd.Severity == Must || fd.Severity == Ask || named) && !fitters, fd.OnOrder, fd.Rule)
			require.NotEmpty(t, fd.Topic, fd.Rule)
			require.Contains(t, []Scope{OfJob, OfRoom, OfWindow}, fd.Scope, fd.Rule)
			require.Equal(t, fd.Severity == Clear, fd.CardOnly, fd.Rule)
			if fd.Severity == Must {
				require.NotEmpty(t, fd.Document, fd.Rule)
				require.NotEmpty(t, fd.Mark, fd.Rule)
			}
			// What says only that something is not known rests on nothing.
			if fd.Severity != Ask && fd.Rule != "cleared" {
				require.NotEmpty(t, fd.Mark, fd.Rule)
			}
			if fd.CardOnly && fd.Topic != Vents && fd.Topic != Heat {
				require.Equal(t, calc.Practice, fd.Mark, "%s rests on face widths", fd.Rule)
			}
			for _, l := range fd.Lights {
				require.Less(t, l, len(f.Panes))
			}
		}
		require.Equal(t, fs, Findings(f), "the same facts give the same findings")
	})
}

func BenchmarkFindings(b *testing.B) {
	f := house()
	f.GlassAboveFloor = at(500)
	for b.Loop() {
		Findings(f)
	}
}

func BenchmarkFindingsRestricted(b *testing.B) {
	f := house()
	f.Panes[0].Restrictor = mm(100)
	for b.Loop() {
		Findings(f)
	}
}

// Without nation or day no rule is looked at; what needs neither is said.
func TestNothingIsJudgedWithoutNationAndDay(t *testing.T) {
	always := []string{"no_lintel", "caution_height", "caution_silica", "caution_glass"}
	for _, c := range []struct {
		nation Nation
		day    time.Time
		asks   []string
	}{
		{"", on("2026-11-25"), []string{"nation"}}, {England, time.Time{}, []string{"date"}}, {"", time.Time{}, []string{"nation", "date"}},
	} {
		f := house()
		f.Nation, f.Date, f.NoLintel = c.nation, c.day, true
		require.Equal(t, slices.Concat(always[:1], c.asks, always[1:]), rules(Findings(f)))
	}
}

func TestWhichHeightsAreAskedFor(t *testing.T) {
	sayAll(t, []Topic{Missing}, []change{
		{"upstairs", func(*Facts) {}, nil},
		{"upstairs, not measured", func(f *Facts) { f.GlassAboveFloor = nil }, []string{"height_floor"}},
		{"ground floor", func(f *Facts) { f.Storey, f.GlassAboveOutside = 0, at(1200) }, nil},
		{"ground floor, outside not measured", func(f *Facts) { f.Storey = 0 }, []string{"height_outside"}},
	})
}

// Glass alone and what is no house are outside most rules, and that is said.
func TestWhatIsOutsideTheRulesIsSaid(t *testing.T) {
	sayAll(t, []Topic{Heat, Paper}, []change{
		{"house", func(*Facts) {}, []string{"heat", "paper_notify"}},
		{"glass alone", func(f *Facts) { f.GlassOnly = true }, []string{"glass_only_rest"}},
		{"shop", func(f *Facts) { f.NotHouse = true }, []string{"not_house", "paper_notify"}},
		{"flat in England", func(f *Facts) { f.Flat = true }, []string{"heat", "paper_notify"}},
	})
	sayAll(t, []Topic{Hazards}, []change{
		{"vents there were", func(f *Facts) { f.Storey, f.OldVents = 0, true }, []string{"caution_flue", "caution_silica", "caution_glass"}},
		{"glass alone", func(f *Facts) { f.Storey, f.OldVents, f.GlassOnly = 0, true, true }, []string{"caution_glass"}},
		{"an open flue", func(f *Facts) { f.Storey, f.OpenFlue, f.OldVents = 0, true, true }, []string{"open_flue", "caution_silica", "caution_glass"}},
		{"an open flue in a shop", func(f *Facts) { f.Storey, f.OpenFlue, f.NotHouse = 0, true, true }, []string{"caution_silica", "caution_glass"}},
	})
	f := house()
	figure(t, need(t, Findings(f), "paper_notify", Advise), "days", "30") // reg 20 (R)
	f.Nation = Scotland
	require.Empty(t, need(t, Findings(f), "paper_scotland", Advise).Figures)
}
