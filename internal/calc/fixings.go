package calc

import "github.com/shopspring/decimal"

// FixingRequest is what the places of the fixings depend on.
type FixingRequest struct {
	Frame  Size
	Layout Layout
	// NoHead is true when the head is under a lintel that can't be drilled.
	NoHead bool
	// Lighter asks for the practitioner's lighter pattern, which is less than
	// the published rule and says so.
	Lighter bool
	// BedJoint is the height of one bed joint's centre above the frame's
	// bottom edge, nil when not known; Gauge is the height of a course, zero
	// for 75 mm.
	BedJoint *decimal.Decimal
	Gauge    decimal.Decimal
	Mark     Mark // how far Frame may be trusted; empty: as a reading
}

// SideFixings are the fixings of one side. At is measured from the frame's
// bottom corner on the jambs and from its left corner on head and sill.
type SideFixings struct {
	Side      Side
	At        []decimal.Decimal
	Reasons   []Reason
	Shortfall []Reason // what of the published rule could not be kept, and why
}

// FixingPlan is the fixings of all four sides, in the order left, right,
// head, sill.
type FixingPlan struct {
	Sides   []SideFixings
	Count   int
	Reasons []Reason
}

// What the published rule leaves open, mm.
const (
	lighterMost = 1200 // the widest frame for the lighter pattern; common practice, no source
	lintelNone  = 1200 // head under a lintel that can't be drilled: none up to here; from memory
	lintelOne   = 2400 // one up to here; from memory
	lintelTwo   = 3600 // two up to here; from memory
	mostFrame   = 6000 // beyond any that the gap table allows
)

// Bricks, in tenths of a millimetre: course 75 and joint 10 (BS EN 771 sizes).
const (
	courseGauge = 750
	// brickMargin is how far a fixing keeps from a bed joint's centre: half
	// the joint and 15 mm of brick, about two screw diameters, so that the
	// brick's edge doesn't burst. Common practice, no source.
	brickMargin = 200
)

// Fixings places the fixings of a frame, in mm on each side: the fewest that
// meet every limit of the published rule, and of those the most even. Even
// means that each fixing holds the same length of frame: the largest span is
// made as small as it can be, then the sum of the squares of the spans, where
// an end counts as a span of twice its distance from the corner. A side that is
// alike from both ends gets the fewest that are alike from both ends too, and a
// mirrored frame the mirrored places. All are whole mm, but a fixing in the
// very middle. With BedJoint the jamb fixings land in bricks wherever some
// number of them can. What can't be kept is in the side's Shortfall.
//
// The frame must be 200 mm to 6 m a side, bed joint and gauge at most 6 m, or the error
// is a RefusalError of ErrImpossible.
func Fixings(req FixingRequest, _ Settings) (FixingPlan, error) {
	most := decimal.NewFromInt(mostFrame)
	for _, d := range []decimal.Decimal{req.Frame.Width, req.Frame.Height} {
		if d.LessThan(leastFrame) || d.GreaterThan(most) {
			return FixingPlan{}, refuse(ErrImpossible, "frame_size_impossible",
				map[string]decimal.Decimal{"size": d, "least": leastFrame, "most": most}, nil)
		}
	}
	if b := req.BedJoint; b != nil && b.Abs().GreaterThan(most) || req.Gauge.GreaterThan(most) {
		return FixingPlan{}, refuse(ErrImpossible, "bed_joint_impossible",
			map[string]decimal.Decimal{"most": most}, nil)
	}
	var plan FixingPlan
	plan.Sides = append(req.jambs(), req.headAndSill()...)
	for _, side := range plan.Sides {
		plan.Count += len(side.At)
		for i := range side.Shortfall { // each is measured on the frame
			side.Shortfall[i].Mark = resting(side.Shortfall[i].Mark, req.Mark)
		}
	}
	plan.Reasons = []Reason{fixingRule, {Rule: "fixing_not_foam", Source: "profile_maker_guide", Mark: Read}}
	return plan, nil
}

var fixingRule = Reason{
	Rule: "fixing_rule",
	Figures: map[string]decimal.Decimal{
		"end_least": decimal.NewFromInt(endLeast), "end_most": decimal.NewFromInt(endMost),
		"clear": decimal.NewFromInt(clearCentre), "span": decimal.NewFromInt(spanMost),
	},
	Source: "warranty_6_7_11",
	Mark:   Read,
}

