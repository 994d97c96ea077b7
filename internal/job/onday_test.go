package job

import (
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
)

// What is read on the day needs the fitter, a window that there is, and a confirmed line.
func TestWhoReadsOnTheDay(t *testing.T) {
	confirmed := must(t)(sent(t, 1).ConfirmAll(desk, noon, "A"))
	read := opening.Entry{Act: opening.Set, Key: "frame.width", Value: "1192"}
	_, err := confirmed.OnDay(lead, noon, 1, read)
	require.Equal(t, "not_your_part", reasonOf(t, err))
	_, err = confirmed.OnDay(fitter, noon, 9, read)
	require.Equal(t, "no_opening", reasonOf(t, err))
	_, err = sent(t, 1).OnDay(fitter, noon, 1, read)
	require.Equal(t, "no_frame", reasonOf(t, err))

	after, err := confirmed.OnDay(fitter, noon, 1, read)
	require.NoError(t, err)
	require.Equal(t, Confirmed, after.Openings[0].State)
	require.Equal(t, read.Value, after.Openings[0].Said.Entries[len(after.Openings[0].Said.Entries)-1].Value)
}

// The file of a window says who did what, up to where the window stands.
func TestTheFileSaysWhoDidWhat(t *testing.T) {
	j := must(t)(sent(t, 1).ConfirmAll(desk, noon, "A"))
	of := func(j Job) []string {
		w, ok := j.FileWindow(j.Openings[0])
		require.True(t, ok)
		var list []string
		for _, by := range w.People {
			list = append(list, by.What)
		}
		return list
	}
	before := of(j)
	require.NotContains(t, before, "file.by.deliver")
	j = must(t)(j.Advance(fitter, noon, 1, DoDeliver))
	require.Equal(t, append(before, "file.by.deliver"), of(j))
	j = must(t)(j.Advance(fitter, noon, 1, DoTakeOut))
	require.Equal(t, append(before, "file.by.deliver", "file.by.take_out"), of(j))
	j = must(t)(j.Advance(fitter, noon, 1, DoBack))
	require.Equal(t, append(before, "file.by.deliver"), of(j), "the step was taken back")
}
