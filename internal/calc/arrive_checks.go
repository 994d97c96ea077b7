package calc

import "github.com/shopspring/decimal"

// The tolerances of a delivered frame, mm. Size: VinduesIndustrien, technical
// provisions, chapters 6.4.1 and 9, at 15 °C for plastic and aluminium. Those of its
// shape are in shape_limits.go.
var (
	sizeOffShort  = decimal.NewFromInt(2)    // up to sizeLong
	sizeOffLong   = decimal.NewFromInt(3)    // over it
	sizeLong      = decimal.NewFromInt(2000) // mm
	mildFrame     = decimal.NewFromInt(15)   // °C
	likelyColdest = decimal.NewFromInt(-10)  // °C of a frame on the pavement; common practice, no source
	likelyWarmest = decimal.NewFromInt(50)   // °C, the same
	otherFrame    = decimal.NewFromInt(30)   // mm off: rather another window's frame; common practice, no source
)

// arriving is a delivered frame beside its order.
type arriving struct {
	order     Order
	material  Material
	delivered Delivered
	expansion decimal.Decimal // 10⁻⁶ per K
}

// moves reports whether the size is one at 15 °C: of plastic and aluminium.
func (w arriving) moves() bool { return w.material.tolerancedAt15() }

// tolerancedAt15 reports whether a frame's size is stated at 15 °C.
func (m Material) tolerancedAt15() bool {
	return m == PVCUWhite || m == PVCUColour || m == Aluminium
}

// warmed says how many kelvin the frame is over 15 °C; ok is false when that is
// nothing to reckon with.
func (w arriving) warmed() (kelvin decimal.Decimal, ok bool) {
	t := w.delivered.Temperature
	if t == nil || !w.moves() || t.Equal(mildFrame) {
		return decimal.Zero, false
	}
	return t.Sub(mildFrame), true
}

// mild is a length as it is at 15 °C, rounded to 0.1 mm where it was brought there.
func (w arriving) mild(length decimal.Decimal) decimal.Decimal {
	kelvin, ok := w.warmed()
	if !ok {
		return length
	}
	return length.Sub(Movement(length, w.expansion, kelvin)).Round(1)
}

// mark is how far the size at 15 °C may be trusted; empty: as a reading.
func (w arriving) mark() Mark {
	if _, ok := w.warmed(); ok {
		return movementMark
	}
	return ""
}

// sizes are the checks of width and height, or of both at once where it is rather
// another window's frame.
func (w arriving) sizes(at15 Size, room []ArrivalCheck) []ArrivalCheck {
	if why, other := w.otherFrame(at15); other {
		return []ArrivalCheck{{What: ArrivalSize, Verdict: VerdictWrong, Reasons: []Reason{why}}}
	}
	return []ArrivalCheck{
		w.size(Width, w.order.Size.Width, w.delivered.Size.Width, at15.Width, room),
		w.size(Height, w.order.Size.Height, w.delivered.Size.Height, at15.Height, room),
	}
}

// otherFrame says that a size is so far off that the frame is rather another's, or
// was measured, or made, with width and height exchanged.
func (w arriving) otherFrame(at15 Size) (Reason, bool) {
	ordered := w.order.Size
	off := at15.off(ordered)
	why := Reason{Rule: "arrive_other", Mark: Practice, Figures: map[string]decimal.Decimal{
		"width": at15.Width, "height": at15.Height, "ordered_width": ordered.Width, "ordered_height": ordered.Height, "most": otherFrame,
	}}
	if (Size{at15.Height, at15.Width}).off(ordered).LessThan(decimal.Min(off, otherFrame)) && off.GreaterThan(otherFrame) {
		why.Rule = "arrive_exchanged"
	}
	return why, off.GreaterThan(otherFrame)
}

// off is the larger of what two sizes differ by in width and height.
func (z Size) off(other Size) decimal.Decimal {
	return decimal.Max(z.Width.Sub(other.Width).Abs(), z.Height.Sub(other.Height).Abs())
}

// sizeTolerance is how far a size may be off, mm either way, by the ordered length.
// Exactly 2 m takes the tighter: the source has "under" and "above".
func sizeTolerance(ordered decimal.Decimal) decimal.Decimal {
	if ordered.GreaterThan(sizeLong) {
		return sizeOffLong
	}
	return sizeOffShort
}

// size is the check of one dimension.
func (w arriving) size(d Dimension, ordered, measured, at15 decimal.Decimal, room []ArrivalCheck) ArrivalCheck {
	off, limit := at15.Sub(ordered), sizeTolerance(ordered)
	c := ArrivalCheck{What: ArrivalWhat(d), Verdict: VerdictRight}
	words := map[string]string{"dimension": "dimension." + string(d), "off": "off.long"}
	rule := "arrive_size_right"
	switch {
	case off.IsZero():
		rule = "arrive_size_exact"
	case off.Abs().GreaterThan(limit):
		rule, c.Verdict = "arrive_size_off", VerdictNote.worse(roomIn(d, room))
	}
	if off.IsNegative() {
		words["off"] = "off.short"
	}
	why := Reason{Rule: rule, Source: "frame_association", Mark: Read, Words: words, Figures: map[string]decimal.Decimal{
		"measured": at15, "ordered": ordered, "apart": off.Abs(), "limit": limit,
	}}
	c.Reasons = append(c.Reasons, why.on(w.mark()))
	if kelvin, ok := w.warmed(); ok {
		c.Reasons = append(c.Reasons, Reason{Rule: "arrive_at_15", Source: "frame_association", Mark: movementMark, Own: Read, Words: words, Figures: map[string]decimal.Decimal{
			"measured": measured, "temperature": *w.delivered.Temperature, "at": mildFrame, "mild": at15,
			"moved": Movement(measured, w.expansion, kelvin).Abs().Round(1), "expansion": w.expansion,
		}})
	}
	if c.Verdict != VerdictRight {
		c.Reasons = append(c.Reasons, w.maybe(words, measured, off, limit)...)
	}
	return c
}

