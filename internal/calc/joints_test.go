package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestMovementWorkedExamples(t *testing.T) {
	// α·L·ΔT, D: 70 × 10⁻⁶/K and 40 K. (That 70 is the value to take is M;
	// the arithmetic is what is checked.)
	same(t, "3.36", Movement(dx("1200"), dx("70"), dx("40")))
	same(t, "8.4", Movement(dx("3000"), dx("70"), dx("40")))
}

func TestDefaultExpansionIsInThePublishedRange(t *testing.T) {
	// Architectural detailing textbook, R: PVC-U 40 to 80 × 10⁻⁶/K.
	for _, m := range []Material{PVCUWhite, PVCUColour} {
		got := DefaultJointSettings().Expansion[m]
		require.True(t, got.GreaterThanOrEqual(dx("40")) && got.LessThanOrEqual(dx("80")))
	}
}

func TestLeastJointPublished(t *testing.T) {
	// A published example, R: 4 mm at 30 % → 13.3 mm. Ours rounds up, so 13.4.
	exact := dx("4").DivRound(dx("0.3"), 8)
	require.Equal(t, "13.3", exact.RoundDown(1).String())
	got, err := LeastJoint(dx("4"), dx("0.3"))
	require.NoError(t, err)
	same(t, "13.4", got)
	require.True(t, got.GreaterThanOrEqual(exact) && got.Sub(exact).LessThan(dx("0.1")))

	_, err = LeastJoint(dx("4"), dx("0"))
	refusedBy(t, err, ErrImpossible, "joint_maf")
}

func TestSealantClasses(t *testing.T) {
	// 1999 sealant-association guide, R: ISO 11600 has 25, 20,
	// 12.5 and 7.5. That the number is the percentage is M.
	for class, want := range map[SealantClass]string{Class25: "0.25", Class20: "0.2", Class125: "0.125", Class75: "0.075", "30": "0"} {
		same(t, want, class.MAF())
	}
}

func TestSealantDepthPublished(t *testing.T) {
	// Architectural detailing textbook, R.
	for width, want := range map[string]string{"6": "6", "19": "9", "32": "13"} {
		same(t, want, SealantDepth(dx(width)), "width %s", width)
	}
}

func joint(gap, length string, porous bool) JointRequest {
	return JointRequest{Material: PVCUWhite, Length: dx(length), Gap: dx(gap), Porous: porous, Settings: DefaultJointSettings()}
}

func TestPlanJointBackingOrFillet(t *testing.T) {
	tests := []struct {
		gap     string
		porous  bool
		depth   string
		backing bool
		lap     string
	}{
		// TG 6.7/01:2017, R: from 5 mm a strip, below a fillet that laps 6 on
		// non-porous and 10 on porous faces. Sealant at least 6 deep: gaps article, R.
		{"5", false, "6", true, "0"},
		{"4.9", false, "0", false, "6"},
		{"4.9", true, "0", false, "10"},
		// Half the width, up to the widest for mastic, 15; beyond it nothing is
		// sealed as it stands.
		{"15", false, "7", true, "0"},
		{"15.1", true, "0", false, "0"},
		{"85", false, "0", false, "0"},
	}
	for _, tt := range tests {
		j, err := PlanJoint(joint(tt.gap, "1000", tt.porous))
		require.NoError(t, err)
		same(t, tt.depth, j.Depth, "gap %s", tt.gap)
		require.Equal(t, tt.backing, j.Backing, "gap %s", tt.gap)
		same(t, tt.lap, j.Lap, "gap %s", tt.gap)
	}
}

func TestPlanJointWarnings(t *testing.T) {
	// 15 mm is the widest for mastic (R).
	j, err := PlanJoint(joint("15", "600", true))
	require.NoError(t, err)
	require.Empty(t, j.Warnings)
	j, err = PlanJoint(joint("15.1", "600", false))
	require.NoError(t, err)
	require.True(t, hasRule(j.Warnings, "joint_wide"))
	require.True(t, j.Depth.IsZero() && !j.Backing && j.Lap.IsZero(), "what can't be sealed gets no strip and no sealant")
}

// 1.2 m move 3.36 mm over the whole range (D). A joint made at mid temperature
// takes half of that each way, and two joints share: 0.84 mm, 17 % of 5 mm, which
// a research note gives as "class 20 or 25" (S).
func TestMovementIsCountedOnce(t *testing.T) {
	j, err := PlanJoint(joint("5", "1200", true))
	require.NoError(t, err)
	same(t, "3.36", j.Movement)
	same(t, "0.84", figureOf(t, j.Reasons, "joint_movement", "share"))
	same(t, "3.4", j.Least)
	require.Equal(t, Class20, j.Class)
	same(t, "20", figureOf(t, j.Reasons, "joint_class", "class"))

	// A weaker sealant in the van, a stronger one would do.
	r := joint("5", "1200", false)
	r.Settings.Class = Class125
	j, err = PlanJoint(r)
	require.NoError(t, err)
	same(t, "20", figureOf(t, j.Reasons, "joint_own", "class"))
	same(t, "12.5", figureOf(t, j.Reasons, "joint_own", "own"))
	require.Empty(t, j.Warnings)
}

