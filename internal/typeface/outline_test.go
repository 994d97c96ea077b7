package typeface

import (
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/font/opentype"
)

// The widths are those of the hmtx table of the embedded DejaVu Sans: 1303 of
// 2048 units for a figure in regular, 1425 in bold.
func TestOutlineGivesTheFilesOwnWidths(t *testing.T) {
	file, advance, ok := Outline(Regular, '4')
	require.True(t, ok)
	require.Zero(t, file)
	require.InDelta(t, 1303.0/2048, advance, 1e-6)
	_, advance, _ = Outline(Bold, '4')
	require.InDelta(t, 1425.0/2048, advance, 1e-6)
}

func TestOutlineNamesTheFileThatHasTheLetter(t *testing.T) {
	for _, w := range []Weight{Regular, Bold} {
		files := Files(w)
		for _, r := range "A×Жԥ\u052F" {
			n, _, ok := Outline(w, r)
			require.True(t, ok, "%c", r)
			parsed, err := opentype.Parse(files[n])
			require.NoError(t, err)
			glyph, err := parsed.GlyphIndex(nil, r)
			require.NoError(t, err)
			require.NotZero(t, glyph, "%c is not in file %d", r, n)
		}
		n, _, _ := Outline(w, '\u052F')
		require.Equal(t, 1, n)
	}
	_, _, ok := Outline(Regular, '窗')
	require.False(t, ok)
}
