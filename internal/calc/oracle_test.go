package calc

import (
	"math"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
	"pgregory.net/rapid"
)

// The checks here hold the figure against a general numerics library
// (gonum.org/v1/gonum, from the Go module registry), which knows nothing of
// windows and works in binary floating point.

// corner is a corner of a straight-sided opening, mm, sill level.
type corner struct{ x, y float64 }

func away(a, b corner) float64 { return math.Hypot(a.x-b.x, a.y-b.y) }

// straightReadings draws an opening of straight sides on a level sill and
// reads it without error.
func straightReadings(t *rapid.T) (Readings, [4]corner) {
	lean := rapid.Float64Range(-40, 40)
	w := rapid.Float64Range(500, 4000).Draw(t, "width")
	h := rapid.Float64Range(500, 2500).Draw(t, "height")
	c := [4]corner{
		{0, 0},
		{w, 0},
		{w + lean.Draw(t, "right lean"), h + lean.Draw(t, "head fall")},
		{lean.Draw(t, "left lean"), h},
	}
	middle := func(a, b corner) corner { return corner{(a.x + b.x) / 2, (a.y + b.y) / 2} }
	read := decimal.NewFromFloat
	return Readings{
		Widths:  [3]decimal.Decimal{read(away(c[3], c[2])), read(away(middle(c[0], c[3]), middle(c[1], c[2]))), read(away(c[0], c[1]))},
		Heights: [3]decimal.Decimal{read(away(c[0], c[3])), read(away(middle(c[0], c[1]), middle(c[3], c[2]))), read(away(c[1], c[2]))},
		Rising:  read(away(c[0], c[2])), Falling: read(away(c[3], c[1])),
		TapeError: decimal.New(1, -3),
	}, c
}

// leastSquares finds the corners from the six readings by Gauss and Newton,
// each step solved by gonum's QR factorisation. It starts from a rectangle.
func leastSquares(t require.TestingT, r Readings) [4]corner {
	want := []float64{
		r.Widths[2].InexactFloat64(), r.Widths[0].InexactFloat64(), r.Heights[0].InexactFloat64(),
		r.Heights[2].InexactFloat64(), r.Rising.InexactFloat64(), r.Falling.InexactFloat64(),
	}
	pairs := [6][2]int{{0, 1}, {3, 2}, {0, 3}, {1, 2}, {0, 2}, {3, 1}}
	c := [4]corner{{0, 0}, {want[0], 0}, {want[0], want[3]}, {0, want[2]}}
	unknown := [5]*float64{&c[1].x, &c[2].x, &c[2].y, &c[3].x, &c[3].y}
	for range 30 {
		a, b := mat.NewDense(6, 5, nil), mat.NewVecDense(6, nil)
		for i, p := range pairs {
			from, to := c[p[0]], c[p[1]]
			d := away(from, to)
			b.SetVec(i, want[i]-d)
			slope := map[*float64]float64{
				&c[p[1]].x: (to.x - from.x) / d, &c[p[1]].y: (to.y - from.y) / d,
				&c[p[0]].x: (from.x - to.x) / d, &c[p[0]].y: (from.y - to.y) / d,
			}
			for j, u := range unknown {
				a.Set(i, j, slope[u])
			}
		}
		var step mat.VecDense
		require.NoError(t, step.SolveVec(a, b))
		for j, u := range unknown {
			*u += step.AtVec(j)
		}
		if mat.Norm(&step, 2) < 1e-9 {
			break
		}
	}
	return c
}

// The corners by the program and by least squares over all six readings agree
// to what the program leaves out: a shortening under 0.1 mm, and rounding.
func TestSurveyAgainstLeastSquares(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		readings, truth := straightReadings(t)
		f, err := Survey(readings)
		require.NoError(t, err)
		got := leastSquares(t, readings)
		for i, p := range []Point{f.BottomLeft, f.BottomRight, f.TopRight, f.TopLeft} {
			require.InDelta(t, truth[i].x, got[i].x, 1e-3, "the oracle itself")
			require.InDelta(t, got[i].x, p.X.InexactFloat64(), 0.15)
			require.InDelta(t, got[i].y, p.Y.InexactFloat64(), 0.15)
		}
	})
}

// No upright frame in a straight-sided opening is larger than the program's:
// were there one of width w and height h with w·h above the program's W·H,
// then H·w + W·h ≥ 2·√(W·H·w·h) would be above 2·W·H. gonum's simplex method
// finds the most that H·w + W·h can be.
func TestLargestAgainstLinearProgramme(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		readings, _ := straightReadings(t)
		f, err := Survey(readings)
		require.NoError(t, err)
		o := f.outline()
		o.straighten() // the middles may bow by what the figure leaves out
		box, ok := o.edges().largest()
		require.True(t, ok)
		w, h := float64(box.width())/1000, float64(box.height())/1000
		require.LessOrEqual(t, mostOf(t, f, w, h), 2*w*h+0.01*(w+h), "at most 0.01 mm a side to win")
	})
}

// mostOf is the most that h·(right − left) + w·(top − bottom) can be for an
// upright box whose four corners lie inside the figure's four sides. The
// unknowns are how far each side of the box stands in from the outermost
// corner: none below nought, and each costs, so that the programme is bounded
// however the rounding falls.
func mostOf(t require.TestingT, f Figure, w, h float64) float64 {
	p := func(q Point) corner { return corner{q.X.InexactFloat64(), q.Y.InexactFloat64()} }
	bl, br, tr, tl := p(f.BottomLeft), p(f.BottomRight), p(f.TopRight), p(f.TopLeft)
	x, y := func(c corner) float64 { return c.x }, func(c corner) float64 { return c.y }
	left, right := min(bl.x, tl.x), max(br.x, tr.x)
	bottom, top := min(bl.y, br.y), max(tl.y, tr.y)
	outermost, inward := [4]float64{left, right, bottom, top}, [4]float64{1, -1, 1, -1}

	rows, limits := mat.NewDense(8, 12, nil), make([]float64, 0, 8)
	// keep puts the side's two corners, one at each of the two other sides,
	// on the inner side of the line a–b. Each row has a slack of its own.
	keep := func(side int, others [2]int, across, run func(corner) float64, a, b corner) {
		slope := (across(b) - across(a)) / (run(b) - run(a))
		for _, other := range others {
			row, in := len(limits), inward[side]
			line := across(a) + slope*(outermost[other]-run(a))
			rows.Set(row, side, -1)
			rows.Set(row, other, in*slope*inward[other])
			rows.Set(row, 4+row, 1)
			limits = append(limits, in*(outermost[side]-line))
		}
	}
	upright, level := [2]int{2, 3}, [2]int{0, 1}
	keep(0, upright, x, y, bl, tl)
	keep(1, upright, x, y, br, tr)
	keep(2, level, y, x, bl, br)
	keep(3, level, y, x, tl, tr)
	cost := make([]float64, 12)
	copy(cost, []float64{h, h, w, w})
	least, _, err := lp.Simplex(cost, rows, limits, 1e-9, nil)
	require.NoError(t, err)
	return h*(right-left) + w*(top-bottom) - least
}
