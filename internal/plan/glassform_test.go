package plan

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestGlassIsWrittenInOneForm(t *testing.T) {
	for makeUp, want := range map[string]string{
		"4-20-4": "4-20-4, 28 mm thick", "6.4-16-4": "6.4-16-4, 26.4 mm thick", "6": "6, 6 mm thick",
		"4-20-4 toughened": "4-20-4 toughened", "4--4": "4--4", "": "",
	} {
		require.Equal(t, want, english(t)(GlassText(makeUp)))
	}
}
