package calc

import "github.com/shopspring/decimal"

// SillPieceSettings are the figures of a sill piece that a crew can change, mm;
// common practice without a source, all of them.
type SillPieceSettings struct {
	EndGap  decimal.Decimal `json:"sill_end_gap"` // from an end to the jamb; zero: it ends with the frame
	Cap     decimal.Decimal `json:"end_cap"`      // thickness of one end cap, outside the cut end
	Kerf    decimal.Decimal `json:"kerf"`         // what a saw's cut takes
	Degrees decimal.Decimal `json:"sill_fall"`    // of its top, outwards
	// FallPer100 is the same as mm on 100 mm; it goes before Degrees.
	FallPer100 decimal.Decimal `json:"sill_fall_per_100,omitzero"`
}

// DefaultSillPieceSettings are usual ones; a crew puts in its profile's.
func DefaultSillPieceSettings() SillPieceSettings {
	return SillPieceSettings{Cap: decimal.NewFromInt(3), Kerf: decimal.NewFromInt(3), Degrees: decimal.NewFromInt(5)}
}

// steepestSill is the most degrees that a sill's top falls: a guard against nonsense.
var steepestSill = decimal.NewFromInt(30)

// SillPiecePlan is how the sill piece is cut and set. Lengths are mm.
type SillPiecePlan struct {
	Opening  decimal.Decimal // between the jambs where it goes, at its narrowest
	Over     decimal.Decimal // from end to end, caps on
	Cut      decimal.Decimal // to saw
	Stock    decimal.Decimal // that the cut takes off a bar, with the kerf
	Mark     decimal.Decimal // centre mark, from either cut end
	OnFrame  decimal.Decimal // where it meets the frame, from the frame's left edge
	Overhang decimal.Decimal // past the opening at each end; zero: it ends between the jambs
	// NotchAlong and NotchDeep are what is cut out of each back corner so that the
	// ends pass in front of the wall; zero without an overhang.
	NotchAlong, NotchDeep decimal.Decimal
	Out                   decimal.Decimal // beyond the wall's face; negative: it ends inside
	Fall                  decimal.Decimal // of its top from back to front, rounded to 0.1
	SealBack              decimal.Decimal // of sealant along the back edge
	SealEnds              decimal.Decimal // of sealant at each end, inside the opening
	Reasons               []Reason
	Warnings              []Reason
}

// PlanSillPiece is the sill piece of an order with its section. Overhang is how far it
// goes past the opening at each end, in front of the wall; zero: it ends between the
// jambs. Sealant goes along the back edge and the ends, never along the front, where
// the frame drains.
//
// ErrImpossible without a sill piece, for an overhang on one that ends inside the wall, and
// for settings that cannot be; ErrTooSmall where nothing is left between the caps.
func PlanSillPiece(o Order, c Section, overhang decimal.Decimal, s SillPieceSettings) (SillPiecePlan, error) {
	p := SillPiecePlan{Overhang: overhang, Out: c.StandOut()}
	figures := map[string]decimal.Decimal{"depth": c.SillDepth, "overhang": overhang, "out": p.Out, "back": c.Back()}
	switch {
	case !c.SillDepth.IsPositive():
		return p, refuse(ErrImpossible, "sill_piece_none", figures, nil)
	case overhang.IsPositive() && !p.Out.IsPositive():
		return p, refuse(ErrImpossible, "sill_piece_inside", figures, nil)
	case overhang.IsNegative(), s.EndGap.IsNegative(), s.Cap.IsNegative(), s.Kerf.IsNegative(), s.FallPer100.IsNegative(),
		s.Degrees.IsNegative(), s.Degrees.GreaterThan(steepestSill), s.FallPer100.GreaterThan(count(50)):
		return p, refuse(ErrImpossible, "sill_piece_settings", map[string]decimal.Decimal{
			"overhang": overhang, "gap": s.EndGap, "cap": s.Cap, "kerf": s.Kerf, "degrees": s.Degrees, "steepest": steepestSill,
		}, nil)
	}
	left, right := o.jambsAtSill()
	p.Opening = inMM(right - left)
	p.lengths(o, c, s)
	if !p.Cut.IsPositive() {
		return p, refuse(ErrTooSmall, "sill_piece_short", map[string]decimal.Decimal{"opening": p.Opening, "over": p.Over, "cap": s.Cap}, nil)
	}
	p.Mark = p.Cut.Mul(oneHalf)
	p.OnFrame = inMM((left+right)/2 - microns(o.Place.X)).Round(1)
	if !overhang.IsPositive() && s.EndGap.IsZero() { // it ends with the frame
		p.OnFrame = o.Size.Width.Mul(oneHalf)
	}
	p.Fall = s.fall(c.SillDepth).Round(1)
	p.say(o, c, s)
	return p, nil
}

