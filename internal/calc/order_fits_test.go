package calc

import (
	"errors"
	"math"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// room is the masonry as the order sees it, in exact decimals, for checking
// points against without the program's own geometry.
type room struct{ left, right, sill, head [3]Point }

func roomOf(o Order) room {
	f := o.Figure
	moved := func(p Point, x, y decimal.Decimal) Point { return Point{p.X.Add(x), p.Y.Add(y)} }
	var r room
	for i, p := range []Point{f.BottomLeft, f.MidLeft, f.TopLeft} {
		r.left[i] = moved(p, o.Masonry[Left].Neg(), decimal.Zero)
	}
	for i, p := range []Point{f.BottomRight, f.MidRight, f.TopRight} {
		r.right[i] = moved(p, o.Masonry[Right], decimal.Zero)
	}
	for i, p := range []Point{f.TopLeft, f.MidHead, f.TopRight} {
		r.head[i] = moved(p, decimal.Zero, o.Masonry[Head])
	}
	r.sill = [3]Point{f.BottomLeft, f.MidSill, f.BottomRight}
	return r
}

// side is on which side of a line of two pieces a point lies, by the sign of a
// cross product: positive to the left of the way along it.
func side(line [3]Point, upright bool, p Point) int {
	a, b := line[0], line[1]
	if upright && p.Y.GreaterThan(b.Y) || !upright && p.X.GreaterThan(b.X) {
		a, b = line[1], line[2]
	}
	return b.X.Sub(a.X).Mul(p.Y.Sub(a.Y)).Cmp(b.Y.Sub(a.Y).Mul(p.X.Sub(a.X)))
}

// holds says whether a point is in the room.
func (r room) holds(p Point) bool {
	return side(r.left, true, p) <= 0 && side(r.right, true, p) >= 0 &&
		side(r.sill, false, p) >= 0 && side(r.head, false, p) <= 0
}

// requireInside walks round a box, at many points and beside every bend.
func requireInside(t require.TestingT, r room, low, high Point) {
	xs, ys := []decimal.Decimal{r.sill[1].X, r.head[1].X}, []decimal.Decimal{r.left[1].Y, r.right[1].Y}
	const pieces = 24
	for i := range int64(pieces + 1) {
		part := mm(i).Div(mm(pieces))
		xs = append(xs, low.X.Add(high.X.Sub(low.X).Mul(part)))
		ys = append(ys, low.Y.Add(high.Y.Sub(low.Y).Mul(part)))
	}
	for _, x := range xs {
		for _, y := range []decimal.Decimal{low.Y, high.Y} {
			require.True(t, r.holds(Point{x, y}), "(%s, %s)", x, y)
		}
	}
	for _, y := range ys {
		for _, x := range []decimal.Decimal{low.X, high.X} {
			require.True(t, r.holds(Point{x, y}), "(%s, %s)", x, y)
		}
	}
}

func drawRequest(t *rapid.T, o opening) OrderRequest {
	r := o.measured(rapid.SampledFrom([]int32{0, 1, 3}).Draw(t, "places"))
	if rapid.Bool().Draw(t, "sill fall given") {
		// A sill that falls turns the whole figure. A narrow, tall opening would
		// soon lean more than half its width, and is refused.
		most := min(25, int64(0.1*o.br[0]*o.br[0]/o.tl[1]))
		fall := mm(rapid.Int64Range(-most, most).Draw(t, "fall"))
		r.SillFall = &fall
	}
	if rapid.Bool().Draw(t, "no diagonals") {
		r.Rising, r.Falling = decimal.Zero, decimal.Zero
	}
	return OrderRequest{
		Readings:  r,
		Finish:    rapid.SampledFrom([]Finish{Bare, Plaster, Check}).Draw(t, "finish"),
		Material:  rapid.SampledFrom([]Material{PVCUWhite, PVCUColour, Timber, Steel, Aluminium}).Draw(t, "material"),
		SillPiece: rapid.Bool().Draw(t, "sill piece"),
		Settings:  DefaultSettings(),
	}
}

// The ordered frame, in its place and with the gap that the table asks for beside it
// on every side, lies inside the masonry at every point, in exact decimals; no
// dimension is over the smallest reading's; and the steps add up.
func TestOrderSizeFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		req := drawRequest(t, drawOpening(t))
		o, err := OrderSize(req)
		if errors.Is(err, ErrBeyondTable) {
			t.Skip("over 4.5 m")
		}
		require.NoError(t, err)

		left, right, head := o.Gap[Left], o.Gap[Right], o.Gap[Head]
		if req.Finish == Check { // the frame's edge is meant to be at the line
			left, right, head = decimal.Zero, decimal.Zero, decimal.Zero
		}
		// Half a millimetre is no matter: a quarter on each side, and a hair for its lean.
		quarter := decimal.New(26, -2)
		low, high := o.Place, Point{o.Place.X.Add(o.Size.Width), o.Place.Y.Add(o.Size.Height)}
		if req.Finish != Check { // behind a check the outer leaf does not limit the frame
			requireInside(t, roomOf(o), Point{low.X.Sub(left).Add(quarter), low.Y}, Point{high.X.Add(right).Sub(quarter), high.Y})
			below := o.Gap[Sill].Add(o.SillPiece)
			requireInside(t, roomOf(o), Point{low.X, low.Y.Sub(below).Add(quarter)}, Point{high.X, high.Y.Add(head).Sub(quarter)})
		}

		smallest := Size{decimal.Min(req.Readings.Widths[0], req.Readings.Widths[1:]...),
			decimal.Min(req.Readings.Heights[0], req.Readings.Heights[1:]...)}
		if req.Finish == Bare {
			require.True(t, o.Size.Width.LessThanOrEqual(smallest.Width.Sub(o.Gap[Left]).Sub(o.Gap[Right])))
			require.True(t, o.Size.Height.LessThanOrEqual(smallest.Height.Sub(o.Gap[Head]).Sub(o.Gap[Sill])))
		}
		sums := map[Dimension]decimal.Decimal{}
		for _, s := range o.Steps {
			sums[s.Dimension] = sums[s.Dimension].Add(s.Amount)
		}
		require.Equal(t, o.Size.Width.String(), sums[Width].String())
		require.Equal(t, o.Size.Height.String(), sums[Height].String())
		require.True(t, o.Size.Width.IsInteger() && o.Size.Height.IsInteger())
	})
}

