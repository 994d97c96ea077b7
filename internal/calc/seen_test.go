package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
)

func suspected(r Readings) (names []string) {
	for _, s := range r.Suspects() {
		names = append(names, s.Reading)
	}
	return names
}

// Three readings of one side may show a slip; two of the other say nothing of it, and a
// diagonal nothing until all six sides are there.
func TestTwoReadingsOfASideSayNothing(t *testing.T) {
	require.Equal(t, []string{"width.middle"}, suspected(Readings{Widths: three(1200, 1300, 1200)}))
	require.Equal(t, []string{"height.middle"}, suspected(Readings{Heights: three(1000, 1300, 1000)}))
	// 1200 × 1000 has diagonals of 1562.05.
	for _, short := range [][3]decimal.Decimal{three(1000, 1000, 0), three(1000, 0, 1000), three(0, 1000, 1000)} {
		r := Readings{Widths: three(1200, 1200, 1200), Heights: short, Rising: mm(1562), Falling: mm(1700)}
		require.Empty(t, r.Suspects(), "%v", short)
		r = Readings{Widths: short, Heights: three(1200, 1200, 1200), Rising: mm(1562), Falling: mm(1700)}
		require.Empty(t, r.Suspects(), "%v", short)
	}
	r := Readings{Widths: three(1200, 1200, 1200), Heights: three(1000, 1000, 1000), Rising: mm(1562), Falling: mm(1700)}
	require.Equal(t, "diagonal.falling", suspected(r)[0])
}

// Suspects that are about as likely stand together, up to one and a half times: with the
// right jamb 10 mm longer either may be the slip, with 15 the left is twice as likely.
func TestSuspectsAboutAsLikelyStandTogether(t *testing.T) {
	ranks := func(right int64) (ranks []int) {
		r := Readings{Widths: three(1200, 1200, 1200), Heights: [3]decimal.Decimal{mm(1000), mm((1000 + right) / 2), mm(right)}}
		for _, s := range r.Suspects() {
			ranks = append(ranks, s.Rank)
		}
		return ranks
	}
	require.Equal(t, []int{0, 0}, ranks(1010))
	require.Equal(t, []int{0, 1}, ranks(1020))
}

// An opening that leans, all of whose readings agree, is rather odd than measured wrong:
// 60 mm in a metre. At 100 a slip is likelier.
func TestAnOddOpeningIsNoMistake(t *testing.T) {
	leaning := func(lean float64) Readings {
		half := lean / 2
		return opening{
			br: [2]float64{1200, 0}, tl: [2]float64{lean, 1000}, tr: [2]float64{1200 + lean, 1000},
			left: [2]float64{half, 500}, right: [2]float64{1200 + half, 500}, sill: [2]float64{600, 0}, head: [2]float64{600 + lean, 1000},
		}.measured(0)
	}
	for _, lean := range []float64{20, 40, 60} {
		require.Empty(t, leaning(lean).Suspects(), "%v", lean)
	}
	require.NotEmpty(t, leaning(100).Suspects())
}

// Where no reading is likely a slip, the side that differs most from its middle one is
// named.
func TestAFigureThatLeansTooMuchNamesTheOddSide(t *testing.T) {
	for _, c := range []struct {
		widths, heights [3]decimal.Decimal
		rising, falling int64
		fall            int64
		names           string
	}{
		{three(485, 482, 479), three(1162, 1156, 1151), 0, 0, 89, "height.left"},
		{three(1032, 1040, 1047), three(310, 311, 313), 1030, 1139, 0, "width.top"},
		{three(535, 541, 547), three(814, 812, 811), 0, 0, 108, "width.bottom"},
	} {
		r := Readings{Widths: c.widths, Heights: c.heights, Rising: mm(c.rising), Falling: mm(c.falling)}
		if c.fall != 0 {
			fall := mm(c.fall)
			r.SillFall = &fall
		}
		require.Empty(t, r.Suspects())
		_, err := Survey(r)
		require.Equal(t, "reading."+c.names, refusedBy(t, err, ErrImpossible, "reading_not_upright").Words["reading"])
	}
}

// A level says how the sill lies: what follows from it is derived, what is taken for
// given of the sides goes as far as the tape.
func TestTheMarksOfAFigure(t *testing.T) {
	marks := func(r Readings) map[string]Mark {
		f, err := Survey(r)
		require.NoError(t, err)
		out := map[string]Mark{}
		for _, why := range f.Reasons {
			out[why.Rule] = why.Mark
		}
		return out
	}
	r := squareOf(1200, 1000)
	require.Equal(t, map[string]Mark{"figure_assumed": tapeMark, "figure_sill_level": tapeMark}, marks(r))
	level, fall := mm(0), mm(4)
	r.SillFall = &level
	require.Equal(t, map[string]Mark{"figure_assumed": tapeMark, "figure_sill_measured_level": Derived}, marks(r))
	r.SillFall = &fall
	require.Equal(t, map[string]Mark{"figure_assumed": tapeMark, "figure_sill_fall": Derived}, marks(r))
}

// Behind a check a frame that is moved to one side covers less on the other: 10 mm are
// asked of a cover (sealant guidance, S), and 16 off the left jamb behind leave 9 of 25.
func TestAMovedFrameCoversLess(t *testing.T) {
	req := plain(1200, 1000, PVCUWhite)
	req.Finish, req.Inner = Check, size("1270", "1050")
	o := mustOrder(t, req)
	short := func(o Order) (sides []string) {
		for _, w := range o.Warnings {
			if w.Rule == coverShort {
				sides = append(sides, w.Words["side"])
			}
		}
		return sides
	}
	require.Empty(t, short(o))
	require.Empty(t, short(o.TightTo(Left, mm(15))))
	moved := o.TightTo(Left, mm(16))
	require.Equal(t, []string{"side.left"}, short(moved))
	require.Empty(t, short(moved.TightTo(Left, mm(15))), "moved back")
}

// A reading that is less than the others give is short, one that is more is long.
func TestAMistakeIsShortOrLong(t *testing.T) {
	for top, want := range map[int64]string{1190: "off.short", 1210: "off.long"} {
		req := plain(1200, 900, PVCUWhite)
		req.Readings.Rising, req.Readings.Falling, req.Readings.Widths[0] = mm(1500), mm(1500), mm(top)
		w := mustOrder(t, req).Warnings[0]
		require.Equal(t, "misclosure_slip", w.Rule)
		require.Equal(t, want, w.Words["off"])
	}
}
