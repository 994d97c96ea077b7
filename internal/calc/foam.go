package calc

import "github.com/shopspring/decimal"

// FoamSettings are the figures of foam and backing strip that a crew can change.
type FoamSettings struct {
	Can    decimal.Decimal   `json:"foam_can"`     // l of one 750 ml can, free-foamed
	Yield  decimal.Decimal   `json:"foam_yield"`   // part of that in a joint
	Strips []decimal.Decimal `json:"strips"`       // mm, diameters of backing strip in stock
	Over   decimal.Decimal   `json:"strip_over"`   // fraction that a strip is thicker than its joint, so that it holds
	Waste  decimal.Decimal   `json:"foam_waste"`   // fraction on top
	Narrow decimal.Decimal   `json:"foam_nothing"` // mm: no nozzle gets into a narrower joint
}

// DefaultFoamSettings: the can as read, the yield from memory; the rest is common
// practice without a source.
func DefaultFoamSettings() FoamSettings {
	s := DefaultStoreSettings()
	return FoamSettings{
		Can: s.FoamCan, Yield: s.FoamYield, Waste: s.Waste,
		Strips: millimetres(6, 8, 10, 13, 15, 20), Over: decimal.New(25, -2), Narrow: decimal.NewFromInt(4),
	}
}

// FoamSide is one side's joint, filled and sealed; mm, but for the foam.
type FoamSide struct {
	Side    Side
	Gap     decimal.Decimal
	Deep    decimal.Decimal // of foam, front to back
	Length  decimal.Decimal // of the joint
	Foam    decimal.Decimal // l in the joint, without waste, rounded up to 0.01
	Strip   decimal.Decimal // diameter of the backing strip, from stock; zero: none
	Sealant decimal.Decimal // depth; zero for a fillet and for a joint that is too wide
	Lap     decimal.Decimal // of a fillet on each face; zero: none
	Why     *Reason         // why no foam goes in; nil where some does
}

// FoamPlan is the foam of one frame.
type FoamPlan struct {
	Sides   []FoamSide // left, right, head, sill, of those that are sealed
	Foam    decimal.Decimal
	Cans    int             // of 750 ml, waste included
	Water   decimal.Decimal // ml to wet the joints and the foam, rounded up to 1
	Reasons []Reason
}

// Foam's published figures; makers' guides.
var (
	canColdest = decimal.NewFromInt(5)
	canWarmest = decimal.NewFromInt(35)
	canBest    = decimal.NewFromInt(20)
	canWater   = decimal.NewFromInt(40) // ml for a can of 750 ml
)

// PlanFoam is the foam of each side's joint: its width by its length by the depth that
// sealant and strip leave of it; a strip is taken as deep as the joint is wide. A joint
// too wide for mastic takes nothing before the gap is brought down, one too narrow
// for the nozzle none.
//
// ErrImpossible for a frame or settings that are not positive.
func PlanFoam(frame Size, joints map[Side]Joint, c Section, s FoamSettings) (FoamPlan, error) {
	if frame.tooSmall() || !s.Can.IsPositive() || !s.Yield.IsPositive() || outsideOne(s.Yield) || outsideOne(s.Waste) || outsideOne(s.Over) {
		return FoamPlan{}, refuse(ErrImpossible, "foam_settings", map[string]decimal.Decimal{
			"width": frame.Width, "height": frame.Height, "can": s.Can, "yield": s.Yield.Shift(2), "waste": s.Waste.Shift(2), "over": s.Over.Shift(2),
		}, nil)
	}
	var p FoamPlan
	exact := decimal.Zero
	for _, side := range allSides {
		j, sealed := joints[side]
		if !sealed {
			continue
		}
		f := FoamSide{Side: side, Gap: j.Gap, Length: frame.along(side), Sealant: j.Depth, Lap: j.Lap}
		litres := f.fill(j, c, s)
		exact = exact.Add(litres)
		f.Foam = litres.RoundUp(2)
		p.Sides = append(p.Sides, f)
	}
	p.Foam = exact.RoundUp(2)
	from := exact.Mul(count(1).Add(s.Waste)).DivRound(s.Yield, 6) // free-foamed
	n, err := packs(from, s.Can)
	if err != nil {
		return FoamPlan{}, err
	}
	p.Cans, p.Water = n, from.Mul(canWater).DivRound(s.Can, 6).Ceil()
	p.Reasons = []Reason{
		{Rule: "foam_litres", Mark: Weakest(Practice, wallMark), Figures: map[string]decimal.Decimal{
			"litres": p.Foam, "cans": count(n), "can": s.Can, "yield": s.Yield.Shift(2), "waste": s.Waste.Shift(2),
		}},
		{Rule: "foam_water", Source: "foam_guides", Mark: Weakest(Read, Practice), Own: Read, Figures: map[string]decimal.Decimal{"water": p.Water, "each": canWater}},
		{Rule: "foam_can", Source: "foam_guides", Mark: Read, Figures: map[string]decimal.Decimal{"least": canColdest, "most": canWarmest, "best": canBest}},
		{Rule: "fixing_not_foam", Source: "profile_maker_guide", Mark: Read},
	}
	return p, nil
}

// fill works out what goes into a joint and gives the foam, l.
func (f *FoamSide) fill(j Joint, c Section, s FoamSettings) decimal.Decimal {
	because := func(rule string, mark Mark, most decimal.Decimal) {
		f.Why = &Reason{Rule: rule, Mark: mark, Words: map[string]string{"side": "side." + string(f.Side)}, Figures: map[string]decimal.Decimal{"gap": j.Gap, "most": most}}
	}
	if j.TooWide() {
		because("foam_wide", Practice, masticMost)
		return decimal.Zero
	}
	f.Deep = c.JointDepth(f.Side).Sub(j.Depth)
	if j.Backing {
		f.Deep = f.Deep.Sub(j.Gap)
		f.Strip = nextStock(s.Strips, j.Gap.Mul(count(1).Add(s.Over)))
	}
	f.Deep = decimal.Max(decimal.Zero, f.Deep)
	switch {
	case j.Gap.LessThan(s.Narrow):
		because("foam_narrow", Practice, s.Narrow)
		f.Deep = decimal.Zero
	case f.Deep.IsZero():
		because("foam_shallow", Practice, decimal.Zero)
	}
	return f.Length.Mul(j.Gap).Mul(f.Deep).Shift(-6)
}

// CanTemperature says why a can of this temperature, °C, does not foam; nil where it
// does. Makers' guides: 5 to 35, 20 best.
func CanTemperature(t decimal.Decimal) *Reason {
	rule := ""
	switch {
	case t.LessThan(canColdest):
		rule = "foam_can_cold"
	case t.GreaterThan(canWarmest):
		rule = "foam_can_hot"
	default:
		return nil
	}
	return &Reason{Rule: rule, Source: "foam_guides", Mark: Read, Figures: map[string]decimal.Decimal{
		"temperature": t, "least": canColdest, "most": canWarmest, "best": canBest,
	}}
}
