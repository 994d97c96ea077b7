package calc

import (
	"math"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// withSill is an opening 1210 × 1040 with a sill piece 150 deep: frame 1200 × 1000, its
// back 100 in from the wall's face.
func withSill(t require.TestingT) (Order, Section) {
	req := plain(1210, 1040, PVCUWhite)
	req.SillPiece = true
	o, err := OrderSize(req)
	require.NoError(t, err)
	return o, SectionOf(o, mm(150), req.Settings)
}

// The drip stands at least 25 mm beyond the wall, 40 to 50 better (R, building
// journals); sealant along the back edge and the ends only (C).
func TestSillPieceBetweenTheJambs(t *testing.T) {
	o, c := withSill(t)
	p, err := PlanSillPiece(o, c, decimal.Zero, DefaultSillPieceSettings())
	require.NoError(t, err)
	same(t, "1210", p.Opening)
	same(t, "1200", p.Over) // as long as the frame
	same(t, "1194", p.Cut)  // two caps of 3
	same(t, "1197", p.Stock)
	same(t, "597", p.Mark)
	same(t, "600", p.OnFrame)
	same(t, "50", p.Out)
	same(t, "1194", p.SealBack)
	same(t, "100", p.SealEnds)
	require.True(t, p.NotchAlong.IsZero())
	require.Empty(t, p.Warnings)
	require.True(t, hasRule(p.Reasons, "sill_drip"))

	s := DefaultSillPieceSettings()
	s.EndGap = mm(3)
	p, err = PlanSillPiece(o, c, decimal.Zero, s)
	require.NoError(t, err)
	same(t, "1204", p.Over)
	same(t, "600", p.OnFrame)
}

func TestSillPiecePastTheOpening(t *testing.T) {
	o, c := withSill(t)
	p, err := PlanSillPiece(o, c, mm(50), DefaultSillPieceSettings())
	require.NoError(t, err)
	same(t, "1310", p.Over)
	same(t, "1304", p.Cut)
	same(t, "55", p.NotchAlong) // the overhang and the table's gap of 5 (R)
	same(t, "100", p.NotchDeep)
	same(t, "1200", p.SealBack)

	tight, err := PlanSillPiece(o.TightTo(Left, dec("2")), c, mm(50), DefaultSillPieceSettings())
	require.NoError(t, err)
	same(t, "603", tight.OnFrame) // the frame stands 3 mm further left
}

// tan 5° is 0.08749 (the standard library's): 13.1 mm on 150.
func TestTheSillsFall(t *testing.T) {
	o, c := withSill(t)
	s := DefaultSillPieceSettings()
	p, err := PlanSillPiece(o, c, decimal.Zero, s)
	require.NoError(t, err)
	same(t, "13.1", p.Fall)
	for degrees := int64(1); degrees <= 30; degrees++ {
		s.Degrees = mm(degrees)
		require.InDelta(t, 1000*math.Tan(float64(degrees)*math.Pi/180), s.fall(mm(1000)).InexactFloat64(), 1e-6)
	}
	s.FallPer100 = mm(8)
	same(t, "12", s.fall(mm(150)))
}

func TestSillPieceWarnsAndRefuses(t *testing.T) {
	o, c := withSill(t)
	short := c
	short.SillDepth = mm(120)
	p, err := PlanSillPiece(o, short, decimal.Zero, DefaultSillPieceSettings())
	require.NoError(t, err)
	require.Equal(t, []string{"sill_short"}, rules(p.Warnings))

	inside, none := c, c
	inside.SillDepth, none.SillDepth = mm(85), decimal.Zero
	_, err = PlanSillPiece(o, inside, mm(50), DefaultSillPieceSettings())
	refusedBy(t, err, ErrImpossible, "sill_piece_inside")
	_, err = PlanSillPiece(o, inside, decimal.Zero, DefaultSillPieceSettings())
	require.NoError(t, err, "without an overhang it may end inside")
	_, err = PlanSillPiece(o, none, decimal.Zero, DefaultSillPieceSettings())
	refusedBy(t, err, ErrImpossible, "sill_piece_none")
	_, err = PlanSillPiece(o, c, mm(-1), DefaultSillPieceSettings())
	refusedBy(t, err, ErrImpossible, "sill_piece_settings")
	s := DefaultSillPieceSettings()
	s.Cap = mm(700)
	_, err = PlanSillPiece(o, c, decimal.Zero, s)
	refusedBy(t, err, ErrTooSmall, "sill_piece_short")

	plastered := plain(1210, 1040, PVCUWhite)
	plastered.SillPiece, plastered.Finish = true, Plaster
	o, err = OrderSize(plastered)
	require.NoError(t, err)
	p, err = PlanSillPiece(o, c, decimal.Zero, DefaultSillPieceSettings())
	require.NoError(t, err)
	require.True(t, hasRule(p.Warnings, "sill_piece_long"), "the frame's edges are behind the plaster, 1224 in 1210")
}

// A sill piece fits between the jambs wherever the frame does, and its parts add up.
func TestSillPieceFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		req, o, ok := anyOrder(t)
		if !ok || !req.SillPiece || req.Finish == Check || len(o.Figure.Suspects) > 0 {
			return
		}
		overhang := mm(rapid.Int64Range(0, 80).Draw(t, "overhang"))
		s := DefaultSillPieceSettings()
		p, err := PlanSillPiece(o, SectionOf(o, mm(150), req.Settings), overhang, s)
		require.NoError(t, err)
		require.True(t, p.Cut.Add(s.Cap.Mul(mm(2))).Equal(p.Over))
		require.True(t, p.Mark.Mul(mm(2)).Equal(p.Cut))
		if overhang.IsZero() && req.Finish == Bare {
			require.Equal(t, p.Over.GreaterThan(p.Opening), hasRule(p.Warnings, "sill_piece_long"))
		}
		if overhang.IsPositive() {
			past := p.Over.Sub(p.Opening).Div(mm(2))
			require.True(t, past.LessThanOrEqual(overhang) && past.GreaterThan(overhang.Sub(mm(1))))
		}
	})
}

