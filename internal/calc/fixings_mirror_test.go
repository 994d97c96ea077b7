package calc

import (
	"slices"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// isMirrored says that places along a side are the same from both its ends.
func isMirrored(at []decimal.Decimal, length int64) bool {
	return slices.EqualFunc(at, mirrorOf(at, length), decimal.Decimal.Equal)
}

func mirrorOf(at []decimal.Decimal, length int64) []decimal.Decimal {
	var out []decimal.Decimal
	for _, p := range slices.Backward(at) {
		out = append(out, mm(length).Sub(p))
	}
	return out
}

// mirrorRequest is the frame seen from inside.
func mirrorRequest(req FixingRequest) FixingRequest {
	out := req
	out.Layout.Mullions = mirrorOf(req.Layout.Mullions, req.Frame.Width.IntPart())
	columns := slices.Clone(req.Layout.Transoms)
	for len(columns) > 0 && len(columns) <= len(req.Layout.Mullions) {
		columns = append(columns, decimal.Zero)
	}
	slices.Reverse(columns)
	out.Layout.Transoms = columns
	return out
}

// drawFrames draws frames as they are ordered, with bars in order.
func drawFrames(t *rapid.T) FixingRequest {
	req := drawFixingRequest(t)
	slices.SortFunc(req.Layout.Mullions, decimal.Decimal.Cmp)
	return req
}

func TestFixingsOfAMirroredFrameAreMirrored(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		req := drawFrames(t)
		plan, back := fixings(t, req), fixings(t, mirrorRequest(req))
		width := req.Frame.Width.IntPart()
		for side, want := range map[Side][]decimal.Decimal{
			Left: plan[Right].At, Right: plan[Left].At,
			Head: mirrorOf(plan[Head].At, width), Sill: mirrorOf(plan[Sill].At, width),
		} {
			require.Equal(t, len(want), len(back[side].At), "%s: %s and %s", side, want, back[side].At)
			require.True(t, slices.EqualFunc(want, back[side].At, decimal.Decimal.Equal), "%s: %s and %s", side, want, back[side].At)
		}
		for side, other := range map[Side]Side{Left: Right, Right: Left, Head: Head, Sill: Sill} {
			require.Equal(t, sorted(rules(plan[side].Shortfall)), sorted(rules(back[other].Shortfall)))
		}
	})
}

func sorted(words []string) []string { return slices.Sorted(slices.Values(words)) }

func TestFixingsOfASymmetricalFrameAreSymmetrical(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		req := drawFrames(t)
		req.Layout.Mullions = append(req.Layout.Mullions, mirrorOf(req.Layout.Mullions, req.Frame.Width.IntPart())...)
		if rapid.Bool().Draw(t, "one in the middle") {
			req.Layout.Mullions = append(req.Layout.Mullions, req.Frame.Width.Div(mm(2)))
		}
		slices.SortFunc(req.Layout.Mullions, decimal.Decimal.Cmp)
		if len(req.Layout.Transoms) > 0 {
			columns := make([]decimal.Decimal, len(req.Layout.Mullions)+1)
			columns[0], columns[len(columns)-1] = req.Layout.Transoms[0], req.Layout.Transoms[0]
			req.Layout.Transoms = columns
		}
		plan := fixings(t, req)
		require.Equal(t, plan[Left].At, plan[Right].At)
		for _, side := range []Side{Head, Sill} {
			require.True(t, isMirrored(plan[side].At, req.Frame.Width.IntPart()), "%s: %s", side, plan[side].At)
		}
		if len(req.Layout.Transoms) == 0 && req.BedJoint == nil {
			require.True(t, isMirrored(plan[Left].At, req.Frame.Height.IntPart()), "%s", plan[Left].At)
		}
	})
}

