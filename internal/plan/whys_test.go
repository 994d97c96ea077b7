package plan

import (
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/safety"
	"sillbot/locales"
)

// why is what the program says of a plan's figures, in plain words.
func why(t *testing.T, o Opening) []string {
	t.Helper()
	words, err := locales.Load()
	require.NoError(t, err)
	p, err := Make(o, calc.DefaultSettings())
	require.NoError(t, err)
	var lines []string
	for _, topic := range []string{"size", "screws", "packers", "glass", "joints"} {
		for _, line := range p.Why(topic) {
			lines = append(lines, words.Plain("en", line))
		}
	}
	return lines
}

func with(lines []string, part string) (found []string) {
	for _, line := range lines {
		if strings.Contains(line, part) {
			found = append(found, line)
		}
	}
	return found
}

// bathroom is an invented small top hung window, too narrow for the usual
// places of its blocks.
func bathroom() Opening {
	o := sample()
	o.Room, o.SillDepth = safety.Bathroom, decimal.Zero
	o.Widths = [3]decimal.Decimal{mm(610), mm(610), mm(610)}
	o.Heights = [3]decimal.Decimal{mm(1050), mm(1050), mm(1050)}
	o.Rising, o.Falling = decimal.Zero, decimal.Zero
	o.Layout = calc.Layout{Lights: []calc.Light{{Hinge: calc.TopHung}}}
	return o
}

// Two lines with different figures on the same thing contradict each other
// unless each says which side it is about.
func TestWhyNamesTheSidesOfAJoint(t *testing.T) {
	lines := why(t, bathroom())
	moves := with(lines, "grows and shrinks")
	require.Len(t, moves, 2)
	require.Contains(t, moves[0], "Left, right: ")
	require.Contains(t, moves[1], "Head, sill: ")
	for _, line := range with(lines, "backing strip") {
		require.NotContains(t, line, "Left", "all four joints are alike")
	}
}

// Where the gaps differ, the narrowest is the one that a joint goes by.
func TestWhySaysTheNarrowestJoint(t *testing.T) {
	o := bathroom()
	o.Widths = [3]decimal.Decimal{mm(613), mm(612), mm(610)}
	p, err := Make(o, calc.DefaultSettings())
	require.NoError(t, err)
	least := decimal.Min(p.Joints[calc.Head].Gap, p.Joints[calc.Sill].Gap, p.Joints[calc.Left].Gap, p.Joints[calc.Right].Gap)
	require.True(t, p.Joints[calc.Left].Gap.GreaterThan(least))
	lines := with(why(t, o), "push in a backing strip")
	require.Len(t, lines, 1)
	require.Contains(t, lines[0], "All sides, narrowest at the ")
	require.Contains(t, lines[0], "Gap "+least.String()+" mm")
}

// A long frame is told once, without ⚠: the gap is the published table's (R), and the
// movement is from memory. Up to 1.785 m class 25 takes it.
func TestALongFrameIsToldOnce(t *testing.T) {
	say := english(t)
	for width, want := range map[int64]int{1700: 0, 2600: 1} {
		o := oneLight()
		o.Widths = [3]decimal.Decimal{mm(width), mm(width), mm(width)}
		o.Heights = [3]decimal.Decimal{mm(2200), mm(2200), mm(2200)}
		o.Rising, o.Falling, o.SillDepth = decimal.Zero, decimal.Zero, decimal.Zero
		if width == 1700 {
			o.Heights = [3]decimal.Decimal{mm(1200), mm(1200), mm(1200)}
		}
		p, err := Make(o, calc.DefaultSettings())
		require.NoError(t, err)
		var lines []string
		for _, line := range p.TextLines() {
			lines = append(lines, say(line))
		}
		long := with(lines, "Long frame: at 5 mm this joint is worked at about 25 % or more.")
		require.Len(t, long, want, width)
		require.Empty(t, with(long, "⚠"))
		require.Empty(t, with(lines, "disagree"))
	}
}

// A pane too narrow for 100 mm to each corner must not be told to keep them.
func TestWhyAsksNoBlockToStandWhereItCannot(t *testing.T) {
	lines := why(t, bathroom())
	require.Len(t, with(lines, "nearer than the usual distance"), 1)
	require.Empty(t, with(lines, "100 mm from the corners"))
	require.Len(t, with(lines, "drainage slot"), 1)

	o := bathroom()
	o.Layout.Lights[0].Hinge = calc.SideLeft
	o.Widths = [3]decimal.Decimal{mm(490), mm(490), mm(490)}
	lines = why(t, o)
	require.NotEmpty(t, with(lines, "one block of"), "the level edges are too short")
	require.Len(t, with(lines, "Keep the other blocks about 100 mm from the corners"), 1)
}

// Each light has its own glass; what is alike is said once.
func TestWhyNamesTheLights(t *testing.T) {
	lines := why(t, sample())
	sizes := with(lines, "Glass size: ")
	require.Greater(t, len(sizes), 1)
	for _, line := range sizes {
		require.Contains(t, line, "Light ")
	}
	seen := map[string]bool{}
	for _, line := range lines {
		require.False(t, seen[line], line)
		seen[line] = true
	}
	for _, line := range why(t, bathroom()) {
		require.NotContains(t, line, "Light 1", "there is only one")
	}
}
