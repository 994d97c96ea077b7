package calc

import (
	"slices"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
)

// One window has the room's vents to itself (the share is the area itself).
func TestOneWindowHasAllVents(t *testing.T) {
	share, err := VentShare(decimal.NewFromInt(8000), 1)
	require.NoError(t, err)
	require.True(t, share.Equal(decimal.NewFromInt(8000)))
}

// The profiles of a frame are its round and each mullion between the outer faces: by
// hand 2 × (1192 + 1040) + (1040 − 2 × 60).
func TestAMullionCountsBetweenTheFaces(t *testing.T) {
	mm := decimal.NewFromInt
	l := Layout{Mullions: []decimal.Decimal{mm(600)}, Lights: []Light{{}, {Column: 1}}}
	length := profileLength(Size{mm(1192), mm(1040)}, l, Settings{OuterFace: mm(60)})
	require.True(t, length.Equal(mm(5384)), length.String())
}

// Screws through the sill have to be sealed, and it is said where there are some.
func TestSillScrewsAreSealed(t *testing.T) {
	sealed := func(side Side) bool {
		p := DrillPlan{Places: []DrillPlace{{Side: side}}}
		p.say(SolidBrick, DrillSettings{})
		return slices.ContainsFunc(p.Reasons, func(r Reason) bool { return r.Rule == "drill_sill_seal" })
	}
	require.True(t, sealed(Sill))
	require.False(t, sealed(Head))
}