// Two fixings never share their masonry: 100 mm between them is common practice,
// no source. All but one in the very middle are on whole millimetres.
func TestFixingsKeepApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		req := drawFixingRequest(t)
		for side, s := range fixings(t, req) {
			length := req.Frame.Width.IntPart()
			if side == Left || side == Right {
				length = req.Frame.Height.IntPart()
			}
			for i, p := range s.At {
				require.True(t, p.IsInteger() || p.Add(p).Equal(mm(length)), "%s: %s", side, s.At)
				require.True(t, i == 0 || p.Sub(s.At[i-1]).GreaterThanOrEqual(mm(100)), "%s: %s", side, s.At)
			}
		}
	})
}

// fewestOnGrid tries every chain of places 5 mm apart by clause 6.7.11 (R), 100 mm
// or more between two (C), and gives the fewest that do; 0: none does.
func fewestOnGrid(length int, allowed func(p int) bool) int {
	reach := map[int]bool{}
	for p := 150; p <= 250; p += 5 {
		reach[p] = allowed(p)
	}
	for n := 2; n < 100; n++ {
		next := map[int]bool{}
		for from, ok := range reach {
			for p := from + 100; ok && p <= from+600 && p <= length-150; p += 5 {
				if !next[p] && allowed(p) {
					next[p] = true
					if p >= length-250 {
						return n
					}
				}
			}
		}
		reach = next
	}
	return 0
}

// halfOnGrid is fewestOnGrid for patterns that are alike from both ends.
func halfOnGrid(length int, allowed func(p int) bool) int {
	best := 0
	keep := func(n int) {
		if best == 0 || n < best {
			best = n
		}
	}
	reach := map[int]bool{}
	for p := 150; p <= 250; p += 5 {
		reach[p] = allowed(p)
	}
	middle := allowed(length/2) && allowed((length+1)/2)
	for n := 1; n < 50; n++ {
		next := map[int]bool{}
		for from, ok := range reach {
			if !ok {
				continue
			}
			if across := length - 2*from; 100 <= across && across <= 600 {
				keep(2 * n)
			}
			if across := length - 2*from; middle && 200 <= across && across <= 1200 {
				keep(2*n + 1)
			}
			for p := from + 100; p <= from+600 && 2*p <= length; p += 5 {
				next[p] = next[p] || allowed(p)
			}
		}
		reach = next
	}
	return best
}

// Where a pattern by the rule exists the program has one, with no more fixings
// than it takes: of a jamb in brick, of a sill alike from both ends, and of any
// other side.
func TestFixingsFindAPatternWhereThereIsOne(t *testing.T) {
	away := func(p int, bars ...int) bool {
		return !slices.ContainsFunc(bars, func(bar int) bool { return max(p-bar, bar-p) < 150 })
	}
	rapid.Check(t, func(t *rapid.T) {
		width := 5 * rapid.IntRange(80, 900).Draw(t, "width")
		height := 5 * rapid.IntRange(80, 900).Draw(t, "height")
		transom := rapid.IntRange(0, height).Draw(t, "transom")
		joint, gauge := rapid.IntRange(0, 89).Draw(t, "joint"), rapid.IntRange(50, 90).Draw(t, "gauge")
		var bars []int
		for range rapid.IntRange(0, 3).Draw(t, "mullions") {
			bars = append(bars, rapid.IntRange(0, width).Draw(t, "mullion"))
		}
		alike := rapid.Bool().Draw(t, "alike")
		if alike {
			bars = append(bars, mirrorPlaces(bars, width)...)
		}
		slices.Sort(bars)
		at := mm(int64(joint))
		req := FixingRequest{Frame: Size{mm(int64(width)), mm(int64(height))}, BedJoint: &at, Gauge: mm(int64(gauge)),
			Layout: Layout{Mullions: inHalves(bars).inMM(), Transoms: []decimal.Decimal{mm(int64(transom))}}}
		for range bars {
			req.Layout.Transoms = append(req.Layout.Transoms, mm(int64(transom)))
		}
		plan := fixings(t, req)

		onSill := func(p int) bool { return away(p, bars...) }
		want := fewestOnGrid(width, onSill)
		if slices.Equal(mirrorPlaces(bars, width), bars) {
			want = halfOnGrid(width, onSill)
			require.True(t, want > 0 || fewestOnGrid(width, onSill) == 0, "being alike never costs the rule")
		}
		if want > 0 {
			require.Empty(t, plan[Sill].Shortfall)
			require.LessOrEqual(t, len(plan[Sill].At), want)
		}
		onJamb := func(p int) bool {
			above := ((p-joint)%gauge + gauge) % gauge
			return above >= 20 && above <= gauge-20 && (transom == 0 || away(p, transom))
		}
		if want = fewestOnGrid(height, onJamb); want > 0 {
			require.Empty(t, plan[Left].Shortfall)
			require.LessOrEqual(t, len(plan[Left].At), want)
		}
	})
}

