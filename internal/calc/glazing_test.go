package calc

import (
	"math"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestGlazingOrderIsFixedFirstFromTheBottom(t *testing.T) {
	l := Layout{Lights: []Light{
		{Column: 0, Row: 1, Hinge: TopHung}, {Column: 0, Row: 0, Hinge: SideLeft},
		{Column: 1, Row: 1, Hinge: FixedLight}, {Column: 2, Row: 0, Hinge: FixedLight}, {Column: 1, Row: 0, Hinge: FixedLight},
	}}
	require.Equal(t, []int{4, 3, 2, 1, 0}, GlazingOrder(l))
	require.Empty(t, GlazingOrder(Layout{}))
}

// Short ones first (C).
func TestBeadsGoShortOnesFirst(t *testing.T) {
	for _, c := range []struct {
		sight Size
		want  [4]Side
	}{
		{size("400", "900"), [4]Side{Head, Sill, Left, Right}},
		{size("900", "400"), [4]Side{Left, Right, Head, Sill}},
		{size("500", "500"), [4]Side{Head, Sill, Left, Right}},
	} {
		for i, b := range BeadOrder(c.sight) {
			require.Equal(t, Bead{i + 1, c.want[i], c.sight.along(c.want[i])}, b)
		}
	}
}

func oneGlass(t require.TestingT, frame Size, h Hinge) GlassPlan {
	g, err := Glass(frame, Layout{Lights: []Light{{Hinge: h}}}, dxs("4", "4"), DefaultSettings())
	require.NoError(t, err)
	return g[0]
}

// Glass is the tight rebate size less 6 mm (R), so that 3 mm are left at each edge; heel
// bottom left and toe top right of hinges at the left (R).
func TestBlocksFillTheClearance(t *testing.T) {
	g := oneGlass(t, size("700", "1200"), SideLeft)
	rebate := Size{g.Glass.Width.Add(mm(6)), g.Glass.Height.Add(mm(6))}
	s, err := StackBlocks(g, rebate, g.Glass)
	require.NoError(t, err)
	require.Len(t, s.Blocks, 4)
	for _, b := range s.Blocks {
		require.Equal(t, []int{3}, b.Stack)
		require.True(t, b.Free.IsZero())
	}
	require.Empty(t, s.Warnings)

	// A pane that came 1.5 mm narrower and 1 higher: 7.5 across, 5 up.
	s, err = StackBlocks(g, rebate, Size{g.Glass.Width.Sub(dec("1.5")), g.Glass.Height.Add(mm(1))})
	require.NoError(t, err)
	for _, b := range s.Blocks {
		want, free := []int{3}, "0" // the hinge's heel
		switch b.Edge {
		case Sill:
			want = []int{2}
		case Right:
			want, free = []int{4}, "0.5"
		}
		require.Equal(t, want, b.Stack, "%v", b)
		same(t, free, b.Free)
	}
	for want, off := range map[string]string{"stack_tight": "2.1", "stack_loose": "-5"} {
		s, err = StackBlocks(g, rebate, Size{g.Glass.Width, g.Glass.Height.Add(dec(off))})
		require.NoError(t, err)
		require.Equal(t, []string{want}, rules(s.Warnings))
	}
	_, err = StackBlocks(g, rebate, Size{g.Glass.Width.Add(dec("4.1")), g.Glass.Height})
	refusedBy(t, err, ErrTooSmall, "stack_no_room")
	_, err = StackBlocks(g, rebate, Size{})
	refusedBy(t, err, ErrImpossible, "stack_sizes")
}

// Opposite blocks never fill more than the clearance, and leave less than a packer.
func TestBlocksNeverJam(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := rapid.SampledFrom([]Hinge{FixedLight, SideLeft, SideRight, TopHung, BottomHung, TiltTurnLeft, TiltTurnRight}).Draw(t, "hinge")
		g := oneGlass(t, size("900", "1200"), h)
		across := decimal.New(rapid.Int64Range(20, 200).Draw(t, "across"), -1)
		up := decimal.New(rapid.Int64Range(20, 200).Draw(t, "up"), -1)
		s, err := StackBlocks(g, Size{g.Glass.Width.Add(across), g.Glass.Height.Add(up)}, g.Glass)
		require.NoError(t, err)
		high := map[Side]decimal.Decimal{}
		for _, b := range s.Blocks {
			sum := 0
			for _, piece := range b.Stack {
				sum += piece
			}
			high[b.Edge] = count(sum)
			require.True(t, b.Free.LessThan(mm(1)) && !b.Free.IsNegative())
		}
		require.True(t, high[Left].Add(high[Right]).LessThanOrEqual(across))
		require.True(t, high[Sill].Add(high[Head]).LessThanOrEqual(up))
	})
}

