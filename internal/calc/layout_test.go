package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// dx is a decimal written out.
func dx(s string) decimal.Decimal { return decimal.RequireFromString(s) }

func dxs(ss ...string) []decimal.Decimal {
	var out []decimal.Decimal
	for _, s := range ss {
		out = append(out, dx(s))
	}
	return out
}

func size(w, h string) Size { return Size{dx(w), dx(h)} }

// same compares decimals by value, so that 5 and 5.0 are one.
func same(t require.TestingT, want string, got decimal.Decimal, what ...any) {
	require.Equal(t, dx(want).String(), got.String(), what...)
}

// refusedBy asserts a refusal of a kind by a rule and gives its reason.
func refusedBy(t *testing.T, err error, kind error, rule string) Reason {
	t.Helper()
	var refusal *RefusalError
	require.ErrorAs(t, err, &refusal)
	require.ErrorIs(t, err, kind)
	require.Equal(t, rule, refusal.Reason.Rule)
	return refusal.Reason
}

func hasRule(reasons []Reason, rule string) bool {
	for _, r := range reasons {
		if r.Rule == rule {
			return true
		}
	}
	return false
}

func TestLayoutCheck(t *testing.T) {
	two := []Light{{Column: 0, Hinge: SideLeft}, {Column: 1, Hinge: FixedLight}}
	frame := size("1200", "1000")
	tests := []struct {
		name   string
		frame  Size
		layout Layout
		rule   string // "": accepted
	}{
		{"one light", frame, Layout{Lights: []Light{{Hinge: FixedLight}}}, ""},
		{"bars only", frame, Layout{Mullions: dxs("400", "800")}, ""},
		{"two lights", frame, Layout{Mullions: dxs("600"), Lights: two}, ""},
		{"fanlight over one of two", frame, Layout{Mullions: dxs("600"), Transoms: dxs("0", "700"), Lights: append(two, Light{1, 1, TopHung})}, ""},
		{"no frame", size("0", "1000"), Layout{}, "frame_size"},
		{"descending", frame, Layout{Mullions: dxs("800", "400")}, "mullion_order"},
		{"twice the same", frame, Layout{Mullions: dxs("400", "400")}, "mullion_order"},
		{"on the left edge", frame, Layout{Mullions: dxs("0")}, "mullion_order"},
		{"on the right edge", frame, Layout{Mullions: dxs("1200")}, "mullion_outside"},
		{"close to the left edge", frame, Layout{Mullions: dxs("99.9")}, "mullion_close"},
		{"just far enough", frame, Layout{Mullions: dxs("100")}, ""},
		{"close to the right edge", frame, Layout{Mullions: dxs("1101")}, "mullion_close"},
		{"just far enough from the right", frame, Layout{Mullions: dxs("1100")}, ""},
		{"close together", frame, Layout{Mullions: dxs("500", "560")}, "mullion_close"},
		{"more transoms than columns", frame, Layout{Transoms: dxs("500", "500")}, "transom_column"},
		{"transom below", frame, Layout{Transoms: dxs("-500")}, "transom_outside"},
		{"transom over the head", frame, Layout{Transoms: dxs("1000")}, "transom_outside"},
		{"column too far", frame, Layout{Lights: []Light{{Column: 1, Hinge: FixedLight}}}, "light_column"},
		{"column below none", frame, Layout{Lights: []Light{{Column: -1, Hinge: FixedLight}}}, "light_column"},
		{"third row", frame, Layout{Transoms: dxs("500"), Lights: []Light{{Row: 2, Hinge: FixedLight}}}, "light_row"},
		{"above no transom", frame, Layout{Lights: []Light{{Row: 1, Hinge: FixedLight}}}, "light_no_transom"},
		{"no such hinge", frame, Layout{Lights: []Light{{Hinge: "sliding"}}}, "light_hinge"},
		{"one place twice", frame, Layout{Lights: []Light{{Hinge: FixedLight}, {Hinge: SideLeft}}}, "light_twice"},
		{"a hole", frame, Layout{Mullions: dxs("600"), Lights: two[:1]}, "light_missing"},
		{"a hole above", frame, Layout{Transoms: dxs("700"), Lights: []Light{{Hinge: FixedLight}}}, "light_missing_above"},
		{"too many columns", frame, Layout{Mullions: make([]decimal.Decimal, 40)}, "layout_columns"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			err := tt.layout.Check(tt.frame)
			if tt.rule == "" {
				require.NoError(t, err)
				return
			}
			refusedBy(t, err, ErrImpossible, tt.rule)
		})
	}
}

func TestLayoutCheckNamesTheNumber(t *testing.T) {
	l := Layout{Mullions: dxs("300", "600", "650")}
	r := refusedBy(t, l.Check(size("1200", "1000")), ErrImpossible, "mullion_close")
	same(t, "3", r.Figures["number"])
	same(t, "650", r.Figures["at"])
}