// Where the rule's fewest can't all be in brick, one more is tried, and what is
// said of it holds.
func TestFixingsSayTheTruthOfJoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		req := drawFixingRequest(t)
		joint := mm(rapid.Int64Range(-100, 200).Draw(t, "bed joint"))
		req.BedJoint, req.Gauge = &joint, mm(rapid.Int64Range(30, 90).Draw(t, "course"))
		plan := fixings(t, req)
		in, out := 0, 0
		for _, side := range []Side{Left, Right} {
			for _, p := range plan[side].At {
				above := p.Sub(joint).Mod(req.Gauge).Add(req.Gauge).Mod(req.Gauge)
				if above.LessThan(mm(20)) || above.GreaterThan(req.Gauge.Sub(mm(20))) {
					out++
				} else {
					in++
				}
			}
		}
		said := append(rules(plan[Left].Reasons), rules(plan[Right].Reasons)...)
		short := append(rules(plan[Left].Shortfall), rules(plan[Right].Shortfall)...)
		require.Equal(t, out, len(slices.DeleteFunc(short, func(r string) bool { return r != "fixing_in_joint" })))
		require.Equal(t, out == 0 && in > 0, slices.Contains(said, "fixing_in_brick"))
		require.Equal(t, out > 0 && in > 0, slices.Contains(said, "fixing_in_brick_but"))

		free := req
		free.BedJoint = nil
		for _, side := range []Side{Left, Right} {
			at := plan[side]
			if !slices.Contains(rules(at.Shortfall), "fixing_in_joint") || req.Frame.Height.LessThan(mm(400)) {
				continue
			}
			rule := limits(int(req.Frame.Height.IntPart()), nil)
			if tr := req.transomAt(side); tr.IsPositive() {
				rule = limits(int(req.Frame.Height.IntPart()), mmPlaces([]decimal.Decimal{tr}))
			}
			require.Contains(t, []int{rule.count(), rule.count() + 1}, len(at.At))
		}
	})
}

// mostEvenHalf tries every pattern of up to five fixings that is alike from both
// ends, with at most two on each side of the middle, and gives the fewest and of
// those the largest span, in mm rounded up, and four times the sum of squares.
func mostEvenHalf(length, bar int) (best [3]int) {
	clear := func(p2 int) bool { return bar == 0 || max(p2-2*bar, 2*bar-p2) >= 300 }
	keep := func(at ...int) { // half mm, of the near half; the last one may be the middle
		full := slices.Clone(at)
		for _, p := range slices.Backward(at) {
			if p != length {
				full = append(full, 2*length-p)
			}
		}
		most, squares := 2*full[0], 4*full[0]*full[0]
		for i, p := range full {
			if !clear(p) {
				return
			}
			if i == 0 {
				continue
			}
			span := p - full[i-1]
			if span < 200 || span > 1200 {
				return
			}
			most, squares = max(most, span), squares+span*span
		}
		got := [3]int{len(full), (most + 1) / 2, squares}
		if best[0] == 0 || slices.Compare(got[:], best[:]) < 0 {
			best = got
		}
	}
	for a := 300; a <= 500 && a < length; a += 2 {
		keep(a)
		keep(a, length)
		for b := a + 200; b <= a+1200 && b < length; b += 2 {
			keep(a, b)
			keep(a, b, length)
		}
	}
	return best
}