// Setback 30 and depth 70 (C): the frame's back is 100 in, and 3 mm are left clear.
func TestTheBoardIsCutBack(t *testing.T) {
	_, c := withSill(t)
	for _, r := range []struct {
		near, far, wide string
		cuts            [2]string
		rule            string
	}{
		{"103", "110", "0", [2]string{"0", "0"}, "cut_back_clear"},
		{"90", "90", "150", [2]string{"13", "13"}, "cut_back"},
		{"95.5", "90", "150", [2]string{"8", "13"}, "cut_back_askew"},
		{"120", "102", "150", [2]string{"0", "1"}, "cut_back_askew"},
		{"90", "90", "42", [2]string{"13", "13"}, "cut_back_out"},
		{"90", "90", "43", [2]string{"13", "13"}, "cut_back"},
	} {
		b, err := CutBackFor(c, CutBackRequest{Work: InsideBoard, Side: Sill, Edges: [2]decimal.Decimal{dec(r.near), dec(r.far)}, Wide: dec(r.wide), Clear: BoardClear})
		require.NoError(t, err)
		same(t, r.cuts[0], b.Cuts[0])
		same(t, r.cuts[1], b.Cuts[1])
		require.Equal(t, []string{r.rule}, rules(b.Reasons))
		require.Equal(t, r.rule != "cut_back_clear", b.Needed)
		// What is cut is what Section asks for, and the clearance.
		require.True(t, b.Cuts[1].LessThan(c.BoardCut(dec(r.far)).Add(mm(4))))
	}
	b, err := CutBackFor(c, CutBackRequest{Work: InsidePlaster, Side: Left, Edges: [2]decimal.Decimal{mm(90), mm(95)}})
	require.NoError(t, err)
	require.Equal(t, []string{"cut_back_askew_up"}, rules(b.Reasons))
	same(t, "95", EdgeInside(mm(255), mm(160)))
	_, err = CutBackFor(c, CutBackRequest{Work: "curtain"})
	refusedBy(t, err, ErrImpossible, "cut_back_readings")
	_, err = CutBackFor(c, CutBackRequest{Work: InsideBoard, Edges: [2]decimal.Decimal{mm(-1), mm(95)}})
	refusedBy(t, err, ErrImpossible, "cut_back_readings")
}
