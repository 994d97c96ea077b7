package calc

import (
	"slices"

	"github.com/shopspring/decimal"
)

// SetRequest is a frame on its packers, before the screws are tight.
type SetRequest struct {
	Frame    Size     // outside, as delivered
	Material Material // empty: not known
	// Places are the packers as they stand: those of the plan, or Places of the
	// result before.
	Places   []PackerPlace
	Readings SetReadings
	// MadeRising and MadeFalling are the frame's diagonals as it was delivered; both
	// zero: not measured.
	MadeRising, MadeFalling decimal.Decimal
}

// SetState is how a frame stands, and how it does against what is published.
type SetState struct {
	Stance   Stance
	Corners  [4]CornerStand // from the bottom left anticlockwise
	Verdicts []SetVerdict
}

// SetResult is what is wrong with a frame as set and what makes it true.
type SetResult struct {
	Now SetState
	// True is true where all that was read is within the tighter tolerance, and no readings
	// contradict each other; members that don't agree with their opposites are Doubts.
	True    bool
	Missing []SetWhat // what was not read of level, plumb and square; twist only where both jambs were not read across
	Assumed []Reason  // what was taken for given because nothing was read of it
	Doubts  []Reason  // readings that can't all be right
	// Changes of packers and Moves across the wall, in the order to make them. None
	// where the frame is true there, or where Blocked says why none helps.
	Changes []Change
	Moves   []Move
	Blocked []Reason
	Reasons []Reason // of the advice
	// After is how the frame will stand then, and Places are its packers then.
	After  SetState
	Places []PackerPlace
}

// Set takes apart how a frame stands and says which packers change so that it becomes
// true: the fewest stacks, in whole stock thicknesses, none of them thicker than its gap
// then, and none taken out for good; of those that are equally few the ones that leave
// the frame nearest to true. Across the wall it says how far to push or pull at which
// fixing. A frame within its tolerances gets no advice. A mirrored frame gets the
// mirrored advice.
//
// All is to first order: a tilt is its rise over its run, and a corner is out by that
// over its side. Slopes are whole µm per km, gaps whole micrometres rounded down, what
// is said is rounded to 0.1 mm. A gap in Places is that of the frame as it stands; the
// plan's are of one that stands true, so what is left open beside a stack is as near as
// the survey was.
//
// ErrImpossible for a frame under 200 mm or over 6 m, a place that is not on it, a
// stack no packers make, a reading without its direction, a tilt over 1 in 20, and
// diagonals that no such frame has.
func Set(req SetRequest) (SetResult, error) {
	if err := req.check(); err != nil {
		return SetResult{}, err
	}
	readings, err := req.Readings.withCorner(req.Frame)
	if err != nil {
		return SetResult{}, err
	}
	req.Readings = readings
	p := readings.stand(req.Frame)
	out := SetResult{Now: p.state(req.Material), Missing: p.missing(), Assumed: p.assumed}
	var fatal bool
	out.Doubts, fatal = p.doubts()
	out.True = !fatal && len(out.Now.Verdicts) > 0
	for _, v := range out.Now.Verdicts {
		out.True = out.True && v.Within
	}
	out.Places = req.Places
	moves, after := p.moves(req.Places)
	out.Moves = moves
	if p.used(true) > wholeLimit {
		out.Blocked = req.hopeless(p, fatal)
		if out.Blocked == nil {
			after = out.pack(req, p, after)
		}
	}
	out.Reasons = append(out.Reasons, out.reasons()...)
	if len(out.Changes) > 0 {
		after.apart = nil
	}
	after.expected = true
	out.After = after.state(req.Material)
	return out, nil
}

func (req SetRequest) check() error {
	most := decimal.NewFromInt(mostFrame)
	for _, d := range []decimal.Decimal{req.Frame.Width, req.Frame.Height} {
		if d.LessThan(leastFrame) || d.GreaterThan(most) {
			return refuse(ErrImpossible, "frame_size_impossible",
				map[string]decimal.Decimal{"size": d, "least": leastFrame, "most": most}, nil)
		}
	}
	for _, p := range req.Places {
		if err := p.checkOn(req.Frame); err != nil {
			return err
		}
	}
	if err := checkSetDiagonals(req.MadeRising, req.MadeFalling, req.Frame); err != nil {
		return err
	}
	return req.Readings.check(req.Frame)
}

// checkOn refuses a place that is not on the frame, and a stack that is none.
func (p PackerPlace) checkOn(frame Size) error {
	length := frame.Width
	switch p.Side {
	case Left, Right:
		length = frame.Height
	case Head, Sill:
	default:
		return refuse(ErrImpossible, "set_place", map[string]decimal.Decimal{"at": p.At, "length": length}, nil)
	}
	tall := 0
	for _, piece := range p.Stack {
		if piece < 1 || piece > thickestPacker {
			tall = tallestStack
		}
		tall = min(tall+piece, tallestStack+1)
	}
	most := decimal.NewFromInt(mostFrame)
	if p.At.IsNegative() || p.At.GreaterThan(length) || tall > tallestStack || p.Gap.Abs().GreaterThan(most) {
		return refuse(ErrImpossible, "set_place", map[string]decimal.Decimal{"at": p.At, "length": length}, map[string]string{"side": "side." + string(p.Side)})
	}
	return nil
}

// state is the posture with its verdicts.
func (p posture) state(m Material) SetState {
	return SetState{Stance: p.stance(), Corners: p.corners(), Verdicts: p.verdicts(m)}
}

