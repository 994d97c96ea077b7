package calc

import (
	"slices"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
)

// stepsOf are the rules and amounts of a dimension's steps.
func stepsOf(o Order, d Dimension) (out []string) {
	for _, s := range o.Steps {
		if s.Dimension == d {
			out = append(out, s.Reason.Rule+" "+s.Amount.String())
		}
	}
	return out
}

func mustOrder(t require.TestingT, req OrderRequest) Order {
	o, err := OrderSize(req)
	require.NoError(t, err)
	return o
}

func TestOrderStepsSayWhatHappenedAndNoMore(t *testing.T) {
	req := plain(1200, 1000, PVCUWhite)
	o := mustOrder(t, req)
	require.Equal(t, []string{"order_smallest 1200", "gap_table_short -10"}, stepsOf(o, Width))
	require.Equal(t, []string{"order_smallest 1000", "gap_table_short -10"}, stepsOf(o, Height))
	require.Equal(t, "reading.width.top", o.Steps[0].Reason.Words["reading"], "of three alike the first")

	req.SillPiece = true
	require.Equal(t, []string{"order_smallest 1000", "gap_table_short -10", "order_sill_piece -30"}, stepsOf(mustOrder(t, req), Height))

	// W 1200, diagonals 1570 and 1554 (D): a lean of 10.41 mm over 1000, of which the
	// frame, 990 high, meets 10.31, less half a millimetre and what the tape explains.
	req = plain(1200, 1000, PVCUWhite)
	req.Readings.Rising, req.Readings.Falling = mm(1570), mm(1554)
	o = mustOrder(t, req)
	require.Equal(t, "order_lean_width", o.Steps[2].Reason.Rule)
	equalDec(t, "9.8", o.Steps[2].Reason.Figures["lost"])
}

// 12 mm of plaster is common practice; that the gap goes by the length out to
// the masonry follows from "Gaps around windows" (R). The sill has no plaster:
// 2988 and 12 at the head are 3000, the first length of the last band.
func TestTheGapOfTheHeightGoesOutToTheMasonryToo(t *testing.T) {
	req := plain(1200, 2988, PVCUWhite)
	req.Finish = Plaster
	equalDec(t, "7.5", mustOrder(t, req).Gap[Head])
	req = plain(1200, 2987, PVCUWhite)
	req.Finish = Plaster
	equalDec(t, "5", mustOrder(t, req).Gap[Head])
}

// The frame fits the inner opening with the table's gap on each side ("Gaps
// around windows", R), with the sill piece of 30 mm (R) under it. The cover of
// 25 mm is from memory.
func TestOrderSizeInsideTheInnerOpening(t *testing.T) {
	req := plain(1200, 1000, PVCUWhite)
	req.Finish, req.Inner = Check, Size{mm(1260), mm(1030)}
	o := mustOrder(t, req)
	require.Equal(t, []string{"order_smallest 1200", "order_check_width 50"}, stepsOf(o, Width), "1260 is just enough")
	require.Equal(t, []string{"order_smallest 1000", "order_check_height 25", "gap_table_short -5"}, stepsOf(o, Height))

	req.Inner = Size{mm(1240), mm(1015)}
	o = mustOrder(t, req)
	require.Equal(t, "order_inner_width -20", stepsOf(o, Width)[2])
	require.Equal(t, "order_inner_height -15", stepsOf(o, Height)[3])

	req.SillPiece = true
	o = mustOrder(t, req)
	requireSize(t, "1230", "975", o) // 1015 − 5 − 5 − 30
	require.Equal(t, []string{
		"order_smallest 1000", "order_check_height 25", "gap_table_short -5", "order_sill_piece -30", "order_inner_height -15",
	}, stepsOf(o, Height))

	// What is behind is no matter where there is no check.
	bare := plain(1200, 1000, PVCUWhite)
	bare.Inner = Size{mm(300), mm(300)}
	requireSize(t, "1190", "990", mustOrder(t, bare))
}

func TestOrderWarnsUntilBothInnerSizesAreMeasured(t *testing.T) {
	req := plain(1200, 1000, PVCUWhite)
	req.Finish = Check
	for _, inner := range []Size{{mm(1300), mm(0)}, {mm(0), mm(1100)}, {}} {
		req.Inner = inner
		require.Contains(t, rules(mustOrder(t, req).Warnings), "inner_not_measured")
	}
}

