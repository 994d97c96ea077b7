package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
)

func tiltOf(t Tilt, err error) *Tilt {
	if err != nil {
		panic(err)
	}
	return &t
}

func gapOf(length, gap string, to TiltTo) *Tilt { return tiltOf(GapUnder(dec(length), dec(gap), to)) }

func fallOf(mm string, to TiltTo) *Tilt { return tiltOf(FallPerMetre(dec(mm), to)) }

func mustSet(t require.TestingT, req SetRequest) SetResult {
	out, err := Set(req)
	require.NoError(t, err)
	return out
}

func verdictOf(t require.TestingT, s SetState, what SetWhat) SetVerdict {
	for _, v := range s.Verdicts {
		if v.What == what {
			return v
		}
	}
	require.Fail(t, "no verdict", what)
	return SetVerdict{}
}

// A gap of 1.6 mm under a level of 600 is 2.67 mm per m.
func TestATiltIsRiseOverRun(t *testing.T) {
	equalDec(t, "2.67", gapOf("600", "1.6", LeftEndLow).PerMetre())
	equalDec(t, "2.67", gapOf("1200", "3.2", LeftEndLow).PerMetre())
	equalDec(t, "10", tiltOf(BubbleOff(dec("2"), decimal.Zero, LeansIn)).PerMetre())
	equalDec(t, "0.6", tiltOf(BubbleOff(dec("2"), dec("0.3"), LeansIn)).PerMetre())
	equalDec(t, "1.4", fallOf("1.4", LeansIn).PerMetre())
	require.Equal(t, Practice, tiltOf(BubbleOff(dec("2"), decimal.Zero, LeansIn)).Mark)
}

// fourSides are packers of 5 mm in gaps of 5.5: two beds, two on each jamb, one at the
// head, on a frame of 1190 × 990.
func fourSides() []PackerPlace {
	at := func(side Side, at int64, bed bool) PackerPlace {
		return PackerPlace{Side: side, At: mm(at), Bed: bed, Gap: dec("5.5"), Stack: []int{5}}
	}
	return []PackerPlace{
		at(Sill, 30, true), at(Sill, 1160, true),
		at(Left, 250, false), at(Left, 740, false), at(Right, 250, false), at(Right, 740, false),
	}
}

var setFrame = Size{mm(1190), mm(990)}

func requireChanges(t require.TestingT, r SetResult, want ...Change) {
	require.Empty(t, r.Blocked)
	require.Len(t, r.Changes, len(want))
	for i, c := range r.Changes {
		require.True(t, want[i].At.Equal(c.At), "%v", c)
		want[i].At = c.At
		require.Equal(t, want[i], c)
	}
}

// By hand: 2 mm under a level of 600 is 3.33 mm per m, 3.97 over 1190 and 3.77 over the
// 1130 between the beds: 4 mm. The jambs lean with it by 3.33, 1.63 over the 490 between
// their packers: 2 mm. What stays: 4 mm on 1130 is 3.54, so 0.21 too much; 2 on 490 is
// 4.08, so 0.75 too much.
func TestARightEndThatIsLow(t *testing.T) {
	r := mustSet(t, SetRequest{Frame: setFrame, Places: fourSides(), Readings: SetReadings{
		Sill: gapOf("600", "2", RightEndLow), Left: tiltOf(GapUnder(dec("600"), dec("2"), LeansRight)),
	}})
	equalDec(t, "-3.33", r.Now.Stance.Turned)
	equalDec(t, "0", r.Now.Stance.Racked)
	equalDec(t, "-4", r.Now.Corners[1].Y) // bottom right
	equalDec(t, "3.3", r.Now.Corners[2].X)
	equalDec(t, "3.3", r.Now.Corners[3].X)
	require.False(t, r.True)
	requireChanges(t, r,
		Change{Side: Sill, At: mm(1160), Bed: true, From: []int{5}, To: []int{9}, By: 4},
		Change{Side: Left, At: mm(740), From: []int{5}, To: []int{3}, By: -2},
		Change{Side: Right, At: mm(740), From: []int{5}, To: []int{7}, By: 2},
	)
	equalDec(t, "0.21", r.After.Stance.Turned)
	equalDec(t, "-0.54", r.After.Stance.Racked)
	require.Contains(t, rules(r.Reasons), "set_bed_first")
	for _, v := range r.After.Verdicts {
		require.True(t, v.Within)
		require.Equal(t, Derived, v.Reason.Mark)
	}
	require.Equal(t, []SetWhat{SetDiagonals, SetLeftFace, SetRightFace}, r.Missing)

	// Read again, on the packers as they stand now.
	again := mustSet(t, SetRequest{Frame: setFrame, Places: r.Places, Readings: SetReadings{
		Sill: fallOf("0.2", LeftEndLow), Left: fallOf("0.8", LeansLeft),
	}})
	require.True(t, again.True)
	require.Empty(t, again.Changes)
}