// The frame also keeps its gap in the true opening that the readings came from, which
// the program never saw, to within the half millimetre that whole millimetres can't
// show in each dimension.
func TestOrderSizeFitsTheTrueOpening(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		truth := drawOpening(t)
		exact := truth.measured(4)
		exact.TapeError = dec("0.001")
		o, err := OrderSize(OrderRequest{
			Readings: exact, Finish: Bare, Material: Timber, Settings: DefaultSettings(),
		})
		if errors.Is(err, ErrBeyondTable) {
			t.Skip("over 4.5 m")
		}
		require.NoError(t, err)
		// A quarter on each side, measured along a jamb that leans.
		leans := max(math.Abs(truth.tl[0]), math.Abs(truth.tr[0]-truth.br[0])) / truth.tl[1]
		unseen := 0.26 + 0.25*leans
		x, y := o.Place.X.InexactFloat64(), o.Place.Y.InexactFloat64()
		w, h := o.Size.Width.InexactFloat64(), o.Size.Height.InexactFloat64()
		gap := o.Gap[Left].InexactFloat64() - unseen
		for i := range 101 {
			at := y + h*float64(i)/100
			require.LessOrEqual(t, across(truth.bl, truth.left, truth.tl, 1, at), x-gap)
			require.GreaterOrEqual(t, across(truth.br, truth.right, truth.tr, 1, at), x+w+gap)
			at = x + w*float64(i)/100
			require.LessOrEqual(t, across(truth.bl, truth.sill, truth.br, 0, at), y-gap)
			require.GreaterOrEqual(t, across(truth.tl, truth.head, truth.tr, 0, at), y+h+gap)
		}
	})
}

