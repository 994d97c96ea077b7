package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestMortarPublished(t *testing.T) {
	// The published mix, R: 1 m³ wet of 1:4 with factor 1.33.
	m, err := Mortar(dx("1"), dx("4"))
	require.NoError(t, err)
	same(t, "0.266", m.CementVolume)
	same(t, "383.04", m.Cement)
	same(t, "1.064", m.Sand)
	same(t, "191.52", m.Water)

	_, err = Mortar(dx("-1"), dx("4"))
	refusedBy(t, err, ErrImpossible, "mortar")
	_, err = Mortar(dx("1"), dx("0"))
	refusedBy(t, err, ErrImpossible, "mortar")
}

func TestMortarPartsMakeTheDryVolume(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		wet := decimal.New(int64(rapid.IntRange(1, 100000).Draw(t, "wet")), -4)
		sand := decimal.New(int64(rapid.IntRange(10, 90).Draw(t, "sand")), -1)
		m, err := Mortar(wet, sand)
		require.NoError(t, err)
		off := m.CementVolume.Add(m.Sand).Sub(wet.Mul(dx("1.33"))).Abs()
		require.True(t, off.LessThanOrEqual(dx("0.00001")), "off by %s", off)
	})
}

func TestRenderCoats(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		depth := decimal.New(int64(rapid.IntRange(1, 1000).Draw(t, "tenths")), -1)
		coats, err := RenderCoats(depth)
		require.NoError(t, err)
		sum := decimal.Zero
		for i, c := range coats {
			require.True(t, c.Thickness.IsPositive())
			sum = sum.Add(c.Thickness)
			if i > 0 {
				// Construction handbook, BS EN 13914-1, R: weaker outwards.
				require.True(t, c.Sand.GreaterThanOrEqual(coats[i-1].Sand))
			}
		}
		require.Equal(t, depth.String(), sum.String())
		if len(coats) == 1 {
			require.True(t, depth.LessThanOrEqual(dx("8")))
			return
		}
		for _, c := range coats[:len(coats)-1] {
			// Deep places in two coats: common practice, no source; 15 mm a coat is
			// from memory.
			require.True(t, c.Thickness.LessThanOrEqual(dx("15")))
		}
		// Published, R: a smooth finish coat is 6 to 8 mm.
		last := coats[len(coats)-1].Thickness
		require.True(t, last.GreaterThanOrEqual(dx("6")) && last.LessThanOrEqual(dx("8")))
		require.Empty(t, Patch{Coats: coats}.warnings())
	})
	_, err := RenderCoats(dx("0"))
	refusedBy(t, err, ErrImpossible, "render_depth")
	_, err = RenderCoats(dx("100.1"))
	refusedBy(t, err, ErrBeyondTable, "render_deep")
}

func TestRenderWarnings(t *testing.T) {
	stronger := Patch{Length: dx("1000"), Width: dx("100"), Coats: []Coat{{dx("10"), dx("5")}, {dx("7"), dx("4")}}}
	require.True(t, hasRule(stronger.warnings(), "render_stronger"))
	thick := Patch{Length: dx("1000"), Width: dx("100"), Coats: []Coat{{dx("10"), dx("4")}, {dx("9"), dx("5")}}}
	require.True(t, hasRule(thick.warnings(), "render_finish"))
	require.False(t, hasRule(thick.warnings(), "render_stronger"))
}
