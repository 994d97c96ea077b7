package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func mustWidths(t require.TestingT, req WidthRequest) WidthResult {
	out, err := CheckWidths(req)
	require.NoError(t, err)
	return out
}

func readings3(a, b, c string) [3]decimal.Decimal {
	return [3]decimal.Decimal{dec(a), dec(b), dec(c)}
}

// Width or height at top, middle and bottom within 1.6 mm (R, a North American window
// maker's dimensions guide, 1/16 inch).
func TestWidthsAreWithinASixteenth(t *testing.T) {
	for middle, within := range map[string]bool{"1190": true, "1191.6": true, "1191.7": false, "1188.4": true, "1188.3": false} {
		r := mustWidths(t, WidthRequest{Frame: setFrame, Dimension: Width, Read: readings3("1190", middle, "1190")})
		require.Equal(t, within, r.Within, middle)
		require.Equal(t, within, len(r.Off) == 0)
		require.Equal(t, Read, r.Reason.Mark)
	}
}

// By hand: 3 mm wide in the middle is 1.5 a jamb, 2 to pack; the nearest packers to 495
// are at 500 on the left, and at 250 and 740 on the right, where both are 245 away.
func TestAMiddleThatWasPulledOut(t *testing.T) {
	places := append(fourSides(), PackerPlace{Side: Left, At: mm(500), Gap: dec("5.5"), Stack: []int{5}})
	req := WidthRequest{Frame: setFrame, Dimension: Width, Read: readings3("1190", "1193", "1190"), Places: places}
	r := mustWidths(t, req)
	require.Len(t, r.Off, 1)
	off := r.Off[0]
	require.Equal(t, AtMiddle, off.Level)
	equalDec(t, "3", off.By)
	require.Equal(t, []string{"set_pulled_out"}, rules(off.Reasons))
	require.Len(t, off.Eases, 3)
	equalDec(t, "500", off.Eases[0].At)
	for i, side := range []Side{Left, Right, Right} {
		require.Equal(t, side, off.Eases[i].Side)
		require.Equal(t, 2, off.Eases[i].By)
		require.Equal(t, []int{7}, off.Eases[i].To)
	}
	// A straight edge says that it is the left jamb alone.
	all, none := dec("3"), decimal.Zero
	req.Bows = [2]*decimal.Decimal{&all, &none}
	off = mustWidths(t, req).Off[0]
	require.Len(t, off.Eases, 1)
	require.Equal(t, []int{8}, off.Eases[0].To)

	// Narrow: packed in. 5 mm stand there, 6 can't be taken out.
	req.Bows = [2]*decimal.Decimal{}
	req.Read = readings3("1190", "1186", "1190")
	off = mustWidths(t, req).Off[0]
	require.Equal(t, []string{"set_packed_in"}, rules(off.Reasons))
	require.Equal(t, []int{3}, off.Eases[0].To)
	req.Read = readings3("1190", "1178", "1190")
	off = mustWidths(t, req).Off[0]
	require.Equal(t, "set_no_such_stack", off.Eases[0].Blocked.Rule)
}

// A head that was pushed down is mended at the head: the sill stands on its bed.
func TestHeightsAreMendedAtTheHead(t *testing.T) {
	places := append(fourSides(), PackerPlace{Side: Head, At: mm(595), Gap: dec("5.5"), Stack: []int{5}})
	off := mustWidths(t, WidthRequest{Frame: setFrame, Dimension: Height, Read: readings3("990", "988", "990"), Places: places}).Off[0]
	require.Len(t, off.Eases, 1)
	require.Equal(t, Head, off.Eases[0].Side)
	require.Equal(t, []int{3}, off.Eases[0].To)
	require.Equal(t, AtMiddle, off.Level)
}

// What is out is found whichever place it is at, top and bottom, and a frame turned
// upside down has the same figures.
func TestTheOddWidthIsFound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		read := [3]decimal.Decimal{mm(1190), mm(1190), mm(1190)}
		i := rapid.IntRange(0, 2).Draw(t, "at")
		by := decimal.New(rapid.Int64Range(17, 200).Draw(t, "by"), -1)
		if rapid.Bool().Draw(t, "narrow") {
			by = by.Neg()
		}
		read[i] = read[i].Add(by)
		r := mustWidths(t, WidthRequest{Frame: setFrame, Dimension: Width, Read: read, Places: fourSides()})
		require.Len(t, r.Off, 1)
		require.Equal(t, Width.levels()[i], r.Off[0].Level)
		require.True(t, by.Equal(r.Off[0].By))
		sum := map[Side]int{}
		for _, e := range r.Off[0].Eases {
			sum[e.Side] = e.By
		}
		require.Equal(t, sum[Left], sum[Right])
		require.InDelta(t, by.InexactFloat64(), sum[Left]+sum[Right], 1, "half a millimetre a side")
		back := mustWidths(t, WidthRequest{Frame: setFrame, Dimension: Width, Read: [3]decimal.Decimal{read[2], read[1], read[0]}, Places: fourSides()})
		require.Equal(t, Width.levels()[2-i], back.Off[0].Level)
		require.True(t, r.Apart.Equal(back.Apart))
	})
}

func TestWidthsThatNoFrameHas(t *testing.T) {
	for rule, req := range map[string]WidthRequest{
		"set_widths_impossible": {Frame: setFrame, Dimension: Width, Read: readings3("1190", "1090", "1190.1")},
		"set_dimension":         {Frame: setFrame, Read: readings3("1190", "1190", "1190")},
		"frame_size_impossible": {Frame: Size{mm(100), mm(990)}, Dimension: Width, Read: readings3("1190", "1190", "1190")},
	} {
		_, err := CheckWidths(req)
		var refused *RefusalError
		require.ErrorAs(t, err, &refused)
		require.Equal(t, rule, refused.Reason.Rule)
	}
}
