package calc

import (
	"slices"

	"github.com/shopspring/decimal"
)

// The tolerances of a frame as set, mm. Level and plumb: a PVC-U mounting sheet, and a
// North American window maker's dimensions guide (1/16 inch under a level of 600 mm, 1/8
// under one of 1200 or longer). Widths: the same guide (1/16 inch). Those of the frame's
// shape are in shape_limits.go.
var (
	sheetPerMetre = decimal.NewFromInt(2)
	sheetOverAll  = decimal.NewFromInt(3)
	guideShort    = decimal.New(16, -1)
	guideShortRun = decimal.NewFromInt(600)
	guideLong     = decimal.New(32, -1)
	guideLongRun  = decimal.NewFromInt(1200)
	widthsApart   = decimal.New(16, -1)
)

// SetLimit is one published limit.
type SetLimit struct {
	Most   decimal.Decimal // mm over the whole member, rounded to 0.1
	Within bool
	Source string // catalogue key after "source."
	Mark   Mark
}

// SetVerdict holds one figure of a frame as set against all that is published for it.
type SetVerdict struct {
	What   SetWhat
	Out    decimal.Decimal // mm, rounded to 0.1: over the whole member, of the diagonals, or of the strings
	To     TiltTo          // which way a member is out; empty: it is not, or is no member
	Read   bool            // false: worked out from other readings
	Within bool            // of the tighter limit
	Limits []SetLimit      // the tighter first
	Reason Reason          // names both where they differ
}

// slopeLimit is the tighter limit of a member's slope, in whole units: 2 mm per m, and
// 3 mm over all. One unit is for the rounding of a slope.
func slopeLimit(length int64) int64 {
	return min(microns(sheetPerMetre)*tiltUnit/microns(perMetre), microns(sheetOverAll)*tiltUnit/length) + 1
}

// guideLimit is the wider one: 1.6 mm under a level of 600 mm, 3.2 under one of 1200 or
// longer, on a member that is as long as the level or longer.
func guideLimit(length int64) int64 {
	if length < microns(guideLongRun) {
		return microns(guideShort)*tiltUnit/microns(guideShortRun) + 1
	}
	return microns(guideLong)*tiltUnit/length + 1
}

// rackLimit is how far out of square a frame may be by the tighter limit of its
// diagonals.
func (p posture) rackLimit() int64 { return microns(diagonalsTight)*tiltUnit/p.arm() + 1 }

// tilt is the verdict of a member.
func (p posture) tilt(member int, m Material) SetVerdict {
	length, slope := p.length(member), p.slope[member]
	v := SetVerdict{What: members[member], Out: inMM(abs64(over(slope, length))).Round(1), Read: p.read[member] && !p.expected}
	switch {
	case v.Out.IsZero():
	case slope > 0:
		v.To = ways[member][0]
	default:
		v.To = ways[member][1]
	}
	tight, wide := slopeLimit(length), guideLimit(length)
	most := func(limit int64) decimal.Decimal { return inMM(over(limit, length)).Round(1) }
	v.Limits = []SetLimit{
		{most(tight), abs64(slope) <= tight, "mounting_sheet", Read},
		{most(wide), abs64(slope) <= wide, "window_guide", Read},
	}
	words := map[string]string{"member": "member." + string(v.What), "to": "tilt." + string(v.To)}
	if v.To == "" {
		delete(words, "to")
	}
	v.Reason = Reason{Rule: tiltRule(member, v), Source: "mounting_and_window_guide", Words: words, Figures: map[string]decimal.Decimal{
		"length": p.lengthMM(member), "out": v.Out, "most": v.Limits[0].Most, "wider": v.Limits[1].Most,
	}}
	v.because(p.mark[member : member+1])
	if m != "" && m != PVCUWhite && m != PVCUColour { // the sheet speaks of PVC-U
		v.Reason = v.Reason.on(Practice)
	}
	return v
}

func (p posture) lengthMM(member int) decimal.Decimal {
	if member == inSill || member == inHead {
		return p.frame.Width
	}
	return p.frame.Height
}