// jambs are the plans of the left and the right jamb, worked out once where
// both are alike.
func (req FixingRequest) jambs() []SideFixings {
	length := int(req.Frame.Height.IntPart())
	var bricks []run
	if req.BedJoint != nil {
		bricks = req.bricks(length)
	}
	out := []SideFixings{{Side: Left}, {Side: Right}}
	var at halves
	for i := range out {
		s := &out[i]
		transom := req.transomAt(s.Side)
		var centres []int
		if transom.IsPositive() {
			centres = mmPlaces([]decimal.Decimal{transom})
		}
		if i == 0 || !transom.Equal(req.transomAt(Left)) {
			var more bool
			if at, more = fixed(length, centres, bricks); more {
				s.Reasons = []Reason{{Rule: "fixing_more_for_brick", Mark: Practice}}
			}
		}
		s.At = at.inMM()
		s.checkRule(at, length, centres)
	}
	if req.BedJoint != nil {
		checkJambs(out, bricks)
	}
	return out
}

// transomAt is the transom's height at a jamb, zero when none touches it.
func (req FixingRequest) transomAt(side Side) decimal.Decimal {
	ts := req.Layout.Transoms
	switch {
	case len(ts) == 0:
		return decimal.Zero
	case side == Left:
		return ts[0]
	case len(ts) <= len(req.Layout.Mullions): // the last column has none
		return decimal.Zero
	}
	return ts[len(ts)-1]
}

// mmPlaces are centre lines in whole mm. One between two millimetres counts
// as both, so that a fixing keeps its distance from it.
func mmPlaces(ds []decimal.Decimal) []int {
	out := make([]int, 0, len(ds)+1)
	for _, d := range ds {
		whole := int(d.Floor().IntPart())
		out = append(out, whole)
		if !d.IsInteger() {
			out = append(out, whole+1)
		}
	}
	return out
}

// headAndSill are the plans of the head and the sill, which meet the same
// mullions.
func (req FixingRequest) headAndSill() []SideFixings {
	length, centres := int(req.Frame.Width.IntPart()), mmPlaces(req.Layout.Mullions)
	head, sill := SideFixings{Side: Head}, SideFixings{Side: Sill}
	if req.Lighter && length <= lighterMost {
		head.lighter(length, centres)
		sill.lighter(length, centres)
	} else {
		at, _ := fixed(length, centres, nil)
		head.At = at.inMM()
		sill.At = head.At
		head.checkRule(at, length, centres)
		sill.checkRule(at, length, centres)
		if req.Lighter {
			sill.Reasons = append(sill.Reasons, Reason{
				Rule:    "fixing_lighter_too_wide",
				Figures: map[string]decimal.Decimal{"most": decimal.NewFromInt(lighterMost)},
				Mark:    Practice,
			})
		}
		head.Reasons = append(head.Reasons, Reason{Rule: "fixing_head_maker", Source: "warranty_6_7_11", Mark: Read})
	}
	if req.NoHead {
		head = SideFixings{Side: Head}
		head.lintel(length, centres)
	}
	return []SideFixings{head, sill}
}

// tooShort reports whether a side has no room for two fixings by the rule.
func tooShort(length int) bool { return length < 2*endLeast+spanLeast }

// fixed are the places on a side, in bricks where there are any; more is true
// where that takes more than the rule's fewest.
func fixed(length int, centres []int, bricks []run) (at halves, more bool) {
	if tooShort(length) {
		return inHalves(shortSide(length, centres, bricks)), false
	}
	rule := limits(length, centres)
	if bricks == nil {
		return rule.spread(), false
	}
	in := rule.inBricks(bricks)
	return inHalves(in), len(in) > rule.count()
}

// short notes a figure in half mm that the published rule, in mm, does not allow.
func (s *SideFixings) short(rule string, got, limit int) {
	s.Shortfall = append(s.Shortfall, Reason{
		Rule:    rule,
		Figures: map[string]decimal.Decimal{"got": inHalfMM(got), "limit": decimal.NewFromInt(int64(limit))},
		Words:   map[string]string{"side": "side." + string(s.Side)},
		Source:  "warranty_6_7_11",
		Mark:    Read,
	})
}

// checkRule compares the places with the published rule, whatever found them.
// Of a short side the ends are said once, with its length.
func (s *SideFixings) checkRule(at halves, length int, centres []int) {
	first, last := at[0], 2*length-at[len(at)-1]
	ends := []int{first, last}
	if tooShort(length) {
		s.tooShort(length)
		ends = nil
	}
	for _, end := range ends {
		if end < 2*endLeast {
			s.short("fixing_end_near", end, endLeast)
		}
		if end > 2*endMost {
			s.short("fixing_end_far", end, endMost)
		}
	}
	for i := 1; i < len(at); i++ {
		if span := at[i] - at[i-1]; span > 2*spanMost {
			s.short("fixing_span_wide", span, spanMost)
		}
	}
	s.checkCentres(at, centres)
}