// The left bed has nothing to give, so the right end comes up, by 3.8 mm over 1130 to be
// level: half of that at 595, where 5.5 take no packer of 5 any more.
func TestWhatComesUpEasesTheHead(t *testing.T) {
	places := append(fourSides(), PackerPlace{Side: Head, At: mm(595), Gap: dec("5.5"), Stack: []int{5}})
	places[0].Gap, places[0].Stack = dec("1.5"), []int{1}
	r := mustSet(t, SetRequest{Frame: setFrame, Places: places, Readings: SetReadings{Sill: fallOf("3.4", RightEndLow)}})
	require.Contains(t, rules(r.Reasons), "set_ease_head")
	last := r.Changes[len(r.Changes)-1]
	require.Equal(t, Head, last.Side)
	require.Negative(t, last.By)
	require.Equal(t, []string{"set_assumed_square"}, rules(r.Assumed))
}

// Out by 3 mm per m at the left: 2.2 at a fixing 740 up and 0.8 at 250. The right jamb is
// within its tolerance and is left.
func TestAcrossTheWallItIsPulledIn(t *testing.T) {
	req := SetRequest{Frame: setFrame, Places: fourSides(), Readings: SetReadings{LeftFace: fallOf("3", LeansOut), RightFace: fallOf("0.4", LeansIn)}}
	r := mustSet(t, req)
	require.Empty(t, r.Changes, "no packer moves it across the wall")
	require.Len(t, r.Moves, 2)
	require.Equal(t, Left, r.Moves[0].Side)
	equalDec(t, "250", r.Moves[0].At)
	equalDec(t, "-0.8", r.Moves[0].By)
	equalDec(t, "740", r.Moves[1].At)
	equalDec(t, "-2.2", r.Moves[1].By)
	require.Contains(t, rules(r.Reasons), "set_across")
	for _, v := range r.After.Verdicts {
		require.True(t, v.Within)
	}
	// Nobody read the right one: it is taken to lean the same.
	req.Readings.RightFace = nil
	r = mustSet(t, req)
	require.Len(t, r.Moves, 4)
	require.Equal(t, []string{"set_assumed_untwisted"}, rules(r.Assumed))
	// Strings that say twisted move both, though each is plumb enough.
	strings := dec("3.5")
	req.Readings = SetReadings{LeftFace: fallOf("1.9", LeansOut), RightFace: fallOf("1.9", LeansIn), Strings: &strings}
	r = mustSet(t, req)
	require.False(t, r.True)
	require.Len(t, r.Moves, 4)
	require.Empty(t, r.Doubts, "1.9 apart by the jambs; a digital level is read to 1 mm per m")
	// Without packers it is the top corner that is moved.
	req.Places = nil
	r = mustSet(t, req)
	require.Len(t, r.Moves, 2)
	equalDec(t, "990", r.Moves[0].At)
}

// "3 mm out at top right" is enough, once it says which way.
func TestOneCornerIsEnough(t *testing.T) {
	for _, c := range []struct {
		corner Corner
		to     CornerTo
		what   SetWhat
		tilt   TiltTo
	}{
		{TopRightCorner, CornerRight, SetRight, LeansRight},
		{TopLeftCorner, CornerRight, SetLeft, LeansRight},
		{TopLeftCorner, CornerLeft, SetLeft, LeansLeft},
		{BottomRightCorner, CornerRight, SetRight, LeansLeft},
		{BottomLeftCorner, CornerLeft, SetLeft, LeansRight},
		{TopRightCorner, CornerDown, SetHead, RightEndLow},
		{TopLeftCorner, CornerUp, SetHead, RightEndLow},
		{BottomLeftCorner, CornerDown, SetSill, LeftEndLow},
		{BottomRightCorner, CornerUp, SetSill, LeftEndLow},
		{TopRightCorner, CornerOut, SetRightFace, LeansOut},
		{TopLeftCorner, CornerIn, SetLeftFace, LeansIn},
		{BottomLeftCorner, CornerIn, SetLeftFace, LeansOut},
		{BottomRightCorner, CornerOut, SetRightFace, LeansIn},
	} {
		r := mustSet(t, SetRequest{Frame: setFrame, Places: fourSides(), Readings: SetReadings{Corner: &CornerOff{c.corner, dec("3"), c.to}}})
		v := verdictOf(t, r.Now, c.what)
		equalDec(t, "3", v.Out)
		require.Equal(t, c.tilt, v.To, c)
		require.Len(t, r.Now.Verdicts, 1)
		require.NotEmpty(t, r.Assumed)
		require.NotZero(t, len(r.Changes)+len(r.Moves), c)
	}
	// What was read of the member itself counts.
	r := mustSet(t, SetRequest{Frame: setFrame, Places: fourSides(), Readings: SetReadings{
		Right: fallOf("0", ""), Corner: &CornerOff{TopRightCorner, dec("3"), CornerRight}}})
	require.True(t, r.True)
}

