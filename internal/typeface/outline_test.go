package typeface

import (
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/font/opentype"
)

// The widths are those of the hmtx table of the embedded DejaVu Sans: 1303 of
// 2048 units for a figure in regular, 1425 in bold.
func TestOutlineGivesTheFilesOwnWidths(t *testing.T) {
	four := Outline(Regular, '4')
	require.Equal(t, '4', four.Rune)
	require.Zero(t, four.File)
	require.InDelta(t, 1303.0/2048, four.Advance, 1e-6)
	require.InDelta(t, 1425.0/2048, Outline(Bold, '4').Advance, 1e-6)
	require.InDelta(t, 4*1425.0/2048, Width(Bold, "1190"), 1e-6)
	require.Zero(t, Width(Bold, ""))
}

func TestOutlineNamesTheFileThatHasTheLetter(t *testing.T) {
	for _, w := range []Weight{Regular, Bold} {
		files := Files(w)
		for _, r := range "A×Жԥ\u052F…" {
			letter := Outline(w, r)
			require.Equal(t, r, letter.Rune)
			parsed, err := opentype.Parse(files[letter.File])
			require.NoError(t, err)
			glyph, err := parsed.GlyphIndex(nil, r)
			require.NoError(t, err)
			require.NotZero(t, glyph, "%c is not in file %d", r, letter.File)
		}
		require.Equal(t, 1, Outline(w, '\u052F').File)
		require.Equal(t, Outline(w, '\uFFFD'), Outline(w, '窗'), "a missing letter is set as the replacement")
	}
}
