package calc

import "math"

// The fit of a usual opening to readings, for probabilities only: binary floating
// point, millimetres.

// The usual spreads of an opening in brick, mm, as standard deviations, for telling
// what is usual from what is a mistake. Common practice, no source.
const (
	usualLean, usualFall, usualTaper, usualBelly = 3, 2, 2, 2
	// A sill that nobody levelled.
	usualSill = 3
)

// What an opening is made of, besides its width and height.
const (
	ofWidth = iota
	ofHeight
	ofLean
	ofFall // of the head against the sill
	ofTaper
	ofBellyWidth
	ofBellyHeight
	ofSill // how much lower the sill's right end is, where nobody measured it
	parts
)

// fit is a linear model of the eight readings near a rectangle.
type fit struct {
	width, height float64
	sill          float64 // as measured
	slope         [8][parts]float64
	weight        [8]float64     // 1/variance; 0: not given
	usual         [parts]float64 // 1/variance of each part; 0: it may be anything
}

// newFit is the model near a rectangle of that size.
func newFit(width, height float64, given [8]bool, noise float64, r Readings) *fit {
	f := &fit{width: width, height: height}
	f.usual = [parts]float64{
		ofLean: 1 / float64(usualLean*usualLean), ofFall: 1 / float64(usualFall*usualFall), ofTaper: 1 / float64(usualTaper*usualTaper),
		ofBellyWidth: 1 / float64(usualBelly*usualBelly), ofBellyHeight: 1 / float64(usualBelly*usualBelly), ofSill: 1 / float64(usualSill*usualSill),
	}
	if r.SillFall != nil {
		f.sill = r.SillFall.InexactFloat64()
		f.usual[ofSill] = 1e12
	}
	d := math.Hypot(width, height)
	w, h := width/d, height/d
	f.slope = [8][parts]float64{
		{1, 0, 0, 0, .5, 0, 0, 0}, {1, 0, 0, 0, 0, 1, 0, 0}, {1, 0, 0, 0, -.5, 0, 0, 0},
		{0, 1, 0, .5, 0, 0, 0, 0}, {0, 1, 0, 0, 0, 0, 1, 0}, {0, 1, 0, -.5, 0, 0, 0, 0},
		{w, h, w, -h / 2, 0, 0, 0, -h}, {w, h, -w, h / 2, 0, 0, 0, h},
	}
	for i := range given {
		if given[i] {
			f.weight[i] = 1 / noise
		}
	}
	return f
}

// residuals are what the readings are off the rectangle by, with what its corners
// make the diagonals differ by from the linear model put right in a second step.
func (f *fit) residuals(y [8]float64, c *covariance) [8]float64 {
	d := math.Hypot(f.width, f.height)
	base := [8]float64{f.width, f.width, f.width, f.height, f.height, f.height, d, d}
	var e [8]float64
	for i := range e {
		if f.weight[i] > 0 {
			e[i] = y[i] - base[i] - f.slope[i][ofSill]*f.sill
		}
	}
	x := f.solve(e, c)
	for i, side := range []float64{1, -1} { // rising, falling
		at := 6 + i
		if f.weight[at] == 0 {
			continue
		}
		sill := f.sill + x[ofSill]
		across := f.width + x[ofWidth] + side*x[ofLean]
		up := f.height + x[ofHeight] - side*(x[ofFall]/2+sill)
		linear := d + f.slope[at][ofSill]*f.sill
		for p := range x {
			linear += f.slope[at][p] * x[p]
		}
		e[at] -= math.Hypot(across, up) - linear
	}
	return e
}

// own is the fit with the spreads of this opening: where it leans, falls or bellies by
// more than is usual, it is not drawn back to what is usual.
func (f *fit) own(y [8]float64) *fit {
	wide := *f
	for p := ofLean; p < ofSill; p++ {
		wide.usual[p] /= 100
	}
	c := wide.covariance()
	x := wide.solve(wide.residuals(y, c), c)
	out := *f
	for p := ofLean; p < ofSill; p++ {
		out.usual[p] = min(f.usual[p], 1/max(x[p]*x[p], 1e-6))
	}
	return &out
}

// normal is the matrix of the normal equations: AᵀWA and the usual spreads.
func (f *fit) normal() [parts][parts]float64 {
	var n [parts][parts]float64
	for i := range f.slope {
		if f.weight[i] == 0 {
			continue
		}
		for a := range parts {
			if f.slope[i][a] == 0 {
				continue
			}
			for b := range parts {
				n[a][b] += f.slope[i][a] * f.slope[i][b] * f.weight[i]
			}
		}
	}
	for a := range parts {
		n[a][a] += f.usual[a] + 1e-9 // what no reading speaks of
	}
	return n
}

// covariance is that of the parts, given the readings, mm².
type covariance [parts][parts]float64

func (f *fit) covariance() *covariance {
	c := covariance(inverse(f.normal()))
	return &c
}

// solve gives the parts that fit the residuals best.
func (f *fit) solve(e [8]float64, c *covariance) [parts]float64 {
	var pull, x [parts]float64
	for i := range e {
		for b := range parts {
			pull[b] += f.slope[i][b] * f.weight[i] * e[i]
		}
	}
	for a := range parts {
		for b := range parts {
			x[a] += c[a][b] * pull[b]
		}
	}
	return x
}

// projection is W − WA(AᵀWA+S)⁻¹AᵀW: the square sum of residuals e after the best fit
// is eᵀPe.
func (f *fit) projection(c *covariance) [8][8]float64 {
	var p [8][8]float64
	for i := range 8 {
		if f.weight[i] == 0 {
			continue
		}
		var ac [parts]float64
		for a := range parts {
			for b := range parts {
				ac[b] += f.slope[i][a] * c[a][b]
			}
		}
		for j := range 8 {
			if f.weight[j] == 0 {
				continue
			}
			for b := range parts {
				p[i][j] -= f.weight[i] * ac[b] * f.slope[j][b] * f.weight[j]
			}
		}
		p[i][i] += f.weight[i]
	}
	return p
}

// evidence is the logarithm of how likely the readings are, up to what is the same for
// every fit of them.
func (f *fit) evidence(y [8]float64) float64 {
	c := f.covariance()
	e, p := f.residuals(y, c), f.projection(c)
	sum := 0.0
	for i := range e {
		for j := range e {
			sum -= e[i] * p[i][j] * e[j]
		}
	}
	for _, usual := range f.usual {
		if usual > 0 {
			sum += math.Log(usual)
		}
	}
	return (sum - logDeterminant(f.normal())) / 2
}

// logDeterminant is the logarithm of a positive definite matrix's determinant.
func logDeterminant(n [parts][parts]float64) float64 {
	sum := 0.0
	for i := range parts {
		sum += math.Log(n[i][i])
		for j := i + 1; j < parts; j++ {
			factor := n[j][i] / n[i][i]
			for k := i; k < parts; k++ {
				n[j][k] -= factor * n[i][k]
			}
		}
	}
	return sum
}

// inverse of a positive definite matrix, by elimination.
func inverse(n [parts][parts]float64) [parts][parts]float64 {
	var out [parts][parts]float64
	for i := range parts {
		out[i][i] = 1
	}
	for i := range parts {
		pivot := 1 / n[i][i]
		for k := range parts {
			n[i][k] *= pivot
			out[i][k] *= pivot
		}
		for j := range parts {
			if j == i || n[j][i] == 0 {
				continue
			}
			factor := n[j][i]
			for k := range parts {
				n[j][k] -= factor * n[i][k]
				out[j][k] -= factor * out[i][k]
			}
		}
	}
	return out
}
