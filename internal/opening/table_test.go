package opening

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/safety"
)

// keys are the fields that a record may name.
func keys() (list []Key) {
	for _, f := range keyed {
		list = append(list, f.Key)
	}
	return list
}

// leaves are the places of a record that hold one value, as the table writes
// them.
func leaves(t reflect.Type, at string) []string {
	switch {
	case t.Kind() == reflect.Pointer:
		return leaves(t.Elem(), at)
	case t == reflect.TypeFor[decimal.Decimal]() || t.Kind() < reflect.Array || t.Kind() == reflect.String:
		return []string{at}
	case t.Kind() == reflect.Map:
		return leaves(t.Elem(), at+".*")
	case t.Kind() == reflect.Slice:
		return leaves(t.Elem(), at+"[#]")
	case t.Kind() == reflect.Array:
		var list []string
		for n := range t.Len() {
			list = append(list, leaves(t.Elem(), numbered(at+"[", n)+"]")...)
		}
		return list
	}
	var list []string
	for name, f := range fieldsOf(t) {
		place := name
		if at != "" {
			place = at + "." + name
		}
		list = append(list, leaves(f.Type, place)...)
	}
	return list
}

func TestEveryPlaceOfARecordHasOneRow(t *testing.T) {
	rows := []string{"settings.rebate_depth"} // the old name of settings.edge_cover
	for _, f := range table {
		if f.File != "" {
			rows = append(rows, f.File)
		}
	}
	require.ElementsMatch(t, leaves(reflect.TypeFor[Opening](), ""), rows)
}

func TestKeysAreUniqueAndFit(t *testing.T) {
	require.Len(t, places, len(keyed))
	require.LessOrEqual(t, len(keyed), fieldCount)
	for _, f := range keyed {
		for _, key := range append(f.Voids, f.Change) {
			if key != f.Change || key == f.Key {
				require.NotNil(t, Find(key), "%s names %s", f.Key, key)
			}
		}
	}
}

func TestKnownMakesTheOpening(t *testing.T) {
	var k Known
	for _, p := range []Pair{
		{"nation", "wales"}, {"date", "2026-11-25"}, {"finish", "check"}, {"sill", "none"}, {"material", "timber"},
		{"width.top", "1204"}, {"width.middle", "1202.5"}, {"width.bottom", "1203"},
		{"height.left", "1030"}, {"height.middle", "1031"}, {"height.right", "1032"}, {"inner.width", "1260"}, {"inner.height", Skipped},
		{"diagonal.rising", "1580"}, {"layout", "2"}, {"mullion.1", Skipped}, {"light.1", "fixed"}, {"light.2", "top"},
		{"over", "bay"}, {"room", "bathroom"}, {"bath", "yes"}, {"floor", "900"}, {"storey", "0"}, {"outside", Skipped}, {"glass", "4-20-6"}, {"vents", Skipped},
		{"tight", "left"}, {"crew.plaster", "15"}, {"crew.sealant", "12.5"},
	} {
		k.Set(p.Key, p.Value)
	}
	o := k.Opening()
	require.Equal(t, calc.Check, o.Finish)
	require.Equal(t, "1202.5", o.Widths[1].String())
	require.Equal(t, "1260", o.Inner.Width.String())
	require.True(t, o.Rising.IsZero(), "one diagonal by itself says nothing")
	require.Equal(t, []calc.Light{{Hinge: calc.FixedLight}, {Column: 1, Hinge: calc.TopHung}}, o.Layout.Lights)
	require.Empty(t, o.Layout.Mullions)
	require.True(t, o.Bay && o.NearBath && o.VentsUnknown && !o.OldVents && !o.NoHead)
	require.Equal(t, "900", o.AboveFloor.String())
	require.Nil(t, o.AboveOutside)
	require.Len(t, o.Panes, 2)
	require.Equal(t, calc.Left, o.TightTo)
	require.Equal(t, "15", o.Settings.PlasterThickness.String())
	require.Equal(t, calc.Class125, o.Settings.Joint.Class)
	require.Equal(t, "diagonal.falling", k.Next(false, "").Key)
	require.Equal(t, []Key{"diagonal.falling", "door"}, k.Lacks(), "what the survey still asks")
	k.Set("material", Skipped)
	require.Equal(t, []Key{"material", "diagonal.falling", "door"}, k.Lacks(), "and what may not be passed over")
	require.Zero(t, testing.AllocsPerRun(100, func() { k.Next(false, "") }))
}

