package calc

import (
	"slices"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func fixings(t require.TestingT, req FixingRequest) map[Side]SideFixings {
	p, err := Fixings(req, DefaultSettings())
	require.NoError(t, err)
	require.Len(t, p.Sides, 4)
	out := map[Side]SideFixings{}
	count := 0
	for _, s := range p.Sides {
		out[s.Side] = s
		count += len(s.At)
	}
	require.Equal(t, count, p.Count)
	return out
}

func fixedAt(s SideFixings) []int {
	var out []int
	for _, d := range s.At {
		out = append(out, int(d.IntPart()))
	}
	return out
}

// Fewest fixings. Source: new-home warranty standards, clause 6.7.11 (R), and
// the counts that follow from it (D): n = max(2, ⌈(L − 2e)/600⌉ + 1), 150 ≤ e ≤ 250.
func TestFixingsFewest(t *testing.T) {
	for length, want := range map[int64]int{900: 2, 1000: 2, 1100: 2, 1200: 3, 1500: 3, 1800: 4, 2100: 4} {
		for side, s := range fixings(t, FixingRequest{Frame: Size{mm(length), mm(length)}}) {
			require.Len(t, s.At, want, "%s %d", side, length)
			require.Empty(t, s.Shortfall)
		}
	}
}

func TestFixingsEven(t *testing.T) {
	for length, want := range map[int64][]int{
		600: {150, 450}, 900: {225, 675}, 1000: {250, 750}, 1200: {200, 600, 1000}, 1800: {225, 675, 1125, 1575},
	} {
		s := fixings(t, FixingRequest{Frame: Size{mm(length), mm(1000)}})[Sill]
		require.Equal(t, want, fixedAt(s))
	}
}

func TestFixingsRefusesImpossibleFrame(t *testing.T) {
	for _, frame := range []Size{{}, {mm(1000), mm(0)}, {mm(-1), mm(1000)}, {mm(1000), mm(6001)}} {
		_, err := Fixings(FixingRequest{Frame: frame}, DefaultSettings())
		require.ErrorIs(t, err, ErrImpossible)
	}
}

func TestFixingsTransomTouchesOnlyItsJambs(t *testing.T) {
	req := FixingRequest{
		Frame:  Size{mm(1800), mm(1000)},
		Layout: Layout{Mullions: []decimal.Decimal{mm(900)}, Transoms: []decimal.Decimal{mm(700), mm(0)}},
	}
	plan := fixings(t, req)
	require.Equal(t, []int{250, 750}, fixedAt(plan[Right]))
	for _, p := range fixedAt(plan[Left]) {
		require.GreaterOrEqual(t, max(p-700, 700-p), 150)
	}
	req.Layout.Transoms = []decimal.Decimal{mm(0), mm(700)}
	require.Equal(t, []int{250, 750}, fixedAt(fixings(t, req)[Left]))
}

// The lighter pattern is common practice, no source.
func TestFixingsLighter(t *testing.T) {
	req := FixingRequest{Frame: Size{mm(1190), mm(990)}, Lighter: true}
	plan := fixings(t, req)
	require.Len(t, plan[Left].At, 2)
	for _, side := range []Side{Head, Sill} {
		require.Equal(t, []int{595}, fixedAt(plan[side]))
		require.Equal(t, []string{"fixing_lighter"}, rules(plan[side].Shortfall))
	}
	req.Layout.Mullions = []decimal.Decimal{mm(595)}
	head := fixings(t, req)[Head]
	require.Equal(t, []int{445, 745}, fixedAt(head), "on both sides of the mullion")
	require.Equal(t, []string{"fixing_lighter_pair"}, rules(head.Shortfall))
	req.Layout.Mullions = []decimal.Decimal{mm(600)}
	head = fixings(t, req)[Head]
	require.Equal(t, []int{450}, fixedAt(head), "where it is nearer to the middle")
	require.Equal(t, []string{"fixing_lighter_beside"}, rules(head.Shortfall))
	req.Layout.Mullions = []decimal.Decimal{mm(200), mm(450), mm(700), mm(950)}
	require.Equal(t, []string{"fixing_lighter_beside", "fixing_near_centre"}, rules(fixings(t, req)[Sill].Shortfall))

	req = FixingRequest{Frame: Size{mm(1300), mm(990)}, Lighter: true}
	require.Len(t, fixings(t, req)[Sill].At, 3, "too wide for it: by the rule")
}

// Head under a lintel that can't be drilled: from memory.
func TestFixingsUnderALintel(t *testing.T) {
	for width, want := range map[int64][]int{
		1200: nil, 1201: {600}, 2400: {1200}, 2401: {600, 1801}, 3600: {900, 2700},
	} {
		head := fixings(t, FixingRequest{Frame: Size{mm(width), mm(990)}, NoHead: true})[Head]
		require.Equal(t, want, fixedAt(head), "%d", width)
		rule := "fixing_lintel"
		if want == nil {
			rule = "fixing_lintel_none"
		}
		require.Equal(t, []string{rule}, rules(head.Shortfall))
	}
	head := fixings(t, FixingRequest{Frame: Size{mm(3700), mm(990)}, NoHead: true})[Head]
	require.Contains(t, rules(head.Shortfall), "fixing_lintel_beyond")
}

// A side too short for two fixings 150 mm from the corners (clause 6.7.11, R) and
// 100 mm apart (C).
func TestFixingsShortSide(t *testing.T) {
	for width, want := range map[int64][]int{200: {50, 150}, 280: {90, 190}, 399: {149, 250}} {
		sill := fixings(t, FixingRequest{Frame: Size{mm(width), mm(990)}})[Sill]
		require.Equal(t, want, fixedAt(sill))
		require.Equal(t, []string{"fixing_side_short"}, rules(sill.Shortfall))
	}
	sill := fixings(t, FixingRequest{Frame: Size{mm(400), mm(990)}})[Sill]
	require.Equal(t, []int{150, 250}, fixedAt(sill))
	require.Empty(t, sill.Shortfall)

	// With a mullion in the middle neither 150 from it nor from the corners can be
	// had; halfway lacks least.
	sill = fixings(t, FixingRequest{Frame: Size{mm(390), mm(990)}, Layout: Layout{Mullions: []decimal.Decimal{mm(195)}}})[Sill]
	require.Equal(t, []int{97, 293}, fixedAt(sill))
	require.Equal(t, []string{"fixing_side_short", "fixing_near_centre", "fixing_near_centre"}, rules(sill.Shortfall))
	// Joints at 150 and 225 of a jamb: 140 and 240 would be beside them.
	joint := mm(150)
	jamb := fixings(t, FixingRequest{Frame: Size{mm(900), mm(380)}, BedJoint: &joint})[Left]
	require.Equal(t, []int{130, 245}, fixedAt(jamb))
	require.Equal(t, []string{"fixing_side_short"}, rules(jamb.Shortfall))
	require.Equal(t, []string{"fixing_in_brick"}, rules(jamb.Reasons))
}

func TestFixingsBesideAMullionNearTheEnd(t *testing.T) {
	// A mullion at 200 leaves no place within 250 of the corner.
	sill := fixings(t, FixingRequest{Frame: Size{mm(1500), mm(990)},
		Layout: Layout{Mullions: []decimal.Decimal{mm(200)}}})[Sill]
	require.Equal(t, 350, fixedAt(sill)[0])
	require.Equal(t, []string{"fixing_end_far"}, rules(sill.Shortfall))

	// Mullions every 250 leave no place that is clear of all.
	sill = fixings(t, FixingRequest{Frame: Size{mm(1000), mm(990)},
		Layout: Layout{Mullions: []decimal.Decimal{mm(250), mm(500), mm(750)}}})[Sill]
	require.Contains(t, rules(sill.Shortfall), "fixing_near_centre")
}

// Jamb fixings land in bricks: course 75 mm, joint 10 mm (BS EN 771 sizes, R);
// 15 mm of brick beside the joint is common practice, no source.
func TestFixingsInBricks(t *testing.T) {
	joint := mm(30)
	req := FixingRequest{Frame: Size{mm(990), mm(1190)}, BedJoint: &joint}
	for _, side := range []Side{Left, Right} {
		s := fixings(t, req)[side]
		require.Len(t, s.At, 3)
		require.Empty(t, s.Shortfall)
		for _, p := range fixedAt(s) {
			above := (p - 30) % 75
			require.True(t, above >= 20 && above <= 55, "%d is %d above a joint", p, above)
		}
	}
}

func TestFixingsTakeOneMoreRatherThanAJoint(t *testing.T) {
	// 1100 high: two fixings can only stand at 250 and 850, and both are at a
	// joint when one is at 250 (600 is eight courses).
	joint := mm(250)
	plan := fixings(t, FixingRequest{Frame: Size{mm(990), mm(1100)}, BedJoint: &joint})
	require.Equal(t, []int{195, 530, 905}, fixedAt(plan[Left]))
	require.Equal(t, fixedAt(plan[Left]), fixedAt(plan[Right]))
	require.Empty(t, plan[Left].Shortfall)
	require.Equal(t, []string{"fixing_more_for_brick", "fixing_in_brick"}, rules(plan[Left].Reasons))

	// In courses of 72 the upper one stands 24 mm above a joint, the lower one
	// still at one.
	jamb := fixings(t, FixingRequest{Frame: Size{mm(990), mm(1100)}, BedJoint: &joint, Gauge: mm(72)})[Left]
	require.Len(t, jamb.At, 3)
	require.Empty(t, jamb.Shortfall)
}

func TestFixingsThatNoBrickTakes(t *testing.T) {
	// Courses of 39 mm leave no place 20 mm from both joints.
	joint := mm(250)
	jamb := fixings(t, FixingRequest{Frame: Size{mm(990), mm(1100)}, BedJoint: &joint, Gauge: mm(39)})[Left]
	require.Equal(t, []int{250, 850}, fixedAt(jamb))
	require.Equal(t, []string{"fixing_in_joint", "fixing_in_joint"}, rules(jamb.Shortfall))
	require.Empty(t, jamb.Reasons, "nothing says that they are in brick")

	// A transom at 330 leaves only 150 to 180 below it, where one fixing must be.
	// A joint at 165 takes all of that: the others are in brick, and the plan
	// says so of the others alone.
	joint = mm(165)
	plan := fixings(t, FixingRequest{Frame: Size{mm(990), mm(1100)}, BedJoint: &joint,
		Layout: Layout{Transoms: []decimal.Decimal{mm(330)}}})
	for _, side := range []Side{Left, Right} {
		require.Equal(t, []string{"fixing_in_joint"}, rules(plan[side].Shortfall))
		equalDec(t, "180", plan[side].Shortfall[0].Figures["at"])
	}
	require.Equal(t, []string{"fixing_in_brick_but"}, rules(plan[Left].Reasons))
	require.Empty(t, plan[Right].Reasons)
}

// meetsRule is the published rule, written apart from the program's own check.
func meetsRule(at []int, length int, centres []decimal.Decimal) bool {
	if len(at) < 2 || at[0] < 150 || at[0] > 250 {
		return false
	}
	if end := length - at[len(at)-1]; end < 150 || end > 250 {
		return false
	}
	for i, p := range at {
		if i > 0 && p-at[i-1] > 600 {
			return false
		}
		for _, c := range centres {
			if mm(int64(p)).Sub(c).Abs().LessThan(mm(150)) {
				return false
			}
		}
	}
	return true
}

func drawFixingRequest(t *rapid.T) FixingRequest {
	width, height := rapid.Int64Range(200, 4500).Draw(t, "width"), rapid.Int64Range(200, 4500).Draw(t, "height")
	req := FixingRequest{Frame: Size{mm(width), mm(height)}}
	for range rapid.IntRange(0, 4).Draw(t, "mullions") {
		tenths := rapid.Int64Range(1000, width*10).Draw(t, "mullion")
		req.Layout.Mullions = append(req.Layout.Mullions, decimal.New(tenths, -1))
	}
	if rapid.Bool().Draw(t, "transoms") {
		for range len(req.Layout.Mullions) + 1 {
			req.Layout.Transoms = append(req.Layout.Transoms, mm(rapid.Int64Range(0, height).Draw(t, "transom")))
		}
	}
	if rapid.Bool().Draw(t, "joint known") {
		joint := mm(rapid.Int64Range(-100, 200).Draw(t, "joint"))
		req.BedJoint, req.Gauge = &joint, mm(rapid.Int64Range(60, 90).Draw(t, "gauge"))
	}
	req.NoHead = rapid.Bool().Draw(t, "no head")
	req.Lighter = rapid.Bool().Draw(t, "lighter")
	return req
}

// The plan satisfies the published rule on every side, or says what it could
// not keep.
func TestFixingsMeetTheRuleOrSaySo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		req := drawFixingRequest(t)
		for side, s := range fixings(t, req) {
			at := fixedAt(s)
			require.True(t, slices.IsSorted(at))
			length, centres := int(req.Frame.Width.IntPart()), req.Layout.Mullions
			if side == Left || side == Right {
				length, centres = int(req.Frame.Height.IntPart()), nil
				if tr := req.transomAt(side); tr.IsPositive() {
					centres = []decimal.Decimal{tr}
				}
			}
			for _, p := range at {
				require.True(t, p > 0 && p < length)
			}
			if !meetsRule(at, length, centres) {
				require.NotEmpty(t, s.Shortfall, "%s %v", side, at)
			}
		}
	})
}