// tiltRule is the rule of a member's verdict.
func tiltRule(member int, v SetVerdict) string {
	var rules [3]string
	switch member {
	case inSill, inHead:
		rules = [3]string{"set_level_true", "set_level", "set_level_off"}
	case inLeftFace, inRightFace:
		rules = [3]string{"set_plumb_across_true", "set_plumb_across", "set_plumb_across_off"}
	default:
		rules = [3]string{"set_plumb_true", "set_plumb", "set_plumb_off"}
	}
	switch {
	case v.To == "":
		return rules[0]
	case v.Limits[0].Within:
		return rules[1]
	}
	return rules[2]
}

// because fills in whether the verdict is within, and how far its reason goes.
func (v *SetVerdict) because(marks []Mark) {
	v.Within = v.Limits[0].Within
	v.Reason.Mark = Read
	if !v.Read {
		v.Reason.Mark = Derived
	}
	v.Reason = v.Reason.on(slices.Clone(marks)...)
}

// off is the rule where the tighter limit is not kept.
func off(rule string, limits []SetLimit) string {
	if limits[0].Within {
		return rule
	}
	return rule + "_off"
}

// diagonals is the verdict of what the diagonals differ by.
func (p posture) diagonals() SetVerdict {
	apart := inMM(abs64(over(p.rack, p.arm())))
	within := func(most decimal.Decimal) bool { return abs64(p.rack) <= microns(most)*tiltUnit/p.arm()+1 }
	read := p.apart != nil && !p.expected
	if read {
		apart = p.apart.Abs()
		within = apart.LessThanOrEqual
	}
	v := SetVerdict{What: SetDiagonals, Out: apart.Round(1), Read: read}
	v.Limits = []SetLimit{{diagonalsTight, within(diagonalsTight), "facade_and_window_guide", Read}}
	rule := "set_diagonals"
	if p.frame.area().GreaterThan(diagonalsLarge) {
		v.Limits[0].Source = "facade_association"
		v.Limits = append(v.Limits, SetLimit{diagonalsLoose, within(diagonalsLoose), "window_guide", Read})
		rule = "set_diagonals_large"
	}
	marks := p.mark[:]
	if read {
		marks = nil
	}
	v.Reason = Reason{Rule: off(rule, v.Limits), Source: "facade_and_window_guide", Figures: map[string]decimal.Decimal{
		"area": p.frame.area().Round(2), "large": diagonalsLarge, "out": v.Out, "most": diagonalsTight, "wider": diagonalsLoose,
	}}
	v.because(marks)
	return v
}

// twist is the verdict of the twist, by the strings where they were stretched.
func (p posture) twist() SetVerdict {
	gap, marks := inMM(p.twisted()), p.mark[:]
	if p.strings != nil {
		gap, marks = *p.strings, nil
	}
	v := SetVerdict{What: SetTwist, Out: gap.Round(1), Read: p.strings != nil && !p.expected}
	tight, wide := twistLimits(p.frame)
	v.Limits = []SetLimit{{tight, !gap.GreaterThan(tight), "window_guide", Read}}
	if !tight.Equal(wide) {
		v.Limits = append(v.Limits, SetLimit{wide, !gap.GreaterThan(wide), "window_guide", Read})
	}
	v.Reason = Reason{Rule: off("set_twist", v.Limits), Source: "window_guide", Figures: map[string]decimal.Decimal{
		"long": twistLong, "out": v.Out, "most": tight,
	}}
	v.because(marks)
	return v
}

// verdicts are those of all that was read or follows from what was read.
func (p posture) verdicts(m Material) []SetVerdict {
	var out []SetVerdict
	for i := range members {
		if p.read[i] {
			out = append(out, p.tilt(i, m))
		}
	}
	if level, plumb := p.read[inSill] || p.read[inHead], p.read[inLeft] || p.read[inRight]; p.squared || level && plumb {
		out = append(out, p.diagonals())
	}
	if p.strings != nil || p.read[inLeftFace] && p.read[inRightFace] {
		out = append(out, p.twist())
	}
	return out
}
