package calc

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// TestClearOpenings has no outside check: what a hinge takes off is from
// memory.
func TestClearOpenings(t *testing.T) {
	for hinge, want := range map[Hinge]Size{
		FixedLight:    {},
		BottomHung:    {},
		SideLeft:      size("590", "1080"),
		SideRight:     size("590", "1080"),
		TiltTurnLeft:  size("620", "1080"),
		TiltTurnRight: size("620", "1080"),
		TopHung:       size("680", "880"),
	} {
		all, err := ClearOpenings(size("800", "1200"), Layout{Lights: []Light{{Hinge: hinge}}}, DefaultSettings(), DefaultClearSettings())
		require.NoError(t, err)
		require.Len(t, all, 1)
		same(t, "680", all[0].Opening.Width)
		same(t, "1080", all[0].Opening.Height)
		require.Equal(t, want.Width.String(), all[0].Clear.Width.String(), hinge)
		require.Equal(t, want.Height.String(), all[0].Clear.Height.String(), hinge)
		require.Equal(t, want.area().RoundDown(4).String(), all[0].Area.String(), hinge)
		require.NotEmpty(t, all[0].Reasons)
	}
}

func TestClearOpeningsEdges(t *testing.T) {
	s, c := DefaultSettings(), DefaultClearSettings()
	one := Layout{Lights: []Light{{Hinge: SideLeft}}}
	all, err := ClearOpenings(size("200", "1000"), one, s, c)
	require.NoError(t, err)
	require.True(t, all[0].Clear.tooSmall() && hasRule(all[0].Reasons, "clear_none"))

	_, err = ClearOpenings(size("110", "1000"), one, s, c)
	refusedBy(t, err, ErrTooSmall, "light_too_small")
	_, err = ClearOpenings(size("0", "1000"), one, s, c)
	refusedBy(t, err, ErrImpossible, "frame_size")
}
