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

func TestClearOpeningsCountTheirLights(t *testing.T) {
	s, c := DefaultSettings(), DefaultClearSettings()
	for hinge, rule := range map[Hinge]string{FixedLight: "clear_fixed", BottomHung: "clear_bottom", SideLeft: "clear_opening"} {
		l := Layout{Mullions: dxs("600"), Lights: []Light{{Column: 0, Hinge: hinge}, {Column: 1, Hinge: hinge}}}
		all, err := ClearOpenings(size("1200", "1200"), l, s, c)
		require.NoError(t, err)
		require.Equal(t, rule, all[1].Reasons[0].Rule)
		same(t, "2", all[1].Reasons[0].Figures["number"])
	}
	// Column two is 110 wide: half a mullion and the outer frame leave 10.
	l := Layout{Mullions: dxs("1100"), Lights: []Light{{Column: 0, Hinge: FixedLight}, {Column: 1, Hinge: FixedLight}}}
	_, err := ClearOpenings(size("1200", "1000"), l, s, c)
	r := refusedBy(t, err, ErrTooSmall, "light_too_small")
	same(t, "2", r.Figures["number"])
}

func TestClearAreaIsRoundedDown(t *testing.T) {
	one := Layout{Lights: []Light{{Hinge: SideLeft}}}
	all, err := ClearOpenings(size("801", "1200"), one, DefaultSettings(), DefaultClearSettings())
	require.NoError(t, err)
	same(t, "0.6382", all[0].Area) // 591 × 1080 = 0.63828
}

// The hinge maker's figure counts, but never for more than the opening.
func TestStatedClearOpening(t *testing.T) {
	o := ClearOpening{Light: 1, Opening: size("680", "1080"), Clear: size("590", "1080"), Area: dx("0.6372")}
	got := o.Stated(size("611", "1040"))
	same(t, "611", got.Clear.Width)
	same(t, "1040", got.Clear.Height)
	same(t, "0.6354", got.Area) // 0.63544
	require.Equal(t, "clear_stated", got.Reasons[0].Rule)
	same(t, "2", got.Reasons[0].Figures["number"])

	got = o.Stated(size("900", "1500"))
	same(t, "680", got.Clear.Width)
	same(t, "1080", got.Clear.Height)
}
