package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
)

// What is just on a limit is taken.
func TestArriveTakesWhatIsOnItsLimit(t *testing.T) {
	o := mustOrder(t, plain(1210, 1010, PVCUWhite))
	good := size("1200", "1000")
	for _, d := range []Delivered{
		{Size: size("200", "1000")}, {Size: size("1200", "6000")}, {Size: good, Twist: ptr("0")}, {Size: good, Twist: ptr("200")},
		{Size: good, Temperature: ptr("80")}, {Size: good, Temperature: ptr("-30")},
		{Size: good, Rising: mm(1200), Falling: mm(1200)}, {Size: good, Rising: mm(2200), Falling: mm(2200)},
	} {
		_, err := Arrive(o, PVCUWhite, d, DefaultJointSettings())
		require.NoError(t, err, "%v", d)
	}
	for rule, list := range map[string][]Delivered{
		"arrive_twist_impossible":     {{Size: good, Twist: ptr("200.1")}},
		"arrive_temperature":          {{Size: good, Temperature: ptr("-30.1")}},
		"arrive_diagonal_alone":       {{Size: good, Falling: mm(1562)}},
		"arrive_diagonals_impossible": {{Size: good, Rising: mm(2201), Falling: mm(1562)}, {Size: good, Rising: mm(1562), Falling: mm(2201)}},
	} {
		for _, d := range list {
			_, err := Arrive(o, PVCUWhite, d, DefaultJointSettings())
			refusedBy(t, err, ErrImpossible, rule)
		}
	}
}

// Another window's frame differs in either dimension and either way. The sentence of a
// size says whether it is the ordered one to the tenth or within its tolerance.
func TestADeliveredSizeIsHeldAgainstBothDimensions(t *testing.T) {
	req := plain(1210, 1010, PVCUWhite)
	for came, other := range map[string]bool{"1200 969": true, "1200 1031": true, "1169 1000": true, "1200 970": false} {
		w, h := came[:4], came[5:]
		_, a := arrive(t, req, Delivered{Size: size(w, h)})
		found := false
		for _, c := range a.Checks {
			found = found || c.What == ArrivalSize
		}
		require.Equal(t, other, found, came)
	}
	for width, want := range map[string]string{"1200": "arrive_size_exact", "1199.9": "arrive_size_right", "1202": "arrive_size_right", "1203": "arrive_size_off"} {
		_, a := arrive(t, req, Delivered{Size: size(width, "1000")})
		require.Equal(t, want, a.check(t, ArrivalWidth).Reasons[0].Rule, width)
	}
}

// A frame that covers too little of the outer leaf is said at the side where it does.
func TestAShortCoverIsSaidAtItsSide(t *testing.T) {
	req := plain(1210, 1010, PVCUWhite)
	req.Finish, req.Inner = Check, size("1260", "1060")
	o := mustOrder(t, req)
	a, err := Arrive(o, PVCUWhite, Delivered{Size: Size{o.Size.Width.Sub(mm(35)), o.Size.Height}}, DefaultJointSettings())
	require.NoError(t, err)
	var sides []Side
	for _, c := range a.Checks {
		if c.Reasons[0].Rule == coverShort {
			sides = append(sides, c.Side)
			require.Equal(t, "side."+string(c.Side), c.Reasons[0].Words["side"])
		}
	}
	require.ElementsMatch(t, []Side{Left, Right}, sides)
}

// Strings that are within the twist's tolerance ask for no move, though the jambs lean
// a little each its own way.
func TestATwistWithinItsToleranceIsLeft(t *testing.T) {
	read := SetReadings{LeftFace: fallOf("1", LeansOut), RightFace: fallOf("1", LeansIn)}
	gap := mm(2)
	read.Strings = &gap
	require.Empty(t, mustSet(t, SetRequest{Frame: setFrame, Places: fourSides(), Readings: read}).Moves)
	wide := mm(4)
	read.Strings = &wide
	require.NotEmpty(t, mustSet(t, SetRequest{Frame: setFrame, Places: fourSides(), Readings: read}).Moves)
}

// By the jambs alone the twist is derived; strings are read, and what they will show
// afterwards is expected.
func TestWhoReadTheTwist(t *testing.T) {
	r := mustSet(t, SetRequest{Frame: setFrame, Readings: SetReadings{LeftFace: fallOf("1", LeansOut), RightFace: fallOf("1", LeansIn)}})
	require.False(t, verdictOf(t, r.Now, SetTwist).Read)
	gap := mm(2)
	r = mustSet(t, SetRequest{Frame: setFrame, Readings: SetReadings{Strings: &gap}})
	require.True(t, verdictOf(t, r.Now, SetTwist).Read)
	require.False(t, verdictOf(t, r.After, SetTwist).Read)
}

