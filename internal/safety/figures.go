package safety

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// The kinds of figures that rulings have, each figure with its mark where it
// is set. Two rulings whose documents give the same figures share them.

// glassFigures are those of safety glass. Lengths in mm.
type glassFigures struct {
	window, door decimal.Decimal // critical below this in a window, in a door and its side panel
	reach        decimal.Decimal // a side panel is this near to the door
	class        decimal.Decimal // least class of BS EN 12600
	wideClass    decimal.Decimal // the same in a door or side panel over wide
	wide         decimal.Decimal
	smallSide    decimal.Decimal // small panes: the shorter side
	smallArea    decimal.Decimal // m²
	smallThick   decimal.Decimal
	leadedThick  decimal.Decimal
	screenBall   decimal.Decimal // a permanent screen stops it
	screenHeight decimal.Decimal // and is this high
	annealed     []annealedPane  // by thickness, for public fronts only
}

// annealedPane is the largest pane of ordinary glass of a thickness, mm, the
// shorter side first. With no sides it may have any size.
type annealedPane struct{ thickness, short, long decimal.Decimal }

// zones2013 is AD K 2013 K4 section 5; that the other nations have the same
// zones is S/M.
var zones2013 = &glassFigures{
	window: mm(800), door: mm(1500), reach: mm(300), // S, K4 section 5
	class: decimal.NewFromInt(3), wideClass: decimal.NewFromInt(2), wide: mm(900), // R, para 5.4, classes of BS EN 12600
	smallSide: mm(250), smallArea: decimal.New(5, -1), smallThick: mm(6), leadedThick: mm(4), // S, K4 section 5
	screenBall: mm(75), screenHeight: mm(800), // S, K4 section 5
	annealed: []annealedPane{ // R, diagram 5.2
		{thickness: mm(8), short: mm(1100), long: mm(1100)},
		{thickness: mm(10), short: mm(2250), long: mm(2250)},
		{thickness: mm(12), short: mm(3000), long: mm(4500)},
		{thickness: mm(15)},
	},
}

// bathFigures are those of glass beside a bath or shower.
type bathFigures struct {
	reach decimal.Decimal // mm of its base
	class decimal.Decimal // least class of BS EN 12600
}

// bath2005 is BS 6262-4:2005: the reach is S; that the class is the least one is
// from memory.
var bath2005 = &bathFigures{reach: mm(800), class: decimal.NewFromInt(3)}

// guardFigures are those of a guard before an opening light, mm.
type guardFigures struct {
	below decimal.Decimal // an opening below this above the floor
	drop  decimal.Decimal // with more than this to fall outside
	full  decimal.Decimal // height of the guard of a full-height opening light upstairs
	ball  decimal.Decimal // stays in
}

// guard2013 is AD K 2013 K2 diagram 3.1, R; the drop is M/S.
var guard2013 = &guardFigures{below: mm(800), drop: mm(600), full: mm(1100), ball: mm(100)}

// Where the glass or the opening of a light begins; common practice, no source.
var (
	sashAndFrame = mm(100) // from the glass down to the opening when that is not known
	fullHeight   = mm(100) // an opening that begins this near to the floor is full height
)

// escapeFigures are those of a window to escape through, mm.
type escapeFigures struct {
	area   decimal.Decimal // m² clear
	side   decimal.Decimal // clear each way
	bottom decimal.Decimal // at most this above the floor
	high   decimal.Decimal // floors above this are not escaped from by a window
	today  bool            // a replacement has to meet them too, whatever the old window was
}

// escape210 is AD B vol 1 2.10, the same in Scotland's 2.9.4; R, S. Scotland has
// no "no worse than before" for windows (schedule 3, types 20 and 24, R).
var (
	escape210 = &escapeFigures{area: decimal.New(33, -2), side: mm(450), bottom: mm(1100), high: mm(4500)}
	escape294 = &escapeFigures{area: escape210.area, side: escape210.side, bottom: escape210.bottom, high: escape210.high, today: true}
)

