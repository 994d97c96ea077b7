package calc

import (
	"errors"
	"math"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func mm(n int64) decimal.Decimal { return decimal.NewFromInt(n) }

func dec(s string) decimal.Decimal { return decimal.RequireFromString(s) }

func equalDec(t require.TestingT, want string, got decimal.Decimal, msg ...any) {
	if h, ok := t.(interface{ Helper() }); ok {
		h.Helper()
	}
	require.Equal(t, want, got.String(), msg...)
}

func three(a, b, c int64) [3]decimal.Decimal { return [3]decimal.Decimal{mm(a), mm(b), mm(c)} }

// A leaning opening (D): diagonals d1, d2, width W, lean
// s = |d1² − d2²| / (4W). W 1200, H 1000, 1570 and 1554 → 10.41 mm.
func TestSurveyLean(t *testing.T) {
	f, err := Survey(Readings{
		Widths: three(1200, 1200, 1200), Heights: three(1000, 1000, 1000),
		Rising: mm(1570), Falling: mm(1554),
	})
	require.NoError(t, err)
	equalDec(t, "10.41", f.Lean.Round(2))
	require.False(t, f.Assumed)
	require.Empty(t, f.Suspects)
	require.True(t, f.TopLeft.X.IsPositive(), "a longer rising diagonal leans to the right going up")
}

func TestSurveyLeanMirrored(t *testing.T) {
	f, err := Survey(Readings{
		Widths: three(1200, 1200, 1200), Heights: three(1000, 1000, 1000),
		Rising: mm(1554), Falling: mm(1570),
	})
	require.NoError(t, err)
	equalDec(t, "-10.41", f.Lean.Round(2))
}

func TestSurveyWithoutDiagonals(t *testing.T) {
	f, err := Survey(Readings{Widths: three(1190, 1205, 1210), Heights: three(1000, 1000, 1000)})
	require.NoError(t, err)
	require.True(t, f.Assumed)
	for _, c := range []struct {
		want float64
		got  decimal.Decimal
	}{{10, f.TopLeft.X}, {1200, f.TopRight.X}, {1210, f.BottomRight.X}, {2.5, f.MidLeft.X}, {1207.5, f.MidRight.X}} {
		require.InDelta(t, c.want, c.got.InexactFloat64(), 0.05, "less what the tape explains")
	}
}

// Whole-millimetre diagonals of a square opening never close exactly; it must
// still come out square.
func TestSurveySquareStaysSquare(t *testing.T) {
	f, err := Survey(Readings{
		Widths: three(1200, 1200, 1200), Heights: three(1000, 1000, 1000),
		Rising: mm(1562), Falling: mm(1562),
	})
	require.NoError(t, err)
	equalDec(t, "0", f.TopLeft.X)
	require.InDelta(t, 1200, f.TopRight.X.InexactFloat64(), 0.05)
	require.InDelta(t, 1000, f.TopRight.Y.InexactFloat64(), 0.05)
}

// Plumb jambs on a sill that falls show the same diagonals as leaning jambs
// on a level one; the fall tells them apart.
func TestSurveySillFall(t *testing.T) {
	// A plumb parallelogram: sill from (0, 0) to (1200, −12), jambs 1000 plumb.
	side := math.Hypot(1200, 12)
	fall := mm(12)
	r := Readings{Heights: three(1000, 1000, 1000), SillFall: &fall}
	for i := range r.Widths {
		r.Widths[i] = decimal.NewFromFloat(side).Round(3)
	}
	r.Rising = decimal.NewFromFloat(math.Hypot(1200, 988)).Round(3)
	r.Falling = decimal.NewFromFloat(math.Hypot(1200, 1012)).Round(3)
	f, err := Survey(r)
	require.NoError(t, err)
	require.InDelta(t, 0, f.Lean.InexactFloat64(), 0.1)
	require.InDelta(t, -12, f.BottomRight.Y.InexactFloat64(), 0.01)
	require.InDelta(t, 988, f.TopRight.Y.InexactFloat64(), 0.2)

	r.SillFall = nil
	f, err = Survey(r)
	require.NoError(t, err)
	require.InDelta(t, -10, f.Lean.InexactFloat64(), 0.1)
}

func TestSurveyRefuses(t *testing.T) {
	good := Readings{
		Widths: three(1200, 1200, 1200), Heights: three(1000, 1000, 1000),
		Rising: mm(1562), Falling: mm(1562),
	}
	_, err := Survey(good)
	require.NoError(t, err)
	steep := mm(300)
	for name, c := range map[string]struct {
		spoil   func(*Readings)
		rule    string
		reading string
	}{
		"negative":        {func(r *Readings) { r.Widths[1] = mm(-1) }, "reading_not_positive", "width.middle"},
		"zero":            {func(r *Readings) { r.Heights[2] = mm(0) }, "reading_not_positive", "height.right"},
		"too long":        {func(r *Readings) { r.Heights[0] = mm(20001) }, "reading_too_long", "height.left"},
		"one diagonal":    {func(r *Readings) { r.Falling = mm(0) }, "diagonal_alone", "diagonal.falling"},
		"other diagonal":  {func(r *Readings) { r.Rising = mm(0) }, "diagonal_alone", "diagonal.rising"},
		"long diagonal":   {func(r *Readings) { r.Rising = mm(2200) }, "reading_cannot_close", "diagonal.rising"},
		"short diagonal":  {func(r *Readings) { r.Falling = mm(200) }, "reading_cannot_close", "diagonal.falling"},
		"long side":       {func(r *Readings) { r.Heights[0] = mm(2800) }, "reading_cannot_close", "height.left"},
		"no upright":      {func(r *Readings) { r.Rising = mm(2150) }, "reading_not_upright", "diagonal.rising"},
		"middle far off":  {func(r *Readings) { r.Widths[1] = mm(700) }, "reading_not_straight", "width.middle"},
		"middle high off": {func(r *Readings) { r.Heights[1] = mm(1400) }, "reading_not_straight", "height.middle"},
		"steep sill":      {func(r *Readings) { r.SillFall = &steep }, "sill_fall_too_steep", "sill_fall"},
		"no upright, no diagonals": {func(r *Readings) {
			r.Rising, r.Falling, r.Heights[2] = mm(0), mm(0), mm(1300)
		}, "reading_not_upright", "height.right"},
	} {
		t.Run(name, func(t *testing.T) {
			r := good
			c.spoil(&r)
			_, err := Survey(r)
			require.ErrorIs(t, err, ErrImpossible)
			var refusal *RefusalError
			require.True(t, errors.As(err, &refusal))
			require.Equal(t, c.rule, refusal.Reason.Rule)
			require.Equal(t, "reading."+c.reading, refusal.Reason.Words["reading"])
		})
	}
}

func TestOutOfSquare(t *testing.T) {
	// More than 10 mm apart is out of square. Source: UK supplier guide.
	_, out := OutOfSquare(mm(1570), mm(1560))
	require.False(t, out)
	why, out := OutOfSquare(mm(1559), mm(1570))
	require.True(t, out)
	equalDec(t, "11", why.Figures["apart"])
	require.Equal(t, Read, why.Mark)
	_, out = OutOfSquare(mm(0), mm(1570))
	require.False(t, out, "not measured")
}

// opening is a true opening in floats, for measuring as a tape would.
type opening struct{ bl, br, tr, tl, left, right, sill, head [2]float64 }

func drawOpening(t *rapid.T) opening {
	f := func(lo, hi float64, name string) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	w, h := f(400, 4400, "width"), f(400, 2600, "height")
	var o opening
	o.br = [2]float64{w, 0}
	o.tl = [2]float64{f(-40, 40, "lean left"), h}
	o.tr = [2]float64{w + f(-40, 40, "lean right"), h + f(-20, 20, "head slope")}
	b := func(name string) float64 { return f(-6, 6, name) }
	mid := func(p, q [2]float64) [2]float64 { return [2]float64{(p[0] + q[0]) / 2, (p[1] + q[1]) / 2} }
	o.left, o.right, o.sill, o.head = mid(o.bl, o.tl), mid(o.br, o.tr), mid(o.bl, o.br), mid(o.tl, o.tr)
	jamb, bed := b("belly of the jambs"), b("belly of sill and head")
	o.left[0] += jamb
	o.right[0] -= jamb
	o.sill[1] += bed
	o.head[1] -= bed
	return o
}

// measured are the opening's readings rounded to some places of a millimetre.
func (o opening) measured(places int32) Readings {
	d := func(p, q [2]float64) decimal.Decimal {
		return decimal.NewFromFloat(math.Hypot(p[0]-q[0], p[1]-q[1])).Round(places)
	}
	return Readings{
		Widths:  [3]decimal.Decimal{d(o.tl, o.tr), d(o.left, o.right), d(o.bl, o.br)},
		Heights: [3]decimal.Decimal{d(o.bl, o.tl), d(o.sill, o.head), d(o.br, o.tr)},
		Rising:  d(o.bl, o.tr), Falling: d(o.tl, o.br),
	}
}

// A figure from exact readings of a true opening is that opening: the check is
// analytic geometry in floats, apart from the program's own reckoning.
func TestSurveyFindsTheTrueOpening(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := drawOpening(t)
		exact := o.measured(3)
		exact.TapeError = dec("0.001")
		f, err := Survey(exact)
		require.NoError(t, err)
		near := func(want [2]float64, got Point, name string) {
			require.InDelta(t, want[0], got.X.InexactFloat64(), 0.05, name)
			require.InDelta(t, want[1], got.Y.InexactFloat64(), 0.05, name)
		}
		near(o.br, f.BottomRight, "bottom right")
		near(o.tr, f.TopRight, "top right")
		near(o.tl, f.TopLeft, "top left")
		near(o.left, f.MidLeft, "left")
		near(o.right, f.MidRight, "right")
		near(o.sill, f.MidSill, "sill")
		near(o.head, f.MidHead, "head")
	})
}

