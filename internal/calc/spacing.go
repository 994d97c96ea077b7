package calc

import "slices"

// The fixing rule, mm. Source: new-home warranty standards, clause 6.7.11,
// all materials.
const (
	endLeast    = 150 // end fixing from the frame's outside corner
	endMost     = 250
	clearCentre = 150 // from a mullion's or transom's centre line
	spanMost    = 600 // between fixings
)

// spanLeast, mm: two fixings nearer than this share their masonry. Common
// practice, no source.
const spanLeast = 100

// run is a stretch of places in whole mm, both ends included.
type run struct{ lo, hi int }

// inRuns says whether a place is in one of the runs.
func inRuns(runs []run, p int) bool {
	return slices.ContainsFunc(runs, func(r run) bool { return r.lo <= p && p <= r.hi })
}

// openRuns are the places from lo to hi that are at least away from every
// centre line.
func openRuns(lo, hi int, centres []int, away int) []run {
	cs := slices.Clone(centres)
	slices.Sort(cs)
	var out []run
	for _, c := range cs {
		if end := min(c-away, hi); lo <= end {
			out = append(out, run{lo, end})
		}
		lo = max(lo, c+away)
	}
	if lo <= hi {
		out = append(out, run{lo, hi})
	}
	return out
}

// crossing are the places in both lists. Both are in order and don't overlap.
func crossing(dst, a, b []run) []run {
	for i, j := 0, 0; i < len(a) && j < len(b); {
		if lo, hi := max(a[i].lo, b[j].lo), min(a[i].hi, b[j].hi); lo <= hi {
			dst = append(dst, run{lo, hi})
		}
		if a[i].hi < b[j].hi {
			i++
		} else {
			j++
		}
	}
	return dst
}

// spacing is what the places along one side must keep to.
type spacing struct {
	length int
	lead   int   // the first fixing's largest distance from its corner
	trail  int   // the last one's
	open   []run // where any fixing may be, clear of centre lines and corners
	fold   fold  // whether only the near half is worked out
}

// fold says how a side is worked out. The far half of a folded one is the near
// half's mirror image, and n counts the fixings of the near half alone.
type fold int

const (
	unfolded fold = iota
	between       // the middle is halfway between two fixings
	through       // a fixing stands in the middle
)

// all is how many fixings a side has of which n are worked out.
func (f fold) all(n int) int {
	switch f {
	case between:
		return 2 * n
	case through:
		return 2*n + 1
	}
	return n
}

// ruleFor is the published rule for a side, with some clearance of the centre
// lines.
func ruleFor(length int, centres []int, away int) spacing {
	return spacing{length: length, lead: endMost, trail: endMost, open: openRuns(endLeast, length-endLeast, centres, away)}
}

// count is the fewest fixings that keep to the limits, 0 when none does.
func (s spacing) count() int {
	var here, there, ends [8]run
	reach := s.first(here[:0], s.open, 2*s.lead)
	last := s.last(ends[:0], s.open, max(spanMost, 2*s.trail))
	next := there[:0]
	if s.fold != unfolded && meet(reach, last) {
		return 1
	}
	for n := 2; ; n++ {
		next = step(next[:0], reach, s.open, spanLeast, spanMost)
		if len(next) == 0 {
			return 0
		}
		if meet(next, last) {
			return n
		}
		reach, next = next, reach
	}
}

// first are the places of the first fixing with twice its end distance at
// most span.
func (s spacing) first(dst, allowed []run, span int) []run {
	return crossing(dst, allowed, []run{{endLeast, min(s.lead, span/2)}})
}

// last are those of the last one that is worked out: with twice its end
// distance at most span, or with at most span to what stands beyond it.
func (s spacing) last(dst, allowed []run, span int) []run {
	inner := min(span, spanMost)
	at := run{s.length - min(s.trail, span/2), s.length}
	switch s.fold {
	case between:
		at = run{half(s.length - inner + 1), half(s.length - spanLeast)}
	case through:
		at = run{half(s.length - 2*inner + 1), half(s.length - 2*spanLeast)}
	}
	return crossing(dst, allowed, []run{at})
}

// half is half of n, rounded down.
func half(n int) int { return n >> 1 }

// meet says whether two lists share a place.
func meet(a, b []run) bool {
	for i, j := 0, 0; i < len(a) && j < len(b); {
		if max(a[i].lo, b[j].lo) <= min(a[i].hi, b[j].hi) {
			return true
		}
		if a[i].hi < b[j].hi {
			i++
		} else {
			j++
		}
	}
	return false
}

// step are the allowed places that lie least to most further along than a
// place in from; with both negative and exchanged, those that lie before.
func step(dst, from, allowed []run, least, most int) []run {
	j := 0
	for i := 0; i < len(from); i++ {
		lo, hi := from[i].lo+least, from[i].hi+most
		for i+1 < len(from) && from[i+1].lo+least <= hi+1 { // runs that grow together
			i++
			hi = from[i].hi + most
		}
		for ; j < len(allowed) && allowed[j].lo <= hi; j++ {
			if l, h := max(lo, allowed[j].lo), min(hi, allowed[j].hi); l <= h {
				dst = append(dst, run{l, h})
			}
			if allowed[j].hi > hi { // the next stretch may reach this one too
				break
			}
		}
	}
	return dst
}

