package calc

import "github.com/shopspring/decimal"

// SealantClass is a movement class of ISO 11600.
type SealantClass string

// The classes of ISO 11600 (1999 sealant-association guide).
const (
	Class25  SealantClass = "25"
	Class20  SealantClass = "20"
	Class125 SealantClass = "12.5"
	Class75  SealantClass = "7.5"
)

// sealantClasses runs from the weakest to the strongest.
var sealantClasses = []SealantClass{Class75, Class125, Class20, Class25}

// MAF is the class as a movement accommodation factor, a fraction; zero for a
// class that is not in the standard. That the class's number is the percentage
// is from memory.
func (c SealantClass) MAF() decimal.Decimal { return factors[c] }

var factors = map[SealantClass]decimal.Decimal{
	Class25: decimal.New(25, -2), Class20: decimal.New(20, -2), Class125: decimal.New(125, -3), Class75: decimal.New(75, -3),
}

// JointSettings are the figures of a joint that a crew can change.
type JointSettings struct {
	Expansion map[Material]decimal.Decimal `json:"expansion"` // 10⁻⁶ per K, along the profile
	Range     map[Material]decimal.Decimal `json:"range"`     // K between the coldest and the warmest frame
	Share     decimal.Decimal              `json:"share"`     // part of a side's movement that one of its two joints takes
	Class     SealantClass                 `json:"class"`     // of the sealant in the van
}

// DefaultJointSettings are defaults from memory, all of them to be changed by
// a crew that knows better; only the range of the PVC-U expansion, 40 to 80,
// was read (architectural detailing textbook), and the 40 K of white PVC-U is
// that of the worked example in docs/sources.md (1.2 m at 70 → 3.36 mm).
func DefaultJointSettings() JointSettings {
	n := decimal.NewFromInt
	return JointSettings{
		Expansion: map[Material]decimal.Decimal{
			PVCUWhite:  n(70), // from memory
			PVCUColour: n(70), // from memory
			Timber:     n(5),  // from memory, along the grain
			Steel:      n(12), // from memory
			Aluminium:  n(24), // from memory
		},
		Range: map[Material]decimal.Decimal{
			PVCUWhite:  n(40), // from memory
			PVCUColour: n(60), // from memory: a dark face gets warmer in the sun
			Timber:     n(40), // from memory
			Steel:      n(60), // from memory: taken as dark
			Aluminium:  n(60), // from memory: taken as dark
		},
		Share: decimal.New(5, -1), // from memory: a frame held all round moves from its middle, so that two joints share
		Class: Class25,            // from memory: the usual one for frames
	}
}

// The published figures of a sealant joint.
var (
	depthLeast   = decimal.NewFromInt(6)  // mm
	depthMost    = decimal.NewFromInt(13) // mm
	depthOnStrip = decimal.NewFromInt(6)  // mm of sealant over a backing strip, gaps article; TG 6.7/01 has 5
	backingFrom  = decimal.NewFromInt(5)  // mm of gap
	lapSmooth    = decimal.NewFromInt(6)  // mm of fillet on non-porous faces
	lapPorous    = decimal.NewFromInt(10) // mm of fillet on porous faces
	masticMost   = decimal.NewFromInt(15) // mm
)

// eachWay is the part of a whole range of movement that a joint made at a mild
// temperature takes each way; a class is a percentage each way (from memory).
var eachWay = oneHalf

// JointRequest is one side's joint between frame and masonry. Length is the
// frame's dimension that makes this joint open and close: the width for the
// jambs, the height for head and sill. All in mm.
type JointRequest struct {
	Material Material
	Length   decimal.Decimal
	Gap      decimal.Decimal
	Asked    decimal.Decimal // what the gap table asks for here; zero: nobody asked it
	Porous   bool            // one face is brick, block, render or stone
	Settings JointSettings
	Mark     Mark // how far Length and Gap may be trusted; empty: read off a tape
}

// Joint is one side's joint, mm.
type Joint struct {
	Movement decimal.Decimal // of the whole length over the temperature range, rounded up to 0.01
	Least    decimal.Decimal // least width for the class in the settings, rounded up to 0.1
	Class    SealantClass    // the weakest class that the gap is wide enough for; empty: none
	Gap      decimal.Decimal // as in the request, rounded down to 0.1; what the order left to rounding counted in
	Depth    decimal.Decimal // of sealant; zero for a fillet, and when the gap is too wide
	Backing  bool            // a backing strip goes behind the sealant
	Lap      decimal.Decimal // that a fillet laps each face; zero: no fillet
	Reasons  []Reason
	Warnings []Reason
}

