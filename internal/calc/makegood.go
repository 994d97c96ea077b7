package calc

import "github.com/shopspring/decimal"

// The published mortar example: 1 m³ wet of 1:4 with factor 1.33 takes
// 0.266 m³ = 383.04 kg of cement, 1.064 m³ of sand and 191.52 kg of water.
var (
	dryFactor     = decimal.New(133, -2)      // m³ of dry parts for 1 m³ wet
	cementDensity = decimal.NewFromInt(1440)  // kg per m³, from the example
	waterCement   = decimal.New(5, -1)        // kg of water per kg of cement, from the example
	readyMixYield = decimal.New(125, -1)      // l wet from a 25 kg bag
	finishLeast   = decimal.NewFromInt(6)     // mm of a smooth finish coat
	finishMost    = decimal.NewFromInt(8)     // mm
	finishUsual   = decimal.NewFromInt(7)     // mm, the middle of the two
	baseLeast     = decimal.NewFromInt(6)     // mm of one base coat: less can't be laid; common practice, no source
	baseMost      = decimal.NewFromInt(15)    // mm of one base coat, from memory
	baseCoats     = count(2)                  // deeper places are dubbed out first; common practice, no source
	renderDeepest = decimal.NewFromInt(100)   // mm, deeper than that is no patch; common practice, no source
	baseSand      = decimal.NewFromInt(4)     // parts to one of cement, common practice, no source
	finishSand    = decimal.NewFromInt(5)     // parts to one of cement, common practice, no source
	mostPacks     = decimal.NewFromInt(10000) // a guard against nonsense, not a rule of the trade
)

// Coat is one coat of render or mortar.
type Coat struct {
	Thickness decimal.Decimal `json:"thickness"` // mm
	Sand      decimal.Decimal `json:"sand"`      // parts of sand to one of cement
	// Dub is filling a hollow out in layers before the first coat.
	Dub bool `json:"dubbing_out,omitempty"`
}

// Patch is one place to make good. Coats run from the wall outwards.
type Patch struct {
	Length   decimal.Decimal `json:"length"` // mm
	Width    decimal.Decimal `json:"width"`  // mm
	Coats    []Coat          `json:"coats"`
	ReadyMix bool            `json:"ready_mix,omitempty"` // from bags of ready mix; the coats' sand is not used
}

// Mix is what a volume of wet mortar takes.
type Mix struct {
	Wet          decimal.Decimal // m³
	CementVolume decimal.Decimal // m³, to 6 places
	Cement       decimal.Decimal // kg
	Sand         decimal.Decimal // m³
	Water        decimal.Decimal // kg
}

// Mortar is the mix of a wet volume in m³ at 1 part of cement to sand parts by
// volume. ErrImpossible for a negative volume or parts that are not positive.
func Mortar(wet, sand decimal.Decimal) (Mix, error) {
	if wet.IsNegative() || !sand.IsPositive() {
		return Mix{}, refuse(ErrImpossible, "mortar", map[string]decimal.Decimal{"wet": wet, "sand": sand}, nil)
	}
	cement := wet.Mul(dryFactor).DivRound(sand.Add(count(1)), 6)
	mass := cement.Mul(cementDensity)
	return Mix{Wet: wet, CementVolume: cement, Cement: mass, Sand: cement.Mul(sand), Water: mass.Mul(waterCement)}, nil
}