// Brute force over every pair and triple of places: no fewer fixings do, and
// of as many none are more even. A sill alike from both ends is elsewhere.
func TestFixingsAgainstBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		length := rapid.IntRange(400, 1500).Draw(t, "length")
		req := FixingRequest{Frame: Size{mm(int64(length)), mm(1000)}}
		for range rapid.IntRange(1, 2).Draw(t, "mullions") {
			req.Layout.Mullions = append(req.Layout.Mullions, mm(rapid.Int64Range(100, 1400).Draw(t, "mullion")))
		}
		s := fixings(t, req)[Sill]
		got := fixedAt(s)
		best := bruteFixings(length, req.Layout.Mullions)
		if best == nil {
			require.True(t, len(got) > 3 || len(s.Shortfall) > 0)
			return
		}
		require.Empty(t, s.Shortfall)
		require.True(t, meetsRule(best, length, req.Layout.Mullions))
		if isMirrored(s.At, int64(length)) { // it may take more for that
			require.GreaterOrEqual(t, len(got), len(best))
			return
		}
		require.Len(t, got, len(best))
		most, squares := unevenness(got, length)
		bestMost, bestSquares := unevenness(best, length)
		require.Equal(t, bestMost, most, "%v, but %v", got, best)
		require.Equal(t, bestSquares, squares, "%v, but %v", got, best)
	})
}

