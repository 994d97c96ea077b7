package calc

// inBricks spaces the fewest fixings that all land in bricks, which may be more
// than the rule's fewest. Where no number of them does, it is the fewest by the
// rule or one more, whichever leaves fewer out of bricks.
func (s spacing) inBricks(bricks []run) []int {
	brick := s
	brick.open = crossing(nil, s.open, bricks)
	if n := brick.count(); n > 0 {
		return brick.even(n, nil)
	}
	few := s.count()
	for out := 1; ; out++ { // there is one when all may be out
		for _, n := range []int{few, few + 1} {
			if at := s.withOut(brick.open, n, out); at != nil {
				return at
			}
		}
	}
}

// withOut is the most even spacing of n fixings of which the given number may
// be out of bricks, nil when there is none.
func (s spacing) withOut(brick []run, n, out int) []int {
	only := make([][]run, n)
	var best []int
	var try func(k, left int)
	try = func(k, left int) {
		if k == n {
			if at := s.even(n, only); at != nil && (best == nil || s.evener(at, best)) {
				best = at
			}
			return
		}
		if left < n-k {
			only[k] = brick
			try(k+1, left)
		}
		if left > 0 {
			only[k] = s.open
			try(k+1, left-1)
		}
	}
	try(0, out)
	return best
}

// evener says that a is spaced more evenly than b.
func (s spacing) evener(a, b []int) bool {
	am, as := s.unevenness(a)
	bm, bs := s.unevenness(b)
	return am < bm || am == bm && as < bs
}

// unevenness is the largest span and the sum of the squares, ends as in
// Fixings.
func (s spacing) unevenness(at []int) (most, squares int) {
	first, last := at[0], s.length-at[len(at)-1]
	most, squares = max(2*first, 2*last), 2*first*first+2*last*last
	for i := 1; i < len(at); i++ {
		span := at[i] - at[i-1]
		most, squares = max(most, span), squares+span*span
	}
	return most, squares
}
