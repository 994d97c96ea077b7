package calc

import (
	"math"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// No size hangs on a probability: with every float that goes into them off by a
// millionth the order is the same, whatever the readings.
func TestNoSizeHangsOnAProbability(t *testing.T) {
	defer func() { inexact = 1 }()
	rapid.Check(t, func(t *rapid.T) {
		req := drawRequest(t, drawOpening(t))
		inexact = 1
		plain, err := OrderSize(req)
		inexact = 1 + 1e-6
		nudged, again := OrderSize(req)
		require.Equal(t, err == nil, again == nil)
		if err == nil {
			require.Equal(t, plain.Size, nudged.Size)
			require.Equal(t, plain.Place, nudged.Place)
			require.Equal(t, plain.LostToLean, nudged.LostToLean)
		}
	})
}

// The square sum of what readings are off by, against gonum: eᵀ(V + ASAᵀ)⁻¹e, with V the
// variance of the readings and S that of the parts (a width and height that may be
// anything have a very large one).
func TestTheMisfitAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawOpening(t).measured(0)
		m, ok := newMisfit(r)
		require.True(t, ok)
		e := m.fit.residuals(m.y, m.fit.covariance())

		a, s := mat.NewDense(8, parts, nil), mat.NewDiagDense(parts, nil)
		for i := range 8 {
			a.SetRow(i, m.fit.slope[i][:])
		}
		for p, usual := range m.fit.usual {
			if usual == 0 {
				usual = 1e-9
			}
			s.SetDiag(p, 1/usual)
		}
		var as, c, solved mat.Dense
		as.Mul(a, s)
		c.Mul(&as, a.T())
		for i := range 8 {
			c.Set(i, i, c.At(i, i)+m.noise)
		}
		off := mat.NewDense(8, 1, e[:])
		require.NoError(t, solved.Solve(&c, off))
		var want mat.Dense
		want.Mul(off.T(), &solved)
		require.InDelta(t, want.At(0, 0), m.sum, 1e-3*(1+want.At(0, 0)))
	})
}

// The corners of a closed figure adjusted by least squares, against gonum's QR: each
// reading by the same weight (see leastSquares). Readings are off by up to a
// millimetre.
func TestAdjustedAgainstLeastSquares(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, _ := straightReadings(t)
		off := rapid.Int64Range(-1000, 1000)
		tape := r.tape()
		for _, side := range []*int64{&tape.top, &tape.bottom, &tape.left, &tape.right, &tape.rising, &tape.falling} {
			*side += off.Draw(t, "off")
		}
		got, _ := tape.adjusted(1_000_000)
		noisy := r
		noisy.Widths[0], noisy.Widths[2] = inMM(tape.top), inMM(tape.bottom)
		noisy.Heights[0], noisy.Heights[2] = inMM(tape.left), inMM(tape.right)
		noisy.Rising, noisy.Falling = inMM(tape.rising), inMM(tape.falling)
		c := leastSquares(t, noisy)
		for name, pair := range map[string]struct {
			want float64
			got  int64
		}{
			"top": {away(c[3], c[2]), got.top}, "bottom": {away(c[0], c[1]), got.bottom},
			"left": {away(c[0], c[3]), got.left}, "right": {away(c[1], c[2]), got.right},
			"rising": {away(c[0], c[2]), got.rising}, "falling": {away(c[3], c[1]), got.falling},
		} {
			require.InDelta(t, pair.want, float64(pair.got)/1000, 0.1, name)
		}
	})
}

// The bound under which no guess is made is one: of each reading and of all together,
// with a slip in the readings and without.
func TestTheOddsOfSlipsAreBounded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawOpening(t).measured(0)
		i := rapid.IntRange(0, 2).Draw(t, "which")
		r.Widths[i] = r.Widths[i].Add(mm(int64(rapid.IntRange(-120, 120).Draw(t, "by"))))
		m, ok := newMisfit(r)
		require.True(t, ok)
		all := math.Inf(-1)
		for _, g := range m.guesses(r) {
			all = logSum(all, g.odds)
		}
		require.LessOrEqual(t, all, m.mostOdds())
		for i, n := range r.named() {
			if m.given[i] {
				require.LessOrEqual(t, m.guess(i, n).odds, m.mostOddsOf(i)+1e-9)
			}
		}
	})
}

// Of 1200 × 1000 by all else, with diagonals of √(1200² + 1000²) = 1562.05, a width of
// 1200 is right and one of 1210 is not, whichever was read first; one that is 5 short is
// as good as one that is 5 long. Of what no other reading speaks for neither is likelier.
func TestTheOthersSayWhichOfTwoValuesIsRight(t *testing.T) {
	for reading, side := range map[string]int64{"width.top": 1200, "width.bottom": 1200, "height.left": 1000, "height.right": 1000} {
		of := func(read, other int64) float64 {
			r := squareOf(1200, 1000)
			r.Rising, r.Falling = dec("1562.05"), dec("1562.05")
			for place, at := range map[string]*decimal.Decimal{
				"width.top": &r.Widths[0], "width.bottom": &r.Widths[2], "height.left": &r.Heights[0], "height.right": &r.Heights[2],
			} {
				if place == reading {
					*at = mm(read)
				}
			}
			return r.Prefers(reading, mm(other))
		}
		require.Greater(t, of(side+10, side), 0.99, reading)
		require.Less(t, of(side, side+10), 0.01, reading)
		require.InDelta(t, 0.5, of(side-5, side+5), 0.05, reading)
	}
	require.InDelta(t, 0.5, squareOf(1200, 1000).Prefers("sill.fall", mm(10)), 0)
}
