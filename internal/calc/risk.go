package calc

import (
	"cmp"
	"math"
	"slices"
	"sync"
)

// Risk is how likely it is that a frame has less room than it should, for what the
// readings leave open: the tape's error, and what nobody measured. Binary floating
// point, for words beside a size; no size depends on it.
type Risk struct {
	Under4, Under2 float64 // chance that less than 4 or 2 mm is left on a side, 0 to 1
	room           *clearance
}

// Next is the reading that would lower Under4 most, taken or taken again; "" where none
// would by much.
func (r Risk) Next() string {
	if r.Under4 < worthAReading {
		return ""
	}
	return r.room.next(r.Under4)
}

// RiskOf is the risk of an order for the readings that it was made from. A frame stands
// upright, level and centred. ok is false behind a check, where the room is out of
// sight, where the frame is not centred, and where the readings say too little or hold a likely mistake.
func RiskOf(o Order, r Readings) (risk Risk, ok bool) {
	m, ok := newMisfit(r)
	if !ok || o.Finish == Check || o.tight != "" || len(o.Figure.Suspects) > 0 || !m.given[0] || !m.given[3] {
		return Risk{}, false
	}
	risk.room = newRoom(o, m)
	risk.Under4, risk.Under2 = risk.room.chances()
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
	covariance    covariance
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
	c := own.covariance()
	return &clearance{
		fit: own, mean: own.solve(own.residuals(m.y, c), c), covariance: *c, noise: m.noise,
		width:  o.Size.Width.InexactFloat64() - hidden(Left, Right),
		height: o.Size.Height.Add(o.SillPiece).InexactFloat64() - hidden(Head),
	}
}

// line is where a side stands: at the end of the sill or the left jamb, in the middle, at
// the other end.
type line struct{ near, mid, far float64 }

// left is the least that is left on a side, mm.
func (c *clearance) left(x *[parts]float64) float64 {
	left, right := c.jambs(x)
	sill, head := c.beds(x)
	return min(span(left, right)-c.width, span(sill, head)-c.height) / 2
}

// jambs are where the jambs stand for given parts; linear in them.
func (c *clearance) jambs(x *[parts]float64) (left, right line) {
	w := c.fit.width + x[ofWidth]
	bottom, top, middle, lean := w-x[ofTaper]/2, w+x[ofTaper]/2, w+x[ofBellyWidth], x[ofLean]
	return line{-bottom / 2, (lean - middle) / 2, lean - top/2}, line{bottom / 2, (lean + middle) / 2, lean + top/2}
}

// beds are where sill and head stand for given parts; linear in them.
func (c *clearance) beds(x *[parts]float64) (sill, head line) {
	h, fall := c.fit.height+x[ofHeight], x[ofSill]+c.fit.sill
	over, belly := x[ofFall]+fall, x[ofBellyHeight]
	return line{fall / 2, -belly / 2, -fall / 2}, line{h + over/2, h + belly/2, h - over/2}
}

// span is the room between two sides.
func span(low, high line) float64 {
	return min(high.near, high.mid, high.far) - max(low.near, low.mid, low.far)
}

// chances are of less than 4 and less than 2 mm.
func (c *clearance) chances() (under4, under2 float64) {
	root, list := cholesky(c.covariance), draws()
	for i := range list {
		z, x := &list[i], c.mean
		for a := range x {
			row, sum := &root[a], x[a]
			for b := 0; b <= a; b++ {
				sum += row[b] * z[b]
			}
			x[a] = sum
		}
		mm := c.left(&x)
		if mm < 4 {
			under4++
		}
		if mm < 2 {
			under2++
		}
	}
	n := float64(len(list))
	return under4 / n, under2 / n
}

// Korobov's lattice, of a prime number of points and a generator found by trial against
// many random draws. It comes nearer to them than 1 024 random ones.
const latticePoints, latticeGenerator = 251, 78