// ventFigures are the equivalent areas, mm², that a room without vents gets.
// A room that is not there needs none.
type ventFigures map[Room]decimal.Decimal

// vents2021 is AD F vol 1 2021 3.15, R.
var vents2021 = ventFigures{Living: mm(8000), Bedroom: mm(8000), Kitchen: mm(8000), Bathroom: mm(4000)}

// purgeFigures are those of changing the air quickly.
type purgeFigures struct {
	part decimal.Decimal // one in so many of the floor area opens
	// angles are set where the rule goes by how far a light opens.
	angles *purgeAngles
}

// purgeAngles: lights that open to wide degrees count against the part, and
// all from narrow degrees up against narrowPart.
type purgeAngles struct{ wide, narrow, narrowPart decimal.Decimal }

// purge2021 is AD F vol 1 2021; R, S.
var purge2021 = &purgeFigures{
	part:   decimal.NewFromInt(20),
	angles: &purgeAngles{wide: decimal.NewFromInt(30), narrow: decimal.NewFromInt(15), narrowPart: decimal.NewFromInt(10)},
}

// unknownSwing is how far a light is taken to open when nobody said, degrees.
// It is the best case, so what hangs on it is asked about.
var unknownSwing = decimal.NewFromInt(30)

// heatFigures are U-values, W/m²K.
type heatFigures struct {
	limit  decimal.Decimal // of the whole window
	centre decimal.Decimal // of the glass at its centre, in a building whose look is protected; zero: not known
	glazed decimal.Decimal // % of glass over which a door is rated as a glazed one; zero: nothing is known of doors
}

// heat2021 is AD L vol 1 2021, S; Wales 2022 and Scotland 2023 have the same
// limit, and in Scotland that is weak. Doors are quoted for England alone, and
// the glass of protected buildings for England and Wales.
var (
	heat2021     = &heatFigures{limit: decimal.New(14, -1), centre: decimal.New(12, -1), glazed: decimal.NewFromInt(60)}
	heatWales    = &heatFigures{limit: heat2021.limit, centre: heat2021.centre}
	heatScotland = &heatFigures{limit: heat2021.limit}
)

// paperFigures are those of telling the council, and which rule says it.
type paperFigures struct {
	rule string
	flat string          // the same for a flat; "": no other
	door string          // the same for a door; "": no other
	days decimal.Decimal // within which a registered installer does
}

// reg20 is regulation 20 of the Building Regulations (England and Wales), R.
var reg20 = &paperFigures{rule: "paper_notify", days: decimal.NewFromInt(30)}

// hazardFigures are those of the cautions.
type hazardFigures struct {
	silica, hours decimal.Decimal // mg/m³ over so many hours
	rail          decimal.Decimal // mm, least height of an edge rail
	fall          decimal.Decimal // mm: outside a ground floor more than this is work at height too
}

// hseHazards: silica is quoted by others, the rail was read, the drop is common
// practice.
var hseHazards = &hazardFigures{silica: decimal.New(1, -1), hours: decimal.NewFromInt(8), rail: mm(950), fall: mm(2000)}

func mm(n int64) decimal.Decimal { return decimal.NewFromInt(n) }

// takes reports whether the diagram takes ordinary annealed glass of a
// thickness, mm, in a pane of this size in a critical place. The diagram is
// only for shop, office and public fronts (para 5.5): it never clears a window
// of a house, and Findings does not ask it there.
func (g *glassFigures) takes(thickness decimal.Decimal, size calc.Size) bool {
	short, long := decimal.Min(size.Width, size.Height), decimal.Max(size.Width, size.Height)
	if !short.IsPositive() {
		return false
	}
	for _, a := range g.annealed {
		fits := a.short.IsZero() || short.LessThanOrEqual(a.short) && long.LessThanOrEqual(a.long)
		if thickness.GreaterThanOrEqual(a.thickness) && fits {
			return true
		}
	}
	return false
}