// Two readings that are just as far apart as both are read to agree: of a digital level
// 1 mm per m each (C).
func TestReadingsThatJustMeetAgree(t *testing.T) {
	for right, doubts := range map[string]int{"2": 0, "2.1": 2} {
		r := mustSet(t, SetRequest{Frame: setFrame, Readings: SetReadings{Left: fallOf("0", ""), Right: fallOf(right, LeansRight)}})
		require.Len(t, r.Doubts, doubts, right)
	}
}

// Sill and head that disagree are one thing, and diagonals without a jamb contradict
// nothing: nobody knows how the jambs stand.
func TestDiagonalsContradictNothingWithoutAJamb(t *testing.T) {
	read := SetReadings{Sill: fallOf("0", ""), Head: fallOf("3.5", LeftEndLow), Rising: mm(1554), Falling: mm(1546)}
	r := mustSet(t, SetRequest{Frame: setFrame, Places: fourSides(), Readings: read})
	require.NotEmpty(t, r.Doubts)
	require.NotContains(t, rules(r.Blocked), "set_contradiction")

	// With a jamb the mean of sill and head, 1.75 mm per m, and the jamb's 4 make the 5.75
	// that diagonals 8.8 apart give: 8.8 × 1548 / (2 × 1190 × 990).
	read.Left, read.Rising, read.Falling = fallOf("4", LeansRight), dec("1554.4"), dec("1545.6")
	r = mustSet(t, SetRequest{Frame: setFrame, Places: fourSides(), Readings: read})
	require.NotEmpty(t, r.Doubts)
	require.NotContains(t, rules(r.Blocked), "set_contradiction")
	read.Rising, read.Falling = read.Falling, read.Rising
	require.Contains(t, rules(mustSet(t, SetRequest{Frame: setFrame, Places: fourSides(), Readings: read}).Blocked), "set_contradiction")
}

// A member is as long as the frame is wide or high.
func TestAVerdictSaysHowLongItsMemberIs(t *testing.T) {
	zero := fallOf("0", "")
	r := mustSet(t, SetRequest{Frame: setFrame, Readings: SetReadings{Sill: zero, Head: zero, Left: zero, RightFace: zero}})
	for what, want := range map[SetWhat]string{SetSill: "1190", SetHead: "1190", SetLeft: "990", SetRightFace: "990"} {
		equalDec(t, want, verdictOf(t, r.Now, what).Reason.Figures["length"])
	}
}

// A frame whose sill has no packers is plumbed at its jambs.
func TestAFrameWithoutABedIsPlumbedAtItsJambs(t *testing.T) {
	r := mustSet(t, SetRequest{Frame: setFrame, Places: fourSides()[2:], Readings: SetReadings{Sill: fallOf("0", ""), Left: fallOf("4", LeansRight)}})
	require.Empty(t, r.Blocked)
	requireChanges(t, r,
		Change{Side: Left, At: mm(740), From: []int{5}, To: []int{3}, By: -2},
		Change{Side: Right, At: mm(740), From: []int{5}, To: []int{7}, By: 2},
	)
}

// 30 mm is the tallest stack; the other end stands on the thinnest packer.
func TestAStackThatWouldBeTooTall(t *testing.T) {
	bed := fourSides()
	bed[0].Gap, bed[0].Stack = dec("30.5"), []int{10, 10, 10}
	bed[1].Gap, bed[1].Stack = dec("1.5"), []int{1}
	r := mustSet(t, SetRequest{Frame: setFrame, Places: bed, Readings: SetReadings{Sill: fallOf("4", LeftEndLow), Left: fallOf("0", "")}})
	require.Equal(t, []string{"set_stack_tall"}, rules(r.Blocked))
	equalDec(t, "30", r.Blocked[0].Figures["at"])
	equalDec(t, "30", r.Blocked[0].Figures["tallest"])
}

// The bed can't go lower than its thinnest packer, where the other end has no room to
// come up.
func TestABedThatWouldBeTooHigh(t *testing.T) {
	places := append(fourSides(), PackerPlace{Side: Head, At: mm(1160), Gap: dec("1.2"), Stack: []int{1}})
	places[0].Gap, places[0].Stack = dec("1.5"), []int{1}
	places[1].Gap, places[1].Stack = dec("30.5"), []int{10, 10, 10}
	r := mustSet(t, SetRequest{Frame: setFrame, Places: places, Readings: SetReadings{Sill: fallOf("4", RightEndLow), Left: fallOf("0", "")}})
	require.Equal(t, []string{"set_bed_high"}, rules(r.Blocked))
	require.Equal(t, "side.sill", r.Blocked[0].Words["side"])
}

// One reading in the wall's plane is enough to say how the frame stands in it; none is of
// a jamb across the wall.
func TestWhatIsKnownInTheWallsPlane(t *testing.T) {
	flat := fallOf("1", LeansLeft)
	for _, c := range []struct {
		read SetReadings
		want bool
	}{
		{SetReadings{Sill: fallOf("1", LeftEndLow)}, true}, {SetReadings{Right: flat}, true}, {SetReadings{Rising: mm(1550), Falling: mm(1549)}, true},
		{SetReadings{LeftFace: fallOf("1", LeansIn)}, false}, {SetReadings{}, false},
	} {
		require.Equal(t, c.want, mustSet(t, SetRequest{Frame: setFrame, Readings: c.read}).Now.Stance.InPlane, "%v", c)
	}
}

