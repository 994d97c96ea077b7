package calc

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// The order of the marks is that of docs/sources.md: R, D, S, M, C, and none.
func TestAMarkIsThatOfTheWeakest(t *testing.T) {
	order := []Mark{Read, Derived, Quoted, FromMemory, Practice, ""}
	for i, a := range order {
		for j, b := range order {
			require.Equal(t, order[max(i, j)], Weakest(a, b))
			if b != "" {
				require.Equal(t, order[max(i, j)], resting(a, b), "%q on %q", a, b)
			}
		}
		require.Equal(t, a, resting(a, ""), "a reading weakens nothing")
	}
	require.Empty(t, markOf(nil))
	require.Empty(t, Order{}.Mark(Width))
	require.Equal(t, Quoted, markOf([]Reason{{Mark: Quoted}, {Mark: Read}}))
}

// What a source may be trusted by itself stays beside the mark that it has here.
func TestAReasonKeepsItsSourcesMark(t *testing.T) {
	read := Reason{Source: "gaps_around_windows", Mark: Read}
	for _, c := range []struct {
		why       Reason
		on        []Mark
		mark, own Mark
	}{
		{read, nil, Read, ""},
		{read, []Mark{""}, Read, ""},
		{read, []Mark{Quoted}, Quoted, Read},
		{read.on(Quoted), []Mark{Practice}, Practice, Read},
		{Reason{Mark: Read}, []Mark{Practice}, Practice, ""},
	} {
		got := c.why.on(c.on...)
		require.Equal(t, c.mark, got.Mark)
		require.Equal(t, c.own, got.Own)
	}
}

// Readings alone leave an order as good as the table (R). What hides masonry
// weakens it: plaster to C, a check to M; so does another sill piece than the
// published 30 (R), and a lean that the tape's error has a part in.
func TestAnOrderIsNoBetterThanItsSteps(t *testing.T) {
	bare := plain(1200, 1000, PVCUWhite)
	for want, change := range map[Mark]func(*OrderRequest){
		Read:     func(*OrderRequest) {},
		Practice: func(r *OrderRequest) { r.Finish = Plaster },
		FromMemory: func(r *OrderRequest) {
			r.Finish = Check
		},
	} {
		r := bare
		change(&r)
		o, err := OrderSize(r)
		require.NoError(t, err)
		require.Equal(t, want, o.Mark(Width))
	}
	bare.SillPiece = true
	for height, want := range map[string]Mark{"30": Read, "36": Practice} {
		bare.Settings.SillPieceHeight = dx(height)
		o, err := OrderSize(bare)
		require.NoError(t, err)
		require.Equal(t, want, o.Mark(Height), height)
		require.Equal(t, Read, o.Mark(Width), height)
	}
	bare.Readings.Rising, bare.Readings.Falling = dx("1570"), dx("1554")
	o, err := OrderSize(bare)
	require.NoError(t, err)
	require.Equal(t, Practice, o.Mark(Width))
}
