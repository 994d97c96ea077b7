package calc

import (
	"math/bits"
	"sort"

	"github.com/shopspring/decimal"
)

// WindowVents are the background vents of one window, mm² equivalent area.
type WindowVents struct{ Old, New decimal.Decimal }

// RoomVents is the sum over one room's windows.
type RoomVents struct {
	Windows  int
	Old, New decimal.Decimal // mm² equivalent area
	Reasons  []Reason
}

// VentsOfRoom adds up the vents of one room. A negative area is refused.
func VentsOfRoom(windows ...WindowVents) (RoomVents, error) {
	r := RoomVents{Windows: len(windows)}
	for _, w := range windows {
		if w.Old.IsNegative() || w.New.IsNegative() {
			return RoomVents{}, refuse(ErrImpossible, "vent_area", map[string]decimal.Decimal{"old": w.Old, "new": w.New}, nil)
		}
		r.Old, r.New = r.Old.Add(w.Old), r.New.Add(w.New)
	}
	r.Reasons = []Reason{{Rule: "vents_room", Mark: Derived, Figures: map[string]decimal.Decimal{
		"count": count(r.Windows), "old": r.Old, "new": r.New,
	}}}
	return r, nil
}

// VentsToFit is how many vents of one equivalent area, mm², make up what is
// still missing of the needed area. ErrImpossible when one vent has no area.
func VentsToFit(needed, present, each decimal.Decimal) (int, error) {
	if !each.IsPositive() {
		return 0, refuse(ErrImpossible, "vent_area", map[string]decimal.Decimal{"old": present, "new": each}, nil)
	}
	return packs(decimal.Max(decimal.Zero, needed.Sub(present)), each)
}

// VentShare is the equivalent area, mm², that each of so many windows needs when
// they share a room's evenly, rounded up to whole mm². ErrImpossible without a
// window or an area.
func VentShare(area decimal.Decimal, windows int) (decimal.Decimal, error) {
	if windows < 1 || !area.IsPositive() {
		return decimal.Zero, refuse(ErrImpossible, "vent_area", map[string]decimal.Decimal{"old": decimal.Zero, "new": area}, nil)
	}
	return area.DivRound(count(windows), 6).RoundUp(0), nil
}

// Swing is a hinged light held open.
type Swing struct {
	Angle   decimal.Decimal // degrees, rounded down to 0.1
	Gap     decimal.Decimal // mm, straight across at the free edge, rounded down to 0.1
	Leaf    decimal.Decimal // m², height × width of the opening, rounded down to 0.0001
	Free    decimal.Decimal // m² that the air can pass, never more than Leaf, rounded down to 0.0001
	Reasons []Reason
}

// halfTurn is in degrees.
var halfTurn = decimal.NewFromInt(180)

// Angles are reckoned in whole numbers of 10⁻¹² degrees, sines in 2⁻⁶¹.
const (
	degreePlaces = 12
	rightAngle   = 90_000_000_000_000
	sineBits     = 61
	// radian is π/180 · 2¹⁰⁸ / 10¹², so that an angle times it, less 47 bits, is
	// the angle in radians in 2⁻⁶¹.
	radian     = 5_663_917_245_149_436_251
	radianBits = 47
)

// sine is of an angle in degrees up to 180, good to 16 places and given to 12.
func sine(degrees decimal.Decimal) decimal.Decimal {
	return decimal.New(sineOf(degrees.Shift(degreePlaces).Round(0).IntPart()), -degreePlaces)
}

// sineOf is the sine in 10⁻¹² of an angle in 10⁻¹² degrees, from the series
// x − x³/3! + x⁵/5! − …, in whole numbers.
func sineOf(angle int64) int64 {
	if angle > rightAngle {
		angle = 2*rightAngle - angle
	}
	x := mulShift(uint64(angle), radian, radianBits)
	square := mulShift(x, x, sineBits)
	sum, term := int64(x), x
	for k := uint64(2); term > 0; k += 2 {
		term = mulShift(term, square, sineBits) / (k * (k + 1))
		if k%4 == 2 {
			sum -= int64(term)
		} else {
			sum += int64(term)
		}
	}
	hi, lo := bits.Mul64(uint64(sum), 1_000_000_000_000)
	lo, carry := bits.Add64(lo, 1<<(sineBits-1), 0) // to the nearest
	return int64((hi+carry)<<(64-sineBits) | lo>>sineBits)
}

// mulShift is a·b / 2ˢ rounded down; it must fit.
func mulShift(a, b uint64, shift uint) uint64 {
	hi, lo := bits.Mul64(a, b)
	return hi<<(64-shift) | lo>>shift
}