// Strings and one jamb say nothing against each other: the other jamb was not read.
func TestStringsAgainstOneJamb(t *testing.T) {
	gap := mm(9)
	for _, read := range []SetReadings{{Strings: &gap, LeftFace: fallOf("0", "")}, {Strings: &gap, RightFace: fallOf("0", "")}} {
		require.Empty(t, mustSet(t, SetRequest{Frame: setFrame, Readings: read}).Doubts)
	}
}

// No stack is taller than 30 mm, also where a jamb was pulled out.
func TestAnEaseThatNoStackFills(t *testing.T) {
	places := fourSides()
	for i := range places {
		places[i].Gap, places[i].Stack = dec("28.5"), []int{10, 10, 8}
	}
	for by, blocked := range map[string]bool{"1194": false, "1195": true, "1196": true} {
		off := mustWidths(t, WidthRequest{Frame: setFrame, Dimension: Width, Read: readings3("1190", by, "1190"), Places: places}).Off[0]
		for _, e := range off.Eases {
			require.Equal(t, blocked, e.Blocked != nil, by)
			require.Equal(t, blocked, e.To == nil, by)
		}
	}
}

// A place that nobody packed yet keeps its room for a packer.
func TestAPlaceThatIsNotPackedYetKeepsItsRoom(t *testing.T) {
	read := SetReadings{Sill: fallOf("0", ""), Left: fallOf("4", LeansRight), Rising: dec("1554"), Falling: dec("1548")}
	bare := PackerPlace{Side: Left, At: mm(980), Gap: dec("3.5")} // 0.5 were left of it with 2 mm less at 740
	r := mustSet(t, SetRequest{Frame: setFrame, Places: append(fourSides(), bare), Readings: read})
	requireChanges(t, r,
		Change{Side: Right, At: mm(250), From: []int{5}, To: []int{3}, By: -2},
		Change{Side: Left, At: mm(250), From: []int{5}, To: []int{7}, By: 2},
	)
}

// The places of a width are top, middle and bottom, those of a height left, middle and
// right.
func TestTheOddReadingHasAPlace(t *testing.T) {
	for _, c := range []struct {
		d     Dimension
		read  [3]decimal.Decimal
		level WidthLevel
		by    string
	}{
		{Width, readings3("1193.07", "1190", "1190"), AtTop, "3.1"}, {Width, readings3("1190", "1193", "1190"), AtMiddle, "3"},
		{Width, readings3("1190", "1190", "1186.93"), AtBottom, "-3.1"},
		{Height, readings3("993", "990", "990"), AtLeft, "3"}, {Height, readings3("990", "990", "993"), AtRight, "3"},
	} {
		off := mustWidths(t, WidthRequest{Frame: setFrame, Dimension: c.d, Read: c.read}).Off
		require.Len(t, off, 1)
		require.Equal(t, c.level, off[0].Level)
		equalDec(t, c.by, off[0].By)
		require.Equal(t, "level."+string(c.level), off[0].Reasons[0].Words["level"])
	}
	far, near := dec("-100.1"), mm(100)
	for _, bow := range []*decimal.Decimal{&far, &near} {
		_, err := CheckWidths(WidthRequest{Frame: setFrame, Dimension: Width, Read: readings3("1190", "1190", "1190"), Bows: [2]*decimal.Decimal{nil, bow}})
		if bow == &near {
			require.NoError(t, err)
			continue
		}
		refusedBy(t, err, ErrImpossible, "set_widths_impossible")
	}
}

// Strings that touch have no gap, and diagonals may differ by a twentieth of the shorter
// side and be as long as both sides together.
func TestSetTakesWhatIsOnItsLimit(t *testing.T) {
	for _, frame := range []Size{size("200", "6000"), size("6000", "200")} {
		mustSet(t, SetRequest{Frame: frame})
	}
	none := mm(0)
	require.True(t, mustSet(t, SetRequest{Frame: setFrame, Readings: SetReadings{Strings: &none}}).True)
	for _, c := range []struct {
		rising, falling string
		ok              bool
	}{
		{"1575", "1525.5", true}, {"1575.1", "1525.5", false}, {"1525.4", "1575", false},
		{"1190", "1190", true}, {"1189", "1189", false}, {"2180", "2180", true}, {"2181", "2181", false},
	} {
		_, err := Set(SetRequest{Frame: setFrame, Readings: SetReadings{Rising: dec(c.rising), Falling: dec(c.falling)}})
		if c.ok {
			require.NoError(t, err, "%v", c)
			continue
		}
		refusedBy(t, err, ErrImpossible, "set_diagonals_impossible")
	}
}
