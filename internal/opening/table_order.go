package opening

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/reading"
)

// items are the rows of what a maker needs besides the survey. The limits of their
// figures are common practice, no source.
func items() []Field {
	const marks = OnRequest | OnOrder | Maker | Skips
	mm := reading.MM
	choice := func(key Key, group, file string, asked func(*Known) bool, rows ...[]string) Field {
		return Field{Key: key, File: "items." + file, Scope: OfJob, Marks: marks | Optional, NotKnown: Stands, Group: group, Rows: rows, Asked: asked}
	}
	unit := func(f Field) Field {
		f.Change = "unit"
		return f
	}
	vent := func(f Field) Field {
		f.Change = "newvents"
		return f
	}
	words := func(key Key, group, file string, most int64, asked func(*Known) bool, rows ...[]string) Field {
		f := choice(key, group, file, asked, rows...)
		f.Kind, f.Marks, f.Most = Words, marks, most
		return f
	}
	figure := func(f Field, kind Kind, usual reading.Range, most int64, put func(*Known, *Opening)) Field {
		f.Kind, f.Marks, f.Usual, f.Most, f.put = kind, marks, usual, most, put
		return f
	}
	seen := func(f Field) Field {
		f.Marks |= Seen
		return f
	}
	wanted := choice("wanted", "wanted", "wanted", nil)
	wanted.Kind, wanted.Marks = Day, marks
	return []Field{
		seen(choice("opens", "opens", "opens", opensSome, []string{"out", "in"})),
		seen(figure(choice("handle", "handle", "handle_height", turnsSome, []string{"middle"}), Length, mm(100, 2500), tapeMost, withHandle)),
		seen(choice("locking", "locking", "locking", opensSome, []string{"key", "nokey"})),
		seen(words("inside", "inside", "inside", 40, coloured, []string{"white", "same"})),
		choice(ByClass, "safeglass", "safety_glass", nil, []string{"toughened", "laminated"}, []string{"mixed"}),
		{Key: ByLight, File: "items.light_glass", Kind: Words, Marks: marks, NotKnown: Stands, Most: 160, Asked: hasLight(1)},
		unit(choice("coating", "coating", "coating", unitNotKnown, []string{"soft"}, []string{"hard", "uncoated"})),
		unit(choice("gas", "gas", "gas", unitNotKnown, []string{"argon", "air"}, []string{"krypton"})),
		unit(choice("spacer", "spacer", "spacer", unitNotKnown, []string{"warm", "metal"})),
		{Key: "ug", File: "ug", Kind: Figure, Unit: "W/m²K", Scope: OfJob, Marks: marks, NotKnown: Stands, Most: 10, Change: "unit"},
		seen(vent(figure(choice("trickle", "trickle", "vents", nil, []string{"0", "1", "2"}), Choice, reading.Range{}, 20, withVents))),
		seen(vent(choice("trickle.place", "ventplace", "vent_place", hasVents, []string{"frame"}, []string{"sash", "over"}))),
		{Key: "trickle.area", File: "vent_each", Kind: Figure, Unit: "mm²", Scope: OfJob, Marks: marks, NotKnown: Stands, Most: manyMost, Asked: hasVents, Change: "newvents"},
		seen(vent(words("trickle.colour", "ventcolour", "vent_colour", 40, hasVents, []string{"white", "same"}))),
		seen(figure(choice("sillend", "sillend", "sill_past", hasSillPiece, []string{"0"}), Length, mm(0, 300), 1000, nil)),
		choice("sillfix", "sillfix", "sill_fixing", hasSillPiece, []string{"fixed", "loose"}),
		seen(choice("stays", "stays", "restrictors", staysOpen, []string{"each", "no"})),
		choice("glazed", "glazed", "glazing", nil, []string{"glazed", "loose"}),
		choice("packing", "packing", "packing", nil, []string{"wrapped"}, []string{"stillage", "open"}),
		words("unload", "unload", "unload", 80, nil, []string{"kerb", "inside"}),
		wanted,
	}
}

// opensSome says whether any light opens.
func opensSome(k *Known) bool {
	return slices.ContainsFunc(k.Layout().Lights, func(l calc.Light) bool { return l.Hinge != "" && l.Hinge != calc.FixedLight })
}

// turnsSome says whether a light hangs on its side: the handle of others stands in
// their lower or upper rail.
func turnsSome(k *Known) bool {
	return slices.ContainsFunc(k.Layout().Lights, func(l calc.Light) bool {
		return slices.Contains([]calc.Hinge{calc.SideLeft, calc.SideRight, calc.TiltTurnLeft, calc.TiltTurnRight}, l.Hinge)
	})
}

// coloured says whether the frame may have one colour outside and another inside.
func coloured(k *Known) bool {
	return k.Given("material") && k.Value("material") != string(calc.PVCUWhite)
}

// unitNotKnown: who said what the glass unit must reach leaves its parts to the maker.
func unitNotKnown(k *Known) bool { return !k.Given("ug") }

func hasVents(k *Known) bool { return k.Given("trickle") && k.Number("trickle").IsPositive() }

func hasSillPiece(k *Known) bool { return k.Given("sill") && k.Value("sill") != "none" }

// staysOpen: a restrictor's own gap says already that there is one.
func staysOpen(k *Known) bool { return opensSome(k) && !k.Given("restrictor") }

func withHandle(k *Known, o *Opening) {
	if !k.Given("handle") {
		return
	}
	o.Items.HandleMiddle = k.Value("handle") == "middle"
	o.Items.HandleHeight = k.Number("handle")
}

// withVents writes how many vents there are, and what they have together where each
// one's area is known.
func withVents(k *Known, o *Opening) {
	if k.Value("trickle") != "none" {
		o.Items.Vents = k.Optional("trickle")
	}
	if o.Items.Vents != nil {
		o.VentAreaNew = o.Items.Vents.Mul(k.Number("trickle.area"))
	}
}

// LeastUg and MostUg are the U values of a glass unit that are taken in a
// conversation, W/m²K, and LeastVent and MostVent the equivalent areas of one vent,
// mm². Common practice, no source.
var (
	LeastUg, MostUg     = decimal.New(3, -1), decimal.NewFromInt(6)
	LeastVent, MostVent = decimal.NewFromInt(500), decimal.NewFromInt(20_000)
)
