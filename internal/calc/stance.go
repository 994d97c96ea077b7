package calc

import "github.com/shopspring/decimal"

// SetWhat names what is held against a tolerance when a frame stands in its opening.
type SetWhat string

// What is read of a frame as it stands.
const (
	SetSill      SetWhat = "sill"
	SetHead      SetWhat = "head"
	SetLeft      SetWhat = "left"       // the left jamb in the wall's plane
	SetRight     SetWhat = "right"      // the right jamb in the wall's plane
	SetLeftFace  SetWhat = "left_face"  // the left jamb across the wall, in and out
	SetRightFace SetWhat = "right_face" // the right jamb across the wall
	SetDiagonals SetWhat = "diagonals"
	SetTwist     SetWhat = "twist"
)

// SetReadings are what people read of a frame on its packers, before the screws are
// tight. Each may be missing.
type SetReadings struct {
	Sill, Head          *Tilt
	Left, Right         *Tilt
	LeftFace, RightFace *Tilt
	// Rising runs from the bottom left to the top right corner, Falling from the
	// top left to the bottom right, mm. Both zero: not measured.
	Rising, Falling decimal.Decimal
	// Strings is the gap, mm, where two strings from corner to corner cross; nil: not
	// measured.
	Strings *decimal.Decimal
	// Corner is one corner that is out, where nobody read a level yet. It stands for
	// the member that it tells of, unless that was read.
	Corner *CornerOff
}

// Corner is a corner of the frame, seen from outside.
type Corner string

// The corners.
const (
	BottomLeftCorner  Corner = "bottom_left"
	BottomRightCorner Corner = "bottom_right"
	TopRightCorner    Corner = "top_right"
	TopLeftCorner     Corner = "top_left"
)

// CornerTo is the way in which a corner is out.
type CornerTo string

// The ways of a corner.
const (
	CornerLeft  CornerTo = "left"
	CornerRight CornerTo = "right"
	CornerUp    CornerTo = "up"
	CornerDown  CornerTo = "down"
	CornerOut   CornerTo = "out" // towards whoever stands outside
	CornerIn    CornerTo = "in"
)

// CornerOff is a corner that is out by so much, mm: "3 mm out at top right" needs its
// direction before anything follows from it.
type CornerOff struct {
	Corner Corner
	By     decimal.Decimal
	To     CornerTo
}

// members are the six tilts in a fixed order.
var members = [...]SetWhat{SetSill, SetHead, SetLeft, SetRight, SetLeftFace, SetRightFace}

// The places of the members in that order.
const (
	inSill = iota
	inHead
	inLeft
	inRight
	inLeftFace
	inRightFace
)

// tilts are the six readings in the order of members.
func (r *SetReadings) tilts() [6]**Tilt {
	return [...]**Tilt{&r.Sill, &r.Head, &r.Left, &r.Right, &r.LeftFace, &r.RightFace}
}

// ways are the two ways of each member: the first is where its slope is positive.
var ways = [...][2]TiltTo{
	{LeftEndLow, RightEndLow}, {LeftEndLow, RightEndLow}, {LeansRight, LeansLeft}, {LeansRight, LeansLeft},
	{LeansOut, LeansIn}, {LeansOut, LeansIn},
}

// check refuses readings that no frame of the size gives, and one that does not say
// which way.
func (r SetReadings) check(frame Size) error {
	for i, t := range r.tilts() {
		if *t == nil {
			continue
		}
		if _, err := (*t).checked(); err != nil {
			return err
		}
		if to := (*t).To; to != ways[i][0] && to != ways[i][1] && !(*t).Rise.IsZero() {
			return refuse(ErrImpossible, "set_which_way", nil, map[string]string{"member": "member." + string(members[i])})
		}
	}
	if s := r.Strings; s != nil && (s.IsNegative() || s.GreaterThan(leastFrame)) {
		return refuse(ErrImpossible, "set_strings", map[string]decimal.Decimal{"gap": *s}, nil)
	}
	return checkSetDiagonals(r.Rising, r.Falling, frame)
}

// checkSetDiagonals refuses one diagonal alone, and two that differ by more than a
// twentieth of the shorter side.
func checkSetDiagonals(rising, falling decimal.Decimal, frame Size) error {
	if rising.IsZero() && falling.IsZero() {
		return nil
	}
	figures := map[string]decimal.Decimal{"rising": rising, "falling": falling, "width": frame.Width, "height": frame.Height}
	longest, round := decimal.Max(frame.Width, frame.Height), frame.Width.Add(frame.Height)
	for _, d := range []decimal.Decimal{rising, falling} {
		if d.LessThan(longest) || d.GreaterThan(round) {
			return refuse(ErrImpossible, "set_diagonals_impossible", figures, nil)
		}
	}
	if apart := rising.Sub(falling).Abs(); apart.Mul(steepestTilt).GreaterThan(decimal.Min(frame.Width, frame.Height)) {
		return refuse(ErrImpossible, "set_diagonals_impossible", figures, nil)
	}
	return nil
}