func TestEvenMullions(t *testing.T) {
	s := DefaultSettings() // outer face 60, mullion face 80
	require.Nil(t, EvenMullions(dx("1200"), 0, s))
	require.Nil(t, EvenMullions(dx("1200"), -1, s))

	one := EvenMullions(dx("1185"), 1, s)
	require.Len(t, one, 1)
	same(t, "592.5", one[0])

	// Daylight (1200 − 2·60 − 2·80)/3 = 306.67: 60 + 306.67 + 40 = 406.67.
	two := EvenMullions(dx("1200"), 2, s)
	require.Len(t, two, 2)
	same(t, "406.7", two[0])
	same(t, "793.3", two[1])
}

func TestEvenMullionsLeaveTheSameDaylight(t *testing.T) {
	s := DefaultSettings()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5).Draw(t, "mullions")
		width := decimal.New(int64(rapid.IntRange(9000, 45000).Draw(t, "tenths")), -1)
		l := Layout{Mullions: EvenMullions(width, n, s)}
		for column := range n + 1 {
			l.Lights = append(l.Lights, Light{Column: column, Hinge: FixedLight})
		}
		frame := Size{width, dx("1000")}
		require.NoError(t, l.Check(frame))
		first := l.bay(frame, l.Lights[0], s).size().Width
		for _, light := range l.Lights {
			off := l.bay(frame, light, s).size().Width.Sub(first).Abs()
			require.True(t, off.LessThanOrEqual(dx("0.6")), "daylights differ by %s", off)
		}
	})
}

func TestWithEvenMullions(t *testing.T) {
	s, frame := DefaultSettings(), size("1200", "1000")
	named := Layout{Lights: []Light{{Column: 0, Hinge: FixedLight}, {Column: 1, Hinge: FixedLight}}}
	placed := named.WithEvenMullions(frame, s)
	require.Len(t, placed.Mullions, 1)
	same(t, "600", placed.Mullions[0])
	require.Empty(t, named.Mullions, "the layout given must stay as it was")

	given := Layout{Mullions: dxs("500"), Lights: named.Lights}
	require.Equal(t, given, given.WithEvenMullions(frame, s))

	huge := Layout{Lights: []Light{{Column: 1 << 40, Hinge: FixedLight}}}
	refusedBy(t, huge.WithEvenMullions(frame, s).Check(frame), ErrImpossible, "light_column")
}

func TestAHingeIsOnTheSideItIsNamedAfter(t *testing.T) {
	for hinge, want := range map[Hinge]Side{
		SideLeft: Left, TiltTurnLeft: Left, SideRight: Right, TiltTurnRight: Right, TopHung: Head, BottomHung: Sill, FixedLight: "", "": "",
	} {
		got, ok := hinge.Side()
		require.Equal(t, want, got, hinge)
		require.Equal(t, want != "", ok, hinge)
	}
}

func TestLayoutCheckOnItsLimits(t *testing.T) {
	frame := size("1200", "1000")
	refusedBy(t, Layout{}.Check(size("1200", "0")), ErrImpossible, "frame_size")
	refusedBy(t, Layout{}.Check(size("1200", "-5")), ErrImpossible, "frame_size")
	require.True(t, size("10", "0").tooSmall())
	require.True(t, size("0", "10").tooSmall())
	require.NoError(t, Layout{Transoms: dxs("900")}.Check(frame))
	require.NoError(t, Layout{Transoms: dxs("100")}.Check(frame))
	refusedBy(t, Layout{Lights: []Light{{Row: -1, Hinge: FixedLight}}}.Check(frame), ErrImpossible, "light_row")

	var many Layout
	for n := range mostColumns - 1 {
		many.Mullions = append(many.Mullions, mm(int64(110*(n+1))))
	}
	require.NoError(t, many.Check(size("3520", "1000")))
}

func TestLayoutCheckNamesTheSecond(t *testing.T) {
	two := []Light{{Column: 0, Hinge: FixedLight}, {Column: 1, Hinge: FixedLight}}
	for rule, l := range map[string]Layout{
		"transom_outside":     {Mullions: dxs("600"), Transoms: dxs("700", "950")},
		"light_hinge":         {Mullions: dxs("600"), Lights: []Light{two[0], {Column: 1, Hinge: "sliding"}}},
		"light_missing":       {Mullions: dxs("600"), Lights: two[:1]},
		"light_missing_above": {Mullions: dxs("600"), Transoms: dxs("0", "700"), Lights: two},
	} {
		figures := refusedBy(t, l.Check(size("1200", "1000")), ErrImpossible, rule).Figures
		for _, name := range []string{"number", "column"} {
			if n, ok := figures[name]; ok {
				same(t, "2", n, rule)
			}
		}
	}
}

func TestEvenMullionsAtTheirLimits(t *testing.T) {
	s := DefaultSettings()
	same(t, "592.55", EvenMullions(dx("1185.1"), 1, s)[0], "the middle one stands in the middle")
	last := Layout{Lights: []Light{{Column: mostColumns, Hinge: FixedLight}}}
	require.Empty(t, last.WithEvenMullions(size("9000", "1000"), s).Mullions)
	last.Lights[0].Column--
	require.Len(t, last.WithEvenMullions(size("9000", "1000"), s).Mullions, mostColumns-1)
}
