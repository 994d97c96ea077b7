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