func TestFixingsOfASymmetricalSideAreTheMostEven(t *testing.T) {
	for length := 400; length < 2900; length += 53 {
		for _, bar := range []int{0, length / 2} {
			if bar != 0 && 2*bar != length { // a mullion between two millimetres is both
				continue
			}
			want := mostEvenHalf(length, bar)
			if want[0] == 0 {
				continue
			}
			var centres []int
			if bar != 0 {
				centres = []int{bar}
			}
			at, _ := fixed(length, centres, nil)
			most, squares := 2*at[0], 4*at[0]*at[0]
			for i := 1; i < len(at); i++ {
				span := at[i] - at[i-1]
				most, squares = max(most, span), squares+span*span
			}
			require.Equal(t, want, [3]int{len(at), (most + 1) / 2, squares}, "%d with a bar at %d: %v", length, bar, at)
		}
	}
}

// Being alike from both ends takes no more fixings than the closed formula from
// clause 6.7.11 (D) where no bar is in the way.
func TestFixingsOfASymmetricalSideAgainstTheFormula(t *testing.T) {
	for length := 2*endLeast + spanLeast; length <= mostFrame; length++ {
		f := limits(length, nil).folded()
		require.Equal(t, max(2, (length-2*endMost+spanMost-1)/spanMost+1), f.fold.all(f.count()), length)
	}
}

func TestFixingsBetweenBars(t *testing.T) {
	for _, c := range []struct {
		length  int
		centres []int
		want    []string
	}{
		// Only 740 to 760 is clear near the middle, too narrow for two.
		{1500, []int{590, 910}, []string{"250", "750", "1250"}},
	} {
		at, _ := fixed(c.length, c.centres, nil)
		require.Equal(t, c.want, inWords(at))
	}
	// Bars so near to each other that the clearance gives way, but not the 100 mm
	// between two fixings.
	for apart := 20; apart < 300; apart += 7 {
		for _, length := range []int{500, 640, 999, 1400, 2201} {
			var bars []int
			for off := 0; off < length/2; off += apart {
				bars = append(bars, length/2-off, (length+1)/2+off)
			}
			at, _ := fixed(length, bars, nil)
			for i := 1; i < len(at); i++ {
				require.GreaterOrEqual(t, at[i]-at[i-1], 200, "%d, bars every %d: %v", length, apart, at)
				require.LessOrEqual(t, at[i]-at[i-1], 1200, "%d, bars every %d: %v", length, apart, at)
			}
			for i, p := range at {
				require.Equal(t, 2*length, p+at[len(at)-1-i], "%d, bars every %d: %v", length, apart, at)
			}
		}
	}
}

func TestNearMiddle(t *testing.T) {
	for _, c := range []struct {
		length  int
		centres []int
		want    []string
	}{
		{1190, nil, []string{"595"}},
		{1191, nil, []string{"595.5"}},
		{1191, []int{595, 596}, []string{"445", "746"}},
		{1190, []int{445}, []string{"595"}},
		{1190, []int{446}, []string{"596"}},
		{1190, []int{745}, []string{"595"}},
		{1190, []int{744}, []string{"594"}},
		{1190, []int{200, 500}, []string{"650"}},
		{1190, []int{500, 990}, []string{"650"}},
		{1190, []int{700, 990}, []string{"550"}},
		{1190, []int{200, 400, 699}, []string{"849"}},
		{1190, []int{491, 790, 990}, []string{"341"}},
		{310, nil, []string{"155"}},
		{350, []int{175}, []string{"175"}}, // never two within 100 mm
		{450, []int{200}, []string{"300"}},
		{450, []int{225}, []string{"150", "300"}},
		{400, []int{200}, []string{"150", "250"}}, // just 100 mm apart
		{399, []int{199, 200}, []string{"199.5"}},
		{290, []int{100}, []string{"145"}}, // only there, however near
	} {
		require.Equal(t, c.want, inWords(nearMiddle(c.length, c.centres)), "%v", c)
	}
}

