package hear

import (
	"slices"
	"strings"
)

// Near are the codes of the names of fields that what was typed is near to: one
// slip in a word, or its beginning. Names of one word come before longer ones.
func (w *Words) Near(text string) []string {
	var short, long []string
	for _, a := range atoms(text) {
		if a.kind != word || len(a.text) < 3 {
			continue
		}
		for phrase, means := range w.phrases {
			name := (token{means: means}).codeOf("name")
			if name == "" {
				continue
			}
			for _, part := range strings.Fields(phrase) {
				switch {
				case !oneSlip(a.text, part) && !twoSlips(a.text, part) && !strings.HasPrefix(part, a.text):
				case part == phrase:
					short = append(short, name)
				default:
					long = append(long, name)
				}
			}
		}
	}
	if short == nil {
		short = long
	}
	slices.Sort(short)
	return slices.Compact(short)
}

// twoSlips says whether two letters of a longer word are others.
func twoSlips(a, b string) bool {
	return len(a) >= 6 && len(a) == len(b) && othersOf(a, b) <= 2
}