// What is passed over does what its row of the table says, each field in one list
// alone; what nobody was asked yet stops.
func TestNotToKnowDoesWhatTheTableSays(t *testing.T) {
	whole := Known{}
	for _, p := range []Pair{
		{"nation", "england"}, {"date", "2026-11-25"}, {"finish", "check"}, {"sill", "none"}, {"material", "pvcu-white"},
		{"width.top", "1204"}, {"width.middle", "1202"}, {"width.bottom", "1203"},
		{"height.left", "1005"}, {"height.middle", "1006"}, {"height.right", "1005"}, {"inner.width", "1260"}, {"inner.height", "1060"},
		{"diagonal.rising", "1567"}, {"diagonal.falling", "1568"}, {"sill.fall", "0"}, {"layout", "1"}, {"light.1", "fixed"}, {"over", "drill"},
		{"room", "bathroom"}, {"bath", "no"}, {"floor", "1200"}, {"storey", "0"}, {"outside", "1600"}, {"door", "no"}, {"glass", "4-20-4"}, {"vents", "no"},
	} {
		whole.Set(p.Key, p.Value)
	}
	require.Equal(t, [DeskDecides + 1][]Key{}, whole.Unknown())
	found := map[NotKnown]int{}
	for f := range Fields {
		if f.Is(OnRequest) || f.Is(ByCommand) || !whole.Has(f.Key) {
			continue
		}
		k := whole
		k.Set(f.Key, Skipped)
		unknown := k.Unknown()
		require.Contains(t, unknown[f.NotKnown], f.Key)
		for does, keys := range unknown {
			require.Equal(t, NotKnown(does) == f.NotKnown, slices.Contains(keys, f.Key), "%s in list %d", f.Key, does)
		}
		found[f.NotKnown]++
		k = whole
		k.put(f.Key, nil)
		open := Stops
		if f.Is(Spared) {
			open = f.NotKnown
		}
		require.Contains(t, k.Unknown()[open], f.Key, "a question that is open")
	}
	for _, does := range []NotKnown{Stops, Against, Stands, DeskDecides} {
		require.Positive(t, found[does], "no field of kind %d was tried", does)
	}
	for key, does := range map[Key]NotKnown{"material": Stops, "diagonal.rising": Against, "vents": Stands, "glass": DeskDecides} {
		k := whole
		k.Set(key, Skipped)
		require.Equal(t, []Key{key}, k.Unknown()[does])
	}
}

// Who signs, signs for all that stands on the order.
func TestWhatStandsOnTheOrderIsSignedFor(t *testing.T) {
	said := map[Key]string{"opens": "in", "handle": "1050", "locking": "key", "inside": "white", "safeglass": "laminated", "lightglass": "1 laminated", "coating": "soft", "gas": "argon", "spacer": "warm", "ug": "1.1",
		"trickle": "2", "trickle.place": "frame", "trickle.area": "2500", "trickle.colour": "white", "sillend": "0", "sillfix": "loose", "stays": "no", "glazed": "loose",
		"packing": "wrapped", "unload": "kerb", "wanted": "2026-12-10", "obscure": "reeded", "cleared": "the lintel is sound; J Doe; structural engineer; 2026-11-24"}
	for f := range Fields {
		if !f.Is(OnOrder) {
			continue
		}
		var k Known
		for _, p := range []Pair{{"layout", "1"}, {"light.1", "side-left"}, {"material", "timber"}, {"sill", "150"}} {
			k.Set(p.Key, p.Value)
		}
		vents := strings.HasPrefix(f.Key, "trickle.")
		if vents {
			k.Set("trickle", "1")
		}
		stated := func() []Pair {
			return slices.DeleteFunc(k.Opening().Stated(), func(p Pair) bool { return vents && p.Key == "trickle" })
		}
		before := k.Version()
		k.Set(f.Key, said[f.Key])
		require.NotEqual(t, before, k.Version(), f.Key)
		require.Equal(t, []Pair{{f.Key, said[f.Key]}}, stated())
		delete(said, f.Key)
		k.Set(f.Key, "none")
		require.Empty(t, stated(), f.Key)
		for _, nothing := range []string{Skipped, DeskSays} {
			k.Set(f.Key, nothing)
			require.Empty(t, stated(), "%s %s", f.Key, nothing)
		}
	}
	require.Empty(t, said)
}

