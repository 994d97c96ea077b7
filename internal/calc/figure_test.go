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
	require.True(t, NeedsSillFall(f))
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
	require.False(t, NeedsSillFall(f), "nothing is known of the lean")
	equalDec(t, "10", f.TopLeft.X)
	equalDec(t, "1200", f.TopRight.X)
	equalDec(t, "1210", f.BottomRight.X)
	equalDec(t, "2.5", f.MidLeft.X)
	equalDec(t, "1207.5", f.MidRight.X)
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
	equalDec(t, "1200", f.TopRight.X)
	equalDec(t, "1000", f.TopRight.Y)
	require.False(t, NeedsSillFall(f))
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
	require.False(t, NeedsSillFall(f), "it was given")

	r.SillFall = nil
	f, err = Survey(r)
	require.NoError(t, err)
	require.InDelta(t, -10, f.Lean.InexactFloat64(), 0.1)
	require.True(t, NeedsSillFall(f))
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
		f, err := Survey(o.measured(3))
		require.NoError(t, err)
		require.Empty(t, f.Suspects)
		near := func(want [2]float64, got Point, name string) {
			// 0.15: a shortening under 0.1 is left out, and the readings are
			// rounded.
			require.InDelta(t, want[0], got.X.InexactFloat64(), 0.15, name)
			require.InDelta(t, want[1], got.Y.InexactFloat64(), 0.15, name)
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

// Readings to the millimetre close within the tolerance.
func TestSurveyToleranceCoversTheTape(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, err := Survey(drawOpening(t).measured(0))
		require.NoError(t, err)
		require.Empty(t, f.Suspects)
	})
}

func TestOutOfSquareNeedsBothDiagonals(t *testing.T) {
	_, out := OutOfSquare(mm(1570), mm(0))
	require.False(t, out)
}

func TestWhenTheSillFallIsAskedFor(t *testing.T) {
	for lean, want := range map[string]bool{"4.999": false, "5": true, "-5": true} {
		require.Equal(t, want, NeedsSillFall(Figure{SillLevelAssumed: true, Lean: dec(lean)}), lean)
	}
	require.False(t, NeedsSillFall(Figure{Lean: mm(9)}), "it was given")
	require.False(t, NeedsSillFall(Figure{Assumed: true, SillLevelAssumed: true, Lean: mm(9)}), "no diagonals")
	require.False(t, NeedsSillFall(Figure{SillLevelAssumed: true, Lean: mm(9), Suspects: make([]Suspect, 1)}), "a reading is doubted")
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
		equalDec(t, mm(-fall).String(), f.BottomRight.Y)
		equalDec(t, mm(1000-fall).String(), f.TopRight.Y, "the right jamb is as long as the left one")
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
	equalDec(t, "990", f.MidHead.Y)
}

// 1200 × 900 has diagonals of 1500 (3, 4, 5). With a top width read 10 too
// long the figure misses by 10; the tape explains 2·√(Σ of the squares)/bottom:
// 2·√(1200² + 1200² + 900² + 900² + 1500² + 1500²)/1200 = 5 when it closes.
func TestMisclosureAndTolerance(t *testing.T) {
	r := squareOf(1200, 900)
	r.Rising, r.Falling = mm(1500), mm(1500)
	f, err := Survey(r)
	require.NoError(t, err)
	equalDec(t, "0", f.Misclosure)
	equalDec(t, "5", f.Tolerance)

	r.Widths[0] = mm(1210)
	f, err = Survey(r)
	require.NoError(t, err)
	equalDec(t, "10", f.Misclosure)
	// The middle width, 1200, is the mean of 1200 and 1200 as of 1210 and 1190;
	// it says nothing of the diagonals, and against another jamb.
	var order []string
	var ranks []int
	for _, s := range f.Suspects {
		order, ranks = append(order, s.Reading), append(ranks, s.Rank)
	}
	require.Equal(t, []string{"width.bottom", "width.top", "diagonal.rising", "diagonal.falling", "height.left", "height.right"}, order)
	require.Equal(t, []int{0, 0, 2, 2, 4, 4}, ranks)
	equalDec(t, "1200", f.Suspects[1].Closes)
	r.Widths[0] = mm(1190)
	f, err = Survey(r)
	require.NoError(t, err)
	equalDec(t, "-10", f.Misclosure)
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

// A left jamb as long as falling diagonal and sill together makes no triangle,
// and of the three in that one the diagonal is named, with its figure.
func TestTheFlatTriangleIsNamedByItsDiagonal(t *testing.T) {
	r := squareOf(1200, 1000)
	r.Heights[0], r.Rising, r.Falling = mm(2600), mm(1562), mm(1400)
	_, err := Survey(r)
	why := refusedBy(t, err, ErrImpossible, "reading_cannot_close")
	require.Equal(t, "reading.diagonal.falling", why.Words["reading"])
	equalDec(t, "1400", why.Figures["value"])
}

// On straight sides the middle reading is the mean of the outer two; 4 mm, two
// tape errors, are not told apart.
func TestWhatTheMiddleReadingSays(t *testing.T) {
	for _, c := range []struct {
		now, fellow, middle int64
		closes              string
		want                int
	}{
		{1210, 1200, 1200, "1200", 0},
		{1210, 1200, 1200, "1206", 1}, // 6 and 4 are no less than 10
		{1210, 1200, 1200, "1205.9", 0},
		{1210, 1200, 1200, "1212", 1},
		{1200, 1200, 1200, "1210", 2},
		{1200, 1200, 1200, "1204", 1},
		{1200, 1200, 1200, "1204.1", 2},
		{1200, 1200, 1200, "1202", 1},
		{1190, 1210, 1200, "1200", 2},
	} {
		for name, r := range map[string]Readings{
			"width.top":    {Widths: three(c.now, c.middle, c.fellow)},
			"width.bottom": {Widths: three(c.fellow, c.middle, c.now)},
			"height.left":  {Heights: three(c.now, c.middle, c.fellow)},
			"height.right": {Heights: three(c.fellow, c.middle, c.now)},
		} {
			require.Equal(t, c.want, r.middleSays(name, dec(c.closes)), "%s %v", name, c)
		}
	}
	require.Equal(t, 1, squareOf(1200, 1000).middleSays("diagonal.rising", mm(1)))
}

// The usual slips with a tape: common practice, no source.
func TestUsualSlips(t *testing.T) {
	for _, c := range []struct{ now, want, within, slip string }{
		{"1200", "1300", "2", "hundred"}, {"1200", "1100", "2", "hundred"},
		{"1200", "1250", "2", "fifty"}, {"1200", "1150", "2", "fifty"},
		{"1200", "1210", "2", "ten"}, {"1200", "1190", "2", "ten"},
		{"1652", "1562", "2", "swap"}, {"1562", "1652", "2", "swap"},
		{"1206", "1208", "1", "misread"}, {"1700", "1100", "2", "misread"},
		{"1200", "1302", "2", "hundred"}, {"1200", "1302.1", "2", ""},
		{"1200.5", "1300.5", "0", "hundred"},
		{"1100", "1101", "2", ""}, // two like digits swapped are no slip
		{"1200", "1200", "2", ""},
	} {
		require.Equal(t, c.slip, usualSlip(dec(c.now), dec(c.want), dec(c.within)), "%v", c)
	}
}
