package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
)

// Dynamic pressure: q = 0.613 v² of BS 6399-2, worked examples 47.48 m/s →
// 1381.8 Pa and 29.89 → 547.7 (S); 0.625 v² recommended by EN 1991-1-4,
// 21.7 m/s → 294.3 (R). The speeds are printed to 0.01 m/s, which is 0.3 Pa.
// With its coefficients the worked sheet has 1658 on 1382 (S). For EN 1991-1-4
// no coefficients were read, so there is no pressure to reckon with.
func TestWindPressure(t *testing.T) {
	for _, c := range []struct {
		speed     string
		by        WindCode
		bare, net float64
		mark      Mark
	}{
		{"47.48", BS6399, 1381.8, 1658, Quoted},
		{"29.89", BS6399, 547.7, 657.2, Quoted},
		{"21.7", EN1991, 294.3, 0, Read},
		{"21.7", "", 294.3, 0, Read},
	} {
		net, why := WindPressure(dec(c.speed), c.by)
		require.InDelta(t, c.bare, why.Figures["pressure"].InexactFloat64(), 0.3, c.speed)
		require.InDelta(t, c.net, net.InexactFloat64(), 0.4, c.speed)
		require.Equal(t, c.mark, why.Mark)
	}
}

// q = 0.625 v² (EN 1991-1-4, R) at 21.7 m/s is 294.306 Pa; at 21.86 it is
// 298.662, said as 298.7.
func TestWindPressureIsSaidToATenth(t *testing.T) {
	_, why := WindPressure(dec("21.86"), EN1991)
	equalDec(t, "298.7", why.Figures["pressure"])
	net, why := WindPressure(dec("21.86"), BS6399)
	equalDec(t, "351.51352176", net, "not rounded before the load") // 0.613 · 21.86² · 1.2
	equalDec(t, "351.5", why.Figures["net"])
}

// The jamb screw that holds most, by adding the pressure up over the half of
// the window that leans on the jamb, millimetre by millimetre (own second way).
func TestTheJambScrewThatHoldsMost(t *testing.T) {
	for _, c := range []struct {
		frame Size
		left  []int
		right []int
		span  string
		load  string
	}{
		{Size{mm(1190), mm(990)}, []int{250, 740}, []int{250, 740}, "495", "235.7"}, // 800 Pa · 0.595 m · 0.495 m = 235.62
		{Size{mm(1000), mm(1000)}, []int{150, 500, 850}, []int{150, 850}, "500", "200"},
		{Size{mm(1000), mm(2000)}, []int{200, 800, 1500, 1800}, nil, "650", "260"},
		{Size{mm(1000), mm(1000)}, []int{400}, nil, "1000", "400"},
		{Size{mm(1000), mm(1000)}, nil, nil, "0", "0"},
	} {
		at := func(places []int) (all []decimal.Decimal) {
			for _, p := range places {
				all = append(all, mm(int64(p)))
			}
			return all
		}
		f := FixingPlan{Sides: []SideFixings{{Side: Left, At: at(c.left)}, {Side: Right, At: at(c.right)}, {Side: Head, At: at([]int{1})}}}
		load, span := JambShear(mm(800), c.frame, f)
		equalDec(t, c.span, span)
		equalDec(t, c.load, load)

		most := 0
		for _, places := range [][]int{c.left, c.right} {
			held := map[int]int{}
			for y := range int(c.frame.Height.IntPart()) {
				nearest := -1
				for _, p := range places {
					if nearest < 0 || max(2*y+1-2*p, 2*p-2*y-1) < max(2*y+1-2*nearest, 2*nearest-2*y-1) {
						nearest = p
					}
				}
				held[nearest]++
			}
			for _, p := range places {
				most = max(most, held[p])
			}
		}
		require.EqualValues(t, most, span.IntPart())
	}
}

// "Enough" is marked no better than its weakest input, and is said of a design
// pressure alone: a worked sheet's coefficients (S) are another building's.
func TestScrewEnough(t *testing.T) {
	for load, want := range map[string]string{"94.2": "screw_enough", "94.3": "screw_enough", "94.4": "screw_weak"} {
		for _, mark := range []Mark{Read, Quoted, Practice} {
			why, ok := ScrewEnough(dec(load), dec("94.3"), Reason{Rule: WindGiven, Mark: mark})
			require.Equal(t, want, why.Rule, load)
			require.Equal(t, want == "screw_enough", ok, load)
			require.Equal(t, Practice, why.Mark)
		}
	}
	for load, want := range map[string]string{"94.3": "screw_by_sheet", "94.4": "screw_weak"} {
		for _, code := range []WindCode{BS6399, EN1991} {
			_, pressure := WindPressure(dec("24"), code)
			why, _ := ScrewEnough(dec(load), dec("94.3"), pressure)
			require.Equal(t, want, why.Rule, "%s %s", load, code)
		}
	}
}
