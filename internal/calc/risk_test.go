package calc

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// A rectangle read exactly leaves little to chance; a sill that nobody levelled more;
// and that is the reading to take then.
func TestTheRiskOfARectangle(t *testing.T) {
	req := plain(1200, 1000, PVCUWhite)
	d := mm(1562)
	req.Readings.Rising, req.Readings.Falling, req.Readings.SillFall = d, d, &decimal.Zero
	level, ok := RiskOf(mustOrder(t, req), req.Readings)
	require.True(t, ok)
	require.Less(t, level.Under4, 0.05)
	require.Zero(t, level.Under2)

	req.Readings.SillFall = nil
	unknown, ok := RiskOf(mustOrder(t, req), req.Readings)
	require.True(t, ok)
	require.Greater(t, unknown.Under4, level.Under4+0.05)
	require.Equal(t, "sill_fall", unknown.Next())

	req.Finish = Check
	_, ok = RiskOf(mustOrder(t, req), req.Readings)
	require.False(t, ok, "behind a check the room is out of sight")
}

// What is said to happen so often does: over many openings with the usual spreads the
// chances add up to how many frames were left with less than 4 mm, by geometry worked
// out here.
func TestTheRiskIsWhatHappens(t *testing.T) {
	g := rand.New(rand.NewPCG(5, 6))
	said, happened := 0.0, 0
	const openings = 4000
	for range openings {
		w, h := 500+950*g.Float64(), 500+950*g.Float64()
		lean, fall, taper := 3*g.NormFloat64(), 2*g.NormFloat64(), 2*g.NormFloat64()
		wider, higher := 2*g.NormFloat64(), 2*g.NormFloat64()
		top, bottom := w+taper/2, w-taper/2
		o := opening{
			bl: [2]float64{-bottom / 2, 0}, br: [2]float64{bottom / 2, 0},
			tl: [2]float64{lean - top/2, h + fall/2}, tr: [2]float64{lean + top/2, h - fall/2},
			left: [2]float64{(lean - w - wider) / 2, h / 2}, right: [2]float64{(lean + w + wider) / 2, h / 2},
			sill: [2]float64{0, -higher / 2}, head: [2]float64{lean, h + higher/2},
		}
		exact := o.measured(3)
		r := Readings{SillFall: &decimal.Zero}
		noisy := func(d decimal.Decimal) decimal.Decimal {
			return d.Add(decimal.NewFromFloat(0.7 * g.NormFloat64())).Round(0)
		}
		for i := range exact.Widths {
			r.Widths[i], r.Heights[i] = noisy(exact.Widths[i]), noisy(exact.Heights[i])
		}
		r.Rising, r.Falling = noisy(exact.Rising), noisy(exact.Falling)
		order, err := OrderSize(OrderRequest{Readings: r, Finish: Bare, Material: PVCUWhite, Settings: DefaultSettings()})
		require.NoError(t, err)
		risk, ok := RiskOf(order, r)
		if !ok {
			continue
		}
		said += risk.Under4
		across := min(o.br[0], o.right[0], o.tr[0]) - max(o.bl[0], o.left[0], o.tl[0])
		up := min(o.tl[1], o.head[1], o.tr[1]) - max(o.bl[1], o.sill[1], o.br[1])
		if min(across-order.Size.Width.InexactFloat64(), up-order.Size.Height.InexactFloat64())/2 < 4 {
			happened++
		}
	}
	require.InDelta(t, said/openings, float64(happened)/openings, 0.008)
	t.Logf("said %.2f %%, happened %.2f %%", 100*said/openings, 100*float64(happened)/openings)
}

// The root against gonum's.
func TestCholeskyAgainstGonum(t *testing.T) {
	m, ok := newMisfit(squareOf(1200, 1000))
	require.True(t, ok)
	c := m.fit.covariance()
	sym := mat.NewSymDense(parts, nil)
	for i := range parts {
		for j := range parts {
			sym.SetSym(i, j, c[i][j])
		}
	}
	var want mat.Cholesky
	require.True(t, want.Factorize(sym))
	var lower mat.TriDense
	want.LTo(&lower)
	got := cholesky(*c)
	for i := range parts {
		for j := 0; j <= i; j++ {
			require.InDelta(t, lower.At(i, j), got[i][j], 1e-6*(1+got[i][i]))
		}
	}
}

// The evenly spread draws against many random ones, and the reading that is named next
// against the one that lowers the risk most by them.
func TestTheRiskAgainstManyDraws(t *testing.T) {
	g := rand.New(rand.NewPCG(7, 8))
	many := make([][parts]float64, 20_000)
	for i := range many {
		for a := range parts {
			many[i][a] = g.NormFloat64()
		}
	}
	chance := func(c clearance) float64 {
		root, under := cholesky(c.covariance), 0
		for _, z := range many {
			x := c.mean
			for a := range parts {
				for b := range parts {
					x[a] += root[a][b] * z[b]
				}
			}
			if c.left(&x) < 4 {
				under++
			}
		}
		return float64(under) / float64(len(many))
	}
	squares, n := 0.0, 0
	for range 60 {
		req := plain(500+g.Int64N(900), 500+g.Int64N(900), PVCUWhite)
		r := &req.Readings
		for i := range r.Widths {
			r.Widths[i], r.Heights[i] = r.Widths[i].Add(mm(g.Int64N(5))), r.Heights[i].Add(mm(g.Int64N(5)))
		}
		if g.IntN(2) == 0 {
			d := mm(int64(math.Round(math.Hypot(r.Widths[1].InexactFloat64(), r.Heights[1].InexactFloat64()))))
			r.Rising, r.Falling = d, d
		}
		m, ok := newMisfit(*r)
		require.True(t, ok)
		c := newRoom(mustOrder(t, req), m)
		under4, _ := c.chances()
		squares, n = squares+math.Pow(under4-chance(*c), 2), n+1
		if next := c.next(under4); next != "" {
			lowest, named := 1.0, 0.0
			for i, reading := range append([]string{"sill_fall"}, names()...) {
				slope := [parts]float64{ofSill: 1}
				if i > 0 {
					slope = c.fit.slope[i-1]
				}
				with := *c
				with.covariance = c.after(slope)
				then := chance(with)
				lowest = min(lowest, then)
				if reading == next {
					named = then
				}
			}
			require.Less(t, named, lowest*1.15+0.01, next)
		}
	}
	require.Less(t, math.Sqrt(squares/float64(n)), 0.012)
}

func names() (list []string) {
	for _, n := range (Readings{}).named() {
		list = append(list, n.name)
	}
	return list
}