// withCorner is the readings with what a corner says of a member that was not read.
func (r SetReadings) withCorner(frame Size) (SetReadings, error) {
	if r.Corner == nil {
		return r, nil
	}
	i, to, ok := r.Corner.tells()
	if !ok {
		return r, refuse(ErrImpossible, "set_corner_which_way", map[string]decimal.Decimal{"by": r.Corner.By}, nil)
	}
	run := frame.Height
	if i == inSill || i == inHead {
		run = frame.Width
	}
	t, err := Tilt{Rise: r.Corner.By, Run: run, To: to, Play: cornerPlay}.checked()
	if err != nil {
		return r, err
	}
	if at := r.tilts()[i]; *at == nil {
		*at = &t
	}
	return r, nil
}

// tells is the member that a corner tells of, and which way that is out.
func (c CornerOff) tells() (member int, to TiltTo, ok bool) {
	left := c.Corner == BottomLeftCorner || c.Corner == TopLeftCorner
	top := c.Corner == TopLeftCorner || c.Corner == TopRightCorner
	if !left && !top && c.Corner != BottomRightCorner {
		return 0, "", false
	}
	way := 1
	switch c.To {
	case CornerLeft, CornerRight:
		member = map[bool]int{true: inLeft, false: inRight}[left]
		if (c.To == CornerRight) == top { // a foot out to the left is a top out to the right
			way = 0
		}
	case CornerUp, CornerDown:
		member = map[bool]int{true: inHead, false: inSill}[top]
		if (c.To == CornerDown) == left {
			way = 0
		}
	case CornerOut, CornerIn:
		member = map[bool]int{true: inLeftFace, false: inRightFace}[left]
		if (c.To == CornerOut) == top {
			way = 0
		}
	default:
		return 0, "", false
	}
	return member, ways[member][way], true
}

// posture is how a frame stands, in µm and whole units of slope.
type posture struct {
	frame         Size
	width, height int64
	slope         [6]int64
	play          [6]int64
	read          [6]bool
	rack          int64 // out of square, positive where the top stands to the right of it
	rackPlay      int64
	squared       bool             // the diagonals were measured
	inPlane       bool             // something is known in the wall's plane
	across        bool             // something is known across the wall
	apart         *decimal.Decimal // what the rising diagonal was longer by, mm
	strings       *decimal.Decimal
	expected      bool    // it was worked out: nobody read it
	mark          [6]Mark // of what a reading rests on beside itself
	assumed       []Reason
}

// stand is the posture that the readings show, and what had to be assumed.
func (r SetReadings) stand(frame Size) posture {
	p := posture{frame: frame, width: microns(frame.Width), height: microns(frame.Height), strings: r.Strings}
	for i, t := range r.tilts() {
		if *t != nil {
			p.slope[i], p.play[i], p.read[i], p.mark[i] = (*t).slope(), (*t).play(), true, (*t).Mark
		}
	}
	if p.squared = !r.Rising.IsZero(); p.squared {
		apart := r.Rising.Sub(r.Falling)
		p.apart, p.rack = &apart, slopeOf(microns(apart), p.arm())
		p.rackPlay = divUp(2*microns(diagonalPlay)*tiltUnit, p.arm())
	}
	p.pair(inSill, inHead)
	p.pair(inLeft, inRight)
	p.pair(inLeftFace, inRightFace)
	p.across = p.read[inLeftFace] || p.read[inRightFace]
	if p.across && p.read[inLeftFace] != p.read[inRightFace] {
		p.assume("set_assumed_untwisted")
	}
	p.complete()
	return p
}

// diagonalPlay is how near each diagonal of a frame is read, mm. Common practice, no
// source.
var diagonalPlay = decimal.NewFromInt(1)

// pair takes a member that was not read for as its opposite.
func (p *posture) pair(a, b int) {
	switch {
	case p.read[a] && !p.read[b]:
		p.slope[b], p.play[b] = p.slope[a], p.play[a]
	case p.read[b] && !p.read[a]:
		p.slope[a], p.play[a] = p.slope[b], p.play[b]
	}
}

// complete finds what was not read in the wall's plane: of level, plumb and square any
// two give the third. With one alone the frame is taken for square, or for level where
// the diagonals are all there is.
func (p *posture) complete() {
	level, plumb := p.read[inSill] || p.read[inHead], p.read[inLeft] || p.read[inRight]
	p.inPlane = level || plumb || p.squared
	switch {
	case level && plumb:
		if !p.squared {
			p.rack = p.rackByMembers()
		}
	case level:
		p.lean(p.rack-p.mean(inSill, inHead), "set_assumed_square")
	case plumb:
		turn := p.rack - p.mean(inLeft, inRight)
		p.slope[inSill], p.slope[inHead] = turn, turn
		if !p.squared {
			p.assume("set_assumed_square")
		}
	case p.squared:
		p.lean(p.rack, "")
		p.assume("set_assumed_level")
	}
}