// RenderCoats splits a depth in mm into coats, from the wall outwards: a
// finish coat of 6 to 7 mm at 1:5 (6 to 8 is published for a smooth finish) on
// one or two base coats at 1:4 of 6 to 15 mm each. What is deeper is dubbed out
// first. Under 12 mm, where no base coat has room, one coat does it all. The
// coats add up to the depth. ErrImpossible for a depth that is not positive,
// ErrBeyondTable over 100 mm.
func RenderCoats(depth decimal.Decimal) ([]Coat, error) {
	figures := map[string]decimal.Decimal{"depth": depth, "most": renderDeepest}
	if !depth.IsPositive() {
		return nil, refuse(ErrImpossible, "render_depth", figures, nil)
	}
	if depth.GreaterThan(renderDeepest) {
		return nil, refuse(ErrBeyondTable, "render_deep", figures, nil)
	}
	if depth.LessThan(baseLeast.Add(finishLeast)) {
		return []Coat{{Thickness: depth, Sand: finishSand}}, nil
	}
	finish := decimal.Min(finishUsual, depth.Sub(baseLeast))
	base := depth.Sub(finish)
	var out []Coat
	if most := baseMost.Mul(baseCoats); base.GreaterThan(most) {
		out = append(out, Coat{Thickness: base.Sub(baseMost), Sand: baseSand, Dub: true})
		base = baseMost
	}
	if base.GreaterThan(baseMost) {
		half := base.Mul(oneHalf).RoundUp(1)
		out = append(out, Coat{Thickness: half, Sand: baseSand})
		base = base.Sub(half)
	}
	return append(out, Coat{Thickness: base, Sand: baseSand}, Coat{Thickness: finish, Sand: finishSand}), nil
}

// packs is an amount in whole packs, rounded up. Refused are a negative
// amount, a pack that is not positive, and more packs than any job takes.
func packs(amount, pack decimal.Decimal) (int, error) {
	figures := map[string]decimal.Decimal{"amount": amount, "pack": pack, "most": mostPacks}
	if amount.IsNegative() || !pack.IsPositive() {
		return 0, refuse(ErrImpossible, "packs", figures, nil)
	}
	if amount.GreaterThan(pack.Mul(mostPacks)) {
		return 0, refuse(ErrBeyondTable, "packs_many", figures, nil)
	}
	return int(ceilDiv(amount, pack).IntPart()), nil
}

// wet is the volume of one coat of a patch, m³.
func (p Patch) wet(c Coat) decimal.Decimal {
	return p.Length.Mul(p.Width).Mul(c.Thickness).Shift(-9)
}

// check refuses a patch with a length, width or coat that is not positive.
func (p Patch) check() error {
	if !p.Length.IsPositive() || !p.Width.IsPositive() || len(p.Coats) == 0 {
		return refuse(ErrImpossible, "patch", map[string]decimal.Decimal{"length": p.Length, "width": p.Width, "coats": count(len(p.Coats))}, nil)
	}
	for _, c := range p.Coats {
		if !c.Thickness.IsPositive() || (!p.ReadyMix && !c.Sand.IsPositive()) {
			return refuse(ErrImpossible, "patch_coat", map[string]decimal.Decimal{"thickness": c.Thickness, "sand": c.Sand}, nil)
		}
	}
	return nil
}

// warnings says where a patch's coats go against the rules: each coat is no
// stronger than the one under it, and a finish coat is 6 to 8 mm.
func (p Patch) warnings() []Reason {
	var out []Reason
	for i := 1; i < len(p.Coats) && !p.ReadyMix; i++ {
		if under, over := p.Coats[i-1].Sand, p.Coats[i].Sand; over.LessThan(under) {
			out = append(out, Reason{Rule: "render_stronger", Source: "construction_handbook", Mark: Weakest(Read, coatMark), Own: Read, Figures: map[string]decimal.Decimal{
				"coat": count(i + 1), "sand": over, "under": under,
			}})
		}
	}
	last := p.Coats[len(p.Coats)-1].Thickness
	if len(p.Coats) > 1 && (last.LessThan(finishLeast) || last.GreaterThan(finishMost)) {
		out = append(out, Reason{Rule: "render_finish", Source: "unnamed", Mark: Weakest(Read, coatMark), Own: Read, Figures: map[string]decimal.Decimal{
			"thickness": last, "least": finishLeast, "most": finishMost,
		}})
	}
	return out
}

// ceilDiv is a/b rounded up to a whole number, exact; b is positive.
func ceilDiv(a, b decimal.Decimal) decimal.Decimal {
	whole, rest := a.QuoRem(b, 0)
	if rest.IsPositive() {
		return whole.Add(count(1))
	}
	return whole
}
