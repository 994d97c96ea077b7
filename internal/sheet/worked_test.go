package sheet

import (
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/plan"
)

// ownProfile are all figures of the profile as a crew gave them.
func ownProfile() *opening.Crew {
	c := plan.DefaultCrew()
	c.OuterFace, c.SashFace, c.MullionFace, c.EdgeCover, c.FrameDepth, c.ProfileMass = mm(68), mm(78), mm(84), mm(18), mm(82), mm(2.6)
	return &c
}

// oneLine is an order of one window.
func oneLine(t testing.TB, o plan.Opening) job.OrderSheet {
	t.Helper()
	j := must(t)(add(begun(t, 0), fitter, made, o.Name))
	j = must(t)(store(j, fitter, made, 1, job.Record{Plan: o, Colour: "white", MakeUp: "4-20-4"}))
	return must(t)(send(j, made)).OrderCopy()
}

func printed(t testing.TB, s job.OrderSheet) string {
	t.Helper()
	return strings.Join(said(printer(english).orderLayout(s)), " ")
}

// What rests on somebody's example says so, in each form; what the crew gave does not.
func TestExamplesAreNothingToCutBy(t *testing.T) {
	o := surveyed("Kitchen", 1800, 1200, row0(calc.SideLeft, calc.FixedLight, calc.SideRight)...)
	s := oneLine(t, o)
	words := printed(t, s)
	require.Contains(t, words, "Not to cut by, an example: 1")
	require.Contains(t, words, "Order the glass by the maker's own deductions")
	require.Contains(t, words, "Frame depth: not said, ask before making")
	require.Contains(t, words, "make equal openings in the frame, before sashes, by your own profiles")
	raw, err := printer(english).JSON(s)
	require.NoError(t, err)
	require.Equal(t, 3, strings.Count(string(raw), `"by_examples": true`))

	o.Settings = ownProfile()
	s = oneLine(t, o)
	words = printed(t, s)
	for _, not := range []string{"an example", "own deductions (", "Frame depth: not said"} {
		require.NotContains(t, words, not)
	}
	require.Contains(t, words, "as the crew gave it: Frame depth 82 mm, Outer frame face 68 mm, Sash face 78 mm, Mullion and transom face 84 mm, Glass edge cover 18 mm")
	require.Contains(t, words, "Nobody gave a place: equal openings in the frame, before sashes, 495.3 mm each")
	// 1790 less two faces of 68 and two mullions of 84, by three: 495.33.
	require.Contains(t, words, "centre at 605.3, 1184.7 mm")
	raw, err = printer(english).JSON(s)
	require.NoError(t, err)
	require.Equal(t, 3, strings.Count(string(raw), `"by_examples": false`))

	s.Lines[0].Worked = nil // as it was sent before
	words = printed(t, s)
	require.NotContains(t, words, "Glass sizes")
	require.NotContains(t, words, "Weight")
}

// The sums are of all windows alike, and say of how many lines they are.
func TestTheFirstPageHasTheSums(t *testing.T) {
	s := ordinary(t, 3)
	each := decimal.Zero
	for i, price := range []float64{310.5, 200} {
		p := mm(price)
		s.Lines[i].Price = &p
	}
	s.Lines[0].Quantity = 3
	for _, l := range s.Lines {
		each = each.Add(l.Worked.Mass.Mul(decimal.NewFromInt(int64(l.Quantity))))
	}
	words := said(printer(english).orderLayout(s))[0]
	require.Contains(t, words, "£1131.50 for 2 of 3 lines") // 3 × 310.50 and 200
	require.Contains(t, words, "about "+each.String()+" kg in all, without hardware")
	require.Contains(t, printed(t, s), "£310.50, £931.50 for 3")
}

func TestLinesAreDrawnTogether(t *testing.T) {
	for want, lines := range map[string][]int{"": nil, "1": {0}, "1, 2": {0, 1}, "1–3": {0, 1, 2}, "1, 3–6, 9, 10": {0, 2, 3, 4, 5, 8, 9}} {
		require.Equal(t, want, ranges(lines))
	}
}

// A room's vents are shared out over the windows that may be in it, and what is not
// known is said once.
func TestARoomsVentsAreSharedOut(t *testing.T) {
	s := ordinary(t, 4)
	for i := range s.Lines {
		s.Lines[i].NotKnown = []opening.Key{"sill.fall"}
	}
	words := printed(t, s)
	require.Contains(t, words, "8000 mm² equivalent area for one room over all its windows. Lines 2, 4, 2 windows: 4000 mm² each if they are in one room, 8000 mm² for each room if not.")
	require.Equal(t, 1, strings.Count(words, "Fall of the sill"))
	s.Lines[1].Quantity = 9 // nobody has a room of ten windows
	require.NotContains(t, printed(t, s), "equivalent area for one room")
}
