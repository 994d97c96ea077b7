package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// wideHead is an opening 1210 × 1010 whose head stands over a frame that came low.
func wideHead(t require.TestingT, height string) Order {
	o, err := OrderSize(plain(1210, 1010, PVCUWhite))
	require.NoError(t, err)
	o, err = o.Refit(size("1200", height), "")
	require.NoError(t, err)
	return o.TightTo(Sill, dec("5"))
}

// The largest gap is 10 mm under 3 m (R, gaps article; TG 6.7/01:2017). A gap at the
// head too wide for sealant: a trim cut to cover it (C).
func TestATrimCoversAWideGap(t *testing.T) {
	p, err := GapTrim(wideHead(t, "980"), Head, DefaultTrimSettings())
	require.NoError(t, err)
	require.True(t, p.Needed)
	same(t, "25", p.Most)
	same(t, "35", p.Cover) // and a lap of 10
	same(t, "40", p.Width)
	same(t, "1210", p.Length)
	same(t, "20", p.Extension) // 15 leaves 10, 20 leaves the table's 5 (R)
	same(t, "5", p.Leaves[0])
	require.Equal(t, []string{"trim_needed", "trim_extension", "trim_width"}, rules(p.Reasons))

	p, err = GapTrim(wideHead(t, "995"), Head, DefaultTrimSettings())
	require.NoError(t, err)
	require.False(t, p.Needed, "10 mm is the most, and is not over it")
	require.Equal(t, []string{"trim_none"}, rules(p.Reasons))
	require.True(t, p.Extension.IsZero())

	p, err = GapTrim(wideHead(t, "905"), Head, DefaultTrimSettings())
	require.NoError(t, err)
	require.Equal(t, []string{"trim_needed", "trim_no_extension", "trim_too_wide"}, rules(p.Reasons), "100 mm")
}

func TestTrimsAtJambs(t *testing.T) {
	o, err := OrderSize(plain(1210, 1010, PVCUWhite))
	require.NoError(t, err)
	o, err = o.Refit(size("1180", "1000"), "")
	require.NoError(t, err)
	for _, side := range []Side{Left, Right} {
		p, err := GapTrim(o, side, DefaultTrimSettings())
		require.NoError(t, err)
		same(t, "15", p.Most)
		same(t, "1010", p.Length)
		same(t, "10", p.Extension)
	}
	p, err := GapTrim(o, Sill, DefaultTrimSettings())
	require.NoError(t, err)
	same(t, "1210", p.Length)
}

func TestTrimsRefuse(t *testing.T) {
	req := plain(1210, 1010, PVCUWhite)
	req.Finish = Check
	o, err := OrderSize(req)
	require.NoError(t, err)
	_, err = GapTrim(o, Head, DefaultTrimSettings())
	refusedBy(t, err, ErrImpossible, "trim_check")
	_, err = GapTrim(wideHead(t, "980"), Head, TrimSettings{})
	refusedBy(t, err, ErrImpossible, "trim_settings")
}

// An extension never leaves less than the table asks for, nor more than the largest
// gap (R, both), where the opening leans too.
func TestAnExtensionLeavesARightGap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, o, ok := anyOrder(t)
		if !ok || o.Finish == Check {
			return
		}
		again, err := o.Refit(Size{o.Size.Width.Sub(mm(rapid.Int64Range(0, 90).Draw(t, "narrower"))), o.Size.Height.Sub(mm(rapid.Int64Range(0, 90).Draw(t, "lower")))}, "")
		if err != nil {
			return
		}
		for _, side := range allSides {
			p, err := GapTrim(again, side, DefaultTrimSettings())
			require.NoError(t, err)
			require.True(t, p.Width.IsZero() || p.Width.GreaterThanOrEqual(p.Most.Add(mm(10))))
			if p.Extension.IsPositive() {
				require.True(t, p.Needed)
				require.True(t, p.Leaves[0].GreaterThanOrEqual(o.Gap[side].Sub(dec("0.25"))), "%v", p)
				require.True(t, p.Leaves[1].LessThanOrEqual(dec("10.5")), "half a millimetre may be rounding's: %v", p)
			}
		}
	})
}

