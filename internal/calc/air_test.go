package calc

import (
	"math"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestVentsOfRoom(t *testing.T) {
	room, err := VentsOfRoom(WindowVents{dx("4000"), dx("2500")}, WindowVents{dx("4000"), dx("2500")})
	require.NoError(t, err)
	require.Equal(t, 2, room.Windows)
	same(t, "8000", room.Old)
	same(t, "5000", room.New)

	_, err = VentsOfRoom(WindowVents{dx("-1"), dx("0")})
	refusedBy(t, err, ErrImpossible, "vent_area")
}

func TestVentsToFit(t *testing.T) {
	for _, tt := range []struct {
		needed, present, each string
		want                  int
	}{
		{"8000", "0", "2500", 4}, {"8000", "500", "2500", 3}, {"8000", "8000", "2500", 0}, {"4000", "9000", "2500", 0}, {"8000", "5500", "2500", 1},
	} {
		got, err := VentsToFit(dx(tt.needed), dx(tt.present), dx(tt.each))
		require.NoError(t, err)
		require.Equal(t, tt.want, got, "%v", tt)
	}
	_, err := VentsToFit(dx("8000"), dx("0"), dx("0"))
	refusedBy(t, err, ErrImpossible, "vent_area")
	_, err = VentsToFit(dx("1e30"), dx("0"), dx("1"))
	refusedBy(t, err, ErrBeyondTable, "packs_many")
}

func TestSwingAt(t *testing.T) {
	// Known angles: at 60° the gap is the leaf's breadth (an equilateral
	// triangle), at 90° its diagonal. Elementary geometry.
	s, err := SwingAt(size("600", "1000"), SideLeft, dx("60"))
	require.NoError(t, err)
	same(t, "60", s.Angle)
	same(t, "600", s.Gap)
	same(t, "0.6", s.Leaf)
	same(t, "0.6", s.Free)

	s, err = SwingAt(size("600", "1000"), TopHung, dx("60"))
	require.NoError(t, err)
	same(t, "1000", s.Gap, "a top hung leaf is as broad as it is high")

	s, err = SwingAt(size("600", "1000"), SideRight, dx("90"))
	require.NoError(t, err)
	same(t, "848.5", s.Gap) // 600·√2 = 848.528

	shut, err := SwingAt(size("600", "1000"), SideRight, dx("0"))
	require.NoError(t, err)
	same(t, "0", shut.Free)

	fixed, err := SwingAt(size("600", "1000"), FixedLight, dx("30"))
	require.NoError(t, err)
	require.True(t, fixed.Leaf.IsZero())
}

func TestSwingRefuses(t *testing.T) {
	z := size("600", "1000")
	_, err := SwingAt(z, SideLeft, dx("181"))
	refusedBy(t, err, ErrImpossible, "swing_angle")
	_, err = SwingAt(z, SideLeft, dx("-1"))
	refusedBy(t, err, ErrImpossible, "swing_angle")
	_, err = SwingAt(size("0", "1000"), SideLeft, dx("30"))
	refusedBy(t, err, ErrImpossible, "swing_angle")
	_, err = SwingAt(z, "sliding", dx("30"))
	refusedBy(t, err, ErrImpossible, "swing_angle")
	_, err = SwingHeld(z, SideLeft, dx("1200"))
	refusedBy(t, err, ErrImpossible, "swing_gap")
	_, err = SwingHeld(z, SideLeft, dx("-1"))
	refusedBy(t, err, ErrImpossible, "swing_gap")
}

// TestSwingAgainstBinaryTrig has Go's math package as a second way to every
// angle, gap and area.
func TestSwingAgainstBinaryTrig(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(200, 1500).Draw(t, "width"), rapid.IntRange(200, 2200).Draw(t, "height")
		opening := Size{decimal.NewFromInt(int64(w)), decimal.NewFromInt(int64(h))}
		hinge := rapid.SampledFrom([]Hinge{SideLeft, SideRight, TopHung, BottomHung, TiltTurnLeft}).Draw(t, "hinge")
		tenths := rapid.IntRange(1, 1790).Draw(t, "tenths of a degree")
		theta := float64(tenths) / 10 * math.Pi / 180
		breadth, along := float64(w)/1000, float64(h)/1000
		if hinge == TopHung || hinge == BottomHung {
			breadth, along = along, breadth
		}
		s, err := SwingAt(opening, hinge, decimal.New(int64(tenths), -1))
		require.NoError(t, err)
		gap := 2 * breadth * math.Sin(theta/2)
		free := math.Min(breadth*along, along*gap+breadth*breadth*math.Sin(theta))
		require.InDelta(t, gap*1000, s.Gap.InexactFloat64(), 0.1001)
		require.InDelta(t, free, s.Free.InexactFloat64(), 0.0001001)
		require.LessOrEqual(t, s.Free.InexactFloat64(), free+1e-9, "rounded down")
		require.True(t, s.Free.LessThanOrEqual(s.Leaf))

		held, err := SwingHeld(opening, hinge, s.Gap)
		require.NoError(t, err)
		want := 2 * math.Asin(s.Gap.InexactFloat64()/(2000*breadth)) * 180 / math.Pi
		require.InDelta(t, want, held.Angle.InexactFloat64(), 0.1001)
		require.LessOrEqual(t, held.Angle.InexactFloat64(), want+1e-9, "rounded down")
	})
}

