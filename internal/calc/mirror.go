package calc

import (
	"cmp"
	"slices"
	"sort"

	"github.com/shopspring/decimal"
)

// A mirrored opening gets the mirrored fixings. So of patterns that are equally
// good none is taken because it was found first: a side that is alike from both
// ends is worked out for one half, and any other in that of its two directions
// which has its places further towards the start.

// limits is the published rule for a side too long for shortSide. What can't be
// had gives way in this order: an end fixing that a mullion or transom keeps
// from its place stands just beyond it; then fixings come as near to mullions
// and transoms as they must.
func limits(length int, centres []int) spacing {
	if s := ruleFor(length, centres, clearCentre); len(s.open) > 0 {
		s.lead = max(endMost, s.open[0].lo)
		s.trail = max(endMost, length-s.open[len(s.open)-1].hi)
		if s.folded().count() > 0 {
			return s
		}
	}
	// The largest clearance that leaves a way; without any there always is one.
	away := sort.Search(clearCentre-1, func(away int) bool { return ruleFor(length, centres, away+1).folded().count() == 0 })
	return ruleFor(length, centres, away)
}

// spread is the most even spacing with the fewest fixings. Of a side that is
// alike from both ends it is the fewest of those that are too; the one in the
// middle may stand on half a millimetre.
func (s spacing) spread() halves {
	f := s.folded()
	if f.fold != unfolded {
		return f.unfold(f.even(f.count(), nil))
	}
	if back := s.mirrored(); slices.CompareFunc(back.open, s.open, compareRuns) < 0 {
		at := back.even(back.count(), nil)
		return inHalves(mirrorPlaces(at, s.length))
	}
	return inHalves(s.even(s.count(), nil))
}

// folded is a side that is alike from both ends folded in its middle, in the way
// that takes fewer fixings; any other side is left as it is.
func (s spacing) folded() spacing {
	if !slices.Equal(s.mirrored().open, s.open) {
		return s
	}
	s.fold = between
	if !inRuns(s.open, half(s.length)) {
		return s // a bar stands in the middle
	}
	odd := s
	odd.fold = through
	few, fewOdd := s.count(), odd.count()
	if fewOdd > 0 && (few == 0 || through.all(fewOdd) < between.all(few)) {
		return odd
	}
	return s
}

// unfold is the near half's fixings with those of the far half.
func (s spacing) unfold(near []int) halves {
	out := inHalves(near)
	if s.fold == through {
		out = append(out, s.length)
	}
	for _, p := range slices.Backward(near) {
		out = append(out, 2*(s.length-p))
	}
	return out
}

// mirrored is the side seen from its other end.
func (s spacing) mirrored() spacing {
	open := make([]run, len(s.open))
	for i, r := range s.open {
		open[len(open)-1-i] = run{s.length - r.hi, s.length - r.lo}
	}
	s.lead, s.trail, s.open = s.trail, s.lead, open
	return s
}

func compareRuns(a, b run) int { return cmp.Or(cmp.Compare(a.lo, b.lo), cmp.Compare(a.hi, b.hi)) }

// mirrorPlaces are places in order along a side seen from its other end.
func mirrorPlaces(at []int, length int) []int {
	out := make([]int, len(at))
	for i, p := range at {
		out[len(at)-1-i] = length - p
	}
	return out
}

// halves are places in half millimetres.
type halves []int

// inHalves are places in mm, with room for as many again and one more.
func inHalves(at []int) halves {
	out := make(halves, len(at), 2*len(at)+1)
	for i, p := range at {
		out[i] = 2 * p
	}
	return out
}

func (h halves) inMM() []decimal.Decimal {
	out := make([]decimal.Decimal, len(h))
	for i, p := range h {
		out[i] = inHalfMM(p)
	}
	return out
}

// inHalfMM is a number of half millimetres in mm.
func inHalfMM(n int) decimal.Decimal { return decimal.New(int64(5*n), -1) }

// clearRuns are the places from lo to hi that are as far from every centre line
// as the rule asks, or as they can be.
func clearRuns(lo, hi int, centres []int) []run {
	for away := clearCentre; ; away-- { // without any there always are some
		if runs := openRuns(lo, hi, centres, away); len(runs) > 0 {
			return runs
		}
	}
}

// nearMiddle is the middle of a side, or where a bar keeps a fixing from it the
// place nearest to it, or two places that are equally near.
func nearMiddle(length int, centres []int) (at halves) {
	end, least := min(endLeast, half(length)), 0
	for _, r := range clearRuns(end, length-end, centres) {
		p := min(max(length, 2*r.lo), 2*r.hi) // half mm, as the middle then is
		away := max(p-length, length-p)
		if at == nil || away < least {
			at, least = halves{p}, away
		} else if away == least {
			at = append(at, p)
		}
	}
	if len(at) > 1 && at[1]-at[0] < 2*spanLeast {
		return halves{length}
	}
	return at
}

// nearQuarters are the places nearest to the quarters of a side, each in its own
// half; of two that are equally near it is that nearer to the middle.
func nearQuarters(length int, centres []int) halves {
	near := nearQuarter(length, centres)
	far := nearQuarter(length, mirrorPlaces(centres, length))
	return inHalves([]int{near, length - far})
}

func nearQuarter(length int, centres []int) int {
	want, best := length/4, 0 // farther from it than any other
	for _, r := range clearRuns(endLeast, half(length-spanLeast), centres) {
		if p := min(max(want, r.lo), r.hi); max(p-want, want-p) <= max(best-want, want-best) {
			best = p
		}
	}
	return best
}
