package calc

import "slices"

// shortest is how near to a corner a fixing of a short side may come, mm: that
// of a side of 200 mm, the least frame. Common practice, no source.
const shortest = 50

// shortSide places two fixings on a side too short for the rule, mm: never
// nearer to each other than spanLeast, as many in bricks as can be, and as near
// to the rule's distances from corners and bars as that leaves them, by least
// squares. bricks is nil where nothing is known of them; a side alike from both
// ends gets fixings that are too, then.
func shortSide(length int, centres []int, bricks []run) []int {
	centres = slices.Sorted(slices.Values(centres))
	back := mirrorPlaces(centres, length)
	turn := slices.Compare(back, centres)
	if bricks == nil && turn < 0 {
		return mirrorPlaces(shortSide(length, back, nil), length)
	}
	cost := func(p int) (cost int) {
		ends := min(p, length-p)
		cost = short(endLeast, ends)
		near := length
		for _, c := range centres {
			near = min(near, max(p-c, c-p))
		}
		cost += short(clearCentre, near)
		if !inRuns(bricks, p) {
			cost += 1 << 20 // more than all squares together
		}
		return cost
	}
	var best []int
	least := 0
	for a := shortest; a < length; a++ {
		for z := a + spanLeast; z <= length-shortest; z++ {
			if bricks == nil && turn == 0 && z != length-a {
				continue
			}
			if c := cost(a) + cost(z); best == nil || c < least {
				best, least = []int{a, z}, c
			}
		}
	}
	return best
}

// short is the square of what a distance lacks.
func short(want, got int) int {
	lack := max(0, want-got)
	return lack * lack
}
