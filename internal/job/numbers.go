package job

import (
	"slices"
	"strconv"
	"strings"
)

// Numbers are numbers of windows in a row, as people type them: 1-5, 7, 9-12.
func Numbers(ids []int) string {
	return Spans(slices.Compact(slices.Sorted(slices.Values(ids))), "-", ", ")
}

// Spans writes numbers in their order, those that follow each other as first and last
// with a dash.
func Spans(ns []int, dash, between string) string {
	var parts []string
	for _, r := range Runs(ns) {
		part := strconv.Itoa(r[0])
		if r[1] > r[0] {
			part += dash + strconv.Itoa(r[1])
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, between)
}

// Runs are the first and the last of each stretch of numbers that follow each other.
func Runs(ns []int) [][2]int {
	var runs [][2]int
	for i, n := range ns {
		if i > 0 && n == ns[i-1]+1 {
			runs[len(runs)-1][1] = n
			continue
		}
		runs = append(runs, [2]int{n, n})
	}
	return runs
}
