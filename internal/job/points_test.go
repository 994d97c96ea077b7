package job

import (
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
)

// byWhom are the points of a sent line and who took each on.
func byWhom(j Job, line int) map[string]string {
	of := map[string]string{}
	for _, a := range must0(j.SetShareNames(fitter, noon, true)).OrderCopy().Lines[line].Against {
		of[a.About] = ""
		if a.By != nil {
			of[a.About] = a.By.Name
		}
	}
	return of
}

func must0(j Job, _ []Event, _ error) Job { return j }

// Each point stands on the order with who took it on, and no one takes on what comes later.
func TestEachPointIsTakenOnByWhoDid(t *testing.T) {
	mate := Who{Chat: fitter.Chat, Person: 77, Name: "Mo Mate", Role: Fitter}
	j := must(t)(begun(t, 1).Store(fitter, noon, 1, withoutLevel()))
	j = must(t)(j.Send(fitter, noon, calc0, 1))
	require.Equal(t, map[string]string{"sill.fall": "Fay Fitter"}, byWhom(j, 0))
	require.NotEmpty(t, j.Lines()[0].Against)
	require.Empty(t, j.Lines()[0].Holds)

	j = must(t)(j.Promise(desk, noon, 1, "2026-05-20", nil))
	r := withoutLevel()
	r.Plan.AboveFloor = nil
	j = must(t)(j.Store(fitter, noon, 1, r))
	require.Equal(t, []string{"missed floor"}, abouts(t, j, 1))
	j, e := told(t, OrderRevised)(j.Send(mate, noon, calc0, 1))
	require.Equal(t, map[string]string{"sill.fall": "Fay Fitter", "floor": "Mo Mate"}, byWhom(j, 0))
	require.Contains(t, kinds(e.Changes), AgainstAdded)

	// Measured after all: the point goes, and the revision says so.
	gone := must(t)(j.Store(fitter, noon, 1, withoutLevel()))
	gone, e = told(t, OrderRevised)(gone.Send(fitter, noon, calc0))
	require.Contains(t, kinds(e.Changes), AgainstGone)
	require.Equal(t, map[string]string{"sill.fall": "Fay Fitter"}, byWhom(gone, 0))
}

// A point that is answered and taken back, or that other answers bring, is another one.
func TestAPointThatComesBackIsOpen(t *testing.T) {
	j := must(t)(begun(t, 1).Store(fitter, noon, 1, withoutLevel()))
	j = say(t, j, value("sill.fall", opening.Skipped))
	require.Equal(t, []string{"missed sill.fall"}, abouts(t, j, 1))
	j = must(t)(j.Send(fitter, noon, calc0, 1))
	require.Empty(t, abouts(t, j, 1))
	cleared := say(t, j, opening.Entry{Act: opening.Clear, Key: "sill.fall"})
	require.Equal(t, []string{"missed sill.fall"}, abouts(t, cleared, 1))
	again := say(t, say(t, j, value("sill.fall", "0")), value("sill.fall", opening.Skipped))
	require.Equal(t, []string{"missed sill.fall"}, abouts(t, again, 1))
	colour := say(t, j, value("material", "timber"))
	require.Empty(t, abouts(t, colour, 1), "of the level nothing was said")

	// What a new layout asks of the maker nobody has taken on.
	asked := must(t)(blank(t, 1).Describe(fitter, noon, 1, opening.Entry{Act: opening.Clear, Key: "sill.fall"}))
	asked = must(t)(asked.Send(fitter, noon, calc0, 1))
	require.Empty(t, abouts(t, asked, 1))
	asked = say(t, asked, value("light.1", "fixed"))
	require.Equal(t, []string{"needed items"}, abouts(t, asked, 1), "other questions than were taken on")
}

// A list counts what stands against a window that is complete and not sent.
func TestTheListCountsWhatStandsAgainst(t *testing.T) {
	half := withoutLevel()
	half.Plan.Nation = ""
	j := must(t)(begun(t, 2).Store(fitter, noon, 1, withoutLevel()))
	j = must(t)(j.Store(fitter, noon, 2, half))
	require.Equal(t, []int{1, 0}, []int{j.List()[0].Against, j.List()[1].Against}, "first the survey is finished")
}

// The diagonals of 1203 by 1006 are √(1203² + 1006²) = 1568.2 mm by Pythagoras: both of
// 1462 miss by 2 × 106.2 = 212.4, short as well as long.
func TestShortDiagonalsMissAsLongOnes(t *testing.T) {
	off := func(diagonal int64) float64 {
		r := measured()
		r.Plan.Rising, r.Plan.Falling = mm(diagonal), mm(diagonal)
		j := must(t)(begun(t, 1).Store(fitter, noon, 1, r))
		return j.Openings[0].Against(calc0)[0].Text.Num["off"].InexactFloat64()
	}
	require.InDelta(t, 212, off(1462), 3)
	require.InDelta(t, 212, off(1674), 3)
}