// draws are the same standard normal numbers each time, spread evenly.
var draws = sync.OnceValue(func() *[latticePoints][parts]float64 {
	var list [latticePoints][parts]float64
	for i := range list {
		times := 1
		for a := range list[i] {
			u := (float64(i*times%latticePoints) + 0.5) / latticePoints
			list[i][a] = math.Sqrt2 * math.Erfinv(2*u-1)
			times = times * latticeGenerator % latticePoints
		}
	}
	return &list
})

// next is the reading that lowers the chance of less than 4 mm most, by at least a
// quarter: one of those taken, a diagonal, or the fall of the sill. The draws decide
// between the two that lower the sum of the chances of all distances most.
func (c *clearance) next(under4 float64) string {
	type reading struct {
		name  string
		slope [parts]float64
		sum   float64
	}
	names := (Readings{}).named()
	list := make([]reading, 0, len(names)+1)
	all := c.distances()
	add := func(name string, slope [parts]float64) {
		list = append(list, reading{name, slope, c.sumAfter(&all, slope)})
	}
	add("sill_fall", [parts]float64{ofSill: 1})
	for i, n := range names {
		add(n.name, c.fit.slope[i])
	}
	slices.SortStableFunc(list, func(a, b reading) int { return cmp.Compare(a.sum, b.sum) })
	best, name := under4*3/4, ""
	for _, r := range list[:2] {
		with := *c
		with.covariance = c.after(r.slope)
		if then, _ := with.chances(); then < best {
			best, name = then, r.name
		}
	}
	return name
}

// sumAfter is that of the distances' chances of less than 4 mm when one more reading is
// taken, whose slope is given.
func (c *clearance) sumAfter(all *[18]distance, slope [parts]float64) float64 {
	with, own := c.covaries(slope)
	sum := 0.0
	for i := range all {
		d, by := &all[i], 0.0
		for a := range parts {
			by += d.slope[a] * with[a]
		}
		sum += math.Erfc((d.mean-4)/math.Sqrt(2*max(d.variance-by*by/own, 1e-12))) / 2
	}
	return sum
}

// distance is what is left on a side between one place of a side and one of the side
// over against it: its mean and variance, and how it hangs on each part.
type distance struct {
	mean, variance float64
	slope          [parts]float64
}

// distances are all of them, nine across and nine up.
func (c *clearance) distances() (list [18]distance) {
	mean, zero := c.apart(c.mean), c.apart([parts]float64{})
	for i := range list {
		list[i].mean = mean[i]
	}
	for p := range parts {
		var unit [parts]float64
		unit[p] = 1
		for i, v := range c.apart(unit) {
			list[i].slope[p] = v - zero[i]
		}
	}
	for i := range list {
		with, _ := c.covaries(list[i].slope)
		for p, slope := range list[i].slope {
			list[i].variance += with[p] * slope
		}
	}
	return list
}

// apart is what the distances are for given parts.
func (c *clearance) apart(x [parts]float64) (list [18]float64) {
	fill := func(list []float64, low, high line, size float64) {
		for i, from := range [3]float64{low.near, low.mid, low.far} {
			for j, to := range [3]float64{high.near, high.mid, high.far} {
				list[3*i+j] = (to - from - size) / 2
			}
		}
	}
	left, right := c.jambs(&x)
	fill(list[:9], left, right, c.width)
	sill, head := c.beds(&x)
	fill(list[9:], sill, head, c.height)
	return list
}

// covaries is how what hangs on the parts by a slope covaries with each of them, and its
// own variance as a reading, with the tape's.
func (c *clearance) covaries(slope [parts]float64) (with [parts]float64, own float64) {
	own = c.noise
	for a := range parts {
		for b := range parts {
			with[a] += c.covariance[a][b] * slope[b]
		}
		own += slope[a] * with[a]
	}
	return with, own
}

// after is the covariance of the parts when one more reading is taken, whose slope is
// given.
func (c *clearance) after(slope [parts]float64) covariance {
	with, own := c.covaries(slope)
	out := c.covariance
	for a := range parts {
		for b := range parts {
			out[a][b] -= with[a] * with[b] / own
		}
	}
	return out
}

// cholesky is the lower root of a positive definite matrix.
func cholesky(m covariance) (root [parts][parts]float64) {
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