func TestOutOfSquareNeedsBothDiagonals(t *testing.T) {
	_, out := OutOfSquare(mm(1570), mm(0))
	require.False(t, out)
}

// squareOf are the readings of a rectangle without diagonals.
func squareOf(w, h int64) Readings { return Readings{Widths: three(w, w, w), Heights: three(h, h, h)} }

func TestSurveyTakesReadingsUpToItsLimits(t *testing.T) {
	_, err := Survey(squareOf(10, 10))
	require.NoError(t, err)
	r := squareOf(20_000, 20_000)
	r.Rising, r.Falling = dec("28284.271"), dec("28284.271") // 20 000·√2
	_, err = Survey(r)
	require.NoError(t, err)

	r.Rising = mm(40_001)
	_, err = Survey(r)
	refusedBy(t, err, ErrImpossible, "reading_too_long")
	r.Rising = mm(40_000)
	_, err = Survey(r)
	refusedBy(t, err, ErrImpossible, "reading_cannot_close")
	r = squareOf(1200, 1000)
	r.Rising, r.Falling = mm(5), mm(1562)
	_, err = Survey(r)
	refusedBy(t, err, ErrImpossible, "reading_not_positive")
}

// One in five is the steepest that a side may lean. A sill that falls a fifth
// of its width is still taken, whichever end is lower.
func TestSurveyTakesASillFallUpToItsLimit(t *testing.T) {
	for fall, ok := range map[int64]bool{200: true, -200: true, 201: false, -201: false} {
		r, given := squareOf(1000, 1000), mm(fall)
		r.SillFall = &given
		f, err := Survey(r)
		if !ok {
			refusedBy(t, err, ErrImpossible, "sill_fall_too_steep")
			continue
		}
		require.NoError(t, err)
		require.False(t, f.SillLevelAssumed)
		require.InDelta(t, -fall, f.BottomRight.Y.InexactFloat64(), 0.002)
		require.InDelta(t, 1000-fall, f.TopRight.Y.InexactFloat64(), 0.002, "the right jamb is as long as the left one")
		require.Equal(t, "figure_sill_fall", f.Reasons[1].Rule)
		equalDec(t, "200", f.Reasons[1].Figures["fall"])
	}
	// A rectangle that is turned so far leans more than one in five: 200 in
	// √(1000² − 200²) = 979.8.
	r, given := squareOf(1000, 1000), mm(200)
	r.Rising, r.Falling, r.SillFall = dec("1414.214"), dec("1414.214"), &given
	_, err := Survey(r)
	refusedBy(t, err, ErrImpossible, "reading_not_upright")
}

func TestSurveyWithoutDiagonalsRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		widths, heights [3]decimal.Decimal
		rule, reading   string
	}{
		"middle width far off":  {three(1200, 700, 1200), three(1000, 1000, 1000), "reading_not_straight", "width.middle"},
		"middle height far off": {three(1200, 1200, 1200), three(1000, 1400, 1000), "reading_not_straight", "height.middle"},
		"left much longer":      {three(1300, 1300, 1300), three(1300, 1000, 1000), "reading_not_upright", "height.left"},
		"left much shorter":     {three(1200, 1200, 1200), three(700, 1000, 1000), "reading_not_upright", "height.left"},
		"top much shorter":      {three(500, 1200, 1200), three(1000, 1000, 1000), "reading_not_upright", "width.top"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Survey(Readings{Widths: c.widths, Heights: c.heights})
			require.Equal(t, "reading."+c.reading, refusedBy(t, err, ErrImpossible, c.rule).Words["reading"])
		})
	}
}

// A sill that was taken straight stays straight: the head takes all of it.
func TestSurveyWithoutDiagonalsBendsTheHead(t *testing.T) {
	f, err := Survey(Readings{Widths: three(1200, 1200, 1200), Heights: three(1000, 990, 1000)})
	require.NoError(t, err)
	equalDec(t, "0", f.MidSill.Y)
	require.InDelta(t, 990, f.MidHead.Y.InexactFloat64(), 0.05)
}