// A frame that is racked alone, 8 mm of lean over its height by the diagonals: the
// formula s = |d1² − d2²| / 4W (D) gives 10.41 for 1570 and 1554 on 1200.
func TestTheDiagonalsSayHowFarItIsRacked(t *testing.T) {
	r := mustSet(t, SetRequest{Frame: Size{mm(1200), mm(1000)}, Readings: SetReadings{Sill: fallOf("0", ""), Rising: mm(1570), Falling: mm(1554)}})
	equalDec(t, "10.41", r.Now.Stance.Racked)
	equalDec(t, "10.4", r.Now.Corners[2].X)

	r = mustSet(t, SetRequest{Frame: setFrame, Places: fourSides(), Readings: SetReadings{Sill: fallOf("0", ""), Rising: dec("1552"), Falling: dec("1548")}})
	equalDec(t, "4", r.Now.Stance.Diagonals)
	require.Len(t, r.Changes, 2)
	for _, c := range r.Changes {
		equalDec(t, "740", c.At)
		require.Equal(t, map[Side]int{Left: -1, Right: 1}[c.Side], c.By)
	}
}

func TestWhyNoPackingDoes(t *testing.T) {
	bad := func(req SetRequest) []Reason {
		r := mustSet(t, req)
		require.False(t, r.True)
		require.Empty(t, r.Changes)
		require.NotEmpty(t, r.Blocked)
		return r.Blocked
	}
	low := SetReadings{Sill: fallOf("4", RightEndLow), Left: fallOf("4", LeansRight)}

	// 1.2 mm at each jamb: the frame can't turn between them.
	tight := fourSides()
	for i := range tight[2:] {
		tight[2+i].Gap, tight[2+i].Stack = dec("1.2"), []int{1}
	}
	why := bad(SetRequest{Frame: setFrame, Places: tight, Readings: low})
	require.Len(t, why, 1)
	require.Equal(t, "set_gap_small", why[0].Rule)
	equalDec(t, "1.2", why[0].Figures["gap"])
	require.Contains(t, []string{"side.left", "side.right"}, why[0].Words["side"])

	// No room at the head to raise the right end, and the left is down on the bed.
	high := append(fourSides(), PackerPlace{Side: Head, At: mm(1160), Gap: dec("1.2"), Stack: []int{1}})
	high[0].Gap, high[0].Stack = dec("1.2"), []int{1}
	why = bad(SetRequest{Frame: setFrame, Places: high, Readings: low})
	require.Contains(t, []string{"set_gap_small", "set_bed_high"}, why[0].Rule)

	// The bed is high at the right end that has to come down; 30 mm stand at the left.
	bed := fourSides()
	bed[0].Gap, bed[0].Stack = dec("30.5"), []int{10, 10, 10}
	bed[1].Gap, bed[1].Stack = dec("1.5"), []int{1}
	why = bad(SetRequest{Frame: setFrame, Places: bed, Readings: SetReadings{Sill: fallOf("4", LeftEndLow), Left: fallOf("4", LeansLeft)}})
	require.Contains(t, []string{"set_bed_high", "set_stack_tall"}, why[0].Rule)

	// Sill level, head 5 mm per m: 6 over 1190, and 2 × 2.4 is all that two members in
	// their tolerance can differ by.
	why = bad(SetRequest{Frame: setFrame, Places: fourSides(), Readings: SetReadings{Sill: fallOf("0", ""), Head: fallOf("5", LeftEndLow)}})
	require.Equal(t, []string{"set_bent"}, rules(why))
	equalDec(t, "6", why[0].Figures["apart"])
	equalDec(t, "4.8", why[0].Figures["most"])

	why = bad(SetRequest{Frame: setFrame, Places: fourSides(), Readings: low, MadeRising: mm(1552), MadeFalling: mm(1548)})
	require.Equal(t, []string{"set_made_out_of_square"}, rules(why))

	// Only a level was put on a frame without packers.
	why = bad(SetRequest{Frame: setFrame, Readings: low})
	require.Equal(t, []string{"set_too_coarse"}, rules(why))
}

