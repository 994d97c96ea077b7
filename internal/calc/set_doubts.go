package calc

import "github.com/shopspring/decimal"

// doubts says which readings can't all be right, each within its play: those without
// which the others agree, or all together where there is no such one. fatal is true
// where level, plumb and square contradict each other, so that nobody can say what is
// wrong with the frame; opposite members that disagree may be bent.
func (p posture) doubts() (out []Reason, fatal bool) {
	if p.agrees(-1) {
		return p.stringsDoubt(), false
	}
	fatal = !p.oppositesOnly()
	for i := 0; i <= squareReading; i++ {
		if p.has(i) && p.agrees(i) {
			out = append(out, p.doubt("set_doubt", i))
		}
	}
	if out == nil {
		out = append(out, Reason{Rule: "set_doubt_all", Mark: Practice})
	}
	return append(out, p.stringsDoubt()...), fatal
}

// squareReading is the place of the diagonals behind the members in the wall's plane.
const squareReading = inRight + 1

// has reports whether a reading in the wall's plane was taken.
func (p posture) has(i int) bool {
	if i == squareReading {
		return p.squared
	}
	return p.read[i]
}

// allowance is all that a reading allows.
type allowance struct{ least, most int64 }

func (s allowance) with(o allowance) allowance {
	return allowance{max(s.least, o.least), min(s.most, o.most)}
}

func (s allowance) empty() bool { return s.least > s.most }

// anyTilt is an allowance that allows all that a frame can have.
var anyTilt = allowance{-tiltUnit, tiltUnit}

// spans are what the readings, but one, allow of level and plumb.
func (p posture) spans(without int) (level, plumb allowance) {
	level, plumb = anyTilt, anyTilt
	for i := inSill; i <= inRight; i++ {
		if !p.read[i] || i == without {
			continue
		}
		s := allowance{p.slope[i] - p.play[i], p.slope[i] + p.play[i]}
		if i == inSill || i == inHead {
			level = level.with(s)
		} else {
			plumb = plumb.with(s)
		}
	}
	return level, plumb
}

// agrees reports whether one frame of straight members can give all the readings in the
// wall's plane but one, each within its play.
func (p posture) agrees(without int) bool {
	level, plumb := p.spans(without)
	if level.empty() || plumb.empty() {
		return false
	}
	if !p.squared || without == squareReading {
		return true
	}
	square := allowance{level.least + plumb.least, level.most + plumb.most}
	return !square.with(allowance{p.rack - p.rackPlay, p.rack + p.rackPlay}).empty()
}

// oppositesOnly reports whether all that disagrees is one member with the one opposite:
// the means of the pairs agree with the diagonals.
func (p posture) oppositesOnly() bool {
	level, plumb := p.spans(-1)
	if !level.empty() && !plumb.empty() {
		return false
	}
	if !p.squared {
		return true
	}
	play := p.rackPlay + max(p.play[inSill], p.play[inHead]) + max(p.play[inLeft], p.play[inRight])
	if !p.read[inSill] && !p.read[inHead] || !p.read[inLeft] && !p.read[inRight] {
		return true
	}
	return abs64(p.rackByMembers()-p.rack) <= play
}

// doubt names a reading.
func (p posture) doubt(rule string, i int) Reason {
	name := SetDiagonals
	if i != squareReading {
		name = members[i]
	}
	return Reason{Rule: rule, Words: map[string]string{"member": "member." + string(name)}, Mark: Practice}
}

// stringsPlay is how near the gap of two strings is read, mm. Common practice, no source.
var stringsPlay = decimal.NewFromInt(1)

// stringsDoubt says that the strings and the two jambs don't agree about the twist.
func (p posture) stringsDoubt() []Reason {
	if p.strings == nil || !p.read[inLeftFace] || !p.read[inRightFace] {
		return nil
	}
	gap, play := p.twisted(), microns(stringsPlay)+over(p.play[inLeftFace]+p.play[inRightFace], p.height)/2
	if abs64(gap-microns(*p.strings)) <= play {
		return nil
	}
	return []Reason{{Rule: "set_doubt_twist", Mark: Practice, Figures: map[string]decimal.Decimal{
		"strings": *p.strings, "jambs": inMM(gap).Round(1),
	}}}
}

// bent says which opposite members disagree by more than any turning of the frame can
// bring within the tolerance of both.
func (p posture) bent() []Reason {
	var out []Reason
	for _, pair := range [][2]int{{inSill, inHead}, {inLeft, inRight}} {
		a, b := pair[0], pair[1]
		apart, most := abs64(p.slope[a]-p.slope[b]), 2*slopeLimit(p.length(a))
		if !p.read[a] || !p.read[b] || apart <= most {
			continue
		}
		out = append(out, Reason{
			Rule: "set_bent",
			Figures: map[string]decimal.Decimal{
				"apart": inMM(over(apart, p.length(a))).Round(1), "most": inMM(over(most, p.length(a))).Round(1),
			},
			Words:  map[string]string{"member": "member." + string(members[a]), "other": "member." + string(members[b])},
			Source: "mounting_sheet",
			Mark:   Derived,
		}.on(p.mark[a], p.mark[b]))
	}
	return out
}
