package opening

import (
	"github.com/shopspring/decimal"

	"strings"

	"sillbot/internal/reading"
)

// settings are the crew's. Of those without a key only a file says more than
// the usual.
func settings() []Field {
	mm := reading.MM
	length := func(key Key, file string, usual reading.Range, marks Mark) Field {
		return Field{Key: CrewPrefix + key, File: "settings." + file, Kind: Length, Scope: CrewWide, Marks: marks | ByCommand, Usual: usual, Most: 500}
	}
	mass := func(key Key, file string, least, most int64) Field {
		usual := reading.Range{Least: decimal.NewFromInt(least), Most: decimal.NewFromInt(most)}
		return Field{Key: CrewPrefix + key, File: "settings." + file, Kind: Figure, Unit: "kg", Scope: CrewWide, Marks: Unsigned | ByCommand, Usual: usual, Most: 200}
	}
	terms := func(key Key, unit string, least decimal.Decimal, most int64) Field {
		usual := reading.Range{Least: least, Most: decimal.NewFromInt(most)}
		return Field{Key: CrewPrefix + key, Kind: Figure, Unit: unit, Scope: CrewWide, Marks: Unsigned | ByCommand, Usual: usual}
	}
	rows := []Field{
		length("outer", "outer_face", mm(20, 200), Example|Sketched),
		length("sash", "sash_face", mm(20, 200), Example),
		length("mullion", "mullion_face", mm(20, 250), Example),
		length("rebate", "edge_cover", mm(5, 60), Example),
		length("depth", "frame_depth", mm(30, 250), Unsigned|Above|Sketched),
		length("embedment", "embedment", mm(20, 200), Unsigned|Sketched),
		length("plaster", "plaster_thickness", mm(0, 60), Sizes),
		length("cover", "check_cover", mm(0, 80), Sizes),
		length("sillpiece", "sill_piece_height", mm(10, 100), Sizes|Sketched),
	}
	for i, most := range map[int]int64{3: 100, 6: 200, 7: 200, 8: 300} {
		rows[i].Most = most
	}
	return append(rows,
		length("upstand", "rebate_upstand", mm(0, 100), Example|Unsigned|Sketched),
		Field{Key: CrewPrefix + "tape", File: "settings.tape_error", Kind: Length, Scope: CrewWide, Marks: Sizes | Above | ByCommand, Usual: reading.Range{Least: decimal.New(3, -1), Most: decimal.NewFromInt(3)}, Most: 5},
		length("setback", "setback", mm(0, 400), Unsigned|Sketched),
		length("bed", "sill_bed", mm(0, 60), Unsigned|Sketched),
		length("leaf", "leaf", mm(50, 400), Unsigned|Above|Sketched),
		length("cavity", "cavity", mm(0, 300), Unsigned|Sketched),
		length("concrete", "embedment_concrete", mm(20, 200), Unsigned),
		length("aerated", "embedment_aerated", mm(20, 200), Unsigned),
		Field{Key: CrewPrefix + "screws", File: "settings.screw_lengths[#]", Kind: Lengths, Scope: CrewWide, Marks: ByCommand | Unsigned | Above, Usual: mm(30, 500), Most: 1000},
		Field{Key: CrewPrefix + "profile", File: "settings.profile_mass", Kind: Figure, Unit: "kg a metre", Scope: CrewWide, Marks: Example | Unsigned | Above | ByCommand,
			Usual: reading.Range{Least: decimal.New(5, -1), Most: decimal.NewFromInt(15)}, Most: 50},
		mass("lift", "lift_each", 5, 50),
		mass("lifttwo", "lift_two", 5, 150),
		mass("liftthree", "lift_three", 5, 200),
		Field{Key: CrewPrefix + "sealant", File: "settings.joint.class", Rows: [][]string{{"25", "20", "12.5", "7.5"}}, Scope: CrewWide, Marks: ByCommand | Unsigned},
		Field{Key: CrewPrefix + "certifies", Rows: [][]string{{"installer", "notice"}, {"unknown"}}, Scope: CrewWide, Marks: ByCommand | Unsigned},
		Field{Key: CrewPrefix + "customer", Rows: [][]string{{"yes", "no"}}, Scope: CrewWide, Marks: ByCommand | Unsigned},
		terms("rate", "£ an hour", decimal.NewFromInt(1), 500),
		terms("hours", "h a window", decimal.New(25, -2), 200),
		terms("stores", "£ a window", decimal.Zero, 5000),
		terms("vat", "%", decimal.Zero, 100),
		terms("deposit", "%", decimal.Zero, 100),
		Field{Key: CrewPrefix + "tolerance", Kind: Length, Scope: CrewWide, Marks: ByCommand | Unsigned, Usual: mm(1, 20)},
	)
}