// A copy says of which windows its readings are and which, whatever was passed over there.
func TestACopyNamesTheReadingsThatWereTakenElsewhere(t *testing.T) {
	r := measured()
	r.Plan.Rising, r.Plan.Falling = mm(0), mm(0)
	j := must(t)(begun(t, 1).Store(fitter, noon, 1, r))
	j = must(t)(j.Copy(fitter, noon, 1, "Next door"))
	copied := func(j Job) (key string, names int) {
		for _, p := range j.Openings[1].Against(calc0) {
			if p.Code == PointCopied {
				return p.Text.Key, len(p.Text.Row["names"])
			}
		}
		return "", 0
	}
	key, _ := copied(j)
	require.Equal(t, "against.copied.all", key)
	j = must(t)(j.Describe(fitter, noon, 2, value("width.top", "1205")))
	key, names := copied(j)
	require.Equal(t, "against.copied", key)
	require.Equal(t, 6, names, "two widths, three heights and the level")
}

// A remake is measured, and taken on, as the window that it stands for.
func TestARemakeStandsAsTheWindowItIsOf(t *testing.T) {
	j := must(t)(begun(t, 1).Store(fitter, noon, 1, withoutLevel()))
	j = must(t)(must(t)(j.Send(fitter, noon, calc0, 1)).ConfirmAll(desk, noon, "A"))
	j = must(t)(j.Break(fitter, noon, 1, 0, "bent", "again"))
	require.Empty(t, abouts(t, j, 2))
	require.NotEmpty(t, abouts(t, say0(t, j, 2, value("width.top", "1210")), 2), "it is a window of its own now")
}

func say0(t *testing.T, j Job, id int, entries ...opening.Entry) Job {
	j, err := j.Say(fitter, noon, id, entries...)
	require.NoError(t, err)
	return j
}

// What no sentence is for is told as another thing that changed, so that no difference
// goes out unsaid.
func TestADifferenceWithoutAKindIsToldAsOther(t *testing.T) {
	a := Line{Opening: 1, Name: "Bay"}
	b := a
	b.SillPiece = mm(30)
	require.Empty(t, diffLines([]Line{a}, []Line{a}))
	changes := diffLines([]Line{a}, []Line{b})
	require.Equal(t, []ChangeKind{OtherChanged}, kinds(changes))
	require.Equal(t, "Bay", changes[0].Name)

	// Of a line that was sent before points were kept nobody knows what stood against it.
	point := []Point{{Code: PointMissed, About: "sill.fall"}}
	with := func(points []Point) Line { return Line{Opening: 1, Against: points} }
	require.Empty(t, Diff(with(nil), with(point)))
	require.Empty(t, Diff(with(point), with(nil)))
	require.Equal(t, []ChangeKind{AgainstAdded}, kinds(Diff(with([]Point{}), with(point))))
	require.Equal(t, []ChangeKind{AgainstGone}, kinds(Diff(with(point), with([]Point{}))))
	require.True(t, Diff(with(point), with([]Point{}))[0].ofPoints())
	require.False(t, changes[0].ofPoints())
}

// A reading that looks wrong is said once: where the readings can't all be right that
// says it, and other lengths are said beside it.
func TestADoubtIsSaidOnce(t *testing.T) {
	r := measured()
	r.Plan.Rising, r.Plan.Falling, r.Plan.Widths[0] = mm(0), mm(0), mm(1240)
	j := must(t)(begun(t, 1).Store(fitter, noon, 1, r))
	require.Equal(t, []string{"misfit readings", "missed diagonal.rising"}, abouts(t, j, 1))
	j = say(t, begun(t, 1), value("finish", "check"), value("inner.width", "1500"), value("inner.height", "1040"))
	require.Equal(t, []string{"doubt inner.width"}, abouts(t, j, 1))
	j = say(t, j, value("diagonal.rising", "1780"))
	require.Equal(t, []string{"misfit readings", "doubt inner.width"}, abouts(t, j, 1))
}

// The copy of a copy says of which window each reading is.
func TestTheCopyOfACopyNamesBothWindows(t *testing.T) {
	j := must(t)(begun(t, 1).Copy(fitter, noon, 1, "Next door"))
	j = must(t)(j.Describe(fitter, noon, 2, value("width.top", "1205")))
	j = must(t)(j.Copy(fitter, noon, 2, "Third"))
	points := j.Openings[2].Against(calc0)
	require.Equal(t, []string{"copied copied.2", "copied copied.1"}, abouts(t, j, 3))
	require.Equal(t, "against.copied", points[0].Text.Key)
	require.Len(t, points[0].Text.Row["names"], 1)
	require.Len(t, points[1].Text.Row["names"], 8)
}
