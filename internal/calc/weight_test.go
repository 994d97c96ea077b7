package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
)

// By hand: 1200 × 1000 with one mullion in the middle, faces of 60 and 80, the left
// light fixed. Frame 4.4 m, mullion 1000 − 120 = 0.88 m, sash round the daylight
// 500 × 880 = 2.76 m: 8.04 m, at 3 kg 24.12 kg. Glass by the published 2.5 kg per m²
// and mm, a tenth more for a unit (read in glazing guides; quoted).
func TestWeightIsTheGlassAndTheProfiles(t *testing.T) {
	frame := Size{decimal.NewFromInt(1200), decimal.NewFromInt(1000)}
	l := Layout{Mullions: []decimal.Decimal{decimal.NewFromInt(600)}, Lights: []Light{{Column: 0, Hinge: FixedLight}, {Column: 1, Hinge: SideRight}}}
	s := DefaultSettings()
	panes := []decimal.Decimal{decimal.NewFromInt(4), decimal.NewFromInt(4)}
	glass, err := Glass(frame, l, panes, s)
	require.NoError(t, err)
	w := WeightOf(frame, l, glass, s)
	same(t, "24.2", w.Profiles)
	require.True(t, w.Window.Equal(glass[0].Mass.Add(glass[1].Mass).Add(decimal.RequireFromString("24.12")).RoundUp(0)), w.Window)
	require.True(t, w.Lights[0].IsZero(), "a fixed light has no sash")
	require.True(t, w.Lights[1].Equal(glass[1].Mass.Add(decimal.RequireFromString("8.28")).RoundUp(1)), w.Lights[1])
	require.Equal(t, Practice, w.Reasons[0].Mark)

	l.Transoms = []decimal.Decimal{decimal.NewFromInt(600)}
	l.Lights = append(l.Lights, Light{Column: 0, Row: 1, Hinge: TopHung})
	glass, err = Glass(frame, l, panes, s)
	require.NoError(t, err)
	// The transom is 500 long; the sash over it stands in 500 × 300: 1.6 m.
	same(t, "30.5", WeightOf(frame, l, glass, s).Profiles) // 24.12 + 1.5 + 4.8 = 30.42
	require.True(t, WeightOf(frame, l, glass, s).Window.GreaterThan(w.Window))

	unknown, err := Glass(frame, l, nil, s)
	require.NoError(t, err)
	require.Equal(t, Weight{}, WeightOf(frame, l, unknown, s), "half a weight is none")
}

// 8000 mm² over three windows is 2666.6… each: less than that would fall short.
func TestVentsAreSharedOutWithNothingShort(t *testing.T) {
	each, err := VentShare(decimal.NewFromInt(8000), 3)
	require.NoError(t, err)
	same(t, "2667", each)
	each, err = VentShare(decimal.NewFromInt(8000), 2)
	require.NoError(t, err)
	same(t, "4000", each)
	_, err = VentShare(decimal.NewFromInt(8000), 0)
	require.ErrorIs(t, err, ErrImpossible)
}

// The profiles of a frame are its round and each mullion between the outer faces: by
// hand 2 × (1192 + 1040) + (1040 − 2 × 60).
func TestAMullionCountsBetweenTheFaces(t *testing.T) {
	mm := decimal.NewFromInt
	l := Layout{Mullions: []decimal.Decimal{mm(600)}, Lights: []Light{{}, {Column: 1}}}
	length := profileLength(Size{mm(1192), mm(1040)}, l, Settings{OuterFace: mm(60)})
	require.True(t, length.Equal(mm(5384)), length.String())
}