// jambsAtSill is where the opening's jambs are at the sill piece's height, µm, as they
// are seen.
func (o Order) jambsAtSill() (left, right int64) {
	e, f := o.Figure.outline().edges(), o.frame()
	foot := f.bottom - microns(o.SillPiece)
	return e.left.most(foot, f.bottom), e.right.least(foot, f.bottom)
}

// lengths works along the sill piece and front to back.
func (p *SillPiecePlan) lengths(o Order, c Section, s SillPieceSettings) {
	gap := s.EndGap
	between := o.Size.Width
	if gap.IsPositive() {
		between = p.Opening.Sub(gap.Mul(count(2)))
	}
	p.Over = between
	if p.Overhang.IsPositive() {
		if gap.IsZero() {
			gap = o.Gap[Left]
		}
		p.Over = p.Opening.Add(p.Overhang.Mul(count(2)))
		p.NotchAlong, p.NotchDeep = p.Overhang.Add(gap), c.SillDepth.Sub(p.Out)
		between = p.Opening.Sub(gap.Mul(count(2)))
	}
	p.Over = p.Over.RoundFloor(0)
	p.Cut = p.Over.Sub(s.Cap.Mul(count(2)))
	p.Stock = p.Cut.Add(s.Kerf)
	p.SealBack = decimal.Min(p.Cut, between)
	p.SealEnds = decimal.Min(c.SillDepth, c.Back())
}

// fall of a sill's top over a depth, mm.
func (s SillPieceSettings) fall(depth decimal.Decimal) decimal.Decimal {
	if s.FallPer100.IsPositive() {
		return depth.Mul(s.FallPer100).Shift(-2)
	}
	return depth.Mul(s.Degrees.Mul(perDegree).Tan())
}

// perDegree is a degree in radians, π/180 to 12 decimals.
var perDegree = decimal.New(17_453_292_520, -12)

func (p *SillPiecePlan) say(o Order, c Section, s SillPieceSettings) {
	figures := map[string]decimal.Decimal{
		"opening": p.Opening.RoundFloor(1), "over": p.Over, "cut": p.Cut, "cap": s.Cap, "kerf": s.Kerf, "stock": p.Stock, "overhang": p.Overhang,
		"mark": p.Mark, "frame": p.OnFrame, "along": p.NotchAlong, "deep": p.NotchDeep, "fall": p.Fall, "depth": c.SillDepth,
		"back": p.SealBack.RoundFloor(0), "ends": p.SealEnds, "gap": s.EndGap,
	}
	because := func(rule string, figures map[string]decimal.Decimal) {
		p.Reasons = append(p.Reasons, Reason{Rule: rule, Figures: figures, Mark: Practice})
	}
	switch {
	case p.Overhang.IsPositive():
		because("sill_piece_overhang", figures)
		because("sill_piece_notch", figures)
	case s.EndGap.IsPositive():
		because("sill_piece_between", figures)
	default:
		because("sill_piece_frame", figures)
	}
	because("sill_piece_marks", figures)
	if p.Fall.IsPositive() {
		because("sill_piece_fall", figures)
	}
	because("sill_piece_seal", figures)
	if why, ok := c.SillReason(); ok {
		p.Reasons = append(p.Reasons, *why)
	} else {
		p.Warnings = append(p.Warnings, *why)
	}
	if p.Over.GreaterThan(p.Opening) && p.Overhang.IsZero() {
		p.Warnings = append(p.Warnings, Reason{Rule: "sill_piece_long", Figures: figures, Mark: resting(Derived, o.Figure.Mark())})
	}
}
