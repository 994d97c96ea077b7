package opening

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestGlassByLightIsAddedToAndReadBack(t *testing.T) {
	value := WithPanes("", "laminated", 2)
	require.Equal(t, "2 laminated", value)
	value = WithPanes(value, "toughened", 1, 3)
	require.Equal(t, "1 toughened, 2 laminated, 3 toughened", value)
	value = WithPanes(value, "mixed", 2)
	list, ok := PanesOf(value)
	require.True(t, ok)
	require.Equal(t, []PaneGlass{{1, "toughened"}, {2, "mixed"}, {3, "toughened"}}, list)
	for _, wrong := range []string{"", "2", "laminated", "2 wood", "0 laminated", "1 laminated, 1 toughened", Skipped, DeskSays} {
		_, ok := PanesOf(wrong)
		require.False(t, ok, wrong)
	}
	stated := []Pair{{ByClass, "toughened"}, {ByLight, "2 laminated"}}
	require.Equal(t, "toughened", GlassOfLight(stated, 0))
	require.Equal(t, "laminated", GlassOfLight(stated, 1))
	require.Empty(t, GlassOfLight(stated[1:], 0))
}

// A new layout has other lights: what was said of single ones falls.
func TestAnotherLayoutDropsTheGlassByLight(t *testing.T) {
	require.Contains(t, Find("layout").Voids, ByLight)
}
