package safety

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
)

// AD F vol 1 2021 3.14 and 3.15 (R): equivalent area per room.
func TestVents(t *testing.T) {
	for _, c := range []struct {
		room Room
		area string
	}{{Living, "8000"}, {Bedroom, "8000"}, {Kitchen, "8000"}, {Bathroom, "4000"}} {
		f := house()
		f.Room = c.room
		got := need(t, Findings(f), "vents_new", Ask)
		figure(t, got, "area", c.area)
		require.Equal(t, "room."+string(c.room), got.Words["room"])
		require.Equal(t, "ad_f_1", got.Document)
		require.Equal(t, "3.15", got.Clause)
		require.Equal(t, "2021", got.Edition)
		require.Equal(t, calc.Read, got.Mark)
		f.NewVentArea = dec(c.area)
		need(t, Findings(f), "vents_clear", Clear)
		f.NewVentArea = dec(c.area).Sub(dec("1"))
		figure(t, need(t, Findings(f), "vents_few", Ask), "short", "1")
		f.MVHR = true
		fs := Findings(f)
		need(t, fs, "vents_mvhr", Clear)
		none(t, fs, "vents_short", "vents_new")
	}
	f := house()
	f.OldVents = true
	got := need(t, Findings(f), "vents_keep_least", Must)
	require.Equal(t, "3.14, 3.15", got.Clause)
	figure(t, got, "area", "8000")
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
	figure(t, need(t, fs, "purge_angle", Ask), "angle", "30")
	require.Equal(t, calc.Practice, need(t, fs, "purge_angle", Ask).Mark)
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
	need(t, fs, "pull_all", Ask)
}

func TestHeatFigures(t *testing.T) {
	f := house()
	f.UValue = dec("1.4")
	need(t, Findings(f), "heat_clear", Clear)
	f.UValue = dec("1.41")
	figure(t, need(t, Findings(f), "heat_over", Must), "u", "1.41")
	f.Heritage = true // centre pane at most 1.2 (S), where the limit can't be met
	figure(t, need(t, Findings(f), "heat_heritage", Ask), "limit", "1.2")
	f.CentreU = dec("1.2")
	need(t, Findings(f), "heat_heritage_clear", Clear)
	f.CentreU = dec("1.3")
	need(t, Findings(f), "heat_heritage_over", Ask)
}

// Vents are asked for where AD F 2021 3.14 and 3.15 (R) do: in a house, not
// with heat recovery, not in a hall, and never fewer than there were.
func TestWhereVentsAreAskedFor(t *testing.T) {
	wales := func(do func(*Facts)) func(*Facts) {
		return func(f *Facts) { f.Nation = Wales; do(f) }
	}
	hall := func(f *Facts) { f.Room = Hall }
	shop := func(f *Facts) { f.NotHouse = true }
	glass := func(f *Facts) { f.GlassOnly = true }
	kept := func(f *Facts) { f.OldVents, f.Room = true, Hall }
	recovery := func(f *Facts) { f.MVHR, f.Room = true, Hall }
	sayAll(t, []Topic{Vents}, []change{
		{"hall", hall, nil}, {"hall in Wales", wales(hall), nil},
		{"shop", shop, nil}, {"shop in Wales", wales(shop), nil},
		{"glass", glass, nil}, {"glass in Wales", wales(glass), nil},
		{"vents of a hall", kept, []string{"vents_keep_unknown"}}, {"vents of a hall in Wales", wales(kept), []string{"vents_unverified"}},
		{"recovery", recovery, []string{"vents_mvhr"}}, {"recovery in Wales", wales(recovery), nil},
		{"not looked", func(f *Facts) { f.VentsUnknown = true }, []string{"vents_ask"}},
		{"ended, in a hall", func(f *Facts) { f.Date = on("2027-03-24"); hall(f) }, nil},
		{"ended, with recovery", func(f *Facts) { f.Date = on("2027-03-24"); recovery(f) }, []string{"edition_ended"}},
	})
	f := house()
	f.VentsUnknown = true
	require.Equal(t, "3.14, 3.15", need(t, Findings(f), "vents_ask", Ask).Clause)
	f = house()
	f.OldVents, f.OldVentArea = true, mm(4000)
	got := need(t, Findings(f), "vents_keep", Must)
	require.Empty(t, got.Words, "it is not about the room")
	require.Equal(t, "3.14", got.Clause)
	f.NewVentArea = mm(3999)
	require.Equal(t, "3.14", need(t, Findings(f), "vents_short", Must).Clause)
	f.OldVents = false
	require.Equal(t, "3.15", need(t, Findings(f), "vents_few", Ask).Clause)
}

// A room is looked at by itself only when nation and day are known.
func TestARoomNeedsNationAndDay(t *testing.T) {
	f := house()
	require.Equal(t, []string{"vents_new"}, rules(RoomFindings(f)))
	f.Date = time.Time{}
	require.Empty(t, RoomFindings(f))
	f = house()
	f.Nation = "france"
	require.Empty(t, RoomFindings(f))
}