// missing is what nobody read yet that the tolerances ask for: one of sill and head, one
// jamb, the diagonals, and both jambs across the wall.
func (p posture) missing() []SetWhat {
	var out []SetWhat
	if !p.read[inSill] && !p.read[inHead] {
		out = append(out, SetSill)
	}
	if !p.read[inLeft] && !p.read[inRight] {
		out = append(out, SetLeft)
	}
	if !p.squared {
		out = append(out, SetDiagonals)
	}
	for _, i := range []int{inLeftFace, inRightFace} {
		if !p.read[i] {
			out = append(out, members[i])
		}
	}
	return out
}

// hopeless says why no packers help, before any is tried: the readings contradict each
// other, the frame is bent, or it was made out of square.
func (req SetRequest) hopeless(p posture, fatal bool) []Reason {
	var out []Reason
	if !req.MadeRising.IsZero() {
		apart := req.MadeRising.Sub(req.MadeFalling).Abs()
		if apart.GreaterThan(diagonalsTight) {
			out = append(out, Reason{
				Rule: "set_made_out_of_square", Source: "facade_and_window_guide", Mark: Read,
				Figures: map[string]decimal.Decimal{"apart": apart, "most": diagonalsTight},
			})
		}
	}
	if out = append(out, p.bent()...); out == nil && fatal {
		out = []Reason{{Rule: "set_contradiction", Mark: Practice, Figures: map[string]decimal.Decimal{
			"level": inMM(over(p.rackByMembers(), p.height)).Round(1), "square": inMM(over(p.rack, p.height)).Round(1),
		}}}
	}
	return out
}

// pack finds the change of packers, in the frame's own or in its mirrored self: in the
// one whose right end is high. So a mirrored frame gets the mirrored advice.
func (out *SetResult) pack(req SetRequest, p, after posture) posture {
	flip := p.leftHigh()
	if flip {
		req = req.mirrored()
		p = req.Readings.stand(req.Frame)
	}
	supports := supportsOf(req.Places)
	best, ok := p.remedy(supports, req.Places)
	switch {
	case !ok:
		out.Blocked = []Reason{p.coarse()}
		return after
	case best.bed.blocked+best.jamb.blocked > 0:
		out.Blocked = best.blocked(supports, req.Places)
		if flip {
			for i := range out.Blocked {
				mirrorReason(&out.Blocked[i], req.Frame.Width)
			}
		}
		return after
	}
	out.Changes = best.changes(supports, req.Places)
	out.Places = best.placesAfter(supports, req.Places)
	if best.byHand {
		out.Reasons = append(out.Reasons, Reason{Rule: "set_hold_plumb", Mark: Derived})
	}
	turn, lean := best.bed.slope, best.jamb.slope
	if flip {
		turn, lean = -turn, -lean
		for i, c := range out.Changes {
			out.Changes[i].Side, out.Changes[i].At = mirroredPlace(c.Side, c.At, req.Frame.Width)
		}
		out.Places = mirroredPlaces(out.Places, req.Frame.Width)
	}
	return after.after(turn, lean)
}

// coarse says that no change of whole packers is fine enough: the places are near to
// each other, or nothing stands there that could change.
func (p posture) coarse() Reason {
	return Reason{Rule: "set_too_coarse", Mark: Derived, Figures: map[string]decimal.Decimal{
		"sill": inMM(over(slopeLimit(p.width), p.width)).Round(1), "jamb": inMM(over(slopeLimit(p.height), p.height)).Round(1),
	}}
}

// reasons are those of the advice.
func (out *SetResult) reasons() []Reason {
	var why []Reason
	if len(out.Changes) > 0 {
		why = append(why, Reason{Rule: "set_bed_first", Mark: Practice})
	}
	for _, c := range out.Changes {
		if c.Side == Head && c.By < 0 {
			why = append(why, Reason{Rule: "set_ease_head", Mark: Derived})
			break
		}
	}
	if len(out.Moves) > 0 {
		why = append(why, Reason{Rule: "set_across", Mark: Derived})
	}
	return why
}

// leftHigh reports whether the frame is worked in its mirrored self.
func (p posture) leftHigh() bool {
	for _, s := range []int64{
		p.slope[inSill] + p.slope[inHead], p.slope[inLeft] + p.slope[inRight], p.rack,
		p.slope[inSill], p.slope[inLeft],
	} {
		if s != 0 {
			return s < 0
		}
	}
	return false
}

// mirrored is the request as seen in a mirror.
func (req SetRequest) mirrored() SetRequest {
	r := req.Readings
	r.Rising, r.Falling = r.Falling, r.Rising
	r.Left, r.Right = r.Right, r.Left
	r.LeftFace, r.RightFace = r.RightFace, r.LeftFace
	for _, at := range r.tilts() {
		if *at != nil {
			t := (*at).mirrored()
			*at = &t
		}
	}
	r.Corner = nil // it is in the tilts
	req.Readings = r
	req.MadeRising, req.MadeFalling = req.MadeFalling, req.MadeRising
	req.Places = mirroredPlaces(req.Places, req.Frame.Width)
	return req
}

func mirroredPlaces(places []PackerPlace, width decimal.Decimal) []PackerPlace {
	out := slices.Clone(places)
	for i, p := range out {
		out[i].Side, out[i].At = mirroredPlace(p.Side, p.At, width)
	}
	return out
}

// mirroredPlace is a place as seen in a mirror.
func mirroredPlace(side Side, at, width decimal.Decimal) (Side, decimal.Decimal) {
	switch side {
	case Left:
		return Right, at
	case Right:
		return Left, at
	}
	return side, width.Sub(at)
}

// mirrorReason turns a reason of a place.
func mirrorReason(r *Reason, width decimal.Decimal) {
	for _, side := range allSides {
		if r.Words["side"] == "side."+string(side) {
			to, at := mirroredPlace(side, r.Figures["at"], width)
			r.Words["side"], r.Figures["at"] = "side."+string(to), at
			return
		}
	}
}
