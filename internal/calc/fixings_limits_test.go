package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
)

func TestFixingsTakesSizesUpToItsLimits(t *testing.T) {
	for _, frame := range []Size{{mm(200), mm(1000)}, {mm(6000), mm(6000)}} {
		_, err := Fixings(FixingRequest{Frame: frame}, DefaultSettings())
		require.NoError(t, err)
	}
	for joint, ok := range map[int64]bool{6000: true, -6000: true, 6001: false, -6001: false} {
		at := mm(joint)
		_, err := Fixings(FixingRequest{Frame: Size{mm(600), mm(600)}, BedJoint: &at}, DefaultSettings())
		if ok {
			require.NoError(t, err, joint)
			continue
		}
		refusedBy(t, err, ErrImpossible, "bed_joint_impossible")
	}
	at := mm(0)
	for gauge, ok := range map[int64]bool{6000: true, 6001: false} {
		for _, joint := range []*decimal.Decimal{nil, &at} {
			_, err := Fixings(FixingRequest{Frame: Size{mm(600), mm(600)}, BedJoint: joint, Gauge: mm(gauge)}, DefaultSettings())
			require.Equal(t, ok, err == nil, gauge)
		}
	}
}

// With fewer transoms than columns the last columns have none.
func TestFixingsOfAColumnWithoutATransom(t *testing.T) {
	req := FixingRequest{Frame: Size{mm(1800), mm(1000)},
		Layout: Layout{Mullions: []decimal.Decimal{mm(900)}, Transoms: []decimal.Decimal{mm(700)}}}
	plan := fixings(t, req)
	require.Equal(t, []int{250, 750}, fixedAt(plan[Right]))
	require.NotEqual(t, []int{250, 750}, fixedAt(plan[Left]), "750 is too near to the transom")
	req.Layout.Transoms = []decimal.Decimal{mm(0), mm(700)}
	require.NotEqual(t, []int{250, 750}, fixedAt(fixings(t, req)[Right]))
	require.Equal(t, []int{595, 596, 700}, mmPlaces([]decimal.Decimal{dec("595.5"), mm(700)}))
}

// The lighter pattern is common practice, no source.
func TestFixingsLighterOnItsLimit(t *testing.T) {
	sill := fixings(t, FixingRequest{Frame: Size{mm(1200), mm(990)}, Lighter: true})[Sill]
	require.Equal(t, []int{600}, fixedAt(sill))
	require.False(t, hasRule(sill.Reasons, "fixing_lighter_too_wide"))
	sill = fixings(t, FixingRequest{Frame: Size{mm(1201), mm(990)}, Lighter: true})[Sill]
	require.True(t, hasRule(sill.Reasons, "fixing_lighter_too_wide"))
	sill = fixings(t, FixingRequest{Frame: Size{mm(1201), mm(990)}})[Sill]
	require.False(t, hasRule(sill.Reasons, "fixing_lighter_too_wide"))

	require.Equal(t, halves{2 * 650}, nearMiddle(1190, []int{500}), "650 is nearer than 350")
	require.Equal(t, halves{2 * 550}, nearMiddle(1190, []int{700}))
}

// Clause 6.7.11 (R) on both sides of each limit, whatever found the places.
func TestCheckRule(t *testing.T) {
	for _, c := range []struct {
		at      []int
		centres []int
		want    []string
	}{
		{[]int{150, 750, 1350}, nil, nil},
		{[]int{250, 750, 1250}, nil, nil},
		{[]int{149, 700, 1250}, nil, []string{"fixing_end_near"}},
		{[]int{250, 800, 1351}, nil, []string{"fixing_end_near"}},
		{[]int{251, 700, 1250}, nil, []string{"fixing_end_far"}},
		{[]int{250, 800, 1249}, nil, []string{"fixing_end_far"}},
		{[]int{200, 801, 1300}, nil, []string{"fixing_span_wide"}},
		{[]int{200, 750, 1300}, []int{600, 900}, nil},
		{[]int{200, 750, 1300}, []int{601}, []string{"fixing_near_centre"}},
		{[]int{200, 750, 1300}, []int{899}, []string{"fixing_near_centre"}},
	} {
		s := SideFixings{Side: Sill}
		s.checkRule(inHalves(c.at), 1500, c.centres)
		require.Equal(t, c.want, rules(s.Shortfall), "%v", c)
	}
}

// Courses of 75 mm with joints of 10 (BS EN 771 sizes, R): a joint at 150 is
// one at 0 and every 75. 20 mm beside its middle are kept clear (C).
func TestBricksAlongAJamb(t *testing.T) {
	bricks := func(length int, joint, gauge string) []run {
		at := dec(joint)
		return FixingRequest{BedJoint: &at, Gauge: dec(gauge)}.bricks(length)
	}
	want := []run{{20, 55}, {95, 130}, {170, 205}, {245, 280}, {320, 320}}
	require.Equal(t, want, bricks(320, "150", "0"))
	require.Equal(t, want, bricks(320, "-75", "75"))
	require.Equal(t, want[:4], bricks(319, "0", "0"))
	require.Equal(t, []run{{20, 52}, {93, 124}}, bricks(150, "0", "72.05"), "to a tenth of a millimetre")
	require.Equal(t, []run{{0, 10}, {51, 85}}, bricks(120, "30.05", "0"))
}

