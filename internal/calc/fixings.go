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

// Fixings places the fixings of a frame, in whole mm on each side: the fewest
// that meet every limit of the published rule, and of those the most even.
// Even means that each fixing holds the same length of frame: the largest
// span is made as small as it can be, then the sum of the squares of the
// spans, where an end counts as a span of twice its distance from the corner.
// With BedJoint the jamb fixings also land in bricks where the same number
// allows it. What can't be kept is in the side's Shortfall.
//
// The frame must be positive and at most 6 m a side, bed joint and gauge at
// most 6 m, or the error is a RefusalError of ErrImpossible.
func Fixings(req FixingRequest, _ Settings) (FixingPlan, error) {
	most := decimal.NewFromInt(mostFrame)
	for _, d := range []decimal.Decimal{req.Frame.Width, req.Frame.Height} {
		if d.LessThan(decimal.NewFromInt(1)) || d.GreaterThan(most) {
			return FixingPlan{}, refuse(ErrImpossible, "frame_size_impossible",
				map[string]decimal.Decimal{"size": d, "most": most}, nil)
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
	var at []int
	var rule *spacing
	out := make([]SideFixings, 0, 4)
	for _, side := range []Side{Left, Right} {
		s := SideFixings{Side: side}
		transom := req.transomAt(side)
		var centres []int
		if transom.IsPositive() {
			centres = mmPlaces([]decimal.Decimal{transom})
		}
		if side == Left || !transom.Equal(req.transomAt(Left)) {
			at, rule = byRule(length, centres)
			if bricks != nil && rule != nil {
				at = rule.inBricks(bricks, len(at))
			}
		}
		s.place(at, length, centres, rule)
		if req.BedJoint != nil {
			s.checkBricks(bricks)
		}
		out = append(out, s)
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
		at, rule := byRule(length, centres)
		head.place(at, length, centres, rule)
		sill.place(at, length, centres, rule)
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

// place writes the places and checks them against the published rule. rule is
// nil for a side too short for it.
func (s *SideFixings) place(at []int, length int, centres []int, rule *spacing) {
	s.At = make([]decimal.Decimal, len(at))
	for i, p := range at {
		s.At[i] = decimal.NewFromInt(int64(p))
	}
	if rule == nil {
		s.short("fixing_side_short", decimal.NewFromInt(int64(length)), decimal.NewFromInt(2*endLeast+spanLeast))
		return
	}
	s.checkRule(at, length, centres)
}

// short notes a figure that the published rule does not allow.
func (s *SideFixings) short(rule string, got, limit decimal.Decimal) {
	s.Shortfall = append(s.Shortfall, Reason{
		Rule:    rule,
		Figures: map[string]decimal.Decimal{"got": got, "limit": limit},
		Words:   map[string]string{"side": "side." + string(s.Side)},
		Source:  "warranty_6_7_11",
		Mark:    Read,
	})
}

// checkRule compares places with the published rule, whatever found them.
func (s *SideFixings) checkRule(at []int, length int, centres []int) {
	mm := func(n int) decimal.Decimal { return decimal.NewFromInt(int64(n)) }
	first, last := at[0], length-at[len(at)-1]
	for _, end := range []int{first, last} {
		if end < endLeast {
			s.short("fixing_end_near", mm(end), mm(endLeast))
		}
		if end > endMost {
			s.short("fixing_end_far", mm(end), mm(endMost))
		}
	}
	for i := 1; i < len(at); i++ {
		if span := at[i] - at[i-1]; span > spanMost {
			s.short("fixing_span_wide", mm(span), mm(spanMost))
		}
	}
	for _, p := range at {
		for _, c := range centres {
			if away := max(p-c, c-p); away < clearCentre {
				s.short("fixing_near_centre", mm(away), mm(clearCentre))
			}
		}
	}
}

// lighter is one fixing in the middle, or as near to it as a mullion lets it.
func (s *SideFixings) lighter(length int, centres []int) {
	s.At = []decimal.Decimal{decimal.NewFromInt(int64(nearestClear(length/2, length, centres)))}
	s.Shortfall = []Reason{{Rule: "fixing_lighter", Mark: Practice}}
}

// nearestClear is the place nearest to want that keeps clear of every centre line
// and, if it can, of the corners; want itself when there is none.
func nearestClear(want, length int, centres []int) int {
	best, found := want, false
	for _, r := range openRuns(min(endLeast, want), length-min(endLeast, want), centres, clearCentre) {
		p := min(max(want, r.lo), r.hi)
		if !found || max(p-want, want-p) < max(best-want, want-best) {
			best, found = p, true
		}
	}
	return best
}

// lintel is the pattern for a head that can't be drilled.
func (s *SideFixings) lintel(length int, centres []int) {
	n := 2
	switch {
	case length <= lintelNone:
		n = 0
	case length <= lintelOne:
		n = 1
	}
	for i := range n {
		p := nearestClear(length*(2*i+1)/(2*n), length, centres)
		s.At = append(s.At, decimal.NewFromInt(int64(p)))
	}
	rule := "fixing_lintel"
	if n == 0 {
		rule = "fixing_lintel_none"
	}
	s.Shortfall = []Reason{{
		Rule:    rule,
		Figures: map[string]decimal.Decimal{"count": decimal.NewFromInt(int64(n))},
		Mark:    FromMemory,
	}}
	if length > lintelTwo {
		s.Shortfall = append(s.Shortfall, Reason{
			Rule:    "fixing_lintel_beyond",
			Figures: map[string]decimal.Decimal{"most": decimal.NewFromInt(lintelTwo)},
			Mark:    FromMemory,
		})
	}
}

// checkBricks notes each fixing that lands too near a joint.
func (s *SideFixings) checkBricks(bricks []run) {
	margin := decimal.New(brickMargin, -1)
	s.Reasons = append(s.Reasons, Reason{
		Rule: "fixing_in_brick", Figures: map[string]decimal.Decimal{"margin": margin}, Mark: Practice,
	})
	for _, at := range s.At {
		if inRuns(bricks, int(at.IntPart())) {
			continue
		}
		s.Shortfall = append(s.Shortfall, Reason{
			Rule:    "fixing_in_joint",
			Figures: map[string]decimal.Decimal{"at": at, "margin": margin},
			Words:   map[string]string{"side": "side." + string(s.Side)},
			Mark:    Practice,
		})
	}
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
