package job

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// What is open is named by window, the most urgent first.
func TestOpenPoints(t *testing.T) {
	j := must(t)(begun(t, 5).Send(fitter, noon, calc0))
	j = must(t)(j.ConfirmAll(desk, noon, "A"))
	j = must(t)(j.Promise(desk, noon, 1, "2026-05-10", nil))
	j = must(t)(j.Promise(desk, noon, 2, "2026-05-12", nil))
	j = must(t)(j.Query(desk, noon, 3, "which side?"))
	j = must(t)(j.Advance(fitter, noon, 4, DoDeliver))
	require.Equal(t, []OpenPoint{
		{What: LateFrame, Openings: []int{1}, Due: "2026-05-10"},
		{What: AskedByDesk, Openings: []int{3}},
	}, j.OpenPoints("2026-05-12"), "a frame that is due today is not late, nor one that is here")
	j = must(t)(j.Copy(fitter, noon, 4, "copied"))
	j = must(t)(j.Add(fitter, noon, "begun"))
	j = must(t)(j.AskCheck(fitter, noon, 5))
	points := j.OpenPoints("2026-05-01")
	require.Equal(t, []OpenPoint{
		{What: AskedByDesk, Openings: []int{3}},
		{What: HeldOrder, Openings: []int{1, 2, 3}},
		{What: ToCheck, Openings: []int{5}},
		{What: StandsOpen, Openings: []int{6}},
		{What: HalfDone, Openings: []int{7}},
	}, points)
	require.Equal(t, points, storedAndRead(t, j).OpenPoints("2026-05-01"), "by the rows alone")
}
