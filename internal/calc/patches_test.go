package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func patchOf(length, width, depth string) PatchRequest {
	return PatchRequest{Length: dec(length), Width: dec(width), Depth: dec(depth), Wall: HardWall, Settings: DefaultPatchSettings()}
}

func thicknesses(p PatchPlan) []string {
	var out []string
	for _, c := range p.Coats {
		out = append(out, c.Thickness.String())
	}
	return out
}

// Smooth finish 6 to 8 mm (R, document not noted). 1200 × 150 × 15 mm are 2.7 l wet;
// with a tenth on top 2.97, in parts 2.97 × 1.33 / 5 = 0.79 l of cement and four times
// that of sand (R, the published 1:4 mix), and half of 1.44 kg/l of water, 0.57 l.
func TestAPatch22Deep(t *testing.T) {
	p, err := PlanPatch(patchOf("1200", "150", "22"))
	require.NoError(t, err)
	require.Equal(t, []string{"15", "7"}, thicknesses(p))
	base, finish := p.Coats[0], p.Coats[1]
	same(t, "2.7", base.Wet)
	require.Equal(t, 1, base.Batches)
	require.Equal(t, "3 0.8 3.2 0.6", base.Batch.Wet.String()+" "+base.Batch.Binder.String()+" "+base.Batch.Sand.String()+" "+base.Batch.Water.String())
	same(t, "4", base.Parts)
	same(t, "5", finish.Parts)
	require.True(t, base.Scratch && !finish.Scratch && !base.Dub && !base.Lime)
	same(t, "1", base.Days) // next coat not before a day, S (weak)
	require.True(t, finish.Days.IsZero())
	same(t, "1", p.Days)
	require.Equal(t, []string{"patch_finish", "patch_weaker", "patch_wait", "patch_batch"}, rules(p.Reasons))
	// That coats get weaker outwards is R (BS EN 13914-1), that they are 4 and 5 parts is C.
	weaker := p.Reasons[1]
	require.Equal(t, []Mark{Practice, Read}, []Mark{weaker.Mark, weaker.Own})
}

// The published 1 m³ wet of 1:4 (R): 383.04 kg of cement in 0.266 m³, 1.064 m³ of
// sand, 191.52 kg of water. Here as a litre times a hundred, in ten buckets of 10 l.
func TestABatchIsThePublishedMix(t *testing.T) {
	b, err := batchOf(dec("1000"), PatchCoat{Parts: dec("4")}, false)
	require.NoError(t, err)
	same(t, "266", b.Binder)
	same(t, "1064", b.Sand)
	same(t, "191.6", b.Water) // 191.52, rounded up
}

// A 25 kg bag of ready mix gives about 12.5 l (R): 12.5 l wet take one bag, a drop more
// two.
func TestReadyMixComesInWholeBags(t *testing.T) {
	for depth, want := range map[string]int{"12.5": 1, "12.6": 2, "25": 2, "25.1": 3} {
		r := patchOf("1000", "1000", depth)
		r.ReadyMix, r.Settings.Waste = true, decimal.Zero
		p, err := PlanPatch(r)
		require.NoError(t, err)
		require.Equal(t, want, p.Bags, depth)
		for _, c := range p.Coats {
			require.True(t, c.Batch.Binder.IsZero() && c.Batch.Sand.IsZero() && c.Batch.Wet.IsPositive())
		}
		r.Settings.Waste = dec("0.1")
		p, err = PlanPatch(r)
		require.NoError(t, err)
		require.Equal(t, map[string]int{"12.5": 2, "12.6": 2, "25": 3, "25.1": 3}[depth], p.Bags, "%s and a tenth", depth)
	}
}

func TestPatchesAtTheEdges(t *testing.T) {
	for depth, want := range map[string][]string{
		"3":    {"3"},
		"11.9": {"11.9"}, // no base coat has room
		"12":   {"6", "6"},
		"12.5": {"6", "6.5"},
		"13":   {"6", "7"},
		"22.5": {"15", "7.5"},
		"23":   {"15", "8"},
		"23.1": {"9", "7.1", "7"},
		"38":   {"15", "15", "8"},
		"38.1": {"11", "11", "9.1", "7"},
		"53":   {"15", "15", "15", "8"},
		"53.1": {"15", "7"},
		"95":   {"15", "7"},
	} {
		p, err := PlanPatch(patchOf("500", "100", depth))
		require.NoError(t, err)
		require.Equal(t, want, thicknesses(p), depth)
		require.Equal(t, dec(depth).GreaterThan(mm(53)), p.Fill.IsPositive())
	}
	p, err := PlanPatch(patchOf("500", "100", "95"))
	require.NoError(t, err)
	same(t, "73", p.Fill)
	require.Equal(t, "patch_fill", p.Reasons[0].Rule)
	same(t, "42", p.Reasons[0].Figures["least"])
}

// No cement on a soft old wall (M): lime and sand, thinner coats, a day for each mm.
func TestALimeWallGetsLime(t *testing.T) {
	r := patchOf("1200", "150", "22")
	r.Wall, r.ReadyMix = LimeWall, true
	p, err := PlanPatch(r)
	require.NoError(t, err)
	require.Equal(t, []string{"8", "7", "7"}, thicknesses(p))
	require.Zero(t, p.Bags)
	same(t, "15", p.Days)
	for _, c := range p.Coats {
		require.True(t, c.Lime && c.Batch.Water.IsZero() && c.Batch.Binder.IsPositive())
		same(t, "3", c.Parts)
	}
	for _, why := range p.Reasons {
		if why.Rule == "patch_lime" {
			require.Equal(t, FromMemory, why.Mark)
		}
	}
	require.True(t, hasRule(p.Reasons, "patch_lime"))
	_, ok := p.Patch(r)
	require.False(t, ok)

	r.Wall = ""
	p, err = PlanPatch(r)
	require.NoError(t, err)
	require.True(t, hasRule(p.Reasons, "render_lime"), "not known: ask")
}