// roomIn is the worst of the room at the sides of a dimension.
func roomIn(d Dimension, room []ArrivalCheck) Verdict {
	worst := VerdictRight
	for _, c := range room {
		if c.Side != "" && c.Side.dimension() == d {
			worst = worst.worse(c.Verdict)
		}
		if c.Reasons[0].Rule == roomUnseen || c.Reasons[0].Rule == roomDoubtful {
			worst = VerdictWrong // nobody knows that it fits
		}
	}
	return worst
}

// maybe says what may explain a size that is off: a frame that is cold or warm, or
// timber that is dry or wet.
func (w arriving) maybe(words map[string]string, measured, off, limit decimal.Decimal) []Reason {
	if w.material == Timber {
		return []Reason{{Rule: "arrive_moisture", Source: "frame_association", Mark: Read, Words: map[string]string{"dimension": words["dimension"]}}}
	}
	if !w.moves() || w.delivered.Temperature != nil || !w.expansion.IsPositive() {
		return nil
	}
	over := off.Abs().Sub(limit) // at least so much would have to be the temperature's
	kelvin := ceilDiv(over.Shift(6), measured.Mul(w.expansion))
	rule, at := "arrive_maybe_warm", mildFrame.Add(kelvin)
	if off.IsNegative() {
		rule, at = "arrive_maybe_cold", mildFrame.Sub(kelvin)
	}
	if at.LessThan(likelyColdest) || at.GreaterThan(likelyWarmest) {
		return nil
	}
	return []Reason{{Rule: rule, Words: words, Mark: Weakest(Derived, movementMark), Figures: map[string]decimal.Decimal{
		"temperature": at, "apart": off.Abs(), "limit": limit,
	}}}
}

// shape are the checks of diagonals and twist, of those that were measured.
func (w arriving) shape() []ArrivalCheck {
	var out []ArrivalCheck
	d := w.delivered
	if !d.Rising.IsZero() {
		out = append(out, d.diagonals())
	}
	if d.Twist != nil {
		out = append(out, d.twist())
	}
	return out
}

// diagonals holds the difference against both rules.
func (d Delivered) diagonals() ArrivalCheck {
	apart, area := d.Rising.Sub(d.Falling).Abs(), d.Size.area()
	tight, loose := diagonalLimits(d.Size)
	c := ArrivalCheck{What: ArrivalDiagonals}
	var rule string
	c.Verdict, rule = byLimits(apart, tight, loose, "arrive_diagonals")
	c.Reasons = []Reason{{Rule: rule, Source: "facade_and_window_guide", Mark: Read, Figures: map[string]decimal.Decimal{
		"apart": apart, "tight": tight, "loose": loose, "area": area.Round(2), "from": diagonalsLarge,
	}}}
	short, long := d.Rising.Mul(d.Rising), d.Falling.Mul(d.Falling)
	if off := diagonalError(short, long, d.Size); off.GreaterThan(sashTolerance) {
		c.Verdict = c.Verdict.worse(VerdictNote)
		c.Reasons = append(c.Reasons, Reason{Rule: "arrive_doubt", Mark: Practice, Figures: map[string]decimal.Decimal{
			"off": off, "tolerance": sashTolerance, "width": d.Size.Width, "height": d.Size.Height,
		}})
	}
	return c
}

// twist holds the strings' gap against the guide's limits. Of the two ways to read them
// the tighter decides, and what it alone forbids is noted.
func (d Delivered) twist() ArrivalCheck {
	tight, loose := twistLimits(d.Size)
	c := ArrivalCheck{What: ArrivalTwist}
	var rule string
	c.Verdict, rule = byLimits(*d.Twist, tight, loose, "arrive_twist")
	c.Reasons = []Reason{{Rule: rule, Source: "window_guide", Mark: Read, Figures: map[string]decimal.Decimal{
		"twist": *d.Twist, "tight": tight, "loose": loose, "from": twistLong,
	}}}
	return c
}

// byLimits is the verdict of a figure by a tight and a loose limit, and the rule of its
// reason.
func byLimits(got, tight, loose decimal.Decimal, rule string) (Verdict, string) {
	switch {
	case got.LessThanOrEqual(tight):
		return VerdictRight, rule + "_right"
	case got.LessThanOrEqual(loose):
		return VerdictNote, rule + "_note"
	}
	return VerdictWrong, rule + "_off"
}