// Level, plumb and square: any two give the third.
func TestReadingsThatDisagree(t *testing.T) {
	doubted := func(r SetReadings) (out []string, blocked []string) {
		res := mustSet(t, SetRequest{Frame: setFrame, Places: fourSides(), Readings: r})
		require.False(t, res.True)
		for _, d := range res.Doubts {
			out = append(out, d.Rule+" "+d.Words["member"])
		}
		return out, rules(res.Blocked)
	}
	level, plumb := fallOf("0", ""), fallOf("0", "")
	r := SetReadings{Sill: level, Left: plumb, Rising: mm(1554), Falling: mm(1546)}
	got, blocked := doubted(r)
	require.Equal(t, []string{"set_doubt member.sill", "set_doubt member.left", "set_doubt member.diagonals"}, got)
	require.Equal(t, []string{"set_contradiction"}, blocked)
	figures := mustSet(t, SetRequest{Frame: setFrame, Readings: r}).Blocked[0].Figures
	equalDec(t, "0", figures["level"])
	equalDec(t, "5.2", figures["square"]) // 8 × 1548 / (2 × 1190)
	r.Head, r.Right = level, plumb
	got, _ = doubted(r)
	require.Equal(t, []string{"set_doubt member.diagonals"}, got)
	// One jamb of two that is out of line with all.
	r = SetReadings{Sill: level, Left: plumb, Right: fallOf("3.5", LeansLeft), Rising: mm(1550), Falling: mm(1550)}
	got, blocked = doubted(r)
	require.Equal(t, []string{"set_doubt member.right"}, got)
	require.NotContains(t, blocked, "set_contradiction")
	// Within what a level and a tape are read to.
	res := mustSet(t, SetRequest{Frame: setFrame, Places: fourSides(), Readings: SetReadings{Sill: level, Left: plumb, Rising: mm(1551), Falling: mm(1549)}})
	require.Empty(t, res.Doubts)
	// Two members that are both within their tolerance, and 2 mm per m apart.
	res = mustSet(t, SetRequest{Frame: setFrame, Places: fourSides(), Readings: SetReadings{
		Sill: gapOf("600", "0.6", LeftEndLow), Head: gapOf("600", "0.6", RightEndLow)}})
	require.Equal(t, []string{"set_doubt", "set_doubt"}, rules(res.Doubts))
	require.True(t, res.True)
	equalDec(t, "-2", res.Now.Stance.HeadApart)
	// The strings against the jambs: 9 mm against 0.
	gap := dec("9")
	res = mustSet(t, SetRequest{Frame: setFrame, Readings: SetReadings{LeftFace: plumb, RightFace: plumb, Strings: &gap}})
	require.Equal(t, []string{"set_doubt_twist"}, rules(res.Doubts))
}

// A jamb of 450 has its packers 150 apart, where 1 mm is 6.67 mm per m: neither none nor
// one brings 3.3 within 2. Held plumb it is 3.3 × 0.3 = 1 at the upper ones and half of
// that at the lower, where 5.5 mm become 5 on the left and 6 on the right.
func TestASmallFrameIsHeldPlumbByHand(t *testing.T) {
	places := fourSides()
	for i := range places[2:] {
		places[2+i].At = mm([]int64{150, 300, 150, 300}[i])
	}
	r := mustSet(t, SetRequest{Frame: Size{mm(1190), mm(450)}, Places: places, Readings: SetReadings{Sill: fallOf("0", ""), Left: fallOf("3.3333", LeansRight)}})
	require.Contains(t, rules(r.Reasons), "set_hold_plumb")
	requireChanges(t, r,
		Change{Side: Left, At: mm(300), From: []int{5}, To: []int{4}, By: -1},
		Change{Side: Right, At: mm(150), From: []int{5}, To: []int{6}, By: 1},
		Change{Side: Right, At: mm(300), From: []int{5}, To: []int{6}, By: 1},
	)
	equalDec(t, "0", r.After.Stance.Racked)
	for _, v := range r.After.Verdicts {
		require.True(t, v.Within)
	}
}

