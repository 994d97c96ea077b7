package job

import (
	"slices"

	"sillbot/internal/opening"
)

// Common are the pairs that stand on every one of the lines, of at least two.
func Common(lines []SheetLine) []opening.Pair {
	if len(lines) < 2 {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(lines[0].Stated), func(p opening.Pair) bool {
		return !opening.Find(p.Key).Is(opening.Maker) || slices.ContainsFunc(lines[1:], func(l SheetLine) bool { return !slices.Contains(l.Stated, p) })
	})
}

// BlanksOnLines is BlanksOn for the lines of an order.
func BlanksOnLines(lines []SheetLine, of func(SheetLine) []opening.Key) []Blank {
	return BlanksOn(func(do func(int, []opening.Key)) {
		for _, l := range lines {
			do(l.Opening, of(l))
		}
	})
}
