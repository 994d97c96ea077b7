package calc

import (
	"cmp"
	"math"
	"slices"

	"github.com/shopspring/decimal"
)

// Suspect is a reading that may be a mistake, with the value that the others speak
// for. The likeliest comes first.
type Suspect struct {
	Reading string          // width.top, width.middle, …, height.right, diagonal.rising, diagonal.falling
	Now     decimal.Decimal // as given
	Closes  decimal.Decimal // what it was meant to be by the slip, or what the others give, whole mm
	Slip    string          // the usual slip that explains it (swap, ten, fifty, hundred, misread), or ""
	With    string          // the reading it was exchanged with, or ""
	// Chance is how likely it is that this reading is the mistake, 0 to 1, among all
	// that it may be and none at all.
	Chance float64
	// Rank is 0 for the likeliest and those about as likely; for others their place.
	Rank int
}

// otherSlip is how large a mistake of no usual kind is, mm, as a standard deviation.
const otherSlip = 60

// slipOdds is how many sound readings there are to one with a slip. With it, sound
// readings of a usual opening raise an alarm in 0.2 % (docs/simulation.md). Common
// practice, no source.
const slipOdds = 65

// oddOpening is how many openings to a usual one lean, fall or taper by more than
// usual, and oddTimes how many times more, as a standard deviation. Common practice,
// no source.
const oddOpening, oddTimes = 0.01, 4

// mostOdd limits how much an odd opening explains: no opening leans by a metre.
const mostOdd = 15

// sideOdds is how many times surer three readings of one side must be than all
// together: what is a slip comes out when the rest is there.
const sideOdds = 10

// asLikely is up to how many times likelier one suspect is than another that is
// called as likely.
const asLikely = 1.5

// Suspects are the readings that are likelier a mistake than not, given all that were
// given; a reading of zero was not. They are binary floating point: they choose
// what a person is asked, and no size depends on them.
func (r Readings) Suspects() []Suspect {
	m, ok := newMisfit(r)
	if !ok {
		return nil
	}
	none := math.Log(slipOdds)
	if !m.given[0] || !m.given[3] { // three readings of one side say little
		none += math.Log(sideOdds)
	}
	if m.mostOdds() < none {
		return nil
	}
	guesses := m.guesses(r)
	slip := math.Inf(-1)
	for _, g := range guesses {
		slip = logSum(slip, g.odds)
	}
	if slip > none { // or the opening is odd
		none = logSum(none, none+math.Log(oddOpening)+min(r.oddGain(m), mostOdd))
	}
	if slip <= none {
		return nil
	}
	slices.SortStableFunc(guesses, func(a, b guess) int { return cmp.Compare(b.odds, a.odds) })
	var out []Suspect
	for i, g := range guesses {
		g.Chance = math.Exp(g.odds - logSum(slip, none))
		if g.odds+math.Log(asLikely) < guesses[0].odds {
			g.Rank = i
		}
		if i == 0 || g.Chance > 0.01 {
			out = append(out, g.closed())
		}
	}
	return out
}

// logSum is the logarithm of the sum of two numbers whose logarithms are given.
func logSum(a, b float64) float64 {
	most, least := max(a, b), min(a, b)
	if math.IsInf(least, -1) {
		return most
	}
	return most + math.Log1p(math.Exp(least-most))
}

// guess is what a reading may have been, with the logarithm of its odds against no slip
// at all, before slipOdds.
type guess struct {
	Suspect
	odds float64
	by   float64 // what Now is to change by; nothing for readings exchanged
}

// closed is the suspect with the value that the others speak for, whole mm.
func (g guess) closed() Suspect {
	switch {
	case g.With != "":
	case g.Slip != "":
		g.Closes = g.Now.Add(decimal.NewFromInt(int64(g.by)))
	default:
		g.Closes = decimal.NewFromFloat(g.Now.InexactFloat64() + g.by).Round(0)
	}
	return g.Suspect
}

// guesses are the mistakes that each reading may be, the readings each once with the
// likeliest value.
func (m *misfit) guesses(r Readings) []guess {
	var out []guess
	names := r.named()
	for i, n := range names {
		if m.given[i] {
			out = append(out, m.guess(i, n))
		}
	}
	for _, pair := range [][2]int{{0, 1}, {0, 2}, {1, 2}, {3, 4}, {3, 5}, {4, 5}} {
		a, b := names[pair[0]], names[pair[1]]
		if m.given[pair[0]] && m.given[pair[1]] && !a.value.Equal(b.value) {
			odds := math.Log(oftenExchanged) + m.gainOfBoth(pair[0], pair[1], b.value.Sub(a.value).InexactFloat64())
			out = append(out, guess{Suspect{Reading: a.name, Now: a.value, Closes: b.value, With: b.name}, odds, 0})
		}
	}
	return out
}

// mostOdds is a bound of the logarithm of the odds of all guesses together, without
// making them. Most openings stay under it.
func (m *misfit) mostOdds() float64 {
	all := math.Log(6*oftenExchanged) + m.sum/2
	for i := range m.given {
		if m.p[i][i] > 0 {
			all = logSum(all, m.mostOddsOf(i))
		}
	}
	return all
}