// unevenness is the largest span and the sum of the squares of the spans; an
// end is a span of twice its length, half of which counts.
func unevenness(at []int, length int) (most, squares int) {
	first, last := at[0], length-at[len(at)-1]
	most, squares = 2*max(first, last), 2*first*first+2*last*last
	for i := 1; i < len(at); i++ {
		span := at[i] - at[i-1]
		most, squares = max(most, span), squares+span*span
	}
	return most, squares
}

// bruteFixings tries all pairs, then all triples; nil if none meets the rule.
func bruteFixings(length int, centres []decimal.Decimal) []int {
	clear := make([]bool, length+1)
	for p := range clear {
		clear[p] = true
		for _, c := range centres {
			clear[p] = clear[p] && !mm(int64(p)).Sub(c).Abs().LessThan(mm(150))
		}
	}
	var best []int
	most, squares := 0, 0
	keep := func(m, s int, at ...int) {
		if best == nil || m < most || m == most && s < squares {
			best, most, squares = at, m, s
		}
	}
	for a := 150; a <= 250; a++ {
		for z := max(a+100, length-250); z <= length-150; z++ {
			if span, end := z-a, length-z; clear[a] && clear[z] && span <= 600 {
				keep(max(2*a, 2*end, span), 2*a*a+2*end*end+span*span, a, z)
			}
		}
	}
	if best != nil {
		return best
	}
	for a := 150; a <= 250; a++ {
		for z := length - 250; z <= length-150; z++ {
			if !clear[a] || !clear[z] {
				continue
			}
			end := length - z
			for b := max(a+100, z-600); b <= min(z-100, a+600); b++ {
				m, s := max(2*a, 2*end, b-a, z-b), 2*a*a+2*end*end+(b-a)*(b-a)+(z-b)*(z-b)
				if clear[b] && (best == nil || m < most || m == most && s < squares) {
					best, most, squares = []int{a, b, z}, m, s
				}
			}
		}
	}
	return best
}

