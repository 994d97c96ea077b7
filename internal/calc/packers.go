package calc

import (
	"slices"

	"github.com/shopspring/decimal"
)

// PackerPlace is one stack of packers. At is measured like a fixing's place.
type PackerPlace struct {
	Side  Side
	At    decimal.Decimal
	Gap   decimal.Decimal // from frame to masonry at this place
	Stack []int           // thickness of each piece, mm, thickest first
	Bed   bool            // carries the frame's weight on the sill
	// Unseen: the masonry there is behind a check and was not measured. Gap is the
	// table's then, says nothing of the opening, and there is no Stack.
	Unseen  bool
	Trouble *Reason // set when no stack, or no published gap, allows it
}

// PackerCount is how many pieces of a thickness to take along.
type PackerCount struct {
	Thickness int `json:"thickness"`
	Pieces    int `json:"pieces"`
}

// PackerPlan is every packer of a frame set plumb and level.
type PackerPlan struct {
	Places  []PackerPlace
	Take    []PackerCount // with spares
	Reasons []Reason
}

// Stock packers are 1 to 10 mm thick. More than three of the thickest on each
// other is no stack but making good that was left out; common practice, no
// source.
const (
	thickestPacker = 10
	tallestStack   = 3 * thickestPacker
)

var thinnestPacker = decimal.NewFromInt(1)

// Packers plans the packers of a frame in its place: one stack beside every
// fixing, and bed packers on the sill under both jambs and every mullion. Each
// gap is taken from the figure at that very place, to the masonry behind any
// plaster, in mm rounded down to the micrometre; a stack is the fewest pieces
// of 1 to 10 mm that make the gap rounded down to whole millimetres, so that
// it is never tight; the quarter of a millimetre a side that the order size leaves to
// rounding is no matter. A gap over 30 mm gets none.
//
// Behind a check the masonry is out of sight: the gap at jambs and head is
// half of what the inner opening leaves. Where that was not measured nobody knows the
// gap, no packer is planned, and the plan says so.
func Packers(o Order, f FixingPlan, l Layout, s Settings) PackerPlan {
	m := packing{order: o, edges: o.masonryEdges(), frame: o.frame()}
	var plan PackerPlan
	for _, side := range f.Sides {
		from := len(plan.Places)
		for _, at := range side.At {
			plan.Places = append(plan.Places, m.place(side.Side, at, false))
		}
		if side.Side != Sill {
			continue
		}
		for _, at := range bedPlaces(o.Size.Width, l, s) {
			plan.Places = append(plan.Places, m.place(Sill, at, true))
		}
		slices.SortStableFunc(plan.Places[from:], func(a, b PackerPlace) int { return a.At.Cmp(b.At) })
	}
	plan.Take = takeAlong(plan.Places, s.Waste)
	plan.Reasons = packerReasons(o)
	return plan
}

// bedPlaces are the middles of the jambs and of the mullions along the sill.
func bedPlaces(width decimal.Decimal, l Layout, s Settings) []decimal.Decimal {
	half := s.OuterFace.Div(decimal.NewFromInt(2)).Round(0)
	return append([]decimal.Decimal{half, width.Sub(half)}, l.Mullions...)
}

// packing is the frame in its place against the masonry, in µm.
type packing struct {
	order Order
	edges edges
	frame box
}

// place measures the gap at one place and stacks packers for it.
func (m packing) place(side Side, at decimal.Decimal, bed bool) PackerPlace {
	p := PackerPlace{Side: side, At: at, Gap: m.gap(side, at), Bed: bed, Unseen: m.order.unseen(side)}
	if p.Unseen {
		return p
	}
	gap := micronsDown(p.Gap)
	if least := microns(m.order.Gap[side]); gap < least && gap >= least-microns(roundedOff)/2 {
		gap = least // the order left so much to rounding
	}
	if whole := int(divDown(gap, 1000)); 0 < whole && whole <= tallestStack {
		p.Stack = stack(whole)
	}
	p.Trouble = m.trouble(p)
	return p
}

// gap is the gap at a place, rounded down.
func (m packing) gap(side Side, at decimal.Decimal) decimal.Decimal {
	if m.order.Finish == Check && side != Sill {
		return m.hiddenGap(side)
	}
	a, e, f := microns(at), m.edges, m.frame
	switch side {
	case Left:
		return inMM(f.left - e.left.at(f.bottom+a, true))
	case Right:
		return inMM(e.right.at(f.bottom+a, false) - f.right)
	case Head:
		return inMM(e.head.at(f.left+a, false) - f.top)
	default:
		return inMM(f.bottom - microns(m.order.SillPiece) - e.sill.at(f.left+a, true))
	}
}

