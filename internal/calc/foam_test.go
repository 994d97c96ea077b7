package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func foamed(t require.TestingT, gap string) Joint {
	j, err := PlanJoint(JointRequest{Material: PVCUWhite, Length: mm(1200), Gap: dec(gap), Asked: dec("5"), Porous: true, Settings: DefaultJointSettings()})
	require.NoError(t, err)
	return j
}

// Sealant 6 deep for 10 wide and more (R, textbook: half the width, at least 6), strip
// as deep as the joint is wide (C): of 70 mm 54 are left at 10, a metre of which takes
// 0.54 l. 40 ml of water a can of 750 ml (R, makers' guides), which gives 40 l (R).
func TestFoamBySide(t *testing.T) {
	c := SectionOf(Order{}, decimal.Zero, DefaultSettings())
	s := DefaultFoamSettings()
	s.Waste, s.Yield = decimal.Zero, mm(1)
	p, err := PlanFoam(size("1000", "2000"), map[Side]Joint{Head: foamed(t, "10"), Left: foamed(t, "10"), Right: foamed(t, "4.5")}, c, s)
	require.NoError(t, err)
	require.Len(t, p.Sides, 3)
	left, right, head := p.Sides[0], p.Sides[1], p.Sides[2]
	same(t, "54", head.Deep)
	same(t, "0.54", head.Foam)
	same(t, "1.08", left.Foam)
	same(t, "13", left.Strip) // a quarter thicker than 10
	same(t, "6", left.Sealant)
	require.True(t, right.Strip.IsZero() && right.Sealant.IsZero())
	same(t, "10", right.Lap) // a fillet under 5 mm laps 10 on porous faces (R, TG 6.7/01)
	same(t, "0.63", right.Foam)
	same(t, "2.25", p.Foam)
	require.Equal(t, 1, p.Cans)
	same(t, "3", p.Water) // 2.25 of 40 l, times 40 ml, rounded up
}

func TestFoamThatDoesNotGoIn(t *testing.T) {
	c := SectionOf(Order{}, decimal.Zero, DefaultSettings())
	thin := c
	thin.Depth = mm(10)
	for rule, f := range map[string]struct {
		gap string
		c   Section
	}{"foam_wide": {"15.1", c}, "foam_narrow": {"3.9", c}, "foam_shallow": {"10", thin}} {
		p, err := PlanFoam(size("1000", "2000"), map[Side]Joint{Sill: foamed(t, f.gap)}, f.c, DefaultFoamSettings())
		require.NoError(t, err)
		require.Equal(t, rule, p.Sides[0].Why.Rule)
		require.True(t, p.Foam.IsZero() && p.Cans == 0 && p.Water.IsZero())
	}
	s := DefaultFoamSettings()
	s.Yield = dec("1.1")
	_, err := PlanFoam(size("1000", "2000"), nil, c, s)
	refusedBy(t, err, ErrImpossible, "foam_settings")
	s = DefaultFoamSettings()
	s.Can = dec("0.00001")
	_, err = PlanFoam(size("1000", "2000"), map[Side]Joint{Sill: foamed(t, "10")}, c, s)
	refusedBy(t, err, ErrBeyondTable, "packs_many")
}

// Can at 5 to 35 °C (R, makers' guides).
func TestTheCansTemperature(t *testing.T) {
	require.Equal(t, "foam_can_cold", CanTemperature(dec("4.9")).Rule)
	require.Nil(t, CanTemperature(dec("5")))
	require.Nil(t, CanTemperature(dec("35")))
	require.Equal(t, "foam_can_hot", CanTemperature(dec("35.1")).Rule)
}

// The sides add up to what WindowQuantities takes along.
func TestFoamAgreesWithWhatIsTakenAlong(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		frame := Size{mm(rapid.Int64Range(400, 3000).Draw(t, "width")), mm(rapid.Int64Range(400, 3000).Draw(t, "height"))}
		joints := map[Side]Joint{}
		for _, side := range allSides {
			joints[side] = foamed(t, decimal.New(rapid.Int64Range(40, 150).Draw(t, "gap"), -1).String())
		}
		c := SectionOf(Order{}, decimal.Zero, DefaultSettings())
		p, err := PlanFoam(frame, joints, c, DefaultFoamSettings())
		require.NoError(t, err)
		q, err := WindowQuantities(QuantityRequest{Frame: frame, Joints: joints, Section: c, Store: DefaultStoreSettings()})
		require.NoError(t, err)
		for _, item := range q.Items {
			if item.Kind == FoamItem {
				require.True(t, item.Need.RoundUp(2).Sub(p.Foam).Abs().LessThanOrEqual(dec("0.01")))
				require.Equal(t, item.Buy, p.Cans)
			}
		}
	})
}
