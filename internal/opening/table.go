package opening

import (
	"slices"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/reading"
)

// SideRange is what the tape can say of one side of an opening.
var SideRange = reading.MM(200, 6000)

var (
	table []*Field // those with a key first, in the order of the survey
	keyed []*Field // those with a key
)

// The rows' conditions look fields up, so the table is filled when they exist.
func init() {
	rows := slices.Concat(readings(), layout(), surroundings(), onRequest(), house(), wall(), commands(), items(), settings(), fileOnly())
	places = map[Key]int{}
	for i := range rows {
		f := &rows[i]
		table = append(table, f)
		f.steps = stepsTo(f.File)
		f.least, f.most = decimal.NewFromInt(f.Least), decimal.NewFromInt(f.Most)
		f.Name = f.Key
		if name, number, _ := strings.Cut(f.Key, "."); name == "light" || name == "mullion" {
			f.Name = name
			f.N, _ = strconv.Atoi(number)
		}
		switch f.Kind {
		case Length, SillPiece:
			f.Unit = "mm"
		case FloorArea:
			f.Unit = "m²"
		}
		if f.Change == "" {
			f.Change = f.Key
		}
		if f.Key != "" {
			places[f.Key] = i
			keyed = append(keyed, f)
		}
		if slices.Contains(ReadingKeys, f.Key) {
			f.Marks |= Reading | Sketched
		}
	}
}

func readings() []Field {
	mm, diagonal := reading.MM, reading.MM(280, 8500)
	rows := []Field{
		{Key: "nation", File: "nation", Scope: House, NotKnown: Stops, Group: "nation",
			Rows: [][]string{{"england", "wales"}, {"scotland", "ni"}}, Short: [][]string{{"england-today", "wales-today"}, {"scotland-today"}, {"ni-today"}}},
		{Key: "date", File: "date", Kind: Day, Scope: House, NotKnown: Stops, Rows: [][]string{{"today", "tomorrow"}}},
		{Key: "finish", File: "finish", Safe: "bare", Marks: Sizes | Repeats, NotKnown: Stops, Group: "finish", Rows: [][]string{{"bare"}, {"plaster"}, {"check"}},
			Voids: []Key{"inner.width", "inner.height"}},
		{Key: "sill", File: "sill_depth", Safe: "150", Kind: SillPiece, Marks: Sizes | Repeats, NotKnown: Stops, Group: "sill", Rows: [][]string{{"none"}, {"85", "150", "180"}},
			Usual: mm(40, 400), Most: 1000},
		{Key: "material", File: "material", Safe: "pvcu-colour", Marks: Sizes | Repeats, NotKnown: Stops, Group: "material",
			Rows: [][]string{{"pvcu-white", "pvcu-colour"}, {"timber", "aluminium", "steel"}}},
	}
	for i, key := range ReadingKeys[:6] {
		file, change := numbered("widths[", i)+"]", "widths"
		if i >= 3 {
			file, change = numbered("heights[", i-3)+"]", "heights"
		}
		rows = append(rows, Field{Key: key, File: file, Kind: Length, Marks: Sizes | Above, NotKnown: Stops, Usual: SideRange, Most: tapeMost, Change: change})
	}
	return append(rows,
		Field{Key: "inner.width", File: "inner.width", Kind: Length, Marks: Sizes | Skips | Sketched, NotKnown: Against, Usual: SideRange, Most: tapeMost,
			Asked: is("finish", "check"), Voids: []Key{"inner.height"}, Change: "inner"},
		Field{Key: "inner.height", File: "inner.height", Kind: Length, Marks: Sizes | Skips | Sketched, NotKnown: Against, Usual: SideRange, Most: tapeMost,
			Asked: all(is("finish", "check"), has("inner.width")), Change: "inner"},
		Field{Key: "diagonal.rising", File: "rising", Kind: Length, Marks: Sizes | Skips, NotKnown: Against, Usual: diagonal, Most: 2 * tapeMost,
			Voids: []Key{"diagonal.falling", "lean"}, Change: "diagonals", put: withDiagonals},
		Field{Key: "diagonal.falling", File: "falling", Kind: Length, Marks: Sizes | Skips, NotKnown: Against, Usual: diagonal, Most: 2 * tapeMost,
			Asked: has("diagonal.rising"), Voids: []Key{"lean"}, Change: "diagonals", put: withDiagonals},
		Field{Key: "sill.fall", File: "sill_fall", Kind: Length, Marks: Sizes | Skips | Spared, NotKnown: Against, Usual: mm(-100, 100), Least: -tapeMost, Most: tapeMost,
			Group: "fall", Rows: [][]string{{"0"}, {"right", "left"}}, put: withDiagonals},
		Field{Key: "lean", Marks: Skips | Unsigned | Spared, NotKnown: Stands, Group: "lean", Rows: [][]string{{"left", "right"}}, Asked: leansSome},
	)
}

