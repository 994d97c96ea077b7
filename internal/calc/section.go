package calc

import "github.com/shopspring/decimal"

// Section is a window in its wall, cut through; jamb, head and sill share one
// profile. Lengths are mm. Across the profile runs the face, from the edge that
// is seen inside the frame out to the edge that stands against the wall. Front
// to back everything is measured from the finished face of the wall outside.
type Section struct {
	Face    decimal.Decimal // of the outer frame, side to side
	Upstand decimal.Decimal // of the glass rebate, part of Face: a screw starts at its foot
	Depth   decimal.Decimal // of the frame, front to back
	Setback decimal.Decimal // of the frame's front behind the finished face
	Coat    decimal.Decimal // render on the outer leaf, part of Setback
	Leaf    decimal.Decimal // thickness of one leaf of the wall
	Cavity  decimal.Decimal // between the leaves; zero: a solid wall of two
	// Behind is true when the frame stands behind the outer leaf, which
	// overlaps it: nothing holds a screw there but the inner leaf.
	Behind     bool
	SillHeight decimal.Decimal // of the sill piece under the frame; zero: none
	SillDepth  decimal.Decimal // of the same, front to back
	Bed        decimal.Decimal // mortar under the sill piece, which holds no screw
}

// SectionOf is the section of an ordered frame with a sill piece of this
// depth in mm; zero: none. Behind a check the outer leaf is what the frame
// stands back from the face, and the leaves touch.
func SectionOf(o Order, sillDepth decimal.Decimal, s Settings) Section {
	c := Section{
		Face: s.OuterFace, Upstand: s.RebateUpstand, Depth: s.FrameDepth,
		Setback: s.Setback, Leaf: s.Leaf, Cavity: s.Cavity,
	}
	switch o.Finish {
	case Plaster:
		c.Coat = s.PlasterThickness
	case Check:
		c.Setback, c.Cavity, c.Behind = s.Leaf, decimal.Zero, true
	}
	if sillDepth.IsPositive() {
		c.SillHeight, c.SillDepth, c.Bed = o.SillPiece, sillDepth, s.SillBed
	}
	return c
}

// InProfile is how far a screw runs through the frame, mm: the face less the
// rebate's upstand. ok is false when the upstand takes the whole face.
func (c Section) InProfile() (length decimal.Decimal, ok bool) {
	length = c.Face.Sub(c.Upstand)
	return length, length.IsPositive()
}

// UnderFrame is what a screw at a side crosses besides the profile and the
// packed gap, mm: the sill piece and its bed.
func (c Section) UnderFrame(side Side) decimal.Decimal {
	if side != Sill {
		return decimal.Zero
	}
	return c.SillHeight.Add(c.Bed)
}

// Back is the frame's back from the finished face of the wall, mm: an inside
// board must not come nearer than that.
func (c Section) Back() decimal.Decimal { return c.Setback.Add(c.Depth) }

// BoardCut is what to cut off an inside board whose edge is this far in from
// the finished face of the wall, mm; zero when it is clear of the frame.
func (c Section) BoardCut(edge decimal.Decimal) decimal.Decimal {
	return decimal.Max(decimal.Zero, c.Back().Sub(edge))
}

// StandOut is how far the sill piece stands out beyond the finished face, mm:
// its back is flush with the frame's. Negative: it ends inside the opening.
func (c Section) StandOut() decimal.Decimal { return c.SillDepth.Sub(c.Back()) }

// JointDepth is how deep the joint at a side is, front to back, mm. Under a
// sill piece it goes from the sill piece's back to the wall's face, or to the
// sill piece's front where that ends before the face.
func (c Section) JointDepth(side Side) decimal.Decimal {
	if side != Sill || !c.SillDepth.IsPositive() {
		return c.Depth
	}
	return decimal.Min(c.SillDepth, c.Back().Sub(c.Coat))
}

// EdgeDistance is from the middle of the frame's depth, where its screws sit,
// to the nearer edge of the leaf that holds them, mm. Negative: they meet the
// cavity.
func (c Section) EdgeDistance() decimal.Decimal {
	at := c.Setback.Sub(c.Coat).Add(c.Depth.Mul(oneHalf))
	both := c.Leaf.Add(c.Cavity).Add(c.Leaf)
	between := func(near, far decimal.Decimal) decimal.Decimal {
		return decimal.Min(at.Sub(near), far.Sub(at))
	}
	inner := between(c.Leaf.Add(c.Cavity), both)
	switch {
	case c.Behind:
		return inner
	case c.Cavity.IsZero():
		return between(decimal.Zero, both)
	}
	return decimal.Max(between(decimal.Zero, c.Leaf), inner)
}

// dripLeast is how far a sill's drip stands beyond the wall, mm; building
// journals, read. They have 40 to 50 as better.
var dripLeast = decimal.NewFromInt(25)

// SillReason says how far the sill piece stands out; ok is false when that is
// less than its drip needs. nil without a sill piece.
func (c Section) SillReason() (why *Reason, ok bool) {
	if !c.SillDepth.IsPositive() {
		return nil, true
	}
	out := c.StandOut()
	ok = !out.LessThan(dripLeast)
	why = &Reason{Rule: "sill_drip", Source: "building_journals", Mark: Weakest(Read, wallMark), Own: Read, Figures: map[string]decimal.Decimal{
		"out": out, "least": dripLeast, "depth": c.SillDepth, "frame": c.Depth, "setback": c.Setback, "needed": c.Back().Add(dripLeast),
	}}
	switch {
	case !out.IsPositive():
		why.Rule, why.Figures["short"] = "sill_inside", out.Neg()
	case !ok:
		why.Rule = "sill_short"
	}
	return why, ok
}

// BoardReason says how far in from the wall's face an inside board must begin
// and, where its edge was measured, what to cut off it; ok is false when
// something is.
func (c Section) BoardReason(edge *decimal.Decimal) (why Reason, ok bool) {
	why = Reason{Rule: "board_edge", Mark: wallMark, Figures: map[string]decimal.Decimal{
		"back": c.Back(), "setback": c.Setback, "depth": c.Depth,
	}}
	if edge == nil {
		return why, true
	}
	cut := c.BoardCut(*edge)
	why.Figures["edge"], why.Figures["cut"] = *edge, cut
	why.Rule = "board_clear"
	if cut.IsPositive() {
		why.Rule = "board_cut"
		return why, false
	}
	return why, true
}

// Levels are where the parts of a light begin, mm above the frame's bottom edge.
type Levels struct {
	// Opening is the frame's inner edge, or the bar's, where a person climbs
	// over or falls from when the sash is open.
	Opening decimal.Decimal
	// Sight is where the glass begins to be seen, which is what a tape is held
	// to: the opening's edge, and the sash's face above it when the light opens.
	Sight decimal.Decimal
}

// Levels are those of one light of a layout that passed Check.
func (l Layout) Levels(frame Size, light Light, s Settings) Levels {
	return Levels{inMM(l.bay(frame, light, s).bottom), inMM(l.sight(frame, light, s).bottom)}
}