// possible says whether n fixings can be placed with no span over the given
// one. only, when given, holds narrower places for single fixings.
func (s spacing) possible(n, span int, only [][]run) bool {
	var here, there, ends [32]run
	reach, next := s.first(here[:0], s.allowed(only, 0), span), there[:0]
	for k := 1; k < n; k++ {
		next = step(next[:0], reach, s.allowed(only, k), spanLeast, min(span, spanMost))
		reach, next = next, reach
	}
	return meet(reach, s.last(ends[:0], s.open, span))
}

func (s spacing) allowed(only [][]run, k int) []run {
	if only == nil {
		return s.open
	}
	return only[k]
}

// chances are, for each of n fixings, the places from which all others can
// still be placed with no span over the given one; there must be some.
func (s spacing) chances(n, span int, only [][]run) [][]run {
	most := min(span, spanMost)
	out := make([][]run, n)
	out[0] = s.first(nil, s.allowed(only, 0), span)
	for k := 1; k < n; k++ {
		out[k] = step(nil, out[k-1], s.allowed(only, k), spanLeast, most)
	}
	out[n-1] = s.last(nil, out[n-1], span)
	for k := n - 2; k >= 0; k-- {
		out[k] = step(nil, out[k+1], out[k], -most, -spanLeast)
	}
	return out
}

// even spaces n fixings most evenly, nil if they can't be placed at all.
func (s spacing) even(n int, only [][]run) []int {
	// Fixings with as many spans, ends counted, can't do better than equal ones.
	all := s.fold.all(n)
	lo, hi := (s.length+all-1)/all-1, max(spanMost, 2*s.lead, 2*s.trail) // lo is too small
	if !s.possible(n, hi, only) {
		return nil
	}
	for guess := lo + 1; lo+1 < hi; guess = (lo + hi) / 2 {
		if s.possible(n, guess, only) {
			hi = guess
		} else {
			lo = guess
		}
	}
	return s.leastSquares(s.chances(n, hi, only), min(hi, spanMost))
}

// leastSquares picks one place from each list so that the sum of the squares
// of the spans is least, an end counting half a span of twice its length, and
// no span is over the given one. Costs are four times the squares, so that half
// a span across the middle is whole.
func (s spacing) leastSquares(chances [][]run, span int) []int {
	n := len(chances)
	t := table{span: span, rows: layersOf(chances)}
	for i, p := range t.rows[0].at {
		t.rows[0].cost[i] = 8 * p * p
	}
	for k := 1; k < n; k++ {
		t.fill(k, 0, len(t.rows[k].at)-1, 0, len(t.rows[k-1].at)-1)
	}
	last := t.rows[n-1]
	pick := -1
	for i, p := range last.at {
		last.cost[i] += s.endCost(p)
		if last.from[i] >= 0 && (pick < 0 || last.cost[i] < last.cost[pick]) {
			pick = i
		}
	}
	out := make([]int, n)
	for k := n - 1; k >= 0; k-- {
		out[k] = t.rows[k].at[pick]
		pick = t.rows[k].from[pick]
	}
	return out
}

// endCost is what stands beyond the last fixing that is worked out, at p. Of a
// span across the middle each half takes half.
func (s spacing) endCost(p int) int {
	end, across := s.length-p, s.length-2*p
	switch s.fold {
	case between:
		return 2 * across * across
	case through:
		return across * across // the span is half of it
	}
	return 8 * end * end
}

// layer is one fixing's places, the least cost up to each, and the place of
// the fixing before that gives it.
type layer struct{ at, cost, from []int }

func layersOf(chances [][]run) []layer {
	size := 0
	for _, runs := range chances {
		for _, r := range runs {
			size += r.hi - r.lo + 1
		}
	}
	room := make([]int, 3*size)
	out := make([]layer, len(chances))
	for k, runs := range chances {
		n := 0
		for _, r := range runs {
			for p := r.lo; p <= r.hi; p++ {
				room[n] = p
				n++
			}
		}
		out[k] = layer{room[:n], room[n : 2*n], room[2*n : 3*n]}
		room = room[3*n:]
	}
	return out
}

// table is the dynamic programme over the layers.
type table struct {
	span int
	rows []layer
}

// fill finds the best place before each place lo..hi of layer k, among places
// left..right of the layer before. The square is convex, so the best place
// before never moves back as the place moves on, and halving works. Every
// place of a layer has a place before it within reach: chances saw to it.
func (t table) fill(k, lo, hi, left, right int) {
	if lo > hi {
		return
	}
	here, before := t.rows[k], t.rows[k-1]
	mid := (lo + hi) / 2
	p, best := here.at[mid], -1
	first, _ := slices.BinarySearch(before.at[left:right+1], p-t.span) // nearer ones are within the span
	for i := left + first; i <= right; i++ {
		gap := p - before.at[i]
		if gap < spanLeast {
			break
		}
		if cost := before.cost[i] + 4*gap*gap; best < 0 || cost < here.cost[mid] {
			best, here.cost[mid] = i, cost
		}
	}
	here.from[mid] = best
	t.fill(k, lo, mid-1, left, best)
	t.fill(k, mid+1, hi, best, right)
}
