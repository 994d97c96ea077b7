package typeface

import (
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Files are the TrueType files of a weight, for documents that embed them. A
// letter is drawn by the one that Outline names. They must not be written to.
func Files(w Weight) [][]byte {
	if w == Bold {
		return [][]byte{boldTTF, boldExtraTTF}
	}
	return [][]byte{regularTTF, regularExtraTTF}
}

// Outline says which of a weight's Files draws r and how far the pen moves on
// after it, in parts of the letters' size. Ok is false when none has r.
func Outline(w Weight, r rune) (file int, advance float64, ok bool) {
	file, ok = fontOf(w, r)
	if !ok {
		return 0, 0, false
	}
	var buf sfnt.Buffer
	f := parsed[w]()[file]
	glyph, err := f.GlyphIndex(&buf, r)
	if err != nil {
		return 0, 0, false
	}
	em := fixed.I(int(f.UnitsPerEm()))
	wide, err := f.GlyphAdvance(&buf, glyph, em, font.HintingNone)
	if err != nil {
		return 0, 0, false
	}
	return file, float64(wide) / float64(em), true
}
