package job

import (
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/plan"
)

// What is said in one act is taken field by field, each after the one before it.
func TestInOneActTheLastWordHolds(t *testing.T) {
	noLevel := must(t)(begun(t, 1).Store(fitter, noon, 1, withoutLevel()))
	level, none := value("sill.fall", "0"), opening.Entry{Act: opening.Clear, Key: "sill.fall"}
	for name, c := range map[string]struct {
		j     Job
		said  []opening.Entry
		want  string
		wants int
	}{
		"given and taken back":       {noLevel, []opening.Entry{level, none}, "", 2},
		"given twice":                {noLevel, []opening.Entry{level, level}, "0", 1},
		"another and the same again": {begun(t, 1), []opening.Entry{value("sill.fall", "4"), value("sill.fall", "0")}, "0", 2},
		"taken back and given again": {begun(t, 1), []opening.Entry{none, level}, "0", 2},
		"taken back twice":           {begun(t, 1), []opening.Entry{none, none}, "", 1},
	} {
		j, err := c.j.Say(fitter, noon, 1, c.said...)
		require.NoError(t, err)
		known := j.Openings[0].Known()
		require.Equal(t, c.want, known.Value("sill.fall"), name)
		require.Len(t, j.Openings[0].Said.Entries, len(c.j.Openings[0].Said.Entries)+c.wants, "%s: nothing is written that says nothing", name)
	}

	coloured := begun(t, 1)
	coloured = must(t)(coloured.Describe(fitter, noon, 1, opening.Entry{Act: opening.Clear, Key: "colour"}, value("material", string(calc.PVCUColour))))
	j, err := coloured.Say(fitter, noon, 1, value("colour", "anthracite"), value("material", string(calc.PVCUWhite)))
	require.NoError(t, err)
	known := j.Openings[0].Known()
	require.Empty(t, known.Value("colour"), "the colour was of the frame before, though both were said at once")
	j, err = coloured.Say(fitter, noon, 1, value("material", string(calc.PVCUWhite)), value("colour", "cream"))
	require.NoError(t, err)
	known = j.Openings[0].Known()
	require.Equal(t, "cream", known.Value("colour"))
}

// The lead's open points name each window that something stands against, whatever it is,
// and none whose points were taken on.
func TestOpenPointsNameWhatStandsAgainstAWindow(t *testing.T) {
	j := must(t)(begun(t, 3).Store(fitter, noon, 2, withoutLevel()))
	want := []OpenPoint{{What: StandsOpen, Openings: []int{2}}, {What: Unsigned, Openings: []int{1, 3}}}
	require.Equal(t, want, j.OpenPoints("2026-05-04"))
	require.Equal(t, want, storedAndRead(t, j).OpenPoints("2026-05-04"))
	points := Open(j.Openings[1].Standing(calc0))
	require.Len(t, points, 1)
	j, err := j.Say(fitter, noon, 2, takeOn(j.Openings[1].Version, points))
	require.NoError(t, err)
	require.Equal(t, []OpenPoint{{What: Unsigned, Openings: []int{1, 2, 3}}}, j.OpenPoints("2026-05-04"))
	j = blank(t, 1)
	require.NotEmpty(t, j.Openings[0].Against(calc0))
	want = []OpenPoint{{What: Unsigned, Openings: []int{1}}}
	require.Equal(t, want, j.OpenPoints("2026-05-04"), "the sending asks once what the maker needs")
	stored, err := j.Encode()
	require.NoError(t, err)
	head, err := Stored{Head: stored.Head}.Decode()
	require.NoError(t, err)
	require.Equal(t, want, head.OpenPoints("2026-05-04"), "by the rows alone")
}

// A remake takes the next free name, and no name at all is refused.
func TestARemakeHasAName(t *testing.T) {
	j := must(t)(must(t)(begun(t, 2).Send(fitter, noon, calc0)).ConfirmAll(desk, noon, "A"))
	for _, id := range []int{1, 2} {
		j = must(t)(j.Advance(fitter, noon, id, DoDeliver))
	}
	for _, none := range []string{"", " ", "\u200f"} {
		refused(t, "name_empty")(j.Fault(fitter, noon, 1, 1, "scratched", none))
	}
	j = must(t)(j.Fault(fitter, noon, 1, 1, "scratched", "again"))
	j = must(t)(j.Fault(fitter, noon, 2, 1, "scratched", "again"))
	require.Equal(t, []string{"Window 1", "Window 2", "again", "again (2)"}, names(j))
}

func names(j Job) (list []string) {
	for _, row := range j.List() {
		list = append(list, row.Name)
	}
	return list
}

// A list that is read from the rows alone counts the pieces of two alike as well.
func TestTheRowsAloneSayWherePiecesStand(t *testing.T) {
	j := must(t)(begun(t, 1).SetCount(fitter, noon, 1, 2))
	j = must(t)(must(t)(j.Send(fitter, noon, calc0)).ConfirmAll(desk, noon, "A"))
	j = must(t)(j.AdvancePieces(fitter, noon, 1, DoDeliver, 1))
	stored, err := j.Encode()
	require.NoError(t, err)
	head, err := Stored{Head: stored.Head}.Decode()
	require.NoError(t, err)
	want := []Part{{Confirmed, 1}, {Delivered, 1}}
	require.Equal(t, want, j.Openings[0].Parts())
	require.Equal(t, want, head.List()[0].Parts())
}

// Rows of before do not say what stands against a window: the whole job is asked for.
func TestARowThatNobodyLookedAtAsksForTheWholeJob(t *testing.T) {
	j := must(t)(begun(t, 2).Store(fitter, noon, 2, withoutLevel()))
	stored, err := j.Encode()
	require.NoError(t, err)
	head, err := Stored{Head: stored.Head}.Decode()
	require.NoError(t, err)
	_, all := head.Missing()
	require.False(t, all)

	before := regexp.MustCompile(`\|survey!\d`).ReplaceAll(stored.Head, []byte("|survey"))
	require.NotEqual(t, string(stored.Head), string(before))
	head, err = Stored{Head: before}.Decode()
	require.NoError(t, err)
	_, all = head.Missing()
	require.True(t, all)
	head, err = Stored{Head: before, Parts: stored.Parts}.Decode()
	require.NoError(t, err)
	_, all = head.Missing()
	require.False(t, all, "it is there")
}

// Newer rules answer for what was told of the window as it is: a size that was signed
// before it was measured again is another for that reason, and no rules moved it.
func TestNewerRulesDoNotAnswerForAnotherMeasure(t *testing.T) {
	j := must(t)(begun(t, 1).AskCheck(fitter, noon, 1))
	j = must(t)(must(t)(j.Look(lead, noon, 1)).Sign(lead, noon, 1, version(j)))
	narrower := measured()
	narrower.Plan.Widths[1] = mm(1199)
	j = must(t)(j.Store(fitter, noon, 1, narrower))
	j = underOlderRules(t, j)
	require.NotEqual(t, plan.Rules, j.Rules)
	_, events, err := j.NewRules(fitter, noon)
	require.NoError(t, err)
	require.Empty(t, events)
}
