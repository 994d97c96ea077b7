package typeface

import (
	"strings"
	"unicode"
)

// Line puts words on one line, without anything that has no shape: what turns
// or joins letters, and control characters. Letters outside the basic plane
// become the replacement character, as a PDF's fonts can't name them.
func Line(words string) string {
	printable := func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case !unicode.IsGraphic(r):
			return -1
		case r > 0xFFFF:
			return unicode.ReplacementChar
		}
		return r
	}
	return strings.Join(strings.Fields(strings.Map(printable, words)), " ")
}
