package main

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// The sizes of the measures, on fewer openings and with room for chance. The
// whole table is docs/simulation.md.
func TestTheOrderSizeKeepsItsMeasures(t *testing.T) {
	const openings = 3000
	r := rand.New(rand.NewPCG(1, 20260101))
	short := [2]float64{}
	for range openings {
		o := draw(r, perfect)
		w, h, ok := program(readings(o.measured(r, 0.7), true))
		require.True(t, ok)
		short[0] += (o.width - 10 - w) / openings
		short[1] += (o.height - 10 - h) / openings
	}
	require.Less(t, short[0], 0.9)
	require.Less(t, short[1], 0.7)

	four := 0
	for range openings {
		o := draw(r, mild)
		w, h, ok := program(readings(o.measured(r, 0.7), true))
		require.True(t, ok)
		jambs, level := o.left(w, h)
		require.GreaterOrEqual(t, min(jambs, level), 1.8)
		if min(jambs, level) < 4 {
			four++
		}
	}
	require.Less(t, four, 3*openings/100)
}

// A slip of ten is found, and named, nearly always; sound readings raise no alarm.
func TestMistakesAreFoundAndNamed(t *testing.T) {
	const openings = 2000
	r := rand.New(rand.NewPCG(2, 20260101))
	false7, found, named, middles := 0, 0, 0, 0
	count := func(n *int, yes bool) {
		if yes {
			*n++
		}
	}
	for range openings {
		o := draw(r, mild)
		alarm, _ := doubted(readings(o.measured(r, 0.7), true))
		count(&false7, alarm)

		y, i := o.measured(r, 0.7), []int{0, 2, 3, 5, 6, 7}[r.IntN(6)]
		by(10)(r, &y, i)
		alarm, alone := doubted(readings(y, true))
		count(&found, alarm)
		count(&named, alone == names[i])

		y, i = o.measured(r, 0.7), []int{1, 4}[r.IntN(2)]
		by(10)(r, &y, i)
		alarm, _ = doubted(readings(y, true))
		count(&middles, alarm)
	}
	require.LessOrEqual(t, false7, openings*6/1000)
	require.Greater(t, found, openings*98/100)
	require.Greater(t, named, openings*94/100)
	require.Greater(t, middles, openings*80/100)
}