// What is stored of the house and of the wall over the opening is written to the file
// and read back from it. What nobody could see of brick, buttons of before among it, is
// never more than hidden.
func TestTheHouseAndTheWallInAFile(t *testing.T) {
	for _, c := range []struct {
		key, value string
		want       Opening
		back       string // as it is read back; "": as nothing said
	}{
		{"kind", "flat", Opening{Flat: true}, "flat"},
		{"kind", "house", Opening{}, ""},
		{"higher", "yes", Opening{HigherRisk: true}, "yes"},
		{"built", "before1992", Opening{}, ""},
		{"built", "1992", Opening{From1992: true}, "1992"},
		{"built", "2000", Opening{From1992: true, From2000: true}, "2000"},
		{"built", Skipped, Opening{}, ""},
		{"protected", "yes", Opening{Heritage: true}, "yes"},
		{"few", "yes", Opening{FewWindows: true}, "yes"},
		{"fans", "extract", Opening{Extract: true}, "extract"},
		{"fans", "mvhr", Opening{MVHR: true}, "mvhr"},
		{"fans", "none", Opening{}, ""},
		{"flue", "yes", Opening{OpenFlue: true}, "yes"},
		{"certifies", "installer", Opening{Certifies: safety.ByInstaller}, "installer"},
		{"certifies", "notice", Opening{Certifies: safety.ByNotice}, "notice"},
		{"certifies", "unknown", Opening{}, ""},
		{"over", "drill", Opening{Over: safety.OverHidden}, "hidden"},
		{"over", "hidden", Opening{Over: safety.OverHidden}, "hidden"},
		{"over", "nodrill", Opening{Over: safety.OverLintel, NoHead: true}, "lintel"},
		{"over", "lintel", Opening{Over: safety.OverLintel, NoHead: true}, "lintel"},
		{"over", "arch", Opening{Over: safety.OverArch}, "arch"},
		{"over", "timber", Opening{Over: safety.OverTimber}, "timber"},
		{"over", "bricks", Opening{Over: safety.OverBricks}, "bricks"},
		{"over", "nolintel", Opening{NoLintel: true}, "nolintel"},
		{"over", "bay", Opening{Bay: true}, "bay"},
		{"cracks", "yes", Opening{Cracks: true}, "yes"},
		{"bowed", "no", Opening{}, ""},
		{"cleared", "sound; J Doe; structural engineer; 2026-11-24",
			Opening{Cleared: &Cleared{Who: "J Doe", Capacity: "structural engineer", Day: "2026-11-24", Words: "sound"}}, "sound; J Doe; structural engineer; 2026-11-24"},
		{"cleared", "sound; J Doe; 2026-11-24", Opening{}, ""},
	} {
		var k Known
		k.Set(c.key, c.value)
		o := k.Opening()
		require.Equal(t, c.want, o, c.value)
		require.Equal(t, c.back, Find(c.key).from(&o, ""), "%s %s", c.key, c.value)
	}
}

func BenchmarkNext(b *testing.B) {
	var k Known
	for _, f := range keyed {
		k.Set(f.Key, Skipped)
	}
	for b.Loop() {

		k.Next(false, "")
	}
}
