package calc

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestTallyOfEqualWindowsIsThatOfEach(t *testing.T) {
	r := request()
	one := mustTake(t, r)
	var together Tally
	together.Add(one, 3)
	got, err := together.Total(r.Store)
	require.NoError(t, err)
	want := jobOf(t, r.Store, one, one, one)
	require.Equal(t, want.Packers, got.Packers)
	require.Len(t, got.Items, len(want.Items))
	for i, item := range got.Items {
		require.Equal(t, want.Items[i].Buy, item.Buy, item.Kind)
		require.True(t, want.Items[i].Need.Equal(item.Need), item.Kind)
	}
	same(t, "1500", itemOf(t, got, SealantItem).Need) // thrice 500 ml
}

func TestTallySaysEachReasonOnce(t *testing.T) {
	var tally Tally
	tally.Add(Quantities{Reasons: []Reason{{Rule: "take_unsealed"}, {Rule: "render_finish"}}}, 1)
	tally.Add(Quantities{Reasons: []Reason{{Rule: "render_finish"}, {Rule: "render_stronger"}}}, 1)
	got, err := tally.Total(DefaultStoreSettings())
	require.NoError(t, err)
	require.Equal(t, []string{"take_unsealed", "render_finish", "render_stronger"}, rules(got.Reasons))
}

// Screws of a length are bought together, whatever window they are for.
func TestTallyBuysScrewsByTheirLength(t *testing.T) {
	r := request()
	short, long := mustTake(t, r), r
	long.Screws = []ScrewCount{{dx("130"), 5}, {dx("150"), 2}}
	var together Tally
	together.Add(short, 2)
	together.Add(mustTake(t, long), 3)
	got, err := together.Total(r.Store)
	require.NoError(t, err)
	need := map[string]string{}
	for _, i := range got.Items {
		if i.Kind == ScrewItem {
			need[i.Length.String()] = i.Need.String()
		}
	}
	require.Equal(t, map[string]string{"90": "16", "130": "23", "150": "6"}, need)
}

func TestTallyRefuses(t *testing.T) {
	var many Tally
	many.Add(Quantities{Items: []Item{{Kind: ScrewItem, Need: dx("1e9")}}}, 1)
	_, err := many.Total(DefaultStoreSettings())
	refusedBy(t, err, ErrBeyondTable, "packs_many")
	var long Tally
	long.Add(Quantities{Items: []Item{{Kind: TrimItem, Need: dx("5.001"), Pieces: dxs("5001")}}}, 1)
	_, err = long.Total(DefaultStoreSettings())
	refusedBy(t, err, ErrBeyondTable, "trim_long")
}

// Lengths of 5 m, longest piece first, each from the shortest rest that holds
// it; worked out by hand.
func TestTallyCutsStockLengths(t *testing.T) {
	for _, c := range []struct {
		pieces []string
		stock  string
		want   int
	}{
		{[]string{"5000"}, "5000", 1},
		{[]string{"2500", "2500"}, "5000", 1},
		{[]string{"2500.2", "2500.2"}, "5000", 2}, // two of 2501 are over
		{[]string{"2501", "2500"}, "5000.9", 2},
		{[]string{"3000", "3000", "3000", "2500", "2500"}, "5000", 4},
		{[]string{"3000", "1500", "1500", "1500"}, "5000", 2},
		{[]string{"3000", "2000", "3000", "2000"}, "5000", 2},
		{[]string{"1000", "1000", "1000", "1000", "1000", "1000"}, "5000", 2},
	} {
		var tally Tally
		for _, p := range c.pieces {
			tally.Add(Quantities{Items: []Item{{Kind: TrimItem, Pieces: dxs(p)}}}, 1)
		}
		got, err := tally.stockLengths(dx(c.stock))
		require.NoError(t, err)
		require.Equal(t, c.want, got, "%v", c)
	}
}
