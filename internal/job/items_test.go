package job

import (
	"errors"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
)

// blank is a job of n complete windows of which nobody has said yet what the maker needs.
func blank(t *testing.T, n int) Job {
	j := begun(t, n)
	for id := range n {
		for _, key := range opening.ItemKeys {
			j = must(t)(j.Describe(fitter, noon, id+1, opening.Entry{Act: opening.Clear, Key: key}))
		}
	}
	return j
}

func blanksOf(list []Blank) map[opening.Key][]int {
	of := map[opening.Key][]int{}
	for _, b := range list {
		of[b.Key] = b.Openings
	}
	return of
}

// What the maker needs is asked once for all windows that need it: not for one that is
// still being measured, or whose frame is here.
func TestWhatTheMakerNeedsIsAskedOnceAJob(t *testing.T) {
	j := must(t)(blank(t, 2).Add(fitter, noon, "Half done"))
	list := j.Unsaid(calc0)
	of := blanksOf(list)
	require.Len(t, of, len(list), "each question once")
	require.Equal(t, []int{1, 2}, of["opens"])
	require.NotContains(t, of, "safeglass", "no rule asks for safety glass here")
	require.NotContains(t, of, "sillend", "there is no sill piece")
	for i, b := range list[1:] {
		require.Less(t, slices.Index(opening.ItemKeys, list[i].Key), slices.Index(opening.ItemKeys, b.Key), "in the order in which they are asked")
	}

	// A low window needs safety glass: AD K 2013 K4 section 5, below 800 mm (S).
	for _, e := range []opening.Entry{value("floor", "300"), value("opens", "out")} {
		j = must(t)(j.Describe(fitter, noon, 2, e))
	}
	of = blanksOf(j.Unsaid(calc0))
	require.Equal(t, []int{2}, of["safeglass"])
	require.Equal(t, []int{1}, of["opens"])
	require.Contains(t, j.Openings[1].Unsaid(calc0), opening.ByClass)
	require.NotContains(t, j.Openings[0].Unsaid(calc0), opening.ByClass)

	_, _, err := j.Send(fitter, noon, calc0)
	require.True(t, WaitsForItems(err))
	require.False(t, WaitsForItems(errors.New("something else")))
	_, _, other := must(t)(begun(t, 1).Store(fitter, noon, 1, withoutLevel())).Send(fitter, noon, calc0)
	require.Equal(t, "against", reasonOf(t, other))
	require.False(t, WaitsForItems(other), "the maker needs nothing of that")
	require.False(t, WaitsForItems(nil))

	both := must(t)(blank(t, 1).Describe(fitter, noon, 1, opening.Entry{Act: opening.Clear, Key: "sill.fall"}))
	points := both.Openings[0].Against(calc0)
	require.Len(t, points, 2)
	require.Len(t, WithoutItems(points), 1)
	require.Equal(t, "sill.fall", WithoutItems(points)[0].About)

	// A frame that is here needs nothing of it any more.
	made := must(t)(must(t)(blank(t, 1).Send(fitter, noon, calc0, 1)).ConfirmAll(desk, noon, "A"))
	require.NotEmpty(t, made.Unsaid(calc0))
	require.Empty(t, must(t)(made.Advance(fitter, noon, 1, DoDeliver)).Unsaid(calc0))
}

func withoutLevel() Record {
	r := measured()
	r.Plan.SillFall = nil
	return r
}

// What stands on every line is said once above them: of two lines at least, and only
// what the maker is told.
func TestWhatIsCommonToAllLinesIsSaidOnce(t *testing.T) {
	line := func(pairs ...opening.Pair) SheetLine { return SheetLine{Line: Line{Stated: pairs}} }
	out, in, room := opening.Pair{Key: "opens", Value: "out"}, opening.Pair{Key: "opens", Value: "in"}, opening.Pair{Key: "room", Value: "hall"}
	packed := opening.Pair{Key: "packing", Value: "wrapped"}
	require.Empty(t, Common(nil))
	require.Empty(t, Common([]SheetLine{line(out)}), "one line says it itself")
	require.Equal(t, []opening.Pair{out, packed}, Common([]SheetLine{line(out, packed), line(packed, out)}))
	require.Equal(t, []opening.Pair{packed}, Common([]SheetLine{line(out, packed, room), line(packed, in, room), line(out, packed, room)}), "a room is no order")
	require.Empty(t, Common([]SheetLine{line(out), line(out), line()}))

	lines := []SheetLine{{Line: Line{Opening: 1}, NotSaid: []opening.Key{"packing", "opens"}}, {Line: Line{Opening: 4}, NotSaid: []opening.Key{"opens"}}}
	require.Equal(t, []Blank{{"opens", []int{1, 4}}, {"packing", []int{1}}}, BlanksOnLines(lines, func(l SheetLine) []opening.Key { return l.NotSaid }))
}

// A plan by itself, made from a file, says what stands against ordering: nobody took any
// of it on.
func TestAPlanByItselfSaysWhatStandsAgainstIt(t *testing.T) {
	r := withoutLevel()
	r.Plan.Over = safety.OverHidden
	p, err := plan.Make(r.Plan, calc0)
	require.NoError(t, err)
	var codes []string
	for _, point := range AgainstPlan(p) {
		require.Nil(t, point.By)
		codes = append(codes, point.Code+" "+point.About)
	}
	require.ElementsMatch(t, []string{"unseen over_ask", "missed sill.fall"}, codes)
}

// A button takes on the points that were shown and no others: their name changes with
// them, and with nothing else.
func TestTheNameOfOpenPointsIsOfThosePoints(t *testing.T) {
	j := must(t)(begun(t, 2).Store(fitter, noon, 1, withoutLevel()))
	name := j.OpenVersion(calc0, 1, 2)
	require.Len(t, name, 8)
	require.Equal(t, name, must(t)(recolour(t, j, 1, "grey")).OpenVersion(calc0, 1, 2))
	require.NotEqual(t, name, j.OpenVersion(calc0, 1))
	require.Equal(t, j.OpenVersion(calc0, 1), j.OpenVersion(calc0, 1, 9), "no window, no points")
	r := withoutLevel()
	r.Plan.Over = safety.OverHidden
	require.NotEqual(t, name, must(t)(j.Store(fitter, noon, 1, r)).OpenVersion(calc0, 1, 2))
}