func TestOrderSizeLimits(t *testing.T) {
	requireSize(t, "200", "200", mustOrder(t, plain(210, 210, PVCUWhite)))

	// Bellies of 100 a side leave 200 of 400, no more than half.
	req := plain(400, 3000, PVCUWhite)
	req.Readings.Widths[1] = dec("199.6")
	req.Readings.Heights = [3]decimal.Decimal{dec("2999.6"), dec("2999.6"), dec("2999.6")}
	_, err := OrderSize(req)
	why := refusedBy(t, err, ErrImpossible, "opening_leans_too_much")
	equalDec(t, "200", why.Figures["width"])
	equalDec(t, "3000", why.Figures["height"])
}

// The rule of thumb, smallest less 10 (C), jams by what the lean (D) takes
// beyond that, behind plaster as well.
func TestThumbJamBehindPlaster(t *testing.T) {
	req := plain(1200, 1000, PVCUWhite)
	req.Readings.Rising, req.Readings.Falling = mm(1570), mm(1554)
	req.Finish = Plaster
	o := mustOrder(t, req)
	require.InDelta(t, 0.33, o.ThumbJam.Width.InexactFloat64(), 0.2, "10.41 over the frame's height, less 10")
	equalDec(t, "0.3", figureOf(t, mustOrder(t, func() OrderRequest { req.Finish = Bare; return req }()).Warnings, "thumb_jam_width", "over"))
}

// A belly over 10 mm is warned of, in or out: common practice, no source.
func TestOrderWarnsOfABelly(t *testing.T) {
	for middle, belly := range map[string]string{"1210": "", "1190": "", "1210.6": "11", "1188.4": "12"} {
		req := plain(1200, 1200, PVCUWhite)
		req.Readings.Widths[1] = dec(middle)
		o := mustOrder(t, req)
		require.Equal(t, belly != "", hasRule(o.Warnings, "belly_width"), middle)
		require.False(t, hasRule(o.Warnings, "belly_height"))
		if belly != "" {
			equalDec(t, belly, figureOf(t, o.Warnings, "belly_width", "belly"))
		}
	}
}

// 1200 × 900 has diagonals of 1500: a top width of 1190 is 10 short, and the middle
// width says that it is not the bottom one.
func TestOrderWarnsOfAMistake(t *testing.T) {
	req := plain(1200, 900, PVCUWhite)
	req.Readings.Rising, req.Readings.Falling, req.Readings.Widths[0] = mm(1500), mm(1500), mm(1190)
	o := mustOrder(t, req)
	require.Equal(t, []string{"misclosure_slip"}, rules(o.Warnings)[:1])
	require.Equal(t, "reading.width.top", o.Warnings[0].Words["reading"])
	equalDec(t, "1200", o.Warnings[0].Figures["closes"])
	require.Equal(t, "slip.ten", o.Warnings[0].Words["slip"])
}

// No closure shows a sill that falls: where nobody levelled it, that is said.
func TestOrderSaysThatTheSillWasNotLevelled(t *testing.T) {
	req := plain(1200, 1000, PVCUWhite)
	require.True(t, hasRule(mustOrder(t, req).Warnings, "sill_fall_unknown"))
	req.Readings.SillFall = &decimal.Zero
	require.False(t, hasRule(mustOrder(t, req).Warnings, "sill_fall_unknown"))
}

// Sealant on porous faces wants 10 mm (sealant guidance, S), so much of the
// frame must be covered.
func TestOrderWarnsOfAShortCover(t *testing.T) {
	short := func(width string, inner Size) map[string]string {
		req := plain(1200, 1000, PVCUWhite)
		req.Finish, req.Inner = Check, inner
		req.Readings.Widths = [3]decimal.Decimal{dec(width), dec(width), dec(width)}
		out := map[string]string{}
		for _, w := range mustOrder(t, req).Warnings {
			if w.Rule == "check_cover_short" {
				out[w.Words["side"]] = w.Figures["cover"].String()
			}
		}
		return out
	}
	require.Empty(t, short("1200", Size{mm(1230), mm(1100)}), "1220 on 1200 covers 10 a side")
	require.Equal(t, map[string]string{"side.left": "9.5", "side.right": "9.5"}, short("1200", Size{mm(1229), mm(1100)}))
	require.Equal(t, map[string]string{"side.left": "4.8", "side.right": "4.8"}, short("1200.3", Size{mm(1220), mm(1100)}))
	// 985 high in the middle of 5 to 1025: its head is at 1007.5.
	require.Equal(t, map[string]string{"side.head": "7.5"}, short("1200", Size{mm(1300), mm(995)}))
}