// 1200 × 900 has diagonals of 1500 (3, 4, 5). With both diagonals 2 too long the
// misclosure is 4, of which each diagonal loses a quarter and each side gains a
// quarter of it times its length over the diagonal (D).
func TestMisclosureIsSharedOut(t *testing.T) {
	r := squareOf(1200, 900)
	r.Rising, r.Falling = mm(1502), mm(1502)
	f, err := Survey(r)
	require.NoError(t, err)
	require.InDelta(t, 4, f.Misclosure.InexactFloat64(), 0.01)
	require.InDelta(t, 1200+4.0/4*1200/1500, f.TopRight.X.InexactFloat64(), 0.01)
	require.InDelta(t, 900+4.0/4*900/1500, f.TopRight.Y.InexactFloat64(), 0.01)
}

// Readings that miss each other by more than four standard deviations hold a mistake,
// which is not shared out: the sides stand as read. A reading's variance is 0.7² + 1/12,
// the misclosure's four times that: 4·2·0.757 = 6.06.
func TestAMistakeIsNotSharedOut(t *testing.T) {
	r := squareOf(1200, 900)
	for _, c := range []struct {
		apart int64
		width float64
	}{{3, 1200 + 6.0/4*1200/1500}, {4, 1200}} {
		r.Rising, r.Falling = mm(1500+c.apart), mm(1500+c.apart)
		f, err := Survey(r)
		require.NoError(t, err)
		require.InDelta(t, c.width, f.BottomRight.X.InexactFloat64(), 0.02)
	}
}

// Lean |d1² − d2²| / 4W (D): 1570 and 1553.9 on 1200 are 10.478.
func TestSurveySaysTheLeanWithoutItsSign(t *testing.T) {
	for _, d := range [][2]string{{"1570", "1553.9"}, {"1553.9", "1570"}} {
		r := squareOf(1200, 1000)
		r.Rising, r.Falling = dec(d[0]), dec(d[1])
		f, err := Survey(r)
		require.NoError(t, err)
		require.Equal(t, "figure_taped", f.Reasons[0].Rule)
		equalDec(t, "10.5", f.Reasons[0].Figures["lean"])
	}
}

// A left jamb as long as falling diagonal and sill together makes no triangle. The
// jamb is named: the other readings speak for 1000.
func TestTheFlatTriangleIsNamedByItsMistake(t *testing.T) {
	r := squareOf(1200, 1000)
	r.Heights[0], r.Rising, r.Falling = mm(2600), mm(1562), mm(1400)
	_, err := Survey(r)
	why := refusedBy(t, err, ErrImpossible, "reading_cannot_close")
	require.Equal(t, "reading.height.left", why.Words["reading"], "the other two heights are 1000")
	equalDec(t, "2600", why.Figures["value"])
}

// The usual slips with a tape: common practice, no source.
func TestUsualSlips(t *testing.T) {
	for _, c := range []struct{ now, want, slip string }{
		{"1200", "1300", "hundred"}, {"1200", "1100", "hundred"},
		{"1200", "1250", "fifty"}, {"1200", "1150", "fifty"},
		{"1200", "1210", "ten"}, {"1200", "1190", "ten"},
		{"1652", "1562", "swap"}, {"1562", "1652", "swap"},
		{"1206", "1208", "misread"}, {"1700", "1100", "misread"},
		{"1200.5", "1300.5", "hundred"},
		{"1100", "1101", ""}, // two like digits swapped are no slip
		{"1200", "1200", ""},
	} {
		kind := ""
		eachSlip(dec(c.now), func(slip string, _ float64, by int64) {
			if dec(c.now).Add(decimal.NewFromInt(by)).Equal(dec(c.want)) {
				kind = slip
			}
		})
		require.Equal(t, c.slip, kind, "%v", c)
	}
}
