package typeface

import (
	"image"
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
				if Outline(w, r).Rune != r {
					t.Errorf("%s, weight %d: no shape for %U %c", b.name, w, r, r)
				}
				if r != ' ' && r != '\u00A0' && At(w, 30).Shape(r).Rect.Empty() {
					t.Errorf("%s, weight %d: the shape of %U %c is empty", b.name, w, r, r)
				}
			}
		}
	}
	for _, r := range "șțȘȚăâîĂÂÎłŁőűßẞ×·…–—„“”’²³½¼↑→" {
		require.True(t, Outline(Regular, r).Rune == r && Outline(Bold, r).Rune == r, "%U %c", r, r)
	}
	require.NotEqual(t, '窗', Outline(Regular, '窗').Rune, "the test can tell a letter that is missing")
}

func TestGlyphOfAMissingLetterIsTheReplacement(t *testing.T) {
	f := At(Regular, 30)
	require.Equal(t, f.Shape('\uFFFD'), f.Shape('窗'))
	require.NotEqual(t, f.Shape('\uFFFD'), f.Shape('i'))
}

func TestShapesAreKeptAndBounded(t *testing.T) {
	f := At(Regular, 12)
	require.Same(t, f, At(Regular, 12))
	require.Same(t, f.Shape('Ж'), f.Shape('Ж'))
	for r := rune(0x20); r < 0x3000; r++ {
		f.Shape(r)
	}
	require.LessOrEqual(t, len(f.shapes), maxShapes)
	require.False(t, f.Shape('\u2FFF').Rect.Empty(), "a letter past the bound is still drawn")
}

func TestManyGoroutinesShareAFace(t *testing.T) {
	var wg sync.WaitGroup
	const words = "Dreh-Kipp, навес слева 1190"
	widths, shapes := make([]float64, 8), make([][]*image.Alpha, 8)
	for i := range widths {
		wg.Go(func() {
			widths[i] = Width(Bold, words)
			for _, r := range words {
				shapes[i] = append(shapes[i], At(Bold, 47).Shape(r))
			}
		})
	}
	wg.Wait()
	for i := range widths {
		require.Equal(t, widths[0], widths[i])
		require.Equal(t, shapes[0], shapes[i])
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
