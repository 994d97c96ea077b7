package job

import (
	"slices"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
	"sillbot/internal/safety"
)

// abouts are what the points that nobody took on of a window are about, as CODE ABOUT.
func abouts(t *testing.T, j Job, id int) []string {
	t.Helper()
	o, ok := j.Find(id)
	require.True(t, ok)
	var list []string
	for _, p := range Open(o.Standing(calc0)) {
		list = append(list, p.Code+" "+p.About)
	}
	return list
}

func TestAgainstSaysAllThatStandsAgainstAWindow(t *testing.T) {
	fit := begun(t, 1)
	require.Empty(t, abouts(t, fit, 1))
	for name, c := range map[string]struct {
		see  func(*Record)
		want []string
	}{
		"no diagonals": {func(r *Record) { r.Plan.Rising, r.Plan.Falling = decimal.Zero, decimal.Zero }, []string{"missed diagonal.rising"}},
		"no level":     {func(r *Record) { r.Plan.SillFall = nil }, []string{"missed sill.fall"}},
		"no heights":   {func(r *Record) { r.Plan.AboveFloor, r.Plan.AboveOutside = nil, nil }, []string{"missed floor", "missed outside"}},
		"lower edge": {func(r *Record) {
			bed := mm(860)
			r.Plan.AboveFloor, r.Plan.BedAboveFloor = nil, &bed
		}, nil},
		"upstairs":  {func(r *Record) { r.Plan.Storey, r.Plan.AboveOutside = 1, nil }, nil},
		"not seen":  {func(r *Record) { r.Plan.Over = safety.OverHidden }, []string{"unseen over_ask"}},
		"no lintel": {func(r *Record) { r.Plan.Over, r.Plan.NoLintel = "", true }, []string{"stop no_lintel"}},
		"flue":      {func(r *Record) { r.Plan.OpenFlue = true }, []string{"stop open_flue"}},
		"misfit":    {func(r *Record) { r.Plan.Rising = mm(1780) }, []string{"misfit readings"}},
		"overlap":   {func(r *Record) { r.Plan.Finish = "check" }, []string{"missed inner.width"}},
	} {
		r := measured()
		c.see(&r)
		j := must(t)(fit.Store(fitter, noon, 1, r))
		require.Equal(t, c.want, abouts(t, j, 1), name)
		require.Equal(t, len(c.want), j.List()[0].Against, name)
	}
}

// The diagonals of 1203 by 1006 are √(1203² + 1006²) = 1568.2 mm by Pythagoras; both 106 mm
// longer miss by 212.
func TestAMisfitSaysByHowMuch(t *testing.T) {
	r := measured()
	r.Plan.Rising, r.Plan.Falling = mm(1674), mm(1674)
	j := must(t)(begun(t, 1).Store(fitter, noon, 1, r))
	o, _ := j.Find(1)
	points := o.Against(calc0)
	require.Len(t, points, 1)
	require.InDelta(t, 212, points[0].Text.Num["off"].InexactFloat64(), 3)
	refused(t, "against")(j.Send(fitter, noon, calc0))
}

func TestAPointIsTakenOnByNameAndAStopIsNot(t *testing.T) {
	r := measured()
	r.Plan.SillFall = nil
	j := must(t)(begun(t, 2).Store(fitter, noon, 1, r))
	_, e := told(t, OrderSent)(j.Send(fitter, noon, calc0))
	require.Equal(t, []int{2}, e.Openings, "what is fit goes")

	sent, e := told(t, OrderSent)(j.Send(fitter, noon, calc0, 1))
	require.Equal(t, []int{1, 2}, e.Openings)
	line := sent.OrderCopy().Lines[0]
	require.Len(t, line.Against, 1)
	require.Equal(t, "sill.fall", line.Against[0].About)
	require.Equal(t, Fitter, line.Against[0].By.Role)
	require.Empty(t, line.Against[0].By.Name, "a name goes out only where names are shared")
	require.Empty(t, sent.OrderCopy().Lines[1].Against)
	shared := must(t)(sent.SetShareNames(fitter, noon, true))
	require.Equal(t, "Fay Fitter", shared.OrderCopy().Lines[0].Against[0].By.Name)

	r.Plan.NoLintel, r.Plan.Over = true, ""
	stopped := must(t)(sent.Store(fitter, noon, 1, r))
	why := refused(t, "stopped")(stopped.Send(fitter, noon, calc0, 1))
	require.True(t, slices.ContainsFunc(why.Points, Point.Stops))
}