func inWords(at halves) []string {
	var out []string
	for _, d := range at.inMM() {
		out = append(out, d.String())
	}
	return out
}

func TestNearQuarters(t *testing.T) {
	for _, c := range []struct {
		length  int
		centres []int
		want    []string
	}{
		{2401, nil, []string{"600", "1801"}},
		{2404, []int{601}, []string{"751", "1803"}}, // of two as near that nearer to the middle
		{2404, []int{1803}, []string{"601", "1653"}},
		{2404, []int{600}, []string{"750", "1803"}},
		{2404, []int{602}, []string{"452", "1803"}},
		{2404, []int{601, 850}, []string{"451", "1803"}},
		{2404, []int{300, 600, 899}, []string{"450", "1803"}},
		{2500, []int{300, 599, 898, 1150}, []string{"150", "1875"}},
		// Bars all along the near half: the clearance gives way, and the places
		// never come nearer than 100 mm.
		{2500, []int{280, 550, 820, 1090}, []string{"685", "1875"}},
		{2500, []int{150, 350, 550, 750, 950, 1150, 1350, 1550, 1750, 1950, 2150, 2350}, []string{"650", "1850"}},
	} {
		require.Equal(t, c.want, inWords(nearQuarters(c.length, c.centres)), "%v", c)
	}
	require.Equal(t, []string{"1200", "1300"}, inWords(nearQuarters(2500, []int{153, 452, 751, 1050, 1450, 1749, 2048, 2347})))
}

// Against every pair of places: the least short of 150 mm from corners and bars,
// by least squares, after as many in brick as can be. 100 mm between two and 50
// from a corner are common practice, no source.
func TestShortSideAgainstBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		length := rapid.IntRange(200, 399).Draw(t, "length")
		var centres []int
		for range rapid.IntRange(0, 2).Draw(t, "bars") {
			centres = append(centres, rapid.IntRange(1, length-1).Draw(t, "bar"))
		}
		var bricks []run
		if rapid.Bool().Draw(t, "bricks") {
			first := rapid.IntRange(0, 74).Draw(t, "first")
			for lo := first; lo < length; lo += 75 {
				bricks = append(bricks, run{lo, lo + 35})
			}
		}
		lacks := func(a, z int) (out [2]int) {
			for _, p := range []int{a, z} {
				near := 150
				for _, c := range centres {
					near = min(near, max(p-c, c-p))
				}
				end := min(150, p, length-p)
				out[1] += (150-near)*(150-near) + (150-end)*(150-end)
				if bricks != nil && !inRuns(bricks, p) {
					out[0]++
				}
			}
			return out
		}
		mirrored := true
		for _, c := range centres {
			mirrored = mirrored && slices.Contains(centres, length-c)
		}
		got := shortSide(length, centres, bricks)
		require.GreaterOrEqual(t, got[1]-got[0], 100)
		require.GreaterOrEqual(t, min(got[0], length-got[1]), 50)
		if bricks == nil {
			require.Equal(t, mirrorPlaces(got, length), shortSide(length, mirrorPlaces(centres, length), nil))
			require.True(t, !mirrored || got[0] == length-got[1], "%v", got)
		}
		best := lacks(got[0], got[1])
		for a := 50; a <= length-150; a++ {
			for z := a + 100; z <= length-50; z++ {
				if bricks == nil && mirrored && z != length-a {
					continue
				}
				other := lacks(a, z)
				require.LessOrEqual(t, slices.Compare(best[:], other[:]), 0, "%v, but %d and %d", got, a, z)
			}
		}
	})
}
