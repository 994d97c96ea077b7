package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
)

func rulesOf(reasons []Reason) []string {
	var list []string
	for _, r := range reasons {
		list = append(list, r.Rule)
	}
	return list
}

// Where no packer changes nothing is said of the bed: the jambs alone are moved by hand.
func TestNoBedIsNamedWhereNoPackerChanges(t *testing.T) {
	r, err := Set(SetRequest{Frame: setFrame, Readings: SetReadings{
		Sill: fallOf("0", ""), Left: fallOf("0", ""), LeftFace: fallOf("5", LeansOut), RightFace: fallOf("5", LeansOut),
	}})
	require.NoError(t, err)
	require.Empty(t, r.Changes)
	require.NotEmpty(t, r.Moves)
	require.Equal(t, []string{"set_across"}, rulesOf(r.Reasons))
}

// The head's packers come out first only where some are taken out.
func TestHeadIsEasedOnlyWhereItsPackersComeOut(t *testing.T) {
	of := func(by int) []string {
		r := SetResult{Changes: []Change{{Side: Head, By: by}, {Side: Left, By: -1}}}
		return rulesOf(r.reasons())
	}
	require.Contains(t, of(-1), "set_ease_head")
	require.NotContains(t, of(1), "set_ease_head")
}

// A head that falls by itself: its corners stand half of its fall above and below the
// sill's middle.
func TestCornersOfAHead(t *testing.T) {
	r, err := Set(SetRequest{Frame: Size{mm(1000), mm(1000)}, Readings: SetReadings{Sill: fallOf("0", ""), Head: fallOf("4", RightEndLow)}})
	require.NoError(t, err)
	require.Equal(t, "-2", r.Now.Corners[2].Y.String(), "top right")
	require.Equal(t, "2", r.Now.Corners[3].Y.String(), "top left")
}

// Three widths of the largest frame are taken, one millimetre more is not.
func TestWidthsOfTheLargestFrame(t *testing.T) {
	of := func(width int64) error {
		_, err := CheckWidths(WidthRequest{Frame: Size{mm(mostFrame), mm(990)}, Dimension: Width, Read: [3]decimal.Decimal{mm(width), mm(width), mm(width)}})
		return err
	}
	require.NoError(t, of(mostFrame))
	require.Error(t, of(mostFrame+1))
}

// A height that is out at the right is eased at the packers of the head nearest to it.
func TestAHeightIsEasedWhereItIsOut(t *testing.T) {
	places := []PackerPlace{{Side: Head, At: mm(200), Gap: mm(8), Stack: []int{5}}, {Side: Head, At: mm(600), Gap: mm(8), Stack: []int{5}}, {Side: Head, At: mm(1000), Gap: mm(8), Stack: []int{5}}}
	r, err := CheckWidths(WidthRequest{Frame: Size{mm(1200), mm(990)}, Dimension: Height, Read: [3]decimal.Decimal{mm(900), mm(900), mm(904)}, Places: places})
	require.NoError(t, err)
	require.Len(t, r.Off, 1)
	require.Equal(t, AtRight, r.Off[0].Level)
	require.Len(t, r.Off[0].Eases, 1)
	require.Equal(t, "1000", r.Off[0].Eases[0].At.String())
}

// A bucket that holds nothing mixes nothing.
func TestAPatchNeedsABucket(t *testing.T) {
	r := patchOf("1000", "100", "20")
	r.Settings.Bucket = decimal.Zero
	_, err := PlanPatch(r)
	var refused *RefusalError
	require.ErrorAs(t, err, &refused)
	require.Equal(t, "patch_settings", refused.Reason.Rule)
}

// A frame that leans nowhere across the wall is pushed and pulled nowhere, and nothing is
// said of it.
func TestNothingIsSaidOfTheWallWhereNothingMovesAcrossIt(t *testing.T) {
	zero := fallOf("0", "")
	r := mustSet(t, SetRequest{Frame: setFrame, Places: fourSides(), Readings: SetReadings{
		Sill: gapOf("600", "2", RightEndLow), Left: gapOf("600", "2", LeansRight), LeftFace: zero, RightFace: zero,
	}})
	require.NotEmpty(t, r.Changes)
	require.Empty(t, r.Moves)
	require.NotContains(t, rules(r.Reasons), "set_across")
}

// Sill against head and jamb against jamb, each 10 mm per m apart: without any one reading
// the other pair still disagrees, so none of them is the odd one. Without the second pair
// each of the first may be.
func TestTwoPairsThatDisagreeNameNoReading(t *testing.T) {
	read := SetReadings{Sill: fallOf("0", ""), Head: fallOf("10", RightEndLow), Left: fallOf("0", ""), Right: fallOf("10", LeansRight)}
	require.Equal(t, []string{"set_doubt_all"}, rules(mustSet(t, SetRequest{Frame: setFrame, Readings: read}).Doubts))
	read.Right = nil
	require.Equal(t, []string{"set_doubt", "set_doubt"}, rules(mustSet(t, SetRequest{Frame: setFrame, Readings: read}).Doubts))
}

// By hand, on 1190 × 990: sill level and head 3.5 mm per m make 1.75, with a jamb's 4 it
// is 5.75 mm per m, 5.69 over 990. Diagonals of 1548 that differ by 8.8 the other way make
// 8.8 × 1548 / (2 × 1190) = 5.72 over 990 (s = |d1² − d2²| / 4W).
func TestAContradictionSaysWhatEachSideShows(t *testing.T) {
	r := mustSet(t, SetRequest{Frame: setFrame, Places: fourSides(), Readings: SetReadings{
		Sill: fallOf("0", ""), Head: fallOf("3.5", LeftEndLow), Left: fallOf("4", LeansRight), Rising: dec("1545.6"), Falling: dec("1554.4"),
	}})
	require.Equal(t, []string{"set_contradiction"}, rules(r.Blocked))
	equalDec(t, "5.7", r.Blocked[0].Figures["level"])
	equalDec(t, "-5.7", r.Blocked[0].Figures["square"])
}

// A right end that is 4 mm low over 1000, with a packer midway: up 4 there takes 2 in the
// middle along, 6 mm on two stacks; up 2 there and down 2 at the left turns it about the
// middle, 4 mm on two stacks. Of equally few stacks those that change least are changed:
// common practice, no source.
func TestOfEquallyFewStacksTheLeastIsChanged(t *testing.T) {
	at := func(along int64, bed bool) PackerPlace {
		return PackerPlace{Side: Sill, At: mm(along), Bed: bed, Gap: dec("10.5"), Stack: []int{10}}
	}
	r := mustSet(t, SetRequest{
		Frame: setFrame, Places: []PackerPlace{at(95, true), at(595, false), at(1095, true)}, Readings: SetReadings{Sill: fallOf("4", RightEndLow)},
	})
	requireChanges(t, r,
		Change{Side: Sill, At: mm(1095), Bed: true, From: []int{10}, To: []int{10, 2}, By: 2},
		Change{Side: Sill, At: mm(95), Bed: true, From: []int{10}, To: []int{8}, By: -2},
	)
}