// PlanJoint is how one joint is sealed: from 5 mm with a backing strip and a
// sealant depth of half the width, below that with a fillet, and too wide for
// mastic not at all. Each joint takes its share of half the frame's movement,
// being made at a mild temperature. A gap that meets the published table is
// never warned of for its movement, which is from memory: a long frame gets a
// reason. A length or gap that is not positive, an unknown material and an
// unknown class are refused.
func PlanJoint(r JointRequest) (Joint, error) {
	expansion, known := r.Settings.Expansion[r.Material]
	kelvin, ranged := r.Settings.Range[r.Material]
	maf := r.Settings.Class.MAF()
	if !known || !ranged || !maf.IsPositive() || !r.Length.IsPositive() || !r.Gap.IsPositive() {
		return Joint{}, refuse(ErrImpossible, "joint_readings", map[string]decimal.Decimal{"length": r.Length, "gap": r.Gap, "class": maf.Shift(2)}, nil)
	}
	if !r.Gap.LessThan(r.Asked.Sub(roundedOff.Mul(oneHalf))) {
		r.Gap = decimal.Max(r.Gap, r.Asked) // the order left so much to rounding
	}
	r.Gap = r.Gap.RoundDown(1)
	exact := Movement(r.Length, expansion, kelvin)
	share := exact.Mul(r.Settings.Share).Mul(eachWay)
	least, err := LeastJoint(share, maf)
	if err != nil {
		return Joint{}, err
	}
	j := Joint{Movement: exact.RoundUp(2), Least: least, Gap: r.Gap, Class: weakestClass(share, r.Gap), Reasons: make([]Reason, 0, 4)}
	j.Reasons = append(j.Reasons, Reason{Rule: "joint_movement", Mark: resting(FromMemory, r.Mark), Figures: map[string]decimal.Decimal{
		"length": r.Length, "expansion": expansion, "kelvin": kelvin, "movement": j.Movement, "share": share.RoundUp(2),
	}})
	if !j.TooWide() {
		j.strained(r, share.RoundUp(2))
	}
	j.seal(r.Porous, r.Mark)
	return j, nil
}

// strained says which class of sealant takes the movement in mm, or what to do
// where none does. Only a gap under the table's is warned of.
func (j *Joint) strained(r JointRequest, share decimal.Decimal) {
	why := Reason{Rule: "joint_class", Mark: resting(FromMemory, r.Mark), Figures: map[string]decimal.Decimal{
		"gap": j.Gap, "class": j.Class.MAF().Shift(2), "share": share,
	}}
	switch {
	case j.Class == "" && j.Gap.LessThan(r.Asked):
		why.Rule, why.Figures = "joint_narrow", map[string]decimal.Decimal{"gap": j.Gap, "asked": r.Asked}
		j.Warnings = append(j.Warnings, why)
		return
	case j.Class == "":
		why.Rule, why.Figures = "joint_long", map[string]decimal.Decimal{"gap": j.Gap, "class": Class25.MAF().Shift(2)}
	case j.Least.GreaterThan(j.Gap):
		why.Rule, why.Figures["own"] = "joint_own", r.Settings.Class.MAF().Shift(2)
	}
	j.Reasons = append(j.Reasons, why)
}

// Movement is how much a length in mm grows over a range of temperature in K,
// mm and exact: α·L·ΔT with α in 10⁻⁶ per K.
func Movement(length, expansion, kelvin decimal.Decimal) decimal.Decimal {
	return length.Mul(expansion).Mul(kelvin).Shift(-6)
}

// LeastJoint is the least width of a sealed joint, mm rounded up to 0.1: the
// movement in mm over the movement accommodation factor, a fraction such as
// 0.25. ErrImpossible for a factor that is not positive.
func LeastJoint(movement, maf decimal.Decimal) (decimal.Decimal, error) {
	if !maf.IsPositive() {
		return decimal.Zero, refuse(ErrImpossible, "joint_maf", map[string]decimal.Decimal{"class": maf.Shift(2)}, nil)
	}
	return ceilDiv(movement.Shift(1), maf).Shift(-1), nil
}

// SealantDepth is how deep the sealant of a joint this wide goes, whole mm
// rounded down: half the width, not under 6 and not over 13 (architectural
// detailing textbook).
func SealantDepth(width decimal.Decimal) decimal.Decimal {
	return decimal.Min(depthMost, decimal.Max(depthLeast, width.Mul(oneHalf).Floor()))
}

// weakestClass is the weakest class that takes the movement in the gap, or
// empty.
func weakestClass(movement, gap decimal.Decimal) SealantClass {
	for _, class := range sealantClasses {
		if gap.Mul(factors[class]).GreaterThanOrEqual(movement) {
			return class
		}
	}
	return ""
}

// TooWide reports whether the gap is more than mastic takes. Such a joint has
// no sealant and no strip: the gap is brought down first.
func (j Joint) TooWide() bool { return j.Gap.GreaterThan(masticMost) }

// seal fills in strip and depth, or the fillet, or warns that neither goes.
func (j *Joint) seal(porous bool, sized Mark) {
	because := func(list *[]Reason, rule, source string, figures map[string]decimal.Decimal) {
		figures["gap"] = j.Gap
		*list = append(*list, Reason{Rule: rule, Source: source, Mark: Read, Figures: figures}.on(sized))
	}
	if j.TooWide() {
		because(&j.Warnings, "joint_wide", "unnamed", map[string]decimal.Decimal{"most": masticMost})
		return
	}
	if j.Gap.LessThan(backingFrom) {
		j.Lap = lapSmooth
		if porous {
			j.Lap = lapPorous
		}
		because(&j.Reasons, "joint_fillet", "tg67", map[string]decimal.Decimal{"lap": j.Lap, "from": backingFrom})
		return
	}
	j.Backing, j.Depth = true, SealantDepth(j.Gap)
	because(&j.Reasons, "joint_strip", "tg67_and_gaps", map[string]decimal.Decimal{"least": depthOnStrip})
	because(&j.Reasons, "joint_depth", "detailing_textbook", map[string]decimal.Decimal{"depth": j.Depth, "least": depthLeast, "most": depthMost})
}