// checkCentres notes each fixing that is too near to a bar's centre line.
func (s *SideFixings) checkCentres(at halves, centres []int) {
	for _, p := range at {
		near := 2 * clearCentre
		for _, c := range centres {
			near = min(near, max(p-2*c, 2*c-p))
		}
		if near < 2*clearCentre {
			s.short("fixing_near_centre", near, clearCentre)
		}
	}
}

// tooShort notes a side that has no room for two fixings by the rule.
func (s *SideFixings) tooShort(length int) {
	s.Shortfall = append(s.Shortfall, Reason{
		Rule:    "fixing_side_short",
		Figures: map[string]decimal.Decimal{"got": count(length), "limit": count(2*endLeast + spanLeast), "apart": count(spanLeast)},
		Words:   map[string]string{"side": "side." + string(s.Side)},
		Mark:    Practice, // the distance between them is
	})
}

// lighter is one fixing in the middle, or as near to it as a mullion lets it:
// one on each side of a mullion that stands there.
func (s *SideFixings) lighter(length int, centres []int) {
	at := nearMiddle(length, centres)
	s.At = at.inMM()
	rule := "fixing_lighter"
	switch {
	case len(at) > 1:
		rule = "fixing_lighter_pair"
	case at[0] != length:
		rule = "fixing_lighter_beside"
	}
	s.Shortfall = []Reason{{Rule: rule, Mark: Practice}}
	s.checkCentres(at, centres)
}

// lintel is the pattern for a head that can't be drilled.
func (s *SideFixings) lintel(length int, centres []int) {
	rule := "fixing_lintel"
	var at halves
	switch {
	case length <= lintelNone:
		rule = "fixing_lintel_none"
	case length <= lintelOne:
		at = nearMiddle(length, centres)
	default:
		at = nearQuarters(length, centres)
	}
	s.At = at.inMM()
	s.Shortfall = []Reason{{
		Rule:    rule,
		Figures: map[string]decimal.Decimal{"count": count(len(s.At))},
		Mark:    FromMemory,
	}}
	s.checkCentres(at, centres)
	if length > lintelTwo {
		s.Shortfall = append(s.Shortfall, Reason{
			Rule:    "fixing_lintel_beyond",
			Figures: map[string]decimal.Decimal{"most": decimal.NewFromInt(lintelTwo)},
			Mark:    FromMemory,
		})
	}
}

// checkJambs notes each jamb fixing that lands too near a joint, and what holds
// of the others.
func checkJambs(jambs []SideFixings, bricks []run) {
	margin := decimal.New(brickMargin, -1)
	in, out := 0, 0
	for i := range jambs {
		s := &jambs[i]
		for _, at := range s.At {
			if inRuns(bricks, int(at.IntPart())) {
				in++
				continue
			}
			out++
			s.Shortfall = append(s.Shortfall, Reason{
				Rule:    "fixing_in_joint",
				Figures: map[string]decimal.Decimal{"at": at, "margin": margin},
				Words:   map[string]string{"side": "side." + string(s.Side)},
				Mark:    Practice,
			})
		}
	}
	why := Reason{Rule: "fixing_in_brick", Figures: map[string]decimal.Decimal{"margin": margin}, Mark: Practice}
	switch {
	case in == 0:
		return
	case out > 0:
		why.Rule = "fixing_in_brick_but"
	}
	jambs[0].Reasons = append(jambs[0].Reasons, why)
}

// bricks are the places along a jamb that are well inside a brick.
func (req FixingRequest) bricks(length int) []run {
	gauge := int64(courseGauge)
	if req.Gauge.IsPositive() {
		gauge = max(1, req.Gauge.Shift(1).Round(0).IntPart())
	}
	joint := req.BedJoint.Shift(1).Round(0).IntPart()
	joint -= gauge * divDown(joint, gauge) // the first joint at or above the bottom edge
	var out []run
	for ; joint < int64(10*length)+gauge; joint += gauge {
		lo, hi := divUp(joint-gauge+brickMargin, 10), divDown(joint-brickMargin, 10)
		lo, hi = max(lo, 0), min(hi, int64(length))
		if lo <= hi {
			out = append(out, run{int(lo), int(hi)})
		}
	}
	return out
}
