package main

import (
	"bytes"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// The expected values are worked out by hand beside each row.
func TestQueued(t *testing.T) {
	const hour = time.Hour
	for _, c := range []struct {
		name  string
		hours []float64
		rate  float64
		after []float64
		wait  time.Duration
		empty time.Duration
	}{
		{"nothing comes", []float64{0, 0}, 1, []float64{0, 0}, 0, 0},
		{"as much as goes", []float64{3600, 3600}, 1, []float64{0, 0}, 0, 0},
		// 7200 come in the first hour, 3600 go: the last of them waits an hour, and the quiet
		// second hour takes all of it.
		{"twice as much for an hour", []float64{7200, 0}, 1, []float64{3600, 0}, hour, 2 * hour},
		// 3600 wait, half an hour's room is left in each later hour: 1800 then 0, empty at the
		// end of the third hour.
		{"a slow end", []float64{7200, 1800, 1800, 1800}, 1, []float64{3600, 1800, 0, 0}, hour, 3 * hour},
		// 10 h at four times the room: 30 h of sending are left.
		{"never caught up by day", []float64{14400, 14400, 14400, 14400, 14400, 14400, 14400, 14400, 14400, 14400}, 1,
			[]float64{10800, 21600, 32400, 43200, 54000, 64800, 75600, 86400, 97200, 108000}, 30 * hour, 40 * hour},
		// The queue empties, and comes again in the third hour.
		{"two peaks", []float64{5400, 0, 7200, 0}, 1, []float64{1800, 0, 3600, 0}, hour, 4 * hour},
	} {
		t.Run(c.name, func(t *testing.T) {
			q := queued(c.hours, c.rate)
			require.InDeltaSlice(t, c.after, q.After, 1e-6)
			require.InDelta(t, c.wait, q.Wait, float64(time.Millisecond))
			require.InDelta(t, c.empty, q.Empty, float64(time.Millisecond))
		})
	}
}

func TestMorningKeepsTheDaysSum(t *testing.T) {
	hours := morning(21_000_000, 4)
	require.Len(t, hours, 10)
	sum := 0.0
	for _, h := range hours {
		sum += h
	}
	require.InDelta(t, 21_000_000, sum, 1)
	// A million people, 21 messages each in 10 hours, are 583 a second, and 2333 at four times.
	require.InDelta(t, 2333.3, hours[0]/3600, 0.1)
	require.InDelta(t, 388.9, hours[9]/3600, 0.1) // 6/9 of 583.3
}

func TestWhatABotAnswersInADay(t *testing.T) {
	// 30 a second are 108 000 an hour, 1 080 000 in ten.
	for _, c := range []struct{ messages, peak, windows float64 }{
		{20, 1, 54_000}, {40, 1, 27_000}, {20, 4, 13_500}, {30, 4, 9_000}, {40, 4, 6_750},
	} {
		require.Equal(t, c.windows, windowsADay(freeSends, c.messages, c.peak), "%v", c)
	}
	// 600 people who write every 20 s are 30 a second; 6000 are ten times that, so each
	// writes every 200 s, 180 of which are waiting.
	require.Zero(t, answerTime(600, 30, 20*time.Second))
	require.Zero(t, answerTime(10, 30, 20*time.Second))
	require.Equal(t, 180*time.Second, answerTime(6000, 30, 20*time.Second))
	// 40 a second in one hour: 10 of them paid, 36 000 messages, 3600 stars. No more than
	// 1000 a second can be had of a bot. Two bots have twice the free messages.
	require.InDelta(t, 3600, paid([]float64{40 * 3600, 30 * 3600, 0}, 1), 1e-6)
	require.InDelta(t, 970*3600*0.1, paid([]float64{5000 * 3600}, 1), 1e-6)
	require.InDelta(t, (2000-60)*3600*0.1, paid([]float64{2000 * 3600}, 2), 1e-6)
}

func TestTheModelIsPrinted(t *testing.T) {
	var out bytes.Buffer
	sends(&out)
	require.Contains(t, out.String(), "| 20 | 54000 | 13500 |")
	require.Contains(t, out.String(), "(given up after 24 h)")
	require.NotContains(t, out.String(), "NaN")
}
