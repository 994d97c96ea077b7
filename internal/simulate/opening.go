package main

import (
	"math"
	"math/rand/v2"
	"strconv"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// point is a place in mm.
type point struct{ x, y float64 }

func (p point) to(q point) float64 { return math.Hypot(q.x-p.x, q.y-p.y) }

func between(p, q point) point { return point{(p.x + q.x) / 2, (p.y + q.y) / 2} }

// opening is a true opening in mm, the sill's middle at the origin.
type opening struct {
	width, height     float64
	lean, fall, taper float64 // fall: of the head against the sill
	wider, higher     float64 // bellies of the middle width and height
	sill              float64 // how much lower the sill's right end is
}

// spread says how an opening may be out of a rectangle, as standard deviations in mm.
type spread struct{ lean, fall, taper, belly, sill float64 }

var (
	perfect    = spread{}
	mild       = spread{lean: 3, fall: 2, taper: 2, belly: 2}
	unmeasured = spread{lean: 3, fall: 2, taper: 2, belly: 2, sill: 3}
)

func draw(r *rand.Rand, s spread) opening {
	side := func() float64 { return 500 + 950*r.Float64() }
	return opening{
		width: side(), height: side(),
		lean: s.lean * r.NormFloat64(), fall: s.fall * r.NormFloat64(), taper: s.taper * r.NormFloat64(),
		wider: s.belly * r.NormFloat64(), higher: s.belly * r.NormFloat64(), sill: s.sill * r.NormFloat64(),
	}
}

// corners are bottom left, bottom right, top right, top left.
func (o opening) corners() [4]point {
	top, bottom := o.width+o.taper/2, o.width-o.taper/2
	return [4]point{
		{-bottom / 2, o.sill / 2}, {bottom / 2, -o.sill / 2},
		{o.lean + top/2, o.height - o.fall/2 - o.sill/2}, {o.lean - top/2, o.height + o.fall/2 + o.sill/2},
	}
}

// middles are those of the left jamb, the right jamb, the sill and the head.
func (o opening) middles() [4]point {
	c := o.corners()
	left, right, sill, head := between(c[0], c[3]), between(c[1], c[2]), between(c[0], c[1]), between(c[3], c[2])
	left.x -= o.wider / 2
	right.x += o.wider / 2
	sill.y -= o.higher / 2
	head.y += o.higher / 2
	return [4]point{left, right, sill, head}
}

// measured are the eight readings in the order of names, each with an error of the
// tape and rounded to a whole millimetre.
func (o opening) measured(r *rand.Rand, tape float64) [8]int64 {
	c, m := o.corners(), o.middles()
	exact := [8]float64{
		c[3].to(c[2]), m[0].to(m[1]), c[0].to(c[1]),
		c[0].to(c[3]), m[2].to(m[3]), c[1].to(c[2]),
		c[0].to(c[2]), c[3].to(c[1]),
	}
	var out [8]int64
	for i, v := range exact {
		out[i] = int64(math.Round(v + tape*r.NormFloat64()))
	}
	return out
}

var names = [8]string{
	"width.top", "width.middle", "width.bottom", "height.left", "height.middle", "height.right", "diagonal.rising", "diagonal.falling",
}

// readings are the figures as the program takes them; level says that the sill was
// found level.
func readings(y [8]int64, level bool) calc.Readings {
	mm := decimal.NewFromInt
	r := calc.Readings{
		Widths: [3]decimal.Decimal{mm(y[0]), mm(y[1]), mm(y[2])}, Heights: [3]decimal.Decimal{mm(y[3]), mm(y[4]), mm(y[5])},
		Rising: mm(y[6]), Falling: mm(y[7]),
	}
	if level {
		r.SillFall = &decimal.Zero
	}
	return r
}

// left is the least distance of a frame of that size, upright, level and centred in
// the largest room, to the true sides, mm: at the jambs, and at sill and head.
func (o opening) left(width, height float64) (jambs, level float64) {
	c, m := o.corners(), o.middles()
	rest := frame{left: m[0].x, right: m[1].x, bottom: m[2].y, top: m[3].y}
	for range 8 {
		rest = frame{
			left: max(at(c[0], m[0], c[3], rest.bottom), at(c[0], m[0], c[3], rest.top), m[0].x), right: min(at(c[1], m[1], c[2], rest.bottom), at(c[1], m[1], c[2], rest.top), m[1].x),
			bottom: max(up(c[0], m[2], c[1], rest.left), up(c[0], m[2], c[1], rest.right), m[2].y), top: min(up(c[3], m[3], c[2], rest.left), up(c[3], m[3], c[2], rest.right), m[3].y),
		}
	}
	x, y := (rest.left+rest.right)/2, (rest.bottom+rest.top)/2
	f := frame{x - width/2, x + width/2, y - height/2, y + height/2}
	jambs = min(f.left-max(at(c[0], m[0], c[3], f.bottom), at(c[0], m[0], c[3], f.top), m[0].x), min(at(c[1], m[1], c[2], f.bottom), at(c[1], m[1], c[2], f.top), m[1].x)-f.right)
	level = min(f.bottom-max(up(c[0], m[2], c[1], f.left), up(c[0], m[2], c[1], f.right), m[2].y), min(up(c[3], m[3], c[2], f.left), up(c[3], m[3], c[2], f.right), m[3].y)-f.top)
	return jambs, level
}

type frame struct{ left, right, bottom, top float64 }

// at is where a jamb of two straight pieces stands at a height.
func at(a, m, b point, y float64) float64 {
	if y > m.y {
		a, m = m, b
	}
	return a.x + (m.x-a.x)*(y-a.y)/(m.y-a.y)
}

// up is where a sill or head of two straight pieces stands at a place across.
func up(a, m, b point, x float64) float64 {
	if x > m.x {
		a, m = m, b
	}
	return a.y + (m.y-a.y)*(x-a.x)/(m.x-a.x)
}

// slip spoils a reading.
type slip func(r *rand.Rand, y *[8]int64, i int)

func by(mm int64) slip {
	return func(r *rand.Rand, y *[8]int64, i int) { y[i] += mm * int64(2*r.IntN(2)-1) }
}

// swapped exchanges two neighbouring digits that differ.
func swapped(r *rand.Rand, y *[8]int64, i int) {
	digits := []byte(strconv.FormatInt(y[i], 10))
	var places []int
	for k := range len(digits) - 1 {
		if digits[k] != digits[k+1] && (k > 0 || digits[1] != '0') {
			places = append(places, k)
		}
	}
	if len(places) == 0 {
		return
	}
	k := places[r.IntN(len(places))]
	digits[k], digits[k+1] = digits[k+1], digits[k]
	y[i], _ = strconv.ParseInt(string(digits), 10, 64)
}