func TestCutList(t *testing.T) {
	for _, c := range []struct {
		pieces       []string
		stock, kerf  string
		bars         int
		rests, first string
	}{
		{nil, "5000", "3", 0, "", ""},
		{[]string{"5000"}, "5000", "3", 1, "0", "5000"},
		{[]string{"2500", "2500"}, "5000", "0", 1, "0", "2500"},
		{[]string{"2500", "2500"}, "5000", "3", 2, "2497", "2500"}, // the cut takes the room of the second
		{[]string{"2498", "2499"}, "5000", "3", 1, "0", "2499"},
		// Longest first takes three: 45 and 41, then 35, 34 and 25, then 20.
		{[]string{"45", "35", "20", "41", "34", "25"}, "100", "0", 2, "0", ""},
	} {
		bars, fewest, err := CutList(dxs(c.pieces...), dec(c.stock), dec(c.kerf))
		require.NoError(t, err)
		require.Len(t, bars, c.bars, "%v", c)
		require.True(t, fewest)
		if c.bars > 0 {
			same(t, c.rests, bars[0].Rest)
		}
		if c.first != "" {
			same(t, c.first, bars[0].Pieces[0])
		}
	}
	for rule, c := range map[string]struct {
		kind        error
		piece, kerf string
	}{
		"cut_stock": {ErrImpossible, "10", "-1"}, "trim_piece": {ErrImpossible, "0", "3"}, "trim_long": {ErrBeyondTable, "5000.1", "3"},
	} {
		_, _, err := CutList(dxs(c.piece), mm(5000), dec(c.kerf))
		refusedBy(t, err, c.kind, rule)
	}
}

// fewestByTrying puts the pieces into bars in every way.
func fewestByTrying(pieces []int, left []int, stock, kerf int) int {
	if len(pieces) == 0 {
		return len(left)
	}
	best := len(left) + len(pieces)
	for i := range left {
		if left[i] >= pieces[0]+kerf {
			left[i] -= pieces[0] + kerf
			best = min(best, fewestByTrying(pieces[1:], left, stock, kerf))
			left[i] += pieces[0] + kerf
		}
	}
	return min(best, fewestByTrying(pieces[1:], append(left, stock-pieces[0]), stock, kerf))
}

func TestCutListIsTheFewest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kerf := rapid.IntRange(0, 5).Draw(t, "kerf")
		lengths := rapid.SliceOfN(rapid.IntRange(1, 100), 0, 7).Draw(t, "pieces")
		var pieces []decimal.Decimal
		for _, l := range lengths {
			pieces = append(pieces, count(l))
		}
		bars, fewest, err := CutList(pieces, mm(100), count(kerf))
		require.NoError(t, err)
		require.True(t, fewest)
		require.Len(t, bars, fewestByTrying(lengths, nil, 100, kerf))
		cutAll(t, pieces, bars, mm(100), count(kerf))
	})
}

// cutAll asserts that the bars hold every piece once, with a kerf between each two.
func cutAll(t require.TestingT, pieces []decimal.Decimal, bars []Bar, stock, kerf decimal.Decimal) {
	var cut []decimal.Decimal
	for _, b := range bars {
		used := total(b.Pieces).Add(kerf.Mul(count(len(b.Pieces) - 1)))
		require.True(t, used.LessThanOrEqual(stock))
		require.True(t, b.Rest.Equal(decimal.Max(decimal.Zero, stock.Sub(used).Sub(kerf))))
		cut = append(cut, b.Pieces...)
	}
	require.Equal(t, len(pieces), len(cut))
	want, got := longestFirst(pieces), longestFirst(cut)
	for i := range want {
		require.True(t, want[i].Equal(got[i]))
	}
}

func TestALongCutListIsCutToo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var pieces []decimal.Decimal
		for _, l := range rapid.SliceOfN(rapid.IntRange(200, 2500), 15, 40).Draw(t, "pieces") {
			pieces = append(pieces, count(l))
		}
		bars, _, err := CutList(pieces, mm(5000), mm(3))
		require.NoError(t, err)
		cutAll(t, pieces, bars, mm(5000), mm(3))
	})
}

// Twice 1500.0001 is 3000.0002, more than 3000 however little: no piece is rounded into
// a bar that does not hold it.
func TestNoPieceIsRoundedIntoABar(t *testing.T) {
	for piece, want := range map[string]int{"1499.9999": 1, "1500": 1, "1500.0001": 2} {
		bars, _, err := CutList(dxs(piece, piece), mm(3000), mm(0))
		require.NoError(t, err)
		require.Len(t, bars, want, piece)
	}
}
