package opening

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// A record of before may hold fields that the table has no more: they are left in it
// alone, and no other field is said to be copied by them.
func TestAFieldThatIsNoMoreIsLeftAlone(t *testing.T) {
	gone := Entry{Act: Set, Key: "no such field", Value: "1", How: Copied, Of: 3}
	k := Record{}.Put(fitter, set("width.top", "1204"), gone, Entry{Act: Sure, Key: gone.Key}, Entry{Act: Clear, Key: gone.Key}).Known()
	for f := range Fields {
		require.Nil(t, k.Source(f.Key), f.Key)
		require.Equal(t, f.Key == "width.top", k.Has(f.Key), f.Key)
		require.False(t, k.Sure(f.Key), f.Key)
	}
	copied := Entry{Act: Set, Key: "width.top", Value: "1204", How: Copied, Of: 3}
	k = Record{}.Put(fitter, copied, set("width.top", "1203")).Known()
	require.Equal(t, 3, k.Source("width.top").Of, "it was copied once, whatever was said since")
	require.Nil(t, k.Source("width.middle"))
}

// The fields are named in the order in which they were given last.
func TestFieldsInTheOrderTheyWereGiven(t *testing.T) {
	k := Record{}.Put(fitter, set("width.top", "1204"), set("room", "hall"), set("floor", "900")).Put(fitter, set("width.top", "1203")).Known()
	require.Equal(t, []Key{"room", "floor", "width.top"}, k.InOrder())
	none := Known{}
	require.Empty(t, none.InOrder())
}

// A second measure is what a lead said after an entry: that one itself is not among it.
func TestASecondMeasureBeginsAfterItsEntry(t *testing.T) {
	r := Record{}.Put(fitter, set("width.top", "1204")).Put(lead, set("width.top", "1203"), set("width.middle", "1202"))
	for from, want := range map[int][]string{1: {"1203", "1202"}, 2: {"", "1202"}} {
		_, leads := r.Measures(1, from)
		require.Len(t, leads, 1)
		k := leads[0].Known
		require.Equal(t, want, []string{k.Value("width.top"), k.Value("width.middle")})
	}
	_, leads := r.Measures(1, 3)
	require.Empty(t, leads)
}