func TestWhatComesLaterIsNotTakenOn(t *testing.T) {
	r := measured()
	r.Plan.SillFall = nil
	j := must(t)(begun(t, 1).Store(fitter, noon, 1, r))
	j = must(t)(j.Send(fitter, noon, calc0, 1))
	r.Plan.AboveFloor = nil
	later := must(t)(j.Store(fitter, noon, 1, r))
	require.Equal(t, []string{"missed floor"}, abouts(t, later, 1), "one more than was taken on")
	refused(t, "against")(later.Send(fitter, noon, calc0))

	level := mm(0)
	r = measured()
	r.Plan.SillFall = &level
	j = must(t)(j.Store(fitter, noon, 1, r))
	require.Empty(t, abouts(t, j, 1))
	r.Plan.SillFall = nil
	j = must(t)(j.Store(fitter, noon, 1, r))
	require.Equal(t, []string{"missed sill.fall"}, abouts(t, j, 1), "it came back and is another")
}

func TestACopyIsNotMeasuredByAnybody(t *testing.T) {
	j := must(t)(begun(t, 1).Copy(fitter, noon, 1, "Next door"))
	require.Equal(t, []string{"copied copied.1"}, abouts(t, j, 2))
	sent := must(t)(j.Send(fitter, noon, calc0, 2))
	l := sent.OrderCopy().Lines[1]
	require.Equal(t, 1, l.CopiedFrom)
	require.Nil(t, l.Measured)
	require.NotNil(t, sent.OrderCopy().Lines[0].Measured)

	j = must(t)(j.Describe(fitter, noon, 2, opening.Entry{Act: opening.Set, Key: "width.top", Value: "1205"}))
	o, _ := j.Find(2)
	require.Equal(t, "against.copied", o.Against(calc0)[0].Text.Key)
	require.Len(t, o.Against(calc0)[0].Text.Row["names"], 8)
}

// An order that went out before points were kept stays with the desk and shows what
// stands against it, taken on by nobody.
func TestAnOrderOfBeforeIsNotHeldBack(t *testing.T) {
	r := measured()
	r.Plan.SillFall = nil
	j := must(t)(begun(t, 1).Store(fitter, noon, 1, r))
	o := j.Openings[0]
	line, err := o.line(calc0)
	require.NoError(t, err)
	j.write(fitter, noon, 0, opening.Entry{Act: opening.Tell, Value: toldLine, Told: telling(o.Version, stored(line))}, stepEntry(DoSend))
	j.Order.Revision, j.Order.On = 1, []int{1}
	require.Equal(t, Ordered, stateOf(t, j, 1))
	require.Zero(t, j.List()[0].Against)
	lines, not := j.Ready(calc0)
	require.Len(t, lines, 1)
	require.Empty(t, not)
	l := j.OrderCopy().Lines[0]
	require.Len(t, l.Against, 1)
	require.Nil(t, l.Against[0].By)
}

// A row of a head of before says nothing of points: the window is looked at.
func TestARowOfBeforeIsLookedAt(t *testing.T) {
	row, err := readRow("1|1|survey|||||||1|a")
	require.NoError(t, err)
	require.Equal(t, unlooked, row.Against)
	row, err = readRow("1|1|survey!3|||||||1|a")
	require.NoError(t, err)
	require.Equal(t, 3, row.Against)
}