// mostOddsOf bounds those of one reading: no change of it gains more than the best, and
// one by farSlip or more no more than farSlip itself, where the best is less.
func (m *misfit) mostOddsOf(i int) float64 {
	best := m.bestGain(i)
	far := best
	if math.Abs(m.off(i)) < farSlip {
		far = max(m.gain(i, farSlip), m.gain(i, -farSlip))
	}
	return logSum(math.Log(mostOftenNear)+best, math.Log(mostOftenFar)+far)
}

// notWorthAnExp is how far under the best gain, as a logarithm, a slip adds nothing.
const notWorthAnExp = -40

// guess is what reading i may have been meant to be.
func (m *misfit) guess(i int, n namedReading) guess {
	g := guess{Suspect{Reading: n.name, Now: n.value}, math.Log(oftenOther) + m.gainOfAny(i), -m.off(i)}
	top := m.bestGain(i)
	best, sum := math.Exp(g.odds-top), 0.0
	eachSlip(n.value, func(kind string, often float64, by int64) {
		gain := m.gain(i, float64(by)) - top
		if gain < notWorthAnExp {
			return
		}
		odds := often * math.Exp(gain)
		if odds > best {
			best, g.Slip, g.by = odds, kind, float64(by)
		}
		sum += odds
	})
	g.odds = logSum(g.odds, top+math.Log(sum))
	return g
}

// misfit is how badly readings fit a usual opening: the square sum Q = eᵀPe of what
// they are off by, e, after the best fit of an opening with the usual spreads.
type misfit struct {
	given [8]bool
	p     [8][8]float64
	pe    [8]float64 // P·e
	sum   float64    // eᵀPe
	noise float64    // variance of one reading, mm²
	fit   *fit
	y     [8]float64
}

// inexact is by how much what goes into probabilities is off: 1 is not at all. A test
// changes it, to show that no size moves.
var inexact = 1.0

// newMisfit is false where the readings say too little: less than three of one side.
func newMisfit(r Readings) (*misfit, bool) {
	m := &misfit{noise: float64(r.variance()) / 1e6 * inexact}
	var y [8]float64
	for i, n := range r.named() {
		m.given[i] = n.value.IsPositive()
		y[i] = n.value.InexactFloat64() * inexact
	}
	width, height := median(y[:3]), median(y[3:6])
	wide := m.given[0] && m.given[1] && m.given[2]
	high := m.given[3] && m.given[4] && m.given[5]
	if !wide && !high {
		return nil, false
	}
	if !wide || !high { // a diagonal says nothing yet
		m.given[6], m.given[7] = false, false
		width, height = max(width, 1), max(height, 1)
	}
	m.y, m.fit = y, newFit(width, height, m.given, m.noise, r)
	c := m.fit.covariance()
	e := m.fit.residuals(y, c)
	m.p = m.fit.projection(c)
	for i := range e {
		for j := range e {
			m.pe[i] += m.p[i][j] * e[j]
		}
		m.sum += e[i] * m.pe[i]
	}
	return m, true
}

// oddGain is the logarithm of how much likelier the readings are in an opening that
// leans, falls and tapers by more than is usual.
func (r Readings) oddGain(m *misfit) float64 {
	odd := newFit(m.fit.width, m.fit.height, m.given, m.noise, r)
	for _, part := range []int{ofLean, ofFall, ofTaper} {
		odd.usual[part] /= oddTimes * oddTimes
	}
	return odd.evidence(m.y) - m.fit.evidence(m.y)
}

// median of three.
func median(of []float64) float64 {
	low, high := min(of[0], of[1]), max(of[0], of[1])
	return max(low, min(high, of[2]))
}

// gain is the logarithm of how much likelier the readings are when reading i changes
// by d: half of what the square sum falls by.
func (m *misfit) gain(i int, d float64) float64 {
	return -(2*d*m.pe[i] + d*d*m.p[i][i]) / 2
}

// off is by how much reading i is too long by the others.
func (m *misfit) off(i int) float64 {
	if m.p[i][i] == 0 {
		return 0
	}
	return m.pe[i] / m.p[i][i]
}

// bestGain is the gain where reading i is what the others give.
func (m *misfit) bestGain(i int) float64 { return m.pe[i] * m.off(i) / 2 }

// gainOfAny is the gain where reading i may be off by any amount, otherSlip wide.
func (m *misfit) gainOfAny(i int) float64 {
	wide := 1 + otherSlip*otherSlip*m.p[i][i]
	return (m.pe[i]*m.pe[i]*otherSlip*otherSlip/wide - math.Log(wide)) / 2
}

// gainOfBoth is the gain where reading i rises by d and reading j falls by it.
func (m *misfit) gainOfBoth(i, j int, d float64) float64 {
	return -(2*d*(m.pe[i]-m.pe[j]) + d*d*(m.p[i][i]+m.p[j][j]-2*m.p[i][j])) / 2
}

// Prefers is how likely it is, 0 to 1, that another value is right for a reading
// rather than the one it has, by all other readings; even where they say nothing.
func (r Readings) Prefers(reading string, other decimal.Decimal) float64 {
	m, ok := newMisfit(r)
	if !ok {
		return 0.5
	}
	for i, n := range r.named() {
		if n.name == reading && m.given[i] {
			return 1 / (1 + math.Exp(-m.gain(i, other.Sub(n.value).InexactFloat64())))
		}
	}
	return 0.5
}