func TestAPatchIsTakenAlong(t *testing.T) {
	r := patchOf("1200", "150", "40")
	p, err := PlanPatch(r)
	require.NoError(t, err)
	patch, ok := p.Patch(r)
	require.True(t, ok)
	require.NoError(t, patch.check())
	require.Empty(t, patch.warnings(), "weaker outwards, and a finish of 6 to 8 (R)")
	require.True(t, patch.Coats[0].Dub)
}

// Coats add up to the depth, each within its limits, weaker outwards (R, BS EN
// 13914-1 by a construction handbook), and the buckets hold what the coat takes.
func TestCoatsCanBeLaid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := patchOf("1000", "1000", decimal.New(rapid.Int64Range(30, 1000).Draw(t, "tenths"), -1).String())
		r.Wall = rapid.SampledFrom([]WallKind{"", HardWall, LimeWall}).Draw(t, "wall")
		r.ReadyMix = rapid.Bool().Draw(t, "ready mix")
		r.Settings.LimeMost = decimal.New(rapid.Int64Range(100, 150).Draw(t, "lime"), -1)
		most := mm(15)
		if r.Wall == LimeWall {
			most = r.Settings.LimeMost
		}
		p, err := PlanPatch(r)
		require.NoError(t, err)
		sum := p.Fill
		for i, c := range p.Coats {
			sum = sum.Add(c.Thickness)
			last := i == len(p.Coats)-1
			require.Equal(t, !last, c.Scratch)
			require.Equal(t, !last, c.Days.IsPositive())
			if len(p.Coats) > 1 {
				require.True(t, c.Thickness.GreaterThanOrEqual(mm(6)) && c.Thickness.LessThanOrEqual(most), "%s", c.Thickness)
			}
			if i > 0 {
				require.True(t, c.Parts.GreaterThanOrEqual(p.Coats[i-1].Parts))
			}
			made := c.Batch.Wet.Mul(count(c.Batches))
			require.True(t, made.GreaterThanOrEqual(c.Wet.Mul(dec("1.1")).Sub(dec("0.11"))))
			require.True(t, c.Batch.Wet.LessThanOrEqual(mm(10)))
		}
		require.Equal(t, r.Depth.String(), sum.String())
		require.LessOrEqual(t, len(p.Coats), 4)
		if n := len(p.Coats); n > 1 {
			require.True(t, p.Coats[n-1].Thickness.GreaterThanOrEqual(mm(6)) && p.Coats[n-1].Thickness.LessThanOrEqual(mm(8)))
			fewer := most.Mul(count(n - 2)).Add(mm(8))
			require.True(t, n == 2 || r.Depth.Sub(p.Fill).GreaterThan(fewer), "fewer coats would not do")
		}
	})
}

// Not at 5 °C and falling, nor with frost within 24 h, nor above 30 °C, nor in rain
// (S, a render maker's page).
func TestWeatherToRenderIn(t *testing.T) {
	for _, c := range []struct {
		day  RenderDay
		want []string
	}{
		{RenderDay{Temperature: mm(5)}, []string{"patch_cold"}},
		{RenderDay{Temperature: dec("5.1")}, nil},
		{RenderDay{Temperature: mm(5), Rising: true}, nil},
		{RenderDay{Temperature: mm(4), Rising: true}, []string{"patch_cold_rising"}},
		{RenderDay{Temperature: mm(30)}, nil},
		{RenderDay{Temperature: dec("30.1")}, []string{"patch_hot"}},
		{RenderDay{Temperature: mm(12), Frost: true, Rain: true}, []string{"patch_frost", "patch_rain"}},
	} {
		require.Equal(t, c.want, rules(RenderWeather(c.day)), "%v", c.day)
	}
}

func TestPatchRefuses(t *testing.T) {
	for rule, c := range map[string]struct {
		kind error
		spec func(*PatchRequest)
	}{
		"patch_size":     {ErrImpossible, func(r *PatchRequest) { r.Width = decimal.Zero }},
		"patch_thin":     {ErrTooSmall, func(r *PatchRequest) { r.Depth = dec("2.9") }},
		"render_deep":    {ErrBeyondTable, func(r *PatchRequest) { r.Depth = dec("100.1") }},
		"patch_wall":     {ErrImpossible, func(r *PatchRequest) { r.Wall = "cheese" }},
		"patch_settings": {ErrImpossible, func(r *PatchRequest) { r.Settings.LimeMost = dec("9.9") }},
		"packs_many":     {ErrBeyondTable, func(r *PatchRequest) { r.Length, r.Width = mm(1_000_000), mm(1_000_000) }},
	} {
		r := patchOf("1000", "100", "20")
		c.spec(&r)
		_, err := PlanPatch(r)
		refusedBy(t, err, c.kind, rule)
	}
	for _, nothing := range []PatchRequest{patchOf("0", "100", "20"), patchOf("1000", "0", "20"), patchOf("1000", "100", "0")} {
		_, err := PlanPatch(nothing)
		refusedBy(t, err, ErrImpossible, "patch_size")
	}
}
