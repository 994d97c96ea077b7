package calc

import (
	"math"
	"math/rand/v2"
	"sync"
)

// Risk is how likely it is that a frame has less room than it should, for what the
// readings leave open: the tape's error, and what nobody measured. Binary floating
// point, for words beside a size; no size depends on it.
type Risk struct {
	Under4, Under2 float64 // chance that less than 4 or 2 mm is left on a side, 0 to 1
	// Next is the reading that would lower Under4 most, taken or taken again; "" where
	// none would by much.
	Next string
}

// RiskOf is the risk of an order for the readings that it was made from. A frame stands
// upright, level and centred. ok is false behind a check, where the room is out of
// sight, where the frame is not centred, and where the readings say too little or hold a likely mistake.
func RiskOf(o Order, r Readings) (risk Risk, ok bool) {
	m, ok := newMisfit(r)
	if !ok || o.Finish == Check || o.tight != "" || len(o.Figure.Suspects) > 0 || !m.given[0] || !m.given[3] {
		return Risk{}, false
	}
	room := newRoom(o, m)
	risk.Under4, risk.Under2 = room.chances()
	if risk.Under4 >= worthAReading {
		risk.Next = room.next(risk.Under4)
	}
	return risk, true
}

// worthAReading is the risk from which a further reading is named; common practice, no
// source.
const worthAReading = 0.02

// clearance is what is left on a side of a frame in an opening of the fit: half of what
// the room is larger by.
type clearance struct {
	fit           *fit
	mean          [parts]float64
	covariance    [parts][parts]float64
	noise         float64 // variance of one reading, mm²
	width, height float64 // of the frame, less what stands outside the measured line
}

func newRoom(o Order, m *misfit) *clearance {
	hidden := func(sides ...Side) float64 {
		sum := 0.0
		for _, s := range sides {
			sum += o.Masonry[s].InexactFloat64()
		}
		return sum
	}
	own := m.fit.own(m.y)
	return &clearance{
		fit: own, mean: own.solve(own.residuals(m.y)), covariance: own.covariance(), noise: m.noise,
		width:  o.Size.Width.InexactFloat64() - hidden(Left, Right),
		height: o.Size.Height.Add(o.SillPiece).InexactFloat64() - hidden(Head),
	}
}

// left is the least that is left on a side, mm.
func (c *clearance) left(x [parts]float64) float64 {
	w, h := c.fit.width+x[ofWidth], c.fit.height+x[ofHeight]
	bottom, top := w-x[ofTaper]/2, w+x[ofTaper]/2
	across := span([3]float64{-bottom / 2, (x[ofLean] - w - x[ofBellyWidth]) / 2, x[ofLean] - top/2},
		[3]float64{bottom / 2, (x[ofLean] + w + x[ofBellyWidth]) / 2, x[ofLean] + top/2})
	sill := x[ofSill] + c.fit.sill
	head := x[ofFall] + sill
	up := span([3]float64{sill / 2, -x[ofBellyHeight] / 2, -sill / 2},
		[3]float64{h + head/2, h + x[ofBellyHeight]/2, h - head/2})
	return min(across-c.width, up-c.height) / 2
}

// span is the room between two sides, each given at both ends and in the middle.
func span(low, high [3]float64) float64 {
	return min(high[0], high[1], high[2]) - max(low[0], low[1], low[2])
}

// chances are of less than 4 and less than 2 mm.
func (c *clearance) chances() (under4, under2 float64) {
	root := cholesky(c.covariance)
	for _, z := range draws() {
		x := c.mean
		for a := range parts {
			for b := 0; b <= a; b++ {
				x[a] += root[a][b] * z[b]
			}
		}
		mm := c.left(x)
		if mm < 4 {
			under4++
		}
		if mm < 2 {
			under2++
		}
	}
	n := float64(len(draws()))
	return under4 / n, under2 / n
}

// draws are the same standard normal numbers each time.
var draws = sync.OnceValue(func() *[1024][parts]float64 {
	r := rand.New(rand.NewPCG(4, 2026))
	var list [1024][parts]float64
	for i := range list {
		for a := range list[i] {
			list[i][a] = r.NormFloat64()
		}
	}
	return &list
})

// next is the reading that lowers the chance of less than 4 mm most, by at least a
// quarter: one of those taken, a diagonal, or the fall of the sill.
func (c *clearance) next(under4 float64) string {
	best, name := under4*3/4, ""
	try := func(reading string, slope [parts]float64) {
		with := *c
		with.covariance = c.after(slope)
		if then, _ := with.chances(); then < best {
			best, name = then, reading
		}
	}
	try("sill_fall", [parts]float64{ofSill: 1})
	for i, n := range (Readings{}).named() {
		try(n.name, c.fit.slope[i])
	}
	return name
}

// after is the covariance of the parts when one more reading is taken, whose slope is
// given.
func (c *clearance) after(slope [parts]float64) [parts][parts]float64 {
	var with [parts]float64
	own := c.noise
	for a := range parts {
		for b := range parts {
			with[a] += c.covariance[a][b] * slope[b]
			own += slope[a] * c.covariance[a][b] * slope[b]
		}
	}
	out := c.covariance
	for a := range parts {
		for b := range parts {
			out[a][b] -= with[a] * with[b] / own
		}
	}
	return out
}

// cholesky is the lower root of a positive definite matrix.
func cholesky(m [parts][parts]float64) (root [parts][parts]float64) {
	for i := range parts {
		for j := 0; j <= i; j++ {
			sum := m[i][j]
			for k := range j {
				sum -= root[i][k] * root[j][k]
			}
			if i == j {
				root[i][i] = math.Sqrt(max(sum, 0))
			} else if root[j][j] > 0 {
				root[i][j] = sum / root[j][j]
			}
		}
	}
	return root
}
