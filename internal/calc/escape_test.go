package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
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

func pullOf(t *testing.T, change func(*PullRequest)) []Reason {
	t.Helper()
	r := PullRequest{
		Light:      ClearOpening{Opening: size("680", "1080"), Clear: size("590", "1080"), Area: dx("0.6372")},
		Hinge:      SideLeft,
		Restrictor: dx("100"),
		Guard:      true,
		EscapeArea: dx("0.33"),
		EscapeSide: dx("450"),
		PurgeAngle: dx("15"),
	}
	change(&r)
	reasons, err := Pull(r)
	require.NoError(t, err)
	return reasons
}

func TestPull(t *testing.T) {
	all := pullOf(t, func(*PullRequest) {})
	require.Equal(t, "pull_together", all[0].Rule)
	same(t, "2", all[0].Figures["count"])
	require.True(t, hasRule(all, "pull_escape_held"))
	require.True(t, hasRule(all, "pull_purge_held"))

	// Let go by hand: only the purge is left, and nothing to say together.
	released := pullOf(t, func(r *PullRequest) { r.Releasable = true })
	require.Len(t, released, 1)
	require.Equal(t, "pull_purge_held", released[0].Rule)
	// 2 · 680 · sin 7.5° = 177.5 (elementary geometry).
	same(t, "178", released[0].Figures["needed"])

	require.Empty(t, pullOf(t, func(r *PullRequest) { r.Releasable, r.PurgeAngle = true, decimal.Zero }))
	require.Empty(t, pullOf(t, func(r *PullRequest) { r.Releasable, r.Restrictor = true, dx("178") }))
	require.Empty(t, pullOf(t, func(r *PullRequest) { r.Hinge = FixedLight }))

	unguarded := pullOf(t, func(r *PullRequest) { r.Restrictor = decimal.Zero })
	require.Len(t, unguarded, 1)
	require.Equal(t, "pull_escape_guard", unguarded[0].Rule)

	// A light too small to escape through is no escape, so it can't pull.
	small := pullOf(t, func(r *PullRequest) { r.Light.Clear = size("400", "1080"); r.PurgeAngle = decimal.Zero })
	require.Empty(t, small)
	low := pullOf(t, func(r *PullRequest) { r.Light.Clear = size("900", "400"); r.PurgeAngle = decimal.Zero })
	require.Empty(t, low)

	_, err := Pull(PullRequest{Light: ClearOpening{Opening: size("600", "1000")}, Hinge: SideLeft, Restrictor: dx("5000"), PurgeAngle: dx("15")})
	refusedBy(t, err, ErrImpossible, "swing_gap")
}

func TestPullNamesAGapThatIsEnough(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := PullRequest{
			Hinge:      rapid.SampledFrom([]Hinge{SideLeft, TopHung}).Draw(t, "hinge"),
			Restrictor: dx("10"),
			PurgeAngle: decimal.NewFromInt(int64(rapid.IntRange(5, 60).Draw(t, "angle"))),
			Light: ClearOpening{Opening: Size{
				decimal.NewFromInt(int64(rapid.IntRange(300, 1500).Draw(t, "width"))),
				decimal.NewFromInt(int64(rapid.IntRange(300, 1500).Draw(t, "height"))),
			}},
		}
		reasons, err := Pull(r)
		require.NoError(t, err)
		require.Len(t, reasons, 1)
		r.Restrictor = reasons[0].Figures["needed"]
		reasons, err = Pull(r)
		require.NoError(t, err)
		require.Empty(t, reasons)
	})
}