// 10 mm is the largest gap up to 3 m, 15 above ("Gaps around windows", R): by
// the length of the dimension that the gap belongs to.
func TestTheLargestGapGoesByItsOwnDimension(t *testing.T) {
	over := func(o Order) (out []string) {
		for _, w := range o.Warnings {
			if slices.Contains(gapOverRules, w.Rule) {
				out = append(out, w.Words["side"]+" "+w.Figures["gap"].String()+" "+w.Figures["least"].String())
			}
		}
		return out
	}
	wide, high := mustOrder(t, plain(3500, 1000, PVCUWhite)), mustOrder(t, plain(1000, 3500, PVCUWhite))
	require.Empty(t, over(wide.TightTo(Left, mm(0))), "15 on the right")
	require.Empty(t, over(wide.TightTo(Right, mm(0))))
	require.Equal(t, []string{"side.right 15.1 15"}, over(wide.TightTo(Left, dec("-0.04"))))
	require.Equal(t, []string{"side.left 15.1 15"}, over(wide.TightTo(Right, dec("-0.04"))))
	require.Empty(t, over(wide.TightTo(Sill, mm(0))), "10 at the head")
	require.Equal(t, []string{"side.head 11 11"}, over(wide.TightTo(Sill, mm(-1))))
	require.Equal(t, []string{"side.sill 11 11"}, over(wide.TightTo(Head, mm(-1))))
	require.Empty(t, over(high.TightTo(Head, mm(0))), "15 at the sill")
	require.Empty(t, over(high.TightTo(Sill, mm(0))))
	require.Equal(t, []string{"side.right 11 11"}, over(high.TightTo(Left, mm(-1))))

	// Behind plaster the masonry stands 12 further out (C).
	plaster := plain(1200, 1000, PVCUWhite)
	plaster.Finish = Plaster
	o := mustOrder(t, plaster)
	require.Equal(t, []string{"side.left 20 20"}, over(o.TightTo(Left, mm(20))))
	equalDec(t, "8", o.TightTo(Left, mm(20)).Place.X)
	require.Equal(t, []string{"side.right 20 20"}, over(o.TightTo(Right, mm(20))))
	require.Equal(t, []string{"side.head 20 20"}, over(o.TightTo(Head, mm(20))))

	// A sill piece stands in the gap. A sill that falls by 12 leaves 12 more at
	// its lower end, on the right or on the left.
	sill := plain(1200, 1000, PVCUWhite)
	sill.SillPiece = true
	o = mustOrder(t, sill).TightTo(Sill, mm(20))
	require.Equal(t, []string{"side.sill 20 20"}, over(o))
	equalDec(t, "50", o.Place.Y)
	for _, fall := range []int64{12, -12} {
		given := mm(fall)
		sill.Readings.SillFall = &given
		got := over(mustOrder(t, sill).TightTo(Sill, mm(20)))
		require.Len(t, got, 1)
		require.Regexp(t, `^side\.sill 31\.[89]|^side\.sill 32`, got[0])
		require.Regexp(t, ` (19\.9|20)$`, got[0])
	}
}

// With a doubted reading, or behind a check, what hangs on the figure is not
// warned of, wherever the frame is moved.
func TestTightToSaysNothingOfWhatIsNotKnown(t *testing.T) {
	doubted := plain(1200, 900, PVCUWhite)
	doubted.Readings.Rising, doubted.Readings.Falling, doubted.Readings.Widths[0] = mm(1500), mm(1500), mm(1210)
	check := plain(1200, 1000, PVCUWhite)
	check.Finish = Check
	for _, req := range []OrderRequest{doubted, check} {
		o := mustOrder(t, req)
		require.Equal(t, o.Warnings, o.TightTo(Head, mm(-40)).Warnings)
	}
}

// What rounding took in one dimension excuses nothing in the other.
func TestRoundingExcusesItsOwnDimensionOnly(t *testing.T) {
	req := plain(1200, 1000, PVCUWhite)
	req.Readings.Widths = [3]decimal.Decimal{dec("1200.9"), dec("1200.9"), dec("1200.9")}
	req.Readings.Heights = [3]decimal.Decimal{mm(1000), dec("1002.55"), dec("1005.1")}
	req.Readings.TapeError = dec("0.001")
	equalDec(t, "10.1", figureOf(t, mustOrder(t, req).Warnings, gapOver+"_askew", "gap"))

	// Tight to a jamb, the head still has half of what its own rounding took.
	req = plain(1200, 1000, PVCUWhite)
	req.Readings.Heights = [3]decimal.Decimal{dec("1000.9"), dec("1003.5"), dec("1006.1")}
	req.Readings.TapeError = dec("0.001")
	o := mustOrder(t, req)
	require.True(t, hasRule(o.TightTo(Left, mm(5)).Warnings, gapOver+"_askew"))
}
