package locales_test

import (
	"math"
	"math/rand/v2"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/safety"
)

func pick[T any](r *rand.Rand, from ...T) T { return from[r.IntN(len(from))] }

// often is true so many times of ten.
func often(r *rand.Rand, times int) bool { return r.IntN(10) < times }

func mm(n int64) decimal.Decimal { return decimal.NewFromInt(n) }

// someOpening is an opening as it might be met, and now and then one that is
// hard, so that as many reasons and findings as can be have figures.
func someOpening(r *rand.Rand) opening.Opening {
	w, h := pick[int64](r, 450, 600, 900, 1200, 1500, 1800, 2400, 3300), pick[int64](r, 450, 600, 900, 1050, 1200, 1500, 2100)
	off := func() decimal.Decimal { return mm(pick[int64](r, 0, 0, 1, 2, 3, 8, 25)) }
	o := opening.Opening{
		Nation: pick(r, safety.England, safety.England, safety.Wales, safety.Scotland, safety.NI),
		Date:   pick(r, "2026-11-25", "2026-11-25", "2009-05-04", "2013-03-04", "2021-06-01", "2027-04-01", "2028-01-10"),
		Finish: pick(r, calc.Bare, calc.Bare, calc.Plaster, calc.Check), Material: pick(r, calc.PVCUWhite, calc.PVCUColour, calc.Timber, calc.Aluminium, calc.Steel),
		Widths:  [3]decimal.Decimal{mm(w).Add(off()), mm(w).Add(off()), mm(w).Add(off())},
		Heights: [3]decimal.Decimal{mm(h).Add(off()), mm(h).Add(off()), mm(h).Add(off())},
		Layout:  someLayout(r), Room: pick(r, safety.Living, safety.Bedroom, safety.Kitchen, safety.Bathroom, safety.Hall), Storey: r.IntN(4),
		BesideDoor: often(r, 2), NearBath: often(r, 3), OldVents: often(r, 5), MVHR: often(r, 1), InnerRoom: often(r, 1), OldEscape: often(r, 2),
		Bay: often(r, 1), NoLintel: often(r, 1), OpenFlue: often(r, 1), VentsUnknown: often(r, 1), Door: often(r, 1), Flat: often(r, 2), Widened: often(r, 1),
		Heritage: often(r, 1), Releasable: often(r, 5), NoHead: often(r, 2), Lighter: often(r, 2), Guarded: often(r, 1), NotHouse: often(r, 1),
		Leaded: often(r, 1), From2000: often(r, 3), Smooth: often(r, 3), RoomName: "back room",
		AboveFloor: someHeight(r), AboveOutside: someHeight(r), BedJoint: someOf(r, 5, 20, 35, 50),
	}
	measuredAcross(r, &o, w, h)
	withFigures(r, &o)
	ofTheHouse(r, &o)
	return o
}

// ofTheHouse is what the rules ask of a house and of the wall over an opening.
func ofTheHouse(r *rand.Rand, o *opening.Opening) {
	o.Over = pick(r, safety.OverLintel, safety.OverLintel, safety.OverArch, safety.OverTimber, safety.OverBricks, safety.OverHidden)
	o.Cracks, o.Bowed, o.HigherRisk, o.Extract, o.FewWindows, o.From1992 = often(r, 1), often(r, 1), often(r, 1), often(r, 2), often(r, 2), often(r, 3)
	o.Certifies = pick(r, "", safety.ByInstaller, safety.ByNotice)
	if often(r, 1) {
		o.Cleared = &opening.Cleared{Who: "A. Engineer (invented)", Capacity: "structural engineer", Day: "2026-11-20", Words: "the lintel is sound"}
	}
}

func someOf(r *rand.Rand, times int, from ...int64) *decimal.Decimal {
	if !often(r, times) {
		return nil
	}
	d := mm(pick(r, from...))
	return &d
}

func someHeight(r *rand.Rand) *decimal.Decimal {
	return someOf(r, 8, 150, 450, 700, 850, 1050, 1300, 2700, 5200)
}