// Hinge capacity is the sash's mass × 1.3 (R, an aluminium hardware sheet).
func TestHingesAgainstTheSash(t *testing.T) {
	why, ok, err := HingeReason(mm(30), mm(39), Practice)
	require.NoError(t, err)
	require.True(t, ok)
	require.Equal(t, "hinge_enough", why.Rule)
	require.Equal(t, Practice, why.Mark)
	require.Equal(t, Read, why.Own)
	why, ok, err = HingeReason(mm(30), dec("38.9"), "")
	require.NoError(t, err)
	require.False(t, ok)
	same(t, "39", why.Figures["carry"])
	require.Equal(t, Read, why.Mark)
	_, _, err = HingeReason(mm(0), mm(39), "")
	refusedBy(t, err, ErrImpossible, "hinge_masses")
}

// sagging is the reading of a sash whose free corner hangs low by drop: a four-bar
// frame, whose diagonals squared differ by 4 H drop.
func sagging(sash Size, drop float64) ToeReading {
	w, h := sash.Width.InexactFloat64(), sash.Height.InexactFloat64()
	lean := drop / w // sine of the lean
	read := func(sign float64) decimal.Decimal {
		d, _ := decimal.NewFromFloat(w*w + h*h + sign*2*w*h*lean).SqrtRound(6)
		return d
	}
	return ToeReading{HeelToe: read(-1), Across: read(1)}
}

// The loop ends square as near as a 1 mm packer makes it, from either side, in a few
// rounds; a mirrored sash gets the mirrored place.
func TestTheToeIsPackedUntilItAgrees(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sash := Size{mm(rapid.Int64Range(400, 1000).Draw(t, "width")), mm(rapid.Int64Range(400, 1600).Draw(t, "height"))}
		drop := rapid.Float64Range(-8, 8).Draw(t, "drop")
		inset := mm(rapid.Int64Range(40, 100).Draw(t, "inset"))
		arm := sash.Width
		if sash.Height.GreaterThan(sash.Width) {
			arm = sash.Height
		}
		perPiece := sash.Width.InexactFloat64() / arm.Sub(inset.Mul(mm(2))).InexactFloat64() // of drop, a mm
		var before *ToeAdvice
		for round := 0; ; round++ {
			require.Less(t, round, 4)
			reading := sagging(sash, drop)
			a, err := ToeStep(reading, SideLeft, sash, inset, before)
			require.NoError(t, err)
			other, err := ToeStep(reading, SideRight, sash, inset, before)
			require.NoError(t, err)
			require.Equal(t, a.Pack, other.Pack)
			if a.Edge != Head {
				require.Equal(t, []Side{Right, Left}, []Side{a.Edge, other.Edge})
			}
			require.False(t, hasRule(a.Reasons, "toe_worse") || hasRule(a.Reasons, "toe_no_hold"))
			if a.Done {
				// The reading to 0.1 mm, half a piece, or as it may have been made.
				w, h := sash.Width.InexactFloat64(), sash.Height.InexactFloat64()
				made := math.Hypot(w, h) / h * 1.01 // of 2 mm between the diagonals
				require.True(t, drop <= 0.6*perPiece+0.1 && drop >= -max(0.6*perPiece+0.1, made), "%f", drop)
				return
			}
			drop -= float64(a.Pack) * perPiece
			before = &a
		}
	})
}

