package plan

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// cut makes the section of the frame in its wall, and the screws that cross
// it.
func (p *Plan) cut(s calc.Settings) {
	p.Section = calc.SectionOf(p.Order, p.Opening.SillDepth, s)
	p.Screws = calc.Screws(p.Section, p.packed(), p.Opening.InWall(), s)
}

// packed is the largest gap that the screws of each side really cross, in whole
// mm rounded up, and never less than the table's: in a leaning opening the gap
// is wider than the table has it, and a screw sized by the table would not
// reach. Gaps that no packer fits are left out, since they are made good first,
// and sides that take no frame screw.
func (p *Plan) packed() map[calc.Side]decimal.Decimal {
	gaps := map[calc.Side]decimal.Decimal{}
	for _, side := range p.Fixings.Sides {
		if len(side.At) > 0 && !p.Bracketed(side.Side) {
			gaps[side.Side] = p.Order.Gap[side.Side]
		}
	}
	for _, place := range p.Packers.Places {
		if gap, takes := gaps[place.Side]; takes && !place.Bed && len(place.Stack) > 0 {
			gaps[place.Side] = decimal.Max(gap, place.Gap.RoundUp(0))
		}
	}
	return gaps
}

// Bracketed reports whether a side's fixings are brackets, with screws of
// their own: those of a head that can't be drilled are.
func (p Plan) Bracketed(side calc.Side) bool { return side == calc.Head && p.Opening.NoHead }

// screws is how many frame screws the fixings take.
func (p *Plan) screws() int {
	n := p.Fixings.Count
	for _, side := range p.Fixings.Sides {
		if p.Bracketed(side.Side) {
			n -= len(side.At)
		}
	}
	return n
}

// screwsAt is how many fixings of the plan take a screw.
func (p *Plan) screwsAt(w calc.Screw) int {
	n := 0
	for _, side := range p.Fixings.Sides {
		if w.At(side.Side) {
			n += len(side.At)
		}
	}
	return n
}

// screwCounts are the frame screws to take, by their stock length. What has
// none takes brackets or a fixing of its own.
func (p *Plan) screwCounts() []calc.ScrewCount {
	var out []calc.ScrewCount
	for _, w := range p.Screws {
		if w.Length.IsPositive() {
			out = append(out, calc.ScrewCount{Length: w.Length, Pieces: p.screwsAt(w)})
		}
	}
	return out
}

// jambGap is the widest packed gap that a jamb screw crosses.
func (p Plan) jambGap() decimal.Decimal {
	for _, w := range p.Screws {
		if w.At(calc.Left) {
			return w.Gap
		}
	}
	return decimal.Zero
}

// screwReasons are how the screws that have a length came by it; what has none
// is said in the place of a length.
func (p Plan) screwReasons() []calc.Reason {
	var out []calc.Reason
	for _, w := range p.Screws {
		if w.Length.IsPositive() {
			out = append(out, w.Why)
		}
	}
	return out
}

// sectionReasons are what the section asks of the masonry's edge, sill piece and
// inside board: what the plan says by itself, and what only its reasons say.
func (p Plan) sectionReasons() (told, asked []calc.Reason) {
	sort := func(why *calc.Reason, ok bool) {
		switch {
		case why == nil:
		case ok:
			asked = append(asked, *why)
		default:
			told = append(told, *why)
		}
	}
	sort(p.Section.EdgeReason(p.Opening.InWall(), p.Crew.Settings))
	sort(p.Section.SillReason())
	board, clear := p.Section.BoardReason(p.Opening.BoardEdge)
	sort(&board, clear)
	return told, asked
}

// glassHeights are the lowest glass that is seen above the inside floor and
// above the outside: as measured, or by the section where the opening's lower
// edge was measured from the floor. What stands under the frame is taken at its
// least, so that no guard is cleared by a height that is too great.
func (p Plan) glassHeights(s calc.Settings) (floor, outside *decimal.Decimal) {
	o := p.Opening
	if o.BedAboveFloor == nil || len(p.Layout.Lights) == 0 {
		return o.AboveFloor, o.AboveOutside
	}
	lowest := p.Layout.Levels(p.Order.Size, p.Layout.Lights[0], s).Sight
	for _, light := range p.Layout.Lights[1:] {
		lowest = decimal.Min(lowest, p.Layout.Levels(p.Order.Size, light, s).Sight)
	}
	height := decimal.Sum(*o.BedAboveFloor, p.Order.Gap[calc.Sill], p.Order.SillPiece, lowest)
	if o.AboveOutside == nil || o.AboveFloor == nil {
		return &height, o.AboveOutside
	}
	beyond := o.AboveOutside.Add(height).Sub(*o.AboveFloor) // both were measured to one edge
	return &height, &beyond
}