// Class 25 takes the movement of the table's own gaps up to these lengths (D of
// expansions and ranges from memory, ± from memory). A table made for movement is
// never warned of, neither within that nor beyond.
func TestTheTableIsNeverWarnedOf(t *testing.T) {
	for _, c := range []struct {
		material Material
		gap      string
		met      int64 // mm
	}{{PVCUWhite, "5", 1785}, {PVCUColour, "7.5", 1785}, {Aluminium, "5", 3472}} {
		for _, length := range []int64{300, 1499, c.met, c.met + 1, 4500} {
			r := JointRequest{Material: c.material, Length: decimal.NewFromInt(length), Gap: dx(c.gap), Asked: dx(c.gap), Settings: DefaultJointSettings()}
			j, err := PlanJoint(r)
			require.NoError(t, err)
			require.Empty(t, j.Warnings)
			require.Equal(t, length > c.met, hasRule(j.Reasons, "joint_long"), "%s %d", c.material, length)
			require.Equal(t, length <= c.met, hasRule(j.Reasons, "joint_class"), "%s %d", c.material, length)
		}
	}
	// What the order left to rounding is no shortfall: a quarter of a millimetre a side.
	for gap, want := range map[string]string{"4.749": "4.7", "4.75": "5", "5.09": "5"} {
		r := joint(gap, "1200", false)
		r.Asked = dx("5")
		j, err := PlanJoint(r)
		require.NoError(t, err)
		same(t, want, j.Gap, gap)
		require.Equal(t, want == "5", j.Backing, gap)
	}
	// A gap that falls short of the table's is warned of where no class is enough.
	for gap, warned := range map[string]bool{"3": true, "3.4": false, "4.5": false} {
		r := joint(gap, "1200", false)
		r.Asked = dx("5")
		j, err := PlanJoint(r)
		require.NoError(t, err)
		require.Equal(t, warned, hasRule(j.Warnings, "joint_narrow"), gap)
	}
}

func TestPlanJointRefuses(t *testing.T) {
	for name, change := range map[string]func(*JointRequest){
		"no gap":    func(r *JointRequest) { r.Gap = decimal.Zero },
		"no length": func(r *JointRequest) { r.Length = dx("-1") },
		"material":  func(r *JointRequest) { r.Material = "straw" },
		"class":     func(r *JointRequest) { r.Settings.Class = "99" },
	} {
		t.Run(name, func(t *testing.T) {
			r := joint("5", "1000", false)
			change(&r)
			_, err := PlanJoint(r)
			refusedBy(t, err, ErrImpossible, "joint_readings")
		})
	}
}

func TestJointProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := JointRequest{
			Material: rapid.SampledFrom([]Material{PVCUWhite, PVCUColour, Timber, Steel, Aluminium}).Draw(t, "material"),
			Length:   decimal.NewFromInt(int64(rapid.IntRange(200, 4500).Draw(t, "length"))),
			Gap:      decimal.New(int64(rapid.IntRange(5, 400).Draw(t, "tenths")), -1),
			Porous:   rapid.Bool().Draw(t, "porous"),
			Settings: DefaultJointSettings(),
		}
		r.Settings.Class = rapid.SampledFrom(sealantClasses).Draw(t, "class")
		j, err := PlanJoint(r)
		require.NoError(t, err)
		require.Equal(t, hasRule(j.Warnings, "joint_wide"), j.TooWide())
		require.Equal(t, !j.TooWide() && j.Lap.IsZero(), j.Backing, "a strip or a fillet, never both, and neither where it is too wide")
		require.Equal(t, j.Depth.IsPositive(), j.Backing, "sealant lies on a strip")
		said := hasRule(j.Reasons, "joint_long") || hasRule(j.Reasons, "joint_own")
		require.Equal(t, j.Least.GreaterThan(r.Gap) && !j.TooWide(), said)
		require.Equal(t, j.Class == "" && !j.TooWide(), hasRule(j.Reasons, "joint_long"), "nobody asked the table")
		// The class named takes the movement in the gap, the next weaker does not.
		share := Movement(r.Length, r.Settings.Expansion[r.Material], r.Settings.Range[r.Material]).Mul(r.Settings.Share).Div(dx("2"))
		for _, class := range sealantClasses {
			takes := share.LessThanOrEqual(class.MAF().Mul(r.Gap))
			if class == j.Class {
				require.True(t, takes)
				break
			}
			require.False(t, takes)
		}
	})
}

func TestPlanJointNeedsBothFiguresOfAMaterial(t *testing.T) {
	for _, take := range []func(*JointSettings){
		func(s *JointSettings) { s.Range = nil },
		func(s *JointSettings) { s.Expansion = nil },
	} {
		r := joint("5", "1000", false)
		take(&r.Settings)
		_, err := PlanJoint(r)
		refusedBy(t, err, ErrImpossible, "joint_readings")
	}
	_, err := PlanJoint(joint("5", "0", false))
	refusedBy(t, err, ErrImpossible, "joint_readings")
}

// α·L·ΔT (D): 1201 mm at 70 × 10⁻⁶/K over 40 K move 3.3628 mm, a quarter of it is
// 0.8407. What asks for room is rounded up.
func TestJointMovementIsRoundedUp(t *testing.T) {
	j, err := PlanJoint(joint("10", "1201", false))
	require.NoError(t, err)
	same(t, "3.37", j.Movement)
	same(t, "0.85", figureOf(t, j.Reasons, "joint_movement", "share"))
	same(t, "0.85", figureOf(t, j.Reasons, "joint_class", "share"))
}

// Where class and movement meet exactly the class is enough: 10 mm at 20 % is
// 2 mm. And a quotient that only just goes over is rounded up.
func TestJointOnTheLimit(t *testing.T) {
	require.Equal(t, Class20, weakestClass(dx("2"), dx("10")))
	require.Equal(t, Class25, weakestClass(dx("2.0001"), dx("10")))
	least, err := LeastJoint(dx("2.5000000001"), dx("0.25"))
	require.NoError(t, err)
	same(t, "10.1", least)
}
