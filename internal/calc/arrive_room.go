package calc

import (
	"slices"

	"github.com/shopspring/decimal"
)

// The rules of a room.
const (
	// Arrived is the rule of the steps that lead from the ordered to the delivered size.
	Arrived      = "order_arrived"
	noRoom       = "arrive_no_room" // the frame does not go in
	roomUnseen   = "arrive_room_unseen"
	roomDoubtful = "arrive_room_doubtful"
)

// refitted is the order with another frame in its place, however little room is left.
func (o Order) refitted(arrived Size, mark Mark) Order {
	tight, gap := o.tight, decimal.Zero
	if tight != "" {
		gap = inMM(o.edgeRoom(tight))
	}
	steps := slices.Clone(o.Steps)
	for _, d := range []Dimension{Width, Height} {
		from, to := o.Size.Width, arrived.Width
		if d == Height {
			from, to = o.Size.Height, arrived.Height
		}
		if to.Equal(from) {
			continue
		}
		steps = append(steps, Step{d, to.Sub(from), Reason{
			Rule: Arrived, Mark: resting(Derived, mark), Figures: map[string]decimal.Decimal{"arrived": to, "ordered": from},
			Words: map[string]string{"dimension": "dimension." + string(d)},
		}})
	}
	o.Steps, o.Size = steps, arrived
	if inside, ok := o.inside(); ok { // the order was made in one
		o.centre(inside)
	}
	o.Warnings = slices.DeleteFunc(slices.Clone(o.Warnings), func(r Reason) bool {
		return r.Rule == coverShort || slices.Contains(gapOverRules, r.Rule)
	})
	if tight != "" {
		return o.TightTo(tight, gap)
	}
	if len(o.Figure.Suspects) > 0 {
		return o
	}
	if o.Finish == Check {
		o.warnCheck()
		return o
	}
	o.warnGaps()
	return o
}

// roomAt is the least gap at a side, µm: behind a check what the inner opening leaves.
func (o Order) roomAt(side Side) int64 {
	if o.Finish == Check && side != Sill {
		return micronsDown(packing{order: o}.hiddenGap(side))
	}
	return o.edgeRoom(side)
}

// edgeRoom is the least gap between the frame and the masonry's edge at a side, µm. At
// a jamb the sill piece's end counts too.
func (o Order) edgeRoom(side Side) int64 {
	e, f := o.masonryEdges(), o.frame()
	foot := f.bottom - microns(o.SillPiece)
	switch side {
	case Left:
		return f.left - e.left.most(foot, f.top)
	case Right:
		return e.right.least(foot, f.top) - f.right
	case Head:
		return e.head.least(f.left, f.right) - f.top
	}
	return foot - e.sill.most(f.left, f.right)
}

// roomChecks are those of each side whose gap is not as it should be, and one for all
// where the room is right everywhere. Before is the order as it was made: what was too
// wide or too narrow then is none of the frame's making, and no worse than noted.
func (o Order) roomChecks(before Order) []ArrivalCheck {
	if len(o.Figure.Suspects) > 0 {
		return []ArrivalCheck{{What: ArrivalRoom, Verdict: VerdictNote, Reasons: []Reason{{Rule: roomDoubtful, Mark: tapeMark}}}}
	}
	var out []ArrivalCheck
	unseen := false
	for _, side := range allSides {
		if o.unseen(side) {
			unseen = true
			continue
		}
		if c, ok := o.roomCheck(side, before); ok {
			out = append(out, c)
		}
	}
	if unseen {
		out = append(out, ArrivalCheck{What: ArrivalRoom, Verdict: VerdictNote, Reasons: []Reason{{Rule: roomUnseen, Mark: coverMark}}})
	}
	for _, why := range o.Warnings {
		if why.Rule == coverShort {
			out = append(out, ArrivalCheck{What: ArrivalRoom, Side: sideOf(why), Verdict: VerdictNote, Reasons: []Reason{why}})
		}
	}
	if out == nil {
		out = []ArrivalCheck{{What: ArrivalRoom, Verdict: VerdictRight, Reasons: []Reason{
			Reason{Rule: "arrive_room", Source: "gaps_around_windows", Mark: Read}.on(o.gapMarks()...),
		}}}
	}
	return out
}

// sideOf is the side that a reason names.
func sideOf(why Reason) Side {
	for _, s := range allSides {
		if why.Words["side"] == "side."+string(s) {
			return s
		}
	}
	return ""
}

// roomCheck is the room at one side; ok is false where nothing is to be said of it.
func (o Order) roomCheck(side Side, before Order) (c ArrivalCheck, ok bool) {
	least, asked := o.roomAt(side), o.Gap[side]
	why := Reason{Rule: noRoom, Mark: Derived, Words: map[string]string{"side": "side." + string(side)}, Figures: map[string]decimal.Decimal{
		"gap": inMM(least).RoundFloor(1), "asked": asked, "least": thinnestPacker,
	}}
	c = ArrivalCheck{What: ArrivalRoom, Side: side, Verdict: VerdictWrong}
	switch wide, is := o.overWide(side); {
	case least < microns(thinnestPacker):
	case least < min(microns(asked)-microns(roundedOff)/2, before.roomAt(side)): // it was set tighter before
		why.Rule, why.Source, why.Mark, c.Verdict = "arrive_gap_narrow", "gaps_around_windows", Read, VerdictNote
	case is:
		c.Reasons = []Reason{wide}
		if _, was := before.overWide(side); was || wide.Rule != gapOver {
			c.Verdict = VerdictNote
		}
		return c, true
	default:
		return ArrivalCheck{}, false
	}
	c.Reasons = []Reason{why.on(o.gapMarks()...)}
	return c, true
}

// overWide is the warning of a side whose gap is over the largest published.
func (o Order) overWide(side Side) (Reason, bool) {
	for _, why := range o.Warnings {
		if slices.Contains(gapOverRules, why.Rule) && sideOf(why) == side {
			return why, true
		}
	}
	return Reason{}, false
}
