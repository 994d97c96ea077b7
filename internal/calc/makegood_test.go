package calc

import (
	"strings"
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
			require.True(t, depth.LessThan(dx("12")), "6 of finish (R) and 6 of base have no room")
			return
		}
		for i, c := range coats[:len(coats)-1] {
			if c.Dub {
				require.Zero(t, i)
				continue
			}
			// At most 15 mm a coat is from memory; that less than 6 can't be laid,
			// and two coats in deep places, common practice, no source.
			require.True(t, c.Thickness.LessThanOrEqual(dx("15")) && c.Thickness.GreaterThanOrEqual(dx("6")))
		}
		require.LessOrEqual(t, len(coats), 3)
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
	stronger := Patch{Length: dx("1000"), Width: dx("100"), Coats: []Coat{{Thickness: dx("10"), Sand: dx("5")}, {Thickness: dx("7"), Sand: dx("4")}}}
	require.True(t, hasRule(stronger.warnings(), "render_stronger"))
	thick := Patch{Length: dx("1000"), Width: dx("100"), Coats: []Coat{{Thickness: dx("10"), Sand: dx("4")}, {Thickness: dx("9"), Sand: dx("5")}}}
	require.True(t, hasRule(thick.warnings(), "render_finish"))
	require.False(t, hasRule(thick.warnings(), "render_stronger"))
}

// The published mix (R) in other parts: 1.33 m³ of dry parts, one in six of it
// cement.
func TestMortarRoundsTheCement(t *testing.T) {
	m, err := Mortar(dx("1"), dx("5"))
	require.NoError(t, err)
	same(t, "0.221667", m.CementVolume)
	m, err = Mortar(dx("0"), dx("4"))
	require.NoError(t, err)
	same(t, "0", m.Cement)
}

// A smooth finish coat is 6 to 8 mm (R). Nobody lays a base coat of 1.5 mm or
// seven coats: a place too thin for two coats takes one, a deep one is dubbed out
// (C).
func TestRenderCoatsOnTheLimit(t *testing.T) {
	for depth, want := range map[string]string{
		"8.5": "8.5", "11.9": "11.9", "12": "6 6", "12.5": "6 6.5", "13": "6 7", "22": "15 7", "22.1": "7.6 7.5 7",
		"37": "15 15 7", "37.1": "dub 15.1 15 7", "95": "dub 73 15 7",
	} {
		coats, err := RenderCoats(dx(depth))
		require.NoError(t, err)
		var got []string
		for _, c := range coats {
			if c.Dub {
				got = append(got, "dub")
			}
			got = append(got, c.Thickness.String())
		}
		require.Equal(t, want, strings.Join(got, " "), depth)
	}
	for last, warned := range map[string]bool{"5.9": true, "6": false, "8": false, "8.1": true} {
		p := Patch{Coats: []Coat{{Thickness: dx("10"), Sand: dx("4")}, {Thickness: dx(last), Sand: dx("5")}}}
		require.Equal(t, warned, hasRule(p.warnings(), "render_finish"), last)
	}
	require.Empty(t, Patch{Coats: []Coat{{Thickness: dx("10"), Sand: dx("4")}}}.warnings(), "one coat is no finish coat on another")
	stronger := Patch{Coats: []Coat{{Thickness: dx("10"), Sand: dx("5")}, {Thickness: dx("7"), Sand: dx("4")}}}
	same(t, "2", figureOf(t, stronger.warnings(), "render_stronger", "coat"))
	stronger.ReadyMix = true
	require.Empty(t, stronger.warnings(), "ready mix has no parts of sand")
}

func TestPacks(t *testing.T) {
	for _, c := range []struct {
		amount, pack string
		want         int
	}{{"0", "25", 0}, {"25", "25", 1}, {"25.001", "25", 2}, {"250000", "25", 10000}} {
		n, err := packs(dx(c.amount), dx(c.pack))
		require.NoError(t, err)
		require.Equal(t, c.want, n, "%v", c)
	}
	for _, c := range []struct {
		amount, pack string
		kind         error
		rule         string
	}{
		{"-1", "25", ErrImpossible, "packs"}, {"1", "0", ErrImpossible, "packs"}, {"0", "0", ErrImpossible, "packs"},
		{"1", "-25", ErrImpossible, "packs"}, {"250000.1", "25", ErrBeyondTable, "packs_many"},
	} {
		_, err := packs(dx(c.amount), dx(c.pack))
		refusedBy(t, err, c.kind, c.rule)
	}
}

func TestPatchCheck(t *testing.T) {
	good := Patch{Length: dx("1000"), Width: dx("100"), Coats: []Coat{{Thickness: dx("10"), Sand: dx("4")}}}
	require.NoError(t, good.check())
	mix := good
	mix.ReadyMix, mix.Coats = true, []Coat{{Thickness: dx("10")}}
	require.NoError(t, mix.check(), "ready mix needs no parts of sand")
	for _, bad := range []string{"0", "-1"} {
		p := good
		p.Length = dx(bad)
		refusedBy(t, p.check(), ErrImpossible, "patch")
		p = good
		p.Width = dx(bad)
		refusedBy(t, p.check(), ErrImpossible, "patch")
		for _, c := range []Coat{{Thickness: dx(bad), Sand: dx("4")}, {Thickness: dx("10"), Sand: dx(bad)}} {
			p = good
			p.Coats = []Coat{c}
			refusedBy(t, p.check(), ErrImpossible, "patch_coat")
		}
		mix.Coats = []Coat{{Thickness: dx(bad)}}
		refusedBy(t, mix.check(), ErrImpossible, "patch_coat")
	}
}
