package scene

// spread places labels along a line. want is where each would like its middle
// to be, in rising order; apart[i] is the least distance between the middles
// i and i+1; every middle stays within low and high. It gives the places with
// the least sum of squared moves. When the line is too short the labels run
// past high.
func spread(want, apart []float64, low, high float64) []float64 {
	// With the least distances taken off, the places only have to rise, and
	// the best rising sequence is that of the means of pooled neighbours.
	type pool struct {
		mean  float64
		count int
	}
	var pools []pool
	taken := make([]float64, len(want))
	for i, w := range want {
		if i > 0 {
			taken[i] = taken[i-1] + apart[i-1]
		}
		pools = append(pools, pool{w - taken[i], 1})
		for n := len(pools); n > 1 && pools[n-2].mean >= pools[n-1].mean; n = len(pools) {
			a, b := pools[n-2], pools[n-1]
			count := a.count + b.count
			mean := (a.mean*float64(a.count) + b.mean*float64(b.count)) / float64(count)
			pools = append(pools[:n-2], pool{mean, count})
		}
	}
	out := make([]float64, 0, len(want))
	for _, p := range pools {
		for range p.count {
			i := len(out)
			place := min(p.mean, high-taken[len(taken)-1])
			out = append(out, max(place, low)+taken[i])
		}
	}
	return out
}