func layout() []Field {
	mm := reading.MM
	hinges := func() [][]string {
		return [][]string{{"fixed"}, {"side-left", "side-right"}, {"top", "bottom"}, {"tilt-turn-left", "tilt-turn-right"}}
	}
	rows := []Field{{Key: "layout", Kind: Lights, NotKnown: Stops, Group: "light", Rows: append(hinges(), []string{"2", "3", "4"}, []string{"2t", "3t"}),
		Short: [][]string{{"side-left", "fixed", "side-right"}, {"top"}, {"left-fixed"}, {"fixed-right"}},
		More:  [][]string{{"bottom"}, {"tilt-turn-left", "tilt-turn-right"}, {"left-right"}, {"2", "3", "4"}, {"2t", "3t"}},
		Voids: []Key{"transom", ByLight}, put: func(k *Known, o *Opening) { o.Layout = k.Layout() },
	}}
	for n := 1; n < MostColumns; n++ {
		f := Field{Key: numbered("mullion.", n), Kind: Length, Marks: Sketched, Usual: mm(50, 5950), Asked: hasMullion(n), Change: "mullions"}
		if n == 1 {
			f.Marks, f.Voids = Skips|Sketched, []Key{"mullion.2", "mullion.3"}
		}
		rows = append(rows, f)
		rows[0].Voids = append(rows[0].Voids, f.Key)
	}
	rows = append(rows, Field{Key: "transom", Kind: Length, Usual: mm(50, 5950), Marks: Skips | Sketched, Asked: (*Known).TopRow})
	for n := 1; n <= MostLights; n++ {
		f := Field{Key: numbered("light.", n), Group: "light", NotKnown: Stops, Rows: hinges(), Asked: hasLight(n), Change: "lights"}
		rows = append(rows, f)
		rows[0].Voids = append(rows[0].Voids, f.Key)
	}
	return rows
}

func surroundings() []Field {
	mm, yesNo := reading.MM, [][]string{{"yes", "no"}}
	return []Field{
		// drill and nodrill are what buttons of before say, and brick by itself: not seen what carries it.
		{Key: "over", File: "over", Marks: Optional, Safe: "nolintel", Group: "over", Voids: []Key{"cleared"}, put: withHead,
			Rows:  [][]string{{"arch"}, {"lintel"}, {"timber", "bricks"}, {"nolintel", "bay"}, {"hidden"}, {"drill", "nodrill"}},
			Short: [][]string{{"arch"}, {"lintel"}, {"timber", "bricks"}, {"nolintel", "bay"}, {"hidden"}}},
		{Key: "room", File: "room", NotKnown: Stops, Group: "room", Voids: []Key{"bath"},
			Rows:  [][]string{{"living", "bedroom"}, {"kitchen", "bathroom"}, {"hall"}},
			Short: [][]string{{"living", "bedroom"}, {"kitchen", "hall"}, {"bath-near"}, {"bath-far"}}},
		{Key: "bath", File: "near_bath", Safe: "yes", NotKnown: Stands, Group: "answer", Rows: yesNo, Asked: is("room", "bathroom")},
		{Key: "floor", File: "above_floor", Kind: Length, Marks: Skips | Sketched, NotKnown: Against, Else: "bedheight", Usual: mm(0, 4000), Least: -tapeMost, Most: tapeMost, Early: "storey"},
		{Key: "storey", File: "storey", Kind: FloorOf, NotKnown: Stands, Most: 200, Group: "storey", Rows: [][]string{{"0"}, {"1"}, {"2"}},
			Short: [][]string{{"1", "2"}, {"ground"}}, Voids: []Key{"outside"}},
		{Key: "outside", File: "above_outside", Kind: Length, Marks: Skips | Sketched, NotKnown: Against, Usual: mm(0, 9000), Least: -tapeMost, Most: tapeMost, Asked: is("storey", "0")},
		{Key: "door", File: "beside_door", Safe: "yes", NotKnown: Stands, Group: "answer", Rows: yesNo, Asked: all(is("storey", "0"), belowDoorZone)},
		{Key: "glass", File: "panes[#]", Kind: MakeUp, Least: 2, Most: 50, Marks: Skips | Repeats, NotKnown: DeskDecides, Group: "glass", Rows: [][]string{{"4-20-4", "4-16-4"}, {"6-16-6", "6-14-6"}},
			put: func(k *Known, o *Opening) { o.Panes = paneThicknesses(k.Value("glass")) }},
		{Key: "vents", File: "old_vents", Marks: Skips | Repeats, NotKnown: Stands, Group: "answer", Rows: yesNo, put: func(k *Known, o *Opening) {
			o.OldVents, o.VentsUnknown = k.Value("vents") == "yes", k.Value("vents") == Skipped
		}},
	}
}