func TestWhatIsSeenAtACorner(t *testing.T) {
	sash := size("600", "1000") // arms 500 and 900: the upright moves 1.5 mm a packer of 1
	for _, c := range []struct {
		r    ToeReading
		drop string
		pack int
		done bool
		rule string
	}{
		{ToeReading{Corner: FreeBottom, By: mm(2), Drags: true}, "2", 3, false, "toe_pack"},
		{ToeReading{Corner: FreeTop, By: mm(2), Drags: true}, "-2", -3, false, "toe_take"},
		{ToeReading{Corner: FreeTop, By: mm(4)}, "2", 3, false, "toe_pack"},
		{ToeReading{Corner: FreeBottom, By: mm(4)}, "-2", -3, false, "toe_take"},
		// Even within 2 mm (R, VinduesIndustrien, chapter 9).
		{ToeReading{Corner: FreeTop, By: mm(2)}, "1", 0, true, "toe_even"},
		{ToeReading{Corner: FreeTop, By: dec("2.1")}, "1.1", 1, false, "toe_pack"},
	} {
		a, err := ToeStep(c.r, SideLeft, sash, mm(50), nil)
		require.NoError(t, err)
		same(t, c.drop, a.Drop)
		require.Equal(t, c.pack, a.Pack, "%v", c.r)
		require.Equal(t, c.done, a.Done)
		require.True(t, hasRule(a.Reasons, c.rule), "%v", rules(a.Reasons))
		require.Equal(t, Right, a.Edge)
	}
	wide, err := ToeStep(ToeReading{Corner: FreeBottom, By: mm(2), Drags: true}, TiltTurnRight, size("1000", "600"), mm(50), nil)
	require.NoError(t, err)
	require.Equal(t, Head, wide.Edge)
}

// A sash may be made with its heel's diagonal 1.5 to 2 mm the longer (S, weak).
func TestASashMadeWithALongerDiagonal(t *testing.T) {
	sash := size("600", "1000")
	a, err := ToeStep(ToeReading{HeelToe: dec("1168"), Across: mm(1166)}, SideLeft, sash, mm(50), nil)
	require.NoError(t, err)
	require.True(t, a.Done)
	require.True(t, hasRule(a.Reasons, "toe_made_longer"))
	for _, r := range []ToeReading{{HeelToe: dec("1168.1"), Across: mm(1166)}, {HeelToe: mm(1166), Across: mm(1168)}} {
		a, err = ToeStep(r, SideLeft, sash, mm(50), nil)
		require.NoError(t, err)
		require.False(t, a.Done)
	}
}

func TestPackingThatDidNotHelp(t *testing.T) {
	sash := size("600", "1000")
	first, err := ToeStep(sagging(sash, 4), SideLeft, sash, mm(50), nil)
	require.NoError(t, err)
	require.Equal(t, 6, first.Pack)
	for drop, want := range map[float64]string{6: "toe_worse", 3.5: "toe_no_hold"} {
		a, err := ToeStep(sagging(sash, drop), SideLeft, sash, mm(50), &first)
		require.NoError(t, err)
		require.True(t, hasRule(a.Reasons, want))
	}
	_, err = ToeStep(sagging(sash, 4), TopHung, sash, mm(50), nil)
	refusedBy(t, err, ErrImpossible, "toe_hinge")
	_, err = ToeStep(ToeReading{Corner: FreeTop}, SideLeft, sash, mm(50), nil)
	refusedBy(t, err, ErrImpossible, "toe_reading")
	_, err = ToeStep(ToeReading{Corner: FreeTop, By: mm(3), Drags: true}, SideLeft, sash, mm(300), nil)
	refusedBy(t, err, ErrImpossible, "sash_inset")
}
