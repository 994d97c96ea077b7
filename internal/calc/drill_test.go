package calc

import (
	"slices"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func drilled(t require.TestingT, req OrderRequest, m Masonry) (PackerPlan, DrillPlan) {
	o, p := packers(t, req, Layout{})
	d, err := Drill(SectionOf(o, decimal.Zero, req.Settings), p, m, req.Settings, DefaultDrillSettings())
	require.NoError(t, err)
	return p, d
}

// A screw crosses the face less the rebate's upstand (60 − 20), the gap (5) and has 40
// in brick (M): 85, of stock 90. The 5 mm more go into the wall, and the hole 10 deeper.
// The edge distance is twice the embedment (R, general plug rule).
func TestAHoleForEachFixing(t *testing.T) {
	p, d := drilled(t, plain(1200, 1000, PVCUWhite), SolidBrick)
	beds := 0
	for _, place := range p.Places {
		if place.Bed {
			beds++
		}
	}
	require.Len(t, d.Places, len(p.Places)-beds)
	for _, place := range d.Places {
		same(t, "5", place.Gap)
		same(t, "90", place.Length)
		same(t, "45", place.InWall)
		same(t, "55", place.Hole)
		same(t, "100", place.Reach)
	}
	same(t, "6", d.Pilot)
	require.Equal(t, []ScrewCount{{mm(90), len(d.Places)}}, d.Screws)
	require.Equal(t, []string{"drill_hole", "drill_brick", "drill_sill_seal"}, rules(d.Reasons))
	same(t, "80", d.Edge.Figures["least"])
}

func TestHolesByMasonry(t *testing.T) {
	req := plain(1200, 1000, PVCUWhite)
	for m, want := range map[Masonry]string{Concrete: "6", Aerated: "5", Hollow: "0"} {
		_, d := drilled(t, req, m)
		same(t, want, d.Pilot, m)
		require.Equal(t, m == Aerated, hasRule(d.Reasons, "drill_turning"))
		require.Equal(t, m == Hollow, hasRule(d.Reasons, "drill_own"))
		require.Equal(t, m == Hollow, len(d.Screws) == 0)
	}
	o, p := packers(t, req, Layout{})
	bad := DefaultDrillSettings()
	bad.Screw = mm(6)
	_, err := Drill(SectionOf(o, decimal.Zero, req.Settings), p, SolidBrick, req.Settings, bad)
	refusedBy(t, err, ErrImpossible, "drill_settings")
}

func TestASillPieceLiesUnderTheScrew(t *testing.T) {
	o, c := withSill(t)
	f, err := Fixings(FixingRequest{Frame: o.Size}, DefaultSettings())
	require.NoError(t, err)
	d, err := Drill(c, Packers(o, f, Layout{}, DefaultSettings()), SolidBrick, DefaultSettings(), DefaultDrillSettings())
	require.NoError(t, err)
	for _, place := range d.Places {
		if place.Side == Sill {
			same(t, "130", place.Length) // 40 + 30 of sill piece + 10 of bed + 5 + 40 = 125
			require.Equal(t, "screw_sill_piece", place.Why.Rule)
		}
	}
}

// Every screw has at least its embedment and is the next stock length; holes mirror.
func TestEveryScrewHasItsEmbedment(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		req, o, ok := anyOrder(t)
		if !ok {
			return
		}
		f, err := Fixings(FixingRequest{Frame: o.Size}, req.Settings)
		require.NoError(t, err)
		p := Packers(o, f, Layout{}, req.Settings)
		d, err := Drill(SectionOf(o, mm(150), req.Settings), p, SolidBrick, req.Settings, DefaultDrillSettings())
		require.NoError(t, err)
		n := 0
		for _, place := range d.Places {
			if place.Length.IsZero() {
				continue
			}
			n++
			require.True(t, place.InWall.GreaterThanOrEqual(mm(40)) && place.InWall.LessThan(mm(60)))
			require.True(t, place.Hole.Equal(place.InWall.Add(mm(10))))
			require.True(t, place.Reach.Sub(place.Length).Equal(mm(10)))
		}
		for _, s := range d.Screws {
			n -= s.Pieces
		}
		require.Zero(t, n)
	})
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