// Airing is asked of living rooms and bedrooms of a house without heat
// recovery, as far as the floor is known (AD F vol 1 2021, R/S).
func TestWhereAiringIsAskedFor(t *testing.T) {
	floor := func(do func(*Facts)) func(*Facts) {
		return func(f *Facts) { f.FloorArea, f.Panes[0].Degrees = mm(10), mm(90); do(f) }
	}
	wales := func(do func(*Facts)) func(*Facts) {
		return floor(func(f *Facts) { f.Nation = Wales; do(f) })
	}
	asked := func(*Facts) {}
	for name, do := range map[string]func(*Facts){
		"shop": func(f *Facts) { f.NotHouse = true }, "glass": func(f *Facts) { f.GlassOnly = true },
		"recovery": func(f *Facts) { f.MVHR = true }, "kitchen": func(f *Facts) { f.Room = Kitchen },
		"no lights known": func(f *Facts) { f.Panes = nil }, "floor not measured": func(f *Facts) { f.FloorArea = mm(0) },
	} {
		sayAll(t, []Topic{Purge}, []change{{name, floor(do), nil}, {name + " in Wales", wales(do), nil}})
	}
	sayAll(t, []Topic{Purge}, []change{
		{"bedroom", floor(asked), []string{"purge_clear"}}, {"Wales", wales(asked), []string{"purge_unverified"}},
		{"living room", floor(func(f *Facts) { f.Room = Living }), []string{"purge_clear"}},
		{"living room in Wales", wales(func(f *Facts) { f.Room = Living }), []string{"purge_unverified"}},
		// A restrictor costs the airing, and that is said of the light.
		{"held", floor(func(f *Facts) { f.Panes[0].Restrictor, f.Panes[0].Releasable = mm(100), true }), []string{"pull_purge_held"}},
		{"held after the edition", floor(func(f *Facts) {
			f.Panes[0].Restrictor, f.Panes[0].Releasable, f.Date = mm(100), true, on("2027-03-24")
		}), []string{"edition_ended", "pull_purge_held"}},
		{"too little, angle not known", floor(func(f *Facts) { f.FloorArea, f.Panes[0].Degrees = mm(18), mm(0) }), []string{"purge_small"}},
		// A restrictor wider than the sash can open holds nothing.
		{"loose", floor(func(f *Facts) { f.Panes[0].Restrictor, f.Panes[0].Releasable = mm(5000), true }), []string{"purge_clear"}},
	})
}

// Several lights count together, whichever comes first.
func TestAiringThroughSeveralLights(t *testing.T) {
	two := func(one, other func(*Pane), floor int64) func(*Facts) {
		return func(f *Facts) {
			f.FloorArea = mm(floor)
			f.Panes = append(f.Panes, f.Panes[0])
			f.Panes[1].Light = 1
			one(&f.Panes[0])
			other(&f.Panes[1])
		}
	}
	wide := func(p *Pane) { p.Degrees = mm(90) }
	unknown := func(p *Pane) { p.Degrees = mm(0) }
	held := func(p *Pane) { p.Restrictor, p.Releasable, p.Degrees = mm(100), true, mm(90) }
	fixed := func(p *Pane) { p.Hinge, p.Degrees = calc.FixedLight, mm(0) }
	sayAll(t, []Topic{Purge}, []change{
		{"both", two(wide, wide, 35), []string{"purge_clear"}}, {"both, too large a room", two(wide, wide, 36), []string{"purge_small"}},
		{"one unknown", two(unknown, wide, 10), []string{"purge_angle"}}, {"other unknown", two(wide, unknown, 10), []string{"purge_angle"}},
		{"one fixed", two(fixed, wide, 10), []string{"purge_clear"}},
		{"one held, the other enough", two(held, wide, 17), []string{"purge_clear"}},
		{"one held, the other not enough", two(held, wide, 18), []string{"pull_purge_held"}},
		// Of an unknown floor the area is asked for where a restrictor is fitted.
		{"floor unknown", two(wide, wide, 0), nil},
		{"floor unknown, one held", two(held, wide, 0), []string{"purge_area", "pull_purge_held"}},
		{"floor unknown, other held", two(wide, held, 0), []string{"purge_area", "pull_purge_held"}},
	})
	f := house()
	f.FloorArea, f.Panes[0].Degrees, f.Panes[0].Opening = mm(40), mm(90), size(800, 1107)
	figure(t, need(t, Findings(f), "purge_small", Advise), "open", "0.89") // 0.8856 m²
	// An opening that is not known is taken as the glass: 700 × 1000.
	f.Panes[0].Opening = calc.Size{}
	figure(t, need(t, Findings(f), "purge_small", Advise), "open", "0.7")
}