// across is the place of a line of two pieces at a place along axis (0 for x,
// 1 for y), in floats.
func across(a, b, c [2]float64, axis int, at float64) float64 {
	if at > b[axis] {
		a, b = b, c
	}
	other := 1 - axis
	return a[other] + (b[other]-a[other])*(at-a[axis])/(b[axis]-a[axis])
}

// Against brute force: no box on a half-millimetre grid of heights, with the
// best run of widths on a 2 mm grid, beats the box by more than the grid's own coarseness,
// and the box is within 1 mm of the best.
func TestLargestAgainstBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := func(lo, hi float64, name string) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		w, h := f(400, 900, "w"), f(400, 900, "h")
		o := opening{br: [2]float64{w, f(-20, 20, "fall")}, tl: [2]float64{f(-40, 40, "left"), h},
			tr: [2]float64{w + f(-40, 40, "right"), h + f(-20, 20, "slope")}}
		mid := func(p, q [2]float64) [2]float64 { return [2]float64{(p[0] + q[0]) / 2, (p[1] + q[1]) / 2} }
		o.left, o.right, o.sill, o.head = mid(o.bl, o.tl), mid(o.br, o.tr), mid(o.bl, o.br), mid(o.tl, o.tr)
		o.left[0] += f(-12, 12, "belly left")
		o.right[0] += f(-12, 12, "belly right")
		o.sill[1] += f(-12, 12, "belly sill")
		o.head[1] += f(-12, 12, "belly head")

		s := func(p [2]float64) spot { return spot{int64(math.Round(p[0] * 1000)), int64(math.Round(p[1] * 1000))} }
		e := outline{s(o.bl), s(o.br), s(o.tr), s(o.tl), s(o.left), s(o.right), s(o.sill), s(o.head)}.edges()
		got, ok := e.largest()
		require.True(t, ok)
		width, height := float64(got.width())/1000, float64(got.height())/1000

		best := bruteBox(o)
		require.GreaterOrEqual(t, width*height, best-0.2*(width+height), "brute force finds more")
		require.LessOrEqual(t, (width-1)*(height-1), best, "more than 1 mm over the best of the grid")
	})
}

// bruteBox is the area of the best box, by trying.
func bruteBox(o opening) float64 {
	lowest, highest := min(o.bl[1], o.br[1])-13, max(o.tl[1], o.tr[1])+13
	from, to := min(o.bl[0], o.tl[0])-13, max(o.br[0], o.tr[0])+13
	const step = 2
	var sill, head []float64
	for x := from; x <= to; x += step {
		sill = append(sill, across(o.bl, o.sill, o.br, 0, x))
		head = append(head, across(o.tl, o.head, o.tr, 0, x))
	}
	best := 0.0
	for b := lowest; b < lowest+70; b += 0.5 {
		for t := highest; t > highest-90; t -= 0.5 {
			left := max(across(o.bl, o.left, o.tl, 1, b), across(o.bl, o.left, o.tl, 1, t), o.left[0])
			right := min(across(o.br, o.right, o.tr, 1, b), across(o.br, o.right, o.tr, 1, t), o.right[0])
			if (right-left)*(t-b) <= best {
				continue
			}
			start := math.NaN() // of the present run
			for i := range sill {
				x := from + step*float64(i)
				if x < left || x > right || sill[i] > b || head[i] < t {
					start = math.NaN()
					continue
				}
				if math.IsNaN(start) {
					start = max(left, x-step)
				}
				best = max(best, (min(right, x+step)-start)*(t-b))
			}
		}
	}
	return best
}
