package calc

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// tileAt is a straight outline a thousand wide and high, not at the origin.
func tileAt(x, y int64) outline {
	o := outline{bl: spot{x, y}, br: spot{x + 1000, y}, tr: spot{x + 1000, y + 1000}, tl: spot{x, y + 1000}}
	o.straighten()
	return o
}

// One in five is as steep as a side may be.
func TestUprightUpToOneInFive(t *testing.T) {
	for name, c := range map[string]struct {
		bend func(o *outline, by int64)
		by   int64
	}{
		"left jamb in":   {func(o *outline, by int64) { o.tl.x += by }, 200},
		"left jamb out":  {func(o *outline, by int64) { o.tl.x -= by }, 200},
		"right jamb in":  {func(o *outline, by int64) { o.tr.x -= by }, 200},
		"right jamb out": {func(o *outline, by int64) { o.tr.x += by }, 200},
		"sill":           {func(o *outline, by int64) { o.br.y -= by }, 200},
		"head":           {func(o *outline, by int64) { o.tr.y += by }, 200},
	} {
		t.Run(name, func(t *testing.T) {
			o := tileAt(5000, 7000)
			c.bend(&o, c.by)
			require.True(t, o.upright())
			c.bend(&o, 1)
			require.False(t, o.upright())
		})
	}
	require.False(t, outline{}.upright(), "a point is no opening")
	upside := tileAt(0, 0)
	upside.tl, upside.tr, upside.bl, upside.br = upside.bl, upside.br, upside.tl, upside.tr
	require.False(t, upside.upright())
}

// A belly of a tenth of the jamb on each side, or of a fifth of the sill at
// the head alone, is the most.
func TestBelliesUpToTheirLimit(t *testing.T) {
	for width, ok := range map[int64]bool{800: true, 798: false} {
		o := tileAt(5000, 7000)
		require.Equal(t, ok, o.bellyLevel(width, 0), width)
		require.Equal(t, width, o.right.x-o.left.x)
	}
	for height, ok := range map[int64]bool{800: true, 799: false, 1200: true, 1201: false} {
		o := tileAt(5000, 7000)
		require.Equal(t, ok, o.bellyPlumb(height, 0, true), height)
		require.EqualValues(t, 7000, o.sill.y, "straight")
		require.Equal(t, 7000+height, o.head.y)

		o = tileAt(5000, 7000)
		require.Equal(t, ok, o.bellyPlumb(height, 0, false), height)
		require.Equal(t, height, o.head.y-o.sill.y)
		require.InDelta(t, float64(height-1000)/2, float64(7000-o.sill.y), 0.5)
	}
	// The shorter jamb and the shorter of sill and head count.
	short := tileAt(5000, 7000)
	short.tl.y -= 100
	require.False(t, short.bellyLevel(800, 0))
	short = tileAt(5000, 7000)
	short.tr.x -= 100
	require.False(t, short.bellyPlumb(800, 0, true))
}

// Turning about the bottom left corner (elementary geometry): a sill of 1 m
// that falls by 0.1 m is √0.99 m long on the level.
func TestTurned(t *testing.T) {
	o := outline{br: spot{1_000_000, 0}, tr: spot{1_000_000, 1_000_000}, tl: spot{0, 1_000_000}}.turned(100_000, 1_000_000)
	require.Equal(t, spot{994_987, -100_000}, o.br)
	require.Equal(t, spot{100_000, 994_987}, o.tl)
	require.Equal(t, spot{1_094_987, 894_987}, o.tr)
}

func TestShadow(t *testing.T) {
	require.EqualValues(t, 999_900, shadow(1_000_000, 14_141)) // √(10¹² − 14 141²) = 999 900.01
	require.EqualValues(t, 999_901, shadow(1_000_000, 14_000)) // 999 901.99…, down to the micrometre
	require.EqualValues(t, 800, shadow(1000, 600))
}

// A belly counts only where it lies between the two places.
func TestAnEdgeBetweenTwoPlaces(t *testing.T) {
	out := edge{along: [3]int64{0, 10, 20}, across: [3]int64{0, 100, 0}}
	require.EqualValues(t, 50, out.most(0, 5))
	require.EqualValues(t, 50, out.most(15, 20))
	require.EqualValues(t, 100, out.most(5, 15))
	in := edge{along: [3]int64{0, 10, 20}, across: [3]int64{0, -100, 0}}
	require.EqualValues(t, -50, in.least(0, 5))
	require.EqualValues(t, -50, in.least(15, 20))
	require.EqualValues(t, -100, in.least(5, 15))
}

// A frame is found only while the sides take less than half of a dimension.
func TestLargestGivesUpAtHalf(t *testing.T) {
	for by, ok := range map[int64]bool{249: true, 250: false} {
		o := tileAt(5000, 7000)
		o.left.x += by
		o.right.x -= by
		_, found := o.edges().largest()
		require.Equal(t, ok, found, "jambs, %d each", by)

		o = tileAt(5000, 7000)
		o.sill.y += by
		o.head.y -= by
		_, found = o.edges().largest()
		require.Equal(t, ok, found, "sill and head, %d each", by)
	}
}

func TestWholeNumbersOfMicrometres(t *testing.T) {
	for d, want := range map[string][2]int64{
		"12.5": {12_500, 12_500}, "0.0005": {1, 0}, "0.0009": {1, 0}, "-0.0001": {0, -1}, "2e3": {2_000_000, 2_000_000},
	} {
		require.Equal(t, want, [2]int64{microns(dec(d)), micronsDown(dec(d))}, d)
	}
	require.EqualValues(t, 0, rootDown(0))
	require.EqualValues(t, 0, rootDown(-4))
	require.EqualValues(t, 1, rootDown(3))
	for n, want := range map[int64]int64{-1: 0, 0: 0, 1: 1, 2: 2, 4: 2, 5: 3} {
		require.Equal(t, want, rootUp(n), n)
	}
}

// Areas are exact whatever the figures: in whole micrometres, in finer ones,
// and where they are too large for those.
func TestAreaIsExact(t *testing.T) {
	for _, c := range [][3]string{
		{"590", "1080", "0.6372"}, {"1000.0001", "1000", "1.0000001"}, {"1000", "1000.0001", "1.0000001"},
		{"3000000", "4000000", "12000000"}, {"1e30", "1e30", "1e54"}, {"-2", "3", "-0.000006"},
	} {
		require.True(t, dec(c[2]).Equal(size(c[0], c[1]).area()), "%v", c)
	}
	same(t, "-1", count(-1))
	same(t, "65", count(65))
}