// lean puts both jambs to a slope; the rule says what was assumed if nobody measured
// the diagonals.
func (p *posture) lean(slope int64, rule string) {
	p.slope[inLeft], p.slope[inRight] = slope, slope
	if !p.squared {
		p.assume(rule)
	}
}

func (p *posture) assume(rule string) {
	p.assumed = append(p.assumed, Reason{Rule: rule, Mark: Practice})
}

// mean of two slopes, towards nought.
func (p posture) mean(a, b int) int64 { return (p.slope[a] + p.slope[b]) / 2 }

// rackByMembers is how far out of square jambs and sill say that the frame is.
func (p posture) rackByMembers() int64 { return p.mean(inSill, inHead) + p.mean(inLeft, inRight) }

// arm is what a racking is multiplied by for what the diagonals differ by, µm: twice
// the area over the diagonal. In a quadrilateral of equal opposite sides the sine of the
// racking is (d1² − d2²) / 4WH, and d1 + d2 is twice the diagonal to first order.
func (p posture) arm() int64 {
	return divNear(2*p.width*p.height, rootDown(p.width*p.width+p.height*p.height))
}

// length of a member, µm.
func (p posture) length(member int) int64 {
	if member == inSill || member == inHead {
		return p.width
	}
	return p.height
}

// twisted is the gap of two strings from corner to corner, µm: half of what the jambs
// differ by across the wall.
func (p posture) twisted() int64 {
	return abs64(over(p.slope[inRightFace]-p.slope[inLeftFace], p.height)) / 2
}

// Stance is how a frame stands, taken apart. Tilts are in mm per m, rounded to 0.01.
type Stance struct {
	// Turned is how far the whole frame is turned in the wall's plane, by its sill or
	// its head: positive where the right end is high. InPlane is false where nothing
	// was read there.
	Turned  decimal.Decimal
	InPlane bool
	// Racked is how far it is out of square: positive where its top stands to the right
	// of it. Diagonals is what the rising one is longer by, mm.
	Racked    decimal.Decimal
	Diagonals decimal.Decimal
	// HeadApart is the head against the sill, and JambsApart the right jamb against the
	// left: a frame of straight members has neither.
	HeadApart  decimal.Decimal
	JambsApart decimal.Decimal
	// Leans is how far both jambs lean across the wall, positive outwards, and Twist
	// the gap of two strings from corner to corner, mm. Across is false where nothing
	// was read there.
	Leans  decimal.Decimal
	Twist  decimal.Decimal
	Across bool
}

// stance is the posture as people speak of it.
func (p posture) stance() Stance {
	perMM := func(slope int64) decimal.Decimal { return decimal.New(slope, -6).Round(2) }
	return Stance{
		Turned: perMM(p.mean(inSill, inHead)), InPlane: p.inPlane,
		Racked: perMM(p.rack), Diagonals: inMM(over(p.rack, p.arm())).Round(1),
		HeadApart: perMM(p.slope[inHead] - p.slope[inSill]), JambsApart: perMM(p.slope[inRight] - p.slope[inLeft]),
		Leans: perMM(p.mean(inLeftFace, inRightFace)), Twist: inMM(p.twisted()).Round(1), Across: p.across,
	}
}

// CornerStand is how far a corner is from where it should be, mm rounded to 0.1: X to the
// right, Y up and Z out. The higher bottom corner is taken to stand right in height, and
// both bottom corners in X and Z: it is there that the frame is held.
type CornerStand struct {
	Corner  Corner
	X, Y, Z decimal.Decimal
}

// corners are the four, from the bottom left anticlockwise.
func (p posture) corners() [4]CornerStand {
	sill, head := over(p.slope[inSill], p.width), over(p.slope[inHead], p.width)
	foot := -abs64(sill) / 2 // the middle of the sill, below its higher end
	out := func(c Corner, x, y, z int64) CornerStand {
		return CornerStand{c, inMM(x).Round(1), inMM(y).Round(1), inMM(z).Round(1)}
	}
	up := func(member int) int64 { return over(p.slope[member], p.height) }
	return [4]CornerStand{
		out(BottomLeftCorner, 0, foot-sill/2, 0),
		out(BottomRightCorner, 0, foot+sill/2, 0),
		out(TopRightCorner, up(inRight), foot+head/2, up(inRightFace)),
		out(TopLeftCorner, up(inLeft), foot-head/2, up(inLeftFace)),
	}
}