func onRequest() []Field {
	mm := reading.MM
	return []Field{
		{Key: "pattern", File: "lighter", Marks: OnRequest | Unsigned, Group: "pattern", Rows: [][]string{{"full"}, {"lighter"}},
			put: func(k *Known, o *Opening) { o.Lighter = k.Value("pattern") == "lighter" }},
		{Key: "bedjoint", File: "bed_joint", Kind: Length, Marks: Skips | OnRequest | Unsigned, Usual: mm(0, 300), Least: -tapeMost, Most: tapeMost},
		{Key: "restrictor", File: "restrictor", Kind: Length, Marks: Skips | OnRequest, Usual: mm(20, 500), Most: tapeMost, Voids: []Key{"release"}},
		{Key: "release", File: "releasable", Group: "answer", Rows: [][]string{{"yes", "no"}}, Asked: has("restrictor")},
		{Key: "area", File: "floor_area", Kind: FloorArea, Marks: Skips | OnRequest, Most: 10_000},
		{Key: "obscure", File: "obscure", Kind: Words, Marks: OnRequest | OnOrder | Maker | Skips | Seen, NotKnown: Stands, Most: 40, Group: "obscure", Rows: [][]string{{"none"}}},
		{Key: "bedheight", File: "bed_above_floor", Kind: Length, Marks: Skips | OnRequest, Usual: mm(0, 3000), Least: -tapeMost, Most: tapeMost},
		{Key: "board", File: "board_edge", Kind: Length, Marks: Skips | OnRequest | Unsigned, Usual: mm(0, 600), Most: 2000},
		{Key: "masonry", File: "masonry", Marks: OnRequest | Unsigned | Optional, Group: "masonry", Rows: [][]string{{"brick", "concrete"}, {"aerated", "hollow"}}},
		{Key: "tight", File: "tight_to", Marks: OnRequest | Unsigned | Optional, Group: "tight", Rows: [][]string{{"middle"}, {"left", "right"}}, put: withSide},
	}
}

// commands are the fields that a command of their own says.
func commands() []Field {
	return []Field{
		{Key: "name", File: "name", Kind: Words, Marks: ByCommand | Unsigned},
		{Key: "count", File: "count", Kind: Figure, Marks: ByCommand, Most: countMost},
		{Key: "colour", Kind: Words, Marks: ByCommand | Maker | Skips, NotKnown: Stands, Most: 40, Asked: coloured},
		{Key: "hardware", Kind: Words, Marks: ByCommand},
		{Key: "price", Kind: Figure, Marks: ByCommand | Unsigned},
		{Key: "due", Kind: Day, Marks: ByCommand | Unsigned},
	}
}

// Find is the field of that key; nil for none.
func Find(key Key) *Field {
	if i, ok := places[key]; ok {
		return table[i]
	}
	return nil
}

// All calls do with each row of the table.
func All(do func(*Field) bool) { slices.Values(table)(do) }

// Fields calls do with each field that has a key, in the order of the survey.
func Fields(do func(*Field) bool) { slices.Values(keyed)(do) }