func BenchmarkFixings(b *testing.B) {
	joint := mm(30)
	for name, req := range map[string]FixingRequest{
		"one light": {Frame: Size{mm(1190), mm(990)}},
		"mullion":   {Frame: Size{mm(1785), mm(1185)}, Layout: Layout{Mullions: []decimal.Decimal{mm(900)}}},
		"in bricks": {Frame: Size{mm(1785), mm(1185)}, Layout: Layout{Mullions: []decimal.Decimal{mm(900)}}, BedJoint: &joint},
		"four lights": {Frame: Size{mm(3585), mm(2090)}, BedJoint: &joint, Layout: Layout{
			Mullions: []decimal.Decimal{mm(900), mm(1800), mm(2700)}, Transoms: []decimal.Decimal{mm(1500), mm(0), mm(0), mm(1500)}}},
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Fixings(req, DefaultSettings()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// The counts by clause 6.7.11 (D) with a fixed end distance: 1000 long takes 3
// fixings with ends of 150 and 2 with ends of 200.
func TestFixingsFewestWithTheEndsHeld(t *testing.T) {
	for end, want := range map[int]int{150: 3, 200: 2} {
		s := ruleFor(1000, nil, clearCentre)
		s.lead, s.trail = end, end
		require.Equal(t, want, s.count(), "ends of %d", end)
	}
}

// The search against the closed formula from clause 6.7.11 (D), with the ends as
// far in as they may be: n = max(2, ⌈(L − 2·250)/600⌉ + 1).
func TestFixingsAgainstTheFormula(t *testing.T) {
	for length := 2*endLeast + spanLeast; length <= mostFrame; length++ {
		want := max(2, (length-2*endMost+spanMost-1)/spanMost+1)
		s := ruleFor(length, nil, clearCentre)
		require.Equal(t, want, s.count(), length)
	}
}