func someLayout(r *rand.Rand) calc.Layout {
	hinge := func() calc.Hinge {
		return pick(r, calc.FixedLight, calc.SideLeft, calc.SideRight, calc.TopHung, calc.BottomHung, calc.TiltTurnLeft, calc.TiltTurnRight)
	}
	l := calc.Layout{Lights: []calc.Light{{Hinge: hinge()}}}
	switch r.IntN(4) {
	case 0:
		l.Mullions = []decimal.Decimal{decimal.Zero}
		l.Lights = append(l.Lights, calc.Light{Column: 1, Hinge: hinge()})
	case 1:
		l.Transoms = []decimal.Decimal{decimal.Zero}
		l.Lights = append(l.Lights, calc.Light{Row: 1, Hinge: hinge()})
	}
	return l
}

// measuredAcross gives the diagonals, one of them wrong now and then, the fall
// of the sill and what is behind a check.
func measuredAcross(r *rand.Rand, o *opening.Opening, w, h int64) {
	if often(r, 8) {
		d := int64(math.Sqrt(float64(w*w + h*h)))
		o.Rising, o.Falling = mm(d+pick[int64](r, 0, 1, 2, 8, 20)), mm(d+pick[int64](r, 0, 0, 1, 2, 50, 100))
		o.SillFall = someOf(r, 4, 0, 2, 6, -4)
	}
	if o.Finish == calc.Check && often(r, 6) {
		o.Inner = calc.Size{Width: mm(w + pick[int64](r, 10, 40, 60, 150)), Height: mm(h + pick[int64](r, 5, 30, 80))}
	}
	if often(r, 3) {
		o.SillDepth = mm(pick[int64](r, 85, 150, 180))
	}
	o.TightTo = pick(r, "", "", "", calc.Left, calc.Head)
}

// withFigures gives what the glass is, heat, wind, vents, money and stores.
func withFigures(r *rand.Rand, o *opening.Opening) {
	if often(r, 8) {
		o.Panes = pick(r, []decimal.Decimal{mm(4), mm(4)}, []decimal.Decimal{mm(6), mm(6)}, []decimal.Decimal{mm(4), mm(4), mm(4)}, []decimal.Decimal{mm(6)})
	}
	if often(r, 6) {
		o.FloorArea = pick(r, decimal.New(65, -1), mm(12), decimal.New(175, -1))
	}
	if often(r, 5) {
		o.Ug, o.Uf = pick(r, decimal.New(11, -1), decimal.New(5, -1), decimal.New(28, -1)), decimal.New(13, -1)
		o.Psi = pick(r, decimal.Zero, decimal.New(4, -2), decimal.New(8, -2))
	}
	if often(r, 5) {
		o.WindSpeed, o.WindCode, o.ScrewAllows = pick(r, mm(22), mm(26)), pick(r, calc.EN1991, calc.BS6399), pick(r, decimal.Zero, mm(60), mm(400))
	}
	if often(r, 5) {
		o.VentArea, o.VentAreaNew = pick(r, decimal.Zero, mm(4000)), pick(r, decimal.Zero, mm(2500), mm(8000))
		o.OtherVents, o.OtherOldVents, o.VentEach = pick(r, decimal.Zero, mm(2500)), pick(r, decimal.Zero, mm(4000)), pick(r, decimal.Zero, mm(2500))
	}
	if often(r, 4) {
		o.Restrictor = pick(r, mm(95), mm(100), mm(180))
	}
	if often(r, 3) {
		o.Trims = []decimal.Decimal{mm(1250), mm(1100)}
		o.Patches = []opening.Patch{{Length: mm(300), Width: mm(200), Depth: mm(pick[int64](r, 3, 8, 22, 45)), ReadyMix: often(r, 5)}}
		o.Prices = []opening.Price{{What: "window, fitted", Each: mm(640)}}
	}
	if o.Layout.Lights[0].Hinge != calc.FixedLight && often(r, 4) {
		high := pick(r, decimal.New(13755, -1), mm(1376), mm(1379))
		o.Sashes = []opening.Sash{{Light: 1, Angle: mm(pick[int64](r, 20, 45, 85)), HeelToe: high, Across: decimal.New(13772, -1), Size: calc.Size{Width: mm(840), Height: mm(1090)}}}
		if often(r, 5) {
			o.Sashes[0].Clear = calc.Size{Width: mm(790), Height: mm(1080)}
		}
	}
}
