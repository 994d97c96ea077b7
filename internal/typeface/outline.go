package typeface

import (
	"sync/atomic"
	"unicode"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Files are the TrueType files of a weight, for documents that embed them. A
// letter is drawn by the one that its Outline names. They must not be written
// to.
func Files(w Weight) [][]byte {
	if w == Bold {
		return [][]byte{boldTTF, boldExtraTTF}
	}
	return [][]byte{regularTTF, regularExtraTTF}
}

// Letter is how a letter is set.
type Letter struct {
	Rune    rune    // the letter, or the replacement character where no file has it
	File    int     // of Files
	Advance float64 // how far the pen moves on, in parts of the letters' size
}

// latin keeps the letters that Latin and Cyrillic are written with.
var latin [2][0x600]atomic.Pointer[Letter]

// Outline says how a weight sets r.
func Outline(w Weight, r rune) Letter {
	if r < 0 || int(r) >= len(latin[w]) {
		return outline(w, r)
	}
	l := latin[w][r].Load()
	if l == nil {
		found := outline(w, r)
		l = &found
		latin[w][r].Store(l)
	}
	return *l
}

// outline takes the letter from the first of the weight's fonts that has it.
func outline(w Weight, r rune) Letter {
	var buf sfnt.Buffer
	for file, f := range parsed[w]() {
		glyph, err := f.GlyphIndex(&buf, r)
		if err != nil || glyph == 0 {
			continue
		}
		em := fixed.I(int(f.UnitsPerEm()))
		wide, _ := f.GlyphAdvance(&buf, glyph, em, font.HintingNone) // 0 where it is not told
		return Letter{r, file, float64(wide) / float64(em)}
	}
	if r == unicode.ReplacementChar {
		return Letter{Rune: r}
	}
	return outline(w, unicode.ReplacementChar)
}

// Width is the length of a line of text in parts of the letters' size.
func Width(w Weight, text string) float64 {
	wide := 0.0
	for _, r := range text {
		wide += Outline(w, r).Advance
	}
	return wide
}