// A place without room for a packer holds nothing up while the frame does not touch
// there, and gets one where it comes to have room. One that nobody packed yet is left.
func TestPlacesWithoutAPackerAreNoHindrance(t *testing.T) {
	bare := func(at int64, gap string) PackerPlace {
		p := PackerPlace{Side: Left, At: mm(at), Gap: dec(gap)}
		if p.NoRoom() {
			p.Trouble = &Reason{Rule: "packer_no_room"}
		}
		return p
	}
	read := SetReadings{Sill: fallOf("0", ""), Left: fallOf("4", LeansRight), Rising: dec("1554"), Falling: dec("1548")}
	for _, gap := range []string{"0.6", "4.5", "40"} {
		r := mustSet(t, SetRequest{Frame: setFrame, Places: append(fourSides(), bare(500, gap)), Readings: read})
		by := 2 // 4 mm per m over 490
		if gap == "0.6" {
			by = 1 // two would take 1 mm at 500; one takes a half, and leaves 1.96 mm per m
		}
		requireChanges(t, r,
			Change{Side: Left, At: mm(740), From: []int{5}, To: []int{5 - by}, By: -by},
			Change{Side: Right, At: mm(740), From: []int{5}, To: []int{5 + by}, By: by},
		)
	}
	// It stands a millimetre into the board there and can't go further, so its foot does.
	r := mustSet(t, SetRequest{Frame: setFrame, Places: append(fourSides(), bare(500, "-1")), Readings: read})
	requireChanges(t, r,
		Change{Side: Right, At: mm(250), From: []int{5}, To: []int{3}, By: -2},
		Change{Side: Left, At: mm(250), From: []int{5}, To: []int{7}, By: 2},
	)
	// Leaning the other way it comes off the jamb, and the place has room for a packer.
	read.Left, read.Rising, read.Falling = fallOf("4", LeansLeft), read.Falling, read.Rising
	r = mustSet(t, SetRequest{Frame: setFrame, Places: append(fourSides(), bare(250, "0.6"), bare(740, "0.6")), Readings: read})
	var got []int
	for _, c := range r.Changes {
		if c.At.Equal(mm(740)) && c.Side == Left && c.From == nil {
			got = c.To
		}
	}
	require.Equal(t, []int{2}, got) // 0.6 and the 2 mm that the top goes over
	last := r.Places[len(r.Places)-1]
	require.Nil(t, last.Trouble)
	require.Equal(t, []int{2}, last.Stack)
}

// Behind a check nobody knows what stands there: only by how much it changes is said.
func TestUnseenPackersChangeByHowMuch(t *testing.T) {
	places := fourSides()
	for i := range places[2:] {
		places[2+i].Unseen, places[2+i].Stack = true, nil
	}
	r := mustSet(t, SetRequest{Frame: setFrame, Places: places, Readings: SetReadings{Sill: gapOf("600", "2", RightEndLow), Left: fallOf("3.33", LeansRight)}})
	requireChanges(t, r,
		Change{Side: Sill, At: mm(1160), Bed: true, From: []int{5}, To: []int{9}, By: 4},
		Change{Side: Left, At: mm(740), By: -2},
		Change{Side: Right, At: mm(740), By: 2},
	)
}

func BenchmarkSet(b *testing.B) {
	o, p := packers(b, plain(1800, 1200, PVCUColour), Layout{Mullions: []decimal.Decimal{mm(890)}})
	req := SetRequest{Frame: o.Size, Places: p.Places, Readings: SetReadings{Sill: fallOf("4", RightEndLow), Left: fallOf("3", LeansRight)}}
	for b.Loop() {
		mustSet(b, req)
	}
}

// Nothing read is nothing known.
func TestWithoutAReadingNothingIsSaid(t *testing.T) {
	r := mustSet(t, SetRequest{Frame: setFrame, Places: fourSides()})
	require.False(t, r.True)
	require.Empty(t, r.Now.Verdicts)
	require.Empty(t, r.Changes)
	require.Equal(t, []SetWhat{SetSill, SetLeft, SetDiagonals, SetLeftFace, SetRightFace}, r.Missing)
}

// A corner that is none tells nothing.
func TestACornerThatIsNoneTellsNothing(t *testing.T) {
	_, _, ok := CornerOff{Corner: "middle", To: CornerLeft}.tells()
	require.False(t, ok)
}