func TestPurgeShare(t *testing.T) {
	var swings []Swing
	for _, degrees := range []string{"30", "20", "10"} {
		s, err := SwingAt(size("600", "1000"), SideLeft, dx(degrees))
		require.NoError(t, err)
		swings = append(swings, s)
	}
	// 0.6 m² each over 12 m² of floor.
	for least, want := range map[string]string{"30": "0.05", "15": "0.1", "5": "0.15", "45": "0"} {
		got, err := PurgeShare(swings, dx(least), dx("12"))
		require.NoError(t, err)
		same(t, want, got, "from %s°", least)
	}
	_, err := PurgeShare(swings, dx("30"), dx("0"))
	refusedBy(t, err, ErrImpossible, "floor_area")
}

// The whole-number series against the standard library's sine, a tenth of a
// degree at a time, and at the angles whose sine is known.
func TestSineOfWholeNumbers(t *testing.T) {
	for tenths := range int64(1801) {
		got := sineOf(tenths * rightAngle / 900)
		require.InDelta(t, math.Sin(float64(tenths)*math.Pi/1800)*1e12, float64(got), 1, tenths)
	}
	require.EqualValues(t, 0, sineOf(0))
	require.EqualValues(t, 500_000_000_000, sineOf(rightAngle/3))
	require.EqualValues(t, 1_000_000_000_000, sineOf(rightAngle))
	require.EqualValues(t, 500_000_000_000, sineOf(rightAngle/3*5))
}

// A leaf held at its own breadth stands at exactly 60 degrees.
func TestSwingHeldAtItsBreadth(t *testing.T) {
	s, err := SwingHeld(Size{dx("560"), dx("1100")}, SideLeft, dx("560"))
	require.NoError(t, err)
	same(t, "60", s.Angle)
}

func TestVentsThatAreNotThere(t *testing.T) {
	room, err := VentsOfRoom(WindowVents{dx("4000"), dx("0")})
	require.NoError(t, err, "no vent in the new window is a reading like any other")
	same(t, "0", room.New)
	_, err = VentsOfRoom(WindowVents{dx("0"), dx("-1")})
	refusedBy(t, err, ErrImpossible, "vent_area")
}

// A half turn is the most a leaf can open: the free edge is twice the breadth
// away (elementary geometry).
func TestSwingAtAHalfTurn(t *testing.T) {
	s, err := SwingAt(size("600", "1000"), SideLeft, dx("180"))
	require.NoError(t, err)
	same(t, "1200", s.Gap)
}

func TestSwingIsRoundedDown(t *testing.T) {
	s, err := SwingAt(size("333", "333"), SideLeft, dx("30.09"))
	require.NoError(t, err)
	same(t, "30", s.Angle)
	same(t, "0.1108", s.Leaf) // 0.333² = 0.110889
}

// b = 1000, l = 300, gap 100: sin(θ/2) = 0.05, so sin θ = 0.1·√0.9975, and
// l·gap + b²·sin θ = 30 000 + 99 874.9 mm² (elementary geometry).
func TestSwingHeldLetsThroughTheGapAndTheEnds(t *testing.T) {
	s, err := SwingHeld(size("1000", "300"), SideLeft, dx("100"))
	require.NoError(t, err)
	same(t, "5.7", s.Angle) // 2·asin 0.05 = 5.732°
	same(t, "0.1298", s.Free)
	same(t, "0.3", s.Leaf)

	shut, err := SwingHeld(size("1000", "300"), SideLeft, dx("0"))
	require.NoError(t, err)
	same(t, "0", shut.Angle)
	fixed, err := SwingHeld(size("1000", "300"), FixedLight, dx("100"))
	require.NoError(t, err)
	require.True(t, fixed.Leaf.IsZero())
}

func TestSwingHeldRefuses(t *testing.T) {
	_, err := SwingHeld(size("600", "0"), SideLeft, dx("10"))
	refusedBy(t, err, ErrImpossible, "swing_gap")
	_, err = SwingHeld(size("600", "1000"), "sliding", dx("10"))
	refusedBy(t, err, ErrImpossible, "swing_gap")
}

func TestPurgeShareIsRoundedDown(t *testing.T) {
	open := []Swing{{Angle: dx("30"), Leaf: dx("0.6")}}
	for floor, want := range map[string]string{"7": "0.0857", "6.000000001": "0.0999"} {
		got, err := PurgeShare(open, dx("30"), dx(floor))
		require.NoError(t, err)
		same(t, want, got, floor)
	}
}

// One window has the room's vents to itself (the share is the area itself).
func TestOneWindowHasAllVents(t *testing.T) {
	share, err := VentShare(decimal.NewFromInt(8000), 1)
	require.NoError(t, err)
	require.True(t, share.Equal(decimal.NewFromInt(8000)))
}