// leaf is the breadth of a light from hinge to free edge and its length along
// the hinges, mm. A tilt-turn light is taken as turned; for a tilted one ask
// for a bottom hung light.
func (h Hinge) leaf(opening Size) (breadth, along decimal.Decimal) {
	if h == TopHung || h == BottomHung {
		return opening.Height, opening.Width
	}
	return opening.Width, opening.Height
}

// SwingAt is a light opened to an angle in degrees, up to 180. Opening is the
// daylight that the sash fills, mm (ClearOpening.Opening). The gap is
// 2b·sin(θ/2) for a breadth b; the air passes the gap along the free edge and
// the two triangles at the ends, l·gap + b²·sin θ in all, but never more than
// the opening itself. A fixed light has a zero Swing.
func SwingAt(opening Size, h Hinge, degrees decimal.Decimal) (Swing, error) {
	if opening.tooSmall() || !h.known() || degrees.IsNegative() || degrees.GreaterThan(halfTurn) {
		return Swing{}, refuse(ErrImpossible, "swing_angle", map[string]decimal.Decimal{"width": opening.Width, "height": opening.Height, "angle": degrees}, nil)
	}
	if h == FixedLight {
		return Swing{}, nil
	}
	breadth, _ := h.leaf(opening)
	gap := breadth.Mul(count(2)).Mul(sine(degrees.Mul(oneHalf)))
	return swung(opening, h, degrees, gap, breadth.Mul(breadth).Mul(sine(degrees))), nil
}

// SwingHeld is a light that a restrictor holds, gap in mm straight across at
// the free edge. The angle is the largest tenth of a degree that opens no
// wider: 2·asin(gap / 2b) rounded down. Refused are a gap that is negative or
// wider than a leaf at a half turn can give.
func SwingHeld(opening Size, h Hinge, gap decimal.Decimal) (Swing, error) {
	breadth, _ := h.leaf(opening)
	twice := breadth.Mul(count(2))
	if opening.tooSmall() || !h.known() || gap.IsNegative() || gap.GreaterThanOrEqual(twice) {
		return Swing{}, refuse(ErrImpossible, "swing_gap", map[string]decimal.Decimal{"width": opening.Width, "height": opening.Height, "gap": gap}, nil)
	}
	if h == FixedLight {
		return Swing{}, nil
	}
	// b²·sin θ = gap · √(4b² − gap²) / 2
	square := twice.Mul(twice).Sub(gap.Mul(gap))
	ends := gap.Mul(sqrtDown(square)).Mul(oneHalf)
	return swung(opening, h, heldAngle(twice, gap), gap, ends), nil
}

// sqrtDown is the square root of a positive figure, rounded down to 8 places.
func sqrtDown(d decimal.Decimal) decimal.Decimal {
	n := d.Shift(16).BigInt()
	return decimal.NewFromBigInt(n.Sqrt(n), -8)
}

// heldAngle is the largest tenth of a degree at which a leaf of half of twice
// opens no wider than the gap.
func heldAngle(twice, gap decimal.Decimal) decimal.Decimal {
	wider := sort.Search(1800, func(tenths int) bool { // 180 degrees is: the gap is less than twice
		half := decimal.New(sineOf(int64(tenths)*rightAngle/1800), -degreePlaces)
		return twice.Mul(half).GreaterThan(gap)
	})
	return decimal.New(int64(wider)-1, -1)
}

// swung needs degrees and gap that belong together, and the two triangles at the
// ends, mm².
func swung(opening Size, h Hinge, degrees, gap, ends decimal.Decimal) Swing {
	_, along := h.leaf(opening)
	free := along.Mul(gap).Add(ends).Shift(-6)
	s := Swing{
		Angle: degrees.RoundDown(1),
		Gap:   gap.RoundDown(1),
		Leaf:  opening.area().RoundDown(4),
		Free:  decimal.Min(free, opening.area()).RoundDown(4),
	}
	s.Reasons = []Reason{{Rule: "swing", Mark: Weakest(Derived, faceMark), Figures: map[string]decimal.Decimal{
		"angle": s.Angle, "gap": s.Gap, "leaf": s.Leaf, "free": s.Free,
	}}}
	return s
}

// PurgeShare is the opening area of all lights that open to leastAngle degrees
// or more, over the floor area in m², rounded down to 0.0001. Whether it is
// enough is for the rules to say. ErrImpossible for a floor area that is not
// positive.
func PurgeShare(swings []Swing, leastAngle, floorArea decimal.Decimal) (decimal.Decimal, error) {
	if !floorArea.IsPositive() {
		return decimal.Zero, refuse(ErrImpossible, "floor_area", map[string]decimal.Decimal{"area": floorArea}, nil)
	}
	open := decimal.Zero
	for _, s := range swings {
		if s.Angle.GreaterThanOrEqual(leastAngle) {
			open = open.Add(s.Leaf)
		}
	}
	share, _ := open.QuoRem(floorArea, 4)
	return share, nil
}