// Against every way to place two or three fixings 100 mm apart: the fewest out of
// bricks, and of those the most even.
func TestFixingsInBricksAgainstBruteForce(t *testing.T) {
	type wall struct{ length, joint, gauge int }
	walls := []wall{{1300, 12, 75}, {1250, 70, 140}, {1400, 100, 220}, {1290, 100, 205}}
	for length := 401; length <= 1100; length += 37 {
		for gauge := 75; gauge <= 300; gauge += 45 {
			walls = append(walls, wall{length, length % gauge, gauge}, wall{length, 7 * length % gauge, gauge})
		}
	}
	// So long that two fixings have hardly a choice: often one must be out.
	for length := 1066; length <= 1100; length += 11 {
		for joint := 0; joint < 75; joint += 4 {
			walls = append(walls, wall{length, joint, 75}, wall{length, 2 * joint, 141})
		}
	}
	for _, c := range walls {
		joint := mm(int64(c.joint))
		req := FixingRequest{Frame: Size{mm(600), mm(int64(c.length))}, BedJoint: &joint, Gauge: mm(int64(c.gauge))}
		got := fixedAt(fixings(t, req)[Left])
		inBrick := make([]bool, c.length+1)
		for p := range inBrick {
			above := ((10*(p-c.joint))%(10*c.gauge) + 10*c.gauge) % (10 * c.gauge)
			inBrick[p] = above >= 200 && above <= 10*c.gauge-200
		}
		out := func(at ...int) (n int) {
			for _, p := range at {
				if !inBrick[p] {
					n++
				}
			}
			return n
		}
		bestOut, bestMost, bestSquares := 99, 0, 0
		keep := func(at ...int) {
			n := out(at...)
			if n > bestOut {
				return
			}
			most, squares := unevenness(at, c.length)
			if n < bestOut || most < bestMost || most == bestMost && squares < bestSquares {
				bestOut, bestMost, bestSquares = n, most, squares
			}
		}
		for a := 150; a <= 250; a++ {
			for z := max(a+100, c.length-250); z <= c.length-150; z++ {
				if len(got) == 2 {
					if z-a <= 600 {
						keep(a, z)
					}
					continue
				}
				if out(a, z) > bestOut {
					continue
				}
				for b := max(a+100, z-600); b <= min(z-100, a+600); b++ {
					if inBrick[b] || bestOut > 0 {
						keep(a, b, z)
					}
				}
			}
		}
		most, squares := unevenness(got, c.length)
		require.Equal(t, [3]int{bestOut, bestMost, bestSquares}, [3]int{out(got...), most, squares}, "%v: %v", c, got)
	}
}

// A transom at 330 leaves 150 to 180 below it, all at a joint. Two fixings would
// both stand at one, for a reach of 600 ends at the next; of three only the first
// must. Against every three places.
func TestFixingsTakeOneMoreThatFewerStandAtJoints(t *testing.T) {
	joint, height := 165, 1010
	at := mm(int64(joint))
	req := FixingRequest{Frame: Size{mm(900), mm(int64(height))}, BedJoint: &at, Layout: Layout{Transoms: []decimal.Decimal{mm(330)}}}
	plan := fixings(t, req)
	require.Equal(t, []string{"fixing_in_joint"}, rules(plan[Left].Shortfall))
	require.Equal(t, []string{"fixing_more_for_brick", "fixing_in_brick_but"}, rules(plan[Left].Reasons))
	inBrick := func(p int) bool { above := (p + 75 - joint%75) % 75; return above >= 20 && above <= 55 }
	bestMost, bestSquares := 0, 0
	for a := 150; a <= 180; a++ {
		for b := 480; b <= a+600; b++ {
			for z := max(height-250, b+100); z <= min(height-150, b+600) && inBrick(b); z++ {
				if inBrick(a) || !inBrick(z) {
					continue
				}
				most, squares := unevenness([]int{a, b, z}, height)
				if bestMost == 0 || most < bestMost || most == bestMost && squares < bestSquares {
					bestMost, bestSquares = most, squares
				}
			}
		}
	}
	most, squares := unevenness(fixedAt(plan[Left]), height)
	require.Equal(t, [2]int{bestMost, bestSquares}, [2]int{most, squares}, "%v", fixedAt(plan[Left]))
}

// An end counts as a span of twice its length, half of which is there.
func TestUnevenness(t *testing.T) {
	s := spacing{length: 1250}
	most, squares := s.unevenness([]int{150, 700, 1000}) // ends of 150 and 250, spans of 550 and 300
	require.Equal(t, 550, most)
	require.Equal(t, 2*150*150+2*250*250+550*550+300*300, squares)
	most, _ = s.unevenness([]int{250, 700, 1000})
	require.Equal(t, 500, most)

	better, worse := []int{250, 625, 1000}, []int{250, 630, 1000} // both have ends of 500
	require.True(t, s.evener(better, worse))
	require.False(t, s.evener(worse, better))
	require.False(t, s.evener(better, better))
	require.True(t, s.evener([]int{240, 600, 1010}, better), "the largest span counts first")
	require.False(t, s.evener(better, []int{240, 600, 1010}))
}
