package typeface

import (
	"fmt"
	"sync"
	"testing"
	"unicode"

	"github.com/stretchr/testify/require"
)

// The ranges are the blocks of the Unicode Standard that Latin and Cyrillic
// languages are written with.
func TestEveryLetterHasAShape(t *testing.T) {
	blocks := []struct {
		name     string
		from, to rune
	}{
		{"Basic Latin", 0x0020, 0x007E},
		{"Latin-1 Supplement", 0x00A0, 0x00FF},
		{"Latin Extended-A", 0x0100, 0x017F},
		{"Latin Extended-B", 0x0180, 0x024F},
		{"Cyrillic", 0x0400, 0x04FF},
		{"Cyrillic Supplement", 0x0500, 0x052F},
	}
	for _, b := range blocks {
		for _, w := range []Weight{Regular, Bold} {
			for r := b.from; r <= b.to; r++ {
				if !unicode.IsGraphic(r) {
					continue
				}
				if !Has(w, r) {
					t.Errorf("%s, weight %d: no shape for %U %c", b.name, w, r, r)
				}
				if r != ' ' && r != '\u00A0' && At(w, 30).Glyph(r).Mask.Rect.Empty() {
					t.Errorf("%s, weight %d: the shape of %U %c is empty", b.name, w, r, r)
				}
			}
		}
	}
	for _, r := range "șțȘȚăâîĂÂÎłŁőűßẞ×·…–—„“”’²³½¼↑→" {
		require.True(t, Has(Regular, r) && Has(Bold, r), "%U %c", r, r)
	}
	require.False(t, Has(Regular, '窗'), "the test can tell a letter that is missing")
}

func TestGlyphOfAMissingLetterIsTheReplacement(t *testing.T) {
	f := At(Regular, 30)
	require.Equal(t, f.Glyph('\uFFFD'), f.Glyph('窗'))
	require.NotEqual(t, f.Glyph('\uFFFD').Advance, f.Glyph('i').Advance)
}

func TestWidthGrowsWithTheSize(t *testing.T) {
	small, large := At(Bold, 30).Width("1190 × 990"), At(Bold, 60).Width("1190 × 990")
	require.InDelta(t, 2*small, large, 10)
	require.Zero(t, At(Bold, 30).Width(""))
}

func TestShapesAreKeptAndBounded(t *testing.T) {
	f := At(Regular, 12)
	require.Same(t, f, At(Regular, 12))
	require.Same(t, f.Glyph('Ж'), f.Glyph('Ж'))
	for r := rune(0x20); r < 0x3000; r++ {
		f.Glyph(r)
	}
	require.LessOrEqual(t, len(f.glyphs), maxGlyphs)
	require.NotZero(t, f.Glyph('\u2FFF').Advance, "a letter past the bound is still drawn")
}

func TestManyGoroutinesShareAFace(t *testing.T) {
	var wg sync.WaitGroup
	widths := make([]int, 8)
	for i := range widths {
		wg.Go(func() { widths[i] = At(Bold, 47).Width(fmt.Sprint("Dreh-Kipp, навес слева ", 1190)) })
	}
	wg.Wait()
	for _, w := range widths {
		require.Equal(t, widths[0], w)
	}
}

func TestLineIsOneLineOfWhatCanBeDrawn(t *testing.T) {
	for words, want := range map[string]string{
		" front\n bay\t left ": "front bay left",
		"a\u202eb\x07c":        "abc",
		"47\u00a03/8\"":        "47 3/8\"",
		"":                     "",
	} {
		require.Equal(t, want, Line(words))
	}
}
