package calc

import "github.com/shopspring/decimal"

// ToeCorner is a corner of a sash at its free side.
type ToeCorner string

// The corners at the free side.
const (
	FreeBottom ToeCorner = "free_bottom"
	FreeTop    ToeCorner = "free_top"
)

// ToeReading is how a side hung or tilt-turn sash stands: by its two diagonals, or by
// what is seen at one of its free corners. mm.
type ToeReading struct {
	// HeelToe runs from the bottom corner on the hinge side to the opposite top corner,
	// Across the other way. Both zero: not measured.
	HeelToe, Across decimal.Decimal
	// At Corner the sash drags by By; or its gap there, to head or sill, is By wider than
	// the one at the other free corner.
	Corner ToeCorner
	By     decimal.Decimal
	Drags  bool
}

// ToeAdvice is what to pack so that a sash stands square, and how far it is.
type ToeAdvice struct {
	Sag
	Edge Side // where to pack: the toe block on the head edge or on the free upright
	Pack int  // mm more there; negative: to take out; zero when Done
	Done bool // it agrees, as near as a packer of 1 mm can make it
}

// sashEven is within what the gap between sash and frame is even, mm. VinduesIndustrien,
// technical provisions, chapter 9.
var sashEven = decimal.NewFromInt(2)

// madeLonger is by how much the heel's diagonal may be the longer as the sash was made,
// mm; as quoted, weak.
var madeLonger = decimal.NewFromInt(2)

// ToeStep is the next packing of a sash's toe. Sash and inset are as for SashDrop. Of
// the two toe blocks it takes the one with the longer arm, where a millimetre moves the
// corner least, and packs to the nearest millimetre, a half rounded down. Before is the step that was
// carried out last, nil for none: where it did not do what it should, the reasons say so.
//
// Refused are a light that is not hung at a side and what SashDrop refuses.
func ToeStep(r ToeReading, h Hinge, sash Size, inset decimal.Decimal, before *ToeAdvice) (ToeAdvice, error) {
	side, hung := h.Side()
	if !hung || side.dimension() != Width {
		return ToeAdvice{}, refuse(ErrImpossible, "toe_hinge", nil, nil)
	}
	var a ToeAdvice
	var err error
	if a.Sag, err = r.sag(sash, inset); err != nil {
		return ToeAdvice{}, err
	}
	most := a.HeadPacking
	a.Edge = Head
	if sash.Height.GreaterThan(sash.Width) {
		most, a.Edge = a.StilePacking, freeOf(side)
	}
	a.Pack = int(halfDown(most).IntPart())
	a.Done = a.Pack == 0
	if why, right := r.rightAsIs(); right {
		a.Pack, a.Done = 0, true
		a.Reasons = append(a.Reasons, why)
	}
	a.say(before)
	return a, nil
}

// freeOf is the side over against the hinges.
func freeOf(hinge Side) Side {
	if hinge == Left {
		return Right
	}
	return Left
}

// halfDown is d to the nearest whole number, a half towards zero.
func halfDown(d decimal.Decimal) decimal.Decimal {
	whole := d.Abs().Sub(oneHalf).Ceil()
	if d.IsNegative() {
		return whole.Neg()
	}
	return whole
}

// sag is how far the free corner has dropped by a reading.
func (r ToeReading) sag(sash Size, inset decimal.Decimal) (Sag, error) {
	if !r.HeelToe.IsZero() || !r.Across.IsZero() {
		return SashDrop(r.HeelToe, r.Across, sash, inset)
	}
	figures := map[string]decimal.Decimal{"by": r.By, "width": sash.Width, "height": sash.Height}
	if sash.tooSmall() || inset.IsNegative() || !r.By.IsPositive() || r.By.GreaterThan(sash.Width.Div(count(10))) || r.Corner != FreeBottom && r.Corner != FreeTop {
		return Sag{}, refuse(ErrImpossible, "toe_reading", figures, nil)
	}
	twice := inset.Mul(count(2))
	levelArm, uprightArm := sash.Width.Sub(twice), sash.Height.Sub(twice)
	if !levelArm.IsPositive() || !uprightArm.IsPositive() {
		return Sag{}, refuse(ErrImpossible, "sash_inset", map[string]decimal.Decimal{"inset": inset, "width": sash.Width, "height": sash.Height}, nil)
	}
	drop := r.By
	if !r.Drags { // a gap that is wider at one corner shares with the other
		drop = drop.Mul(oneHalf)
	}
	if r.Drags == (r.Corner == FreeTop) { // it drags at the top, or is open at the bottom
		drop = drop.Neg()
	}
	return sagOf(drop, sash, levelArm, uprightArm), nil
}

// rightAsIs says why a reading needs no packing although the sash isn't quite square.
func (r ToeReading) rightAsIs() (Reason, bool) {
	longer := r.HeelToe.Sub(r.Across)
	switch {
	case longer.IsPositive() && !longer.GreaterThan(madeLonger):
		return Reason{Rule: "toe_made_longer", Mark: Quoted, Source: "sash_maker", Figures: map[string]decimal.Decimal{"longer": longer, "most": madeLonger}}, true
	case r.HeelToe.IsZero() && !r.Drags && !r.By.GreaterThan(sashEven):
		return Reason{Rule: "toe_even", Mark: Read, Source: "frame_association", Figures: map[string]decimal.Decimal{"by": r.By, "most": sashEven}}, true
	}
	return Reason{}, false
}

// say adds what to do, and whether the last packing did what it should.
func (a *ToeAdvice) say(before *ToeAdvice) {
	because := func(rule string, figures map[string]decimal.Decimal) {
		figures["drop"], figures["pack"] = a.Drop.Abs(), count(max(a.Pack, -a.Pack))
		a.Reasons = append(a.Reasons, Reason{Rule: rule, Mark: Practice, Figures: figures, Words: map[string]string{"edge": "side." + string(a.Edge)}})
	}
	if before != nil && before.Pack != 0 {
		was, now := before.Drop, a.Drop
		moved := was.Sub(now).Mul(decimal.NewFromInt(int64(was.Sign())))
		figures := map[string]decimal.Decimal{"was": was.Abs(), "now": now.Abs()}
		switch {
		case moved.LessThan(oneHalf.Neg()):
			because("toe_worse", figures)
		case moved.LessThan(was.Abs().Mul(oneHalf)) && !a.Done:
			because("toe_no_hold", figures)
		}
	}
	switch {
	case a.Done:
		because("toe_done", map[string]decimal.Decimal{})
	case a.Pack > 0:
		because("toe_pack", map[string]decimal.Decimal{})
	default:
		because("toe_take", map[string]decimal.Decimal{})
	}
}