// fileOnly are the fields that only a file says.
func fileOnly() []Field {
	figures := func(most int64, files ...string) []Field { return fileRows(0, 0, most, files...) }
	rows := figures(0, "vents_unknown", "no_head", "no_lintel", "bay", "inner_room", "old_escape", "door",
		"widened", "room_name", "guarded", "not_house", "leaded", "from_1992", "extract",
		"cleared.who", "cleared.capacity", "cleared.day", "cleared.words", "smooth", "sashes[#].light", "sashes[#].releasable", "sashes[#].beside_door",
		"patches[#].ready_mix", "rebates[#].light", "patches[#].coats[#].sand", "patches[#].coats[#].dubbing_out", "prices[#].what", "layout.lights[#].hinge", "items.handle_middle")
	for _, more := range [][]Field{
		figures(1, "layout.lights[#].row"), figures(31, "layout.lights[#].column"),
		figures(tapeMost, "layout.mullions[#]", "layout.transoms[#]", "sashes[#].restrictor", "sashes[#].clear.width", "sashes[#].clear.height",
			"sashes[#].size.width", "sashes[#].size.height"),
		figures(2*tapeMost, "sashes[#].heel_toe", "sashes[#].across"), figures(180, "sashes[#].angle"), fileRows(Optional, 40, 1000, "gauge"),
		figures(manyMost, "vent_area", "vent_area_new", "other_vents", "other_old_vents", "screw_allows", "prices[#].quantity"),
		figures(tapeMost, "rebates[#].rebate.width", "rebates[#].rebate.height", "rebates[#].glass.width", "rebates[#].glass.height", "delivered.width", "delivered.height"), figures(2*tapeMost, "delivered.rising", "delivered.falling"), figures(1000, "delivered.twist"),
		fileRows(0, -100, 100, "delivered.temperature"), setRows(), figures(tapeMost, "fixed[0]", "fixed[1]", "fixed[2]"),
		figures(20, "uf"), figures(1, "psi", "prices[#].vat_rate"), figures(150, "wind_speed"), figures(20_000, "wind_pressure"),
		fileRows(Optional, 0, 0, "wind_code", "patches[#].wall"), fileRows(0, 1, tapeMost, "trims[#]", "patches[#].length", "patches[#].width"),
		figures(100, "patches[#].depth"), fileRows(0, 1, 100, "patches[#].coats[#].thickness"), fileRows(0, -manyMost, manyMost, "prices[#].each"),
		fileRows(0, 0, 1, "settings.waste", "settings.joint.share", "settings.store.waste", "settings.money.vat_rate", "settings.money.deposit"),
		fileRows(Above, 0, 1, "settings.store.foam_yield"), fileRows(0, 100, 20_000, "settings.store.trim_length"),
		fileRows(0, 1, 100_000, "settings.store.tube", "settings.store.foam_can", "settings.store.backing", "settings.store.screw_box", "settings.store.cement_bag"),
		figures(2000, "settings.clear.side_hung.width", "settings.clear.side_hung.height", "settings.clear.tilt_turn.width",
			"settings.clear.tilt_turn.height", "settings.clear.top_hung.width", "settings.clear.top_hung.height"),
		figures(200, "settings.joint.expansion.*", "settings.joint.range.*"),
		fileRows(0, 1, 200, "settings.patch.bucket"), fileRows(0, 1, 12, "settings.patch.lime_sand"), fileRows(0, 10, 15, "settings.patch.lime_most"),
		figures(10, "settings.patch.lime_days"), figures(1, "settings.patch.mortar_waste"), figures(20, "settings.trim.kerf", "settings.sill_piece.kerf", "settings.sill_piece.end_cap"),
		fileRows(0, 1, 500, "settings.trim.trim_widths[#]", "settings.trim.extensions[#]"), fileRows(0, 1, 100, "settings.trim.trim_lap"),
		figures(500, "settings.sill_piece.sill_end_gap"), figures(30, "settings.sill_piece.sill_fall"), figures(50, "settings.sill_piece.sill_fall_per_100"),
		fileRows(0, 3, 20, "settings.drill.frame_screw"), fileRows(0, 2, 20, "settings.drill.pilot_holes.*"), figures(100, "settings.drill.hole_beyond"),
	} {
		rows = append(rows, more...)
	}
	return rows
}

// setRows are the readings of a level.
func setRows() []Field {
	var rows []Field
	for _, member := range []string{"sill", "head", "left", "right", "left_face", "right_face"} {
		at := "set[#]." + member + "."
		rows = append(rows, fileRows(0, 0, 1000, at+"gap", at+"bubble", at+"per_metre")...)
		rows = append(rows, fileRows(0, 0, tapeMost, at+"level")...)
		rows = append(rows, fileRows(0, 0, 0, at+"to")...)
	}
	rows = append(rows, fileRows(0, 0, 2*tapeMost, "set[#].rising", "set[#].falling")...)
	rows = append(rows, fileRows(0, 0, 1000, "set[#].strings", "set[#].corner.by")...)
	return append(rows, fileRows(0, 0, 0, "set[#].corner.at", "set[#].corner.to")...)
}

func fileRows(marks Mark, least, most int64, files ...string) []Field {
	rows := make([]Field, len(files))
	for i, file := range files {
		rows[i] = Field{File: file, Kind: Figure, Marks: marks | Unsigned, Least: least, Most: most}
		if strings.HasPrefix(file, "settings.") {
			rows[i].Scope = CrewWide
		}
	}
	return rows
}