// hiddenGap is the gap behind a check.
func (m packing) hiddenGap(side Side) decimal.Decimal {
	o := m.order
	inner, size, others := o.Inner.Width, o.Size.Width, decimal.Zero
	if side == Head {
		inner, size, others = o.Inner.Height, o.Size.Height, o.Gap[Sill].Add(o.SillPiece)
	}
	if o.unseen(side) {
		return o.Gap[side]
	}
	room := inner.Sub(size).Sub(others)
	if side == Head {
		return room
	}
	return room.Div(decimal.NewFromInt(2)).RoundFloor(3)
}

// unseen reports whether the masonry at a side is behind a check and was not
// measured. Its gap is the table's then, and says nothing of the opening.
func (o *Order) unseen(side Side) bool {
	inner := o.Inner.Height
	if side.dimension() == Width {
		inner = o.Inner.Width
	}
	return o.Finish == Check && side != Sill && !inner.IsPositive()
}

// NoRoom reports whether the gap takes not even the thinnest packer.
func (p PackerPlace) NoRoom() bool { return p.Gap.LessThan(thinnestPacker) }

// packerNoRoom is the rule of a gap that takes no packer.
const packerNoRoom = "packer_no_room"

// trouble says what is wrong with a gap, nil when nothing is.
func (m packing) trouble(p PackerPlace) *Reason {
	wide := !m.order.unseen(p.Side) && m.order.tooWide(p.Side, micronsDown(p.Gap))
	if !p.NoRoom() && !wide {
		return nil
	}
	why := Reason{
		Rule:    packerNoRoom,
		Figures: map[string]decimal.Decimal{"gap": p.Gap.RoundFloor(1), "at": p.At},
		Words:   map[string]string{"side": "side." + string(p.Side)},
		Mark:    Derived,
	}
	if wide {
		least, _ := m.order.sideGaps(m.edges, m.frame, p.Side)
		why.Rule = "packer_" + gapOver + m.order.kindOver(p.Side, least)
		why.Source, why.Mark = "gaps_around_windows", Read
		why.Figures["gap"], why.Figures["most"] = p.Gap.RoundUp(1), largestGap(m.order.smallest(p.Side.dimension()))
	}
	why = why.on(m.order.gapMarks()...)
	return &why
}

// stack is the fewest stock packers that make a whole number of mm.
func stack(mm int) []int {
	var out []int
	for ; mm > thickestPacker; mm -= thickestPacker {
		out = append(out, thickestPacker)
	}
	return append(out, mm)
}

// takeAlong counts the pieces by thickness, thinnest first, with spares: the
// waste fraction rounded up, so at least one of each.
func takeAlong(places []PackerPlace, waste decimal.Decimal) []PackerCount {
	var t PackerTally
	t.Add(places, 1)
	return t.Take(waste)
}

// PackerTally counts the packers of several windows. The zero PackerTally is ready to
// use.
type PackerTally struct{ pieces [thickestPacker + 1]int }

// Add counts the pieces of a number of equal windows, without spares.
func (t *PackerTally) Add(places []PackerPlace, windows int) {
	for _, p := range places {
		for _, thickness := range p.Stack {
			t.pieces[thickness] += windows
		}
	}
}

// Take is what to take along, thinnest first, with spares counted once over all: the
// waste fraction of each thickness rounded up.
func (t *PackerTally) Take(waste decimal.Decimal) []PackerCount {
	var out []PackerCount
	for thickness, n := range t.pieces {
		if n > 0 {
			out = append(out, PackerCount{thickness, n + Spares(n, waste)})
		}
	}
	return out
}

// Spares is how many more than n pieces to take along: the waste fraction rounded up.
func Spares(n int, waste decimal.Decimal) int { return int(waste.Mul(count(n)).Ceil().IntPart()) }

func packerReasons(o Order) []Reason {
	out := []Reason{
		{Rule: "packer_beside", Source: "unnamed", Mark: Read},
		{Rule: "packer_bed", Source: "support_guides", Mark: Read},
		{Rule: "packer_thickness", Source: "unnamed", Mark: Read},
	}
	switch o.Finish {
	case Plaster:
		out = append(out, Reason{
			Rule:    "packer_plaster",
			Figures: map[string]decimal.Decimal{"thickness": o.Masonry[Left]},
			Mark:    plasterMark,
		})
	case Check:
		rule := "packer_check"
		if !o.Inner.Width.IsPositive() || !o.Inner.Height.IsPositive() {
			rule = "packer_check_unmeasured"
		}
		out = append(out, Reason{Rule: rule, Mark: coverMark})
	}
	return out
}
