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
