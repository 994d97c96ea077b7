package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestSealantPublished(t *testing.T) {
	// A published example (R, document not noted): 10 × 10 mm over 10 m, 300 ml
	// → 3.33 → buy 4.
	r := request()
	r.Frame, r.Store.Tube = size("3000", "2000"), dx("300")
	sealant := itemOf(t, mustTake(t, r), SealantItem)
	require.Equal(t, "3.33", sealant.Need.DivRound(sealant.Pack, 2).String())
	require.Equal(t, 4, sealant.Buy)

	// ml / (w · d), D: 310 ml at 6 × 6 → 8.61 m, so a tube goes all round a frame
	// of that and not of a centimetre more.
	j, err := PlanJoint(joint("6", "1000", false))
	require.NoError(t, err)
	r.Joints, r.Store.Tube = allRound(j), dx("310")
	for width, tubes := range map[string]int{"2305": 1, "2310": 2} {
		r.Frame = size(width, "2000")
		require.Equal(t, tubes, itemOf(t, mustTake(t, r), SealantItem).Buy, width)
	}
}

func mustTake(t require.TestingT, r QuantityRequest) Quantities {
	q, err := WindowQuantities(r)
	require.NoError(t, err)
	return q
}

// jobOf is the list of several windows.
func jobOf(t require.TestingT, s StoreSettings, windows ...Quantities) Quantities {
	var tally Tally
	for _, w := range windows {
		tally.Add(w, 1)
	}
	job, err := tally.Total(s)
	require.NoError(t, err)
	return job
}

func allRound(j Joint) map[Side]Joint { return map[Side]Joint{Left: j, Right: j, Head: j, Sill: j} }

func request() QuantityRequest {
	s := DefaultStoreSettings()
	s.Waste = decimal.Zero
	return QuantityRequest{
		Frame:   size("1500", "1000"),
		Joints:  allRound(Joint{Gap: dx("10"), Depth: dx("10"), Backing: true}),
		Section: Section{Depth: dx("70")},
		Screws:  []ScrewCount{{dx("90"), 8}, {dx("130"), 4}},
		Packers: []PackerCount{{1, 8}, {5, 6}},
		Trims:   dxs("1500", "1000", "1000"),
		Store:   s,
	}
}

func itemOf(t require.TestingT, q Quantities, kind ItemKind) Item {
	for _, i := range q.Items {
		if i.Kind == kind {
			return i
		}
	}
	require.Fail(t, "missing item", "%s in %v", kind, q.Items)
	return Item{}
}

func TestWindowQuantities(t *testing.T) {
	r := request()
	r.Store.Tube = dx("300")
	q, err := WindowQuantities(r)
	require.NoError(t, err)

	// 5 m all round at 10 × 10: half of the published 10 m (R, as above).
	sealant := itemOf(t, q, SealantItem)
	same(t, "500", sealant.Need)
	require.Equal(t, 2, sealant.Buy)
	same(t, "5", itemOf(t, q, BackingItem).Need)

	// 5 m × 10 mm × (70 − 10 − 10) mm = 2.5 l, the strip as deep as the gap is
	// wide (C); a can of 40 l (R) at 0.6 (M).
	foam := itemOf(t, q, FoamItem)
	same(t, "2.5", foam.Need)
	same(t, "24", foam.Pack)
	require.Equal(t, 1, foam.Buy)

	var screws []string // each length is a line, the shortest first
	for _, i := range q.Items {
		if i.Kind == ScrewItem {
			screws = append(screws, i.Length.String()+": "+i.Need.String())
			require.Equal(t, 1, i.Buy)
		}
	}
	require.Equal(t, []string{"90: 8", "130: 4"}, screws)
	trim := itemOf(t, q, TrimItem)
	same(t, "3.5", trim.Need)
	require.Equal(t, 1, trim.Buy)
	require.Equal(t, []PackerCount{{1, 8}, {5, 6}}, q.Packers)
	for _, i := range q.Items {
		require.NotEqual(t, CementItem, i.Kind, "no patch, no cement")
	}
}

func TestWindowQuantitiesWaste(t *testing.T) {
	r := request()
	r.Store.Tube, r.Store.Waste = dx("500"), dx("0.1")
	q, err := WindowQuantities(r)
	require.NoError(t, err)
	sealant := itemOf(t, q, SealantItem)
	same(t, "500", sealant.Need)
	same(t, "50", sealant.Waste)
	require.Equal(t, 2, sealant.Buy, "without waste one tube would do")
	same(t, "1", itemOf(t, q, ScrewItem).Waste) // 0.8 is one screw
}

func TestWindowQuantitiesFillet(t *testing.T) {
	r := request()
	r.Joints = allRound(Joint{Gap: dx("4"), Lap: dx("6")})
	q, err := WindowQuantities(r)
	require.NoError(t, err)
	same(t, "150", itemOf(t, q, SealantItem).Need) // 5 m × 6 × 10 / 2
	same(t, "1.4", itemOf(t, q, FoamItem).Need)    // 5 m × 4 × 70
	for _, i := range q.Items {
		require.NotEqual(t, BackingItem, i.Kind)
	}
}

// A joint over 15 mm is too wide for mastic (R): nothing is bought
// to seal that side, and the list says so.
func TestWindowQuantitiesLeaveOutWhatIsTooWide(t *testing.T) {
	r := request()
	for _, gap := range []string{"15.1", "85"} {
		wide, err := PlanJoint(joint(gap, "1500", true))
		require.NoError(t, err)
		r.Joints[Left] = wide
		q, err := WindowQuantities(r)
		require.NoError(t, err)
		same(t, "400", itemOf(t, q, SealantItem).Need) // 4 of the 5 m
		same(t, "4", itemOf(t, q, BackingItem).Need)
		same(t, "2", itemOf(t, q, FoamItem).Need)
		require.True(t, hasRule(q.Reasons, "take_unsealed"))
	}
	r.Joints = allRound(r.Joints[Left])
	q, err := WindowQuantities(r)
	require.NoError(t, err)
	for _, i := range q.Items {
		require.NotContains(t, []ItemKind{SealantItem, BackingItem, FoamItem}, i.Kind)
	}
	require.Len(t, q.Reasons, 1, "said once")
}

func TestWindowQuantitiesPatches(t *testing.T) {
	r := request()
	// A cubic metre in one patch: the published mix (R).
	r.Patches = []Patch{{Length: dx("10000"), Width: dx("10000"), Coats: []Coat{{Thickness: dx("10"), Sand: dx("4")}}}}
	q, err := WindowQuantities(r)
	require.NoError(t, err)
	cement := itemOf(t, q, CementItem)
	same(t, "383.04", cement.Need)
	require.Equal(t, 16, cement.Buy)
	same(t, "1.064", itemOf(t, q, SandItem).Need)
	same(t, "191.52", itemOf(t, q, WaterItem).Need)

	// 12.5 l of ready mix is one bag of 25 kg (R).
	for length, bags := range map[string]int{"1250": 1, "1260": 2, "2500": 2} { // 12.5, 12.6, 25 l
		r.Patches = []Patch{{Length: dx(length), Width: dx("1000"), Coats: []Coat{{Thickness: dx("10")}}, ReadyMix: true}}
		require.Equal(t, bags, itemOf(t, mustTake(t, r), ReadyMixItem).Buy, length)
	}

	r.Patches = []Patch{{Length: dx("1000"), Width: dx("100"), Coats: []Coat{{Thickness: dx("10"), Sand: dx("5")}, {Thickness: dx("7"), Sand: dx("4")}}}}
	q, err = WindowQuantities(r)
	require.NoError(t, err)
	require.True(t, hasRule(q.Reasons, "render_stronger"))

	// Cement on lime is warned of from memory, once, whatever the bag.
	cautions := func(patches ...Patch) (n int) {
		r.Patches = patches
		for _, why := range mustTake(t, r).Reasons {
			if why.Rule == "render_lime" {
				n++
				require.Equal(t, FromMemory, why.Mark)
			}
		}
		return n
	}
	bag := Patch{Length: dx("100"), Width: dx("100"), Coats: []Coat{{Thickness: dx("10")}}, ReadyMix: true}
	require.Zero(t, cautions())
	require.Equal(t, 1, cautions(bag, bag))
}

func TestWindowQuantitiesRefuses(t *testing.T) {
	for name, tt := range map[string]struct {
		change func(*QuantityRequest)
		kind   error
		rule   string
	}{
		"no frame":    {func(r *QuantityRequest) { r.Frame.Width = decimal.Zero }, ErrImpossible, "quantity_frame"},
		"no depth":    {func(r *QuantityRequest) { r.Section.Depth = decimal.Zero }, ErrImpossible, "quantity_frame"},
		"screws":      {func(r *QuantityRequest) { r.Screws[1].Pieces = -1 }, ErrImpossible, "quantity_frame"},
		"tube":        {func(r *QuantityRequest) { r.Store.Tube = decimal.Zero }, ErrImpossible, "store_settings"},
		"waste":       {func(r *QuantityRequest) { r.Store.Waste = dx("2") }, ErrImpossible, "store_waste"},
		"long trim":   {func(r *QuantityRequest) { r.Trims = dxs("5001") }, ErrBeyondTable, "trim_long"},
		"patch":       {func(r *QuantityRequest) { r.Patches = []Patch{{Length: dx("1"), Width: dx("1")}} }, ErrImpossible, "patch"},
		"coat":        {func(r *QuantityRequest) { r.Patches = []Patch{{dx("1"), dx("1"), []Coat{{}}, false}} }, ErrImpossible, "patch_coat"},
		"huge screws": {func(r *QuantityRequest) { r.Screws[0].Pieces = 1 << 50 }, ErrBeyondTable, "packs_many"},
	} {
		t.Run(name, func(t *testing.T) {
			r := request()
			tt.change(&r)
			_, err := WindowQuantities(r)
			refusedBy(t, err, tt.kind, tt.rule)
		})
	}
}

func TestAJobRoundsUpOnce(t *testing.T) {
	r := request()
	r.Store.Tube = dx("1000") // a window takes half a tube
	one := mustTake(t, r)
	require.Equal(t, 1, itemOf(t, one, SealantItem).Buy)
	job := jobOf(t, r.Store, one, one, one)
	same(t, "1500", itemOf(t, job, SealantItem).Need)
	require.Equal(t, 2, itemOf(t, job, SealantItem).Buy)
	require.Equal(t, []PackerCount{{1, 24}, {5, 18}}, job.Packers)
	// Nine pieces of 3.5 m together: 10.5 m from 5 m lengths.
	require.Equal(t, 3, itemOf(t, job, TrimItem).Buy)

	_, err := new(Tally).Total(StoreSettings{})
	refusedBy(t, err, ErrImpossible, "store_settings")
}

func TestJobNeverBuysMoreThanItsWindows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var windows []Quantities
		bought := map[ItemKind]int{}
		store := DefaultStoreSettings()
		for range rapid.IntRange(1, 6).Draw(t, "windows") {
			r := request()
			r.Store = store
			r.Frame.Width = decimal.NewFromInt(int64(rapid.IntRange(400, 4000).Draw(t, "width")))
			r.Trims = []decimal.Decimal{r.Frame.Width, r.Frame.Height}
			q := mustTake(t, r)
			for _, i := range q.Items {
				bought[i.Kind] += i.Buy
			}
			windows = append(windows, q)
		}
		for _, i := range jobOf(t, store, windows...).Items {
			require.LessOrEqual(t, i.Buy, bought[i.Kind], i.Kind)
			if i.Pack.IsPositive() {
				have := i.Pack.Mul(count(i.Buy))
				require.True(t, have.GreaterThanOrEqual(i.Need.Add(i.Waste)), i.Kind)
			}
		}
	})
}

// fewest is the fewest stock lengths by trying every way, for a few pieces.
func fewest(pieces []int64, left []int64, stock int64) int {
	if len(pieces) == 0 {
		return len(left)
	}
	best := fewest(pieces[1:], append(append([]int64{}, left...), stock-pieces[0]), stock)
	for i, rest := range left {
		if rest < pieces[0] {
			continue
		}
		next := append([]int64{}, left...)
		next[i] -= pieces[0]
		best = min(best, fewest(pieces[1:], next, stock))
	}
	return best
}

func TestStockLengthsAgainstEveryWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lengths := rapid.SliceOfN(rapid.Int64Range(200, 5000), 0, 6).Draw(t, "pieces")
		var pieces []decimal.Decimal
		for _, l := range lengths {
			pieces = append(pieces, decimal.NewFromInt(l))
		}
		got, err := StockLengths(pieces, dx("5000"))
		require.NoError(t, err)
		best := fewest(lengths, nil, 5000)
		require.GreaterOrEqual(t, got, best, "fewer than can be cut")
		require.LessOrEqual(t, got*9, best*11+9)
	})
	halves, err := StockLengths(dxs("2500", "2500"), dx("5000"))
	require.NoError(t, err)
	require.Equal(t, 1, halves, "a length is used to its end")
	_, err = StockLengths(dxs("0"), dx("5000"))
	refusedBy(t, err, ErrImpossible, "trim_piece")
}

func TestStoreSettingsNameWhatIsWrong(t *testing.T) {
	s := DefaultStoreSettings()
	s.CementBag = dx("0")
	same(t, "7", refusedBy(t, s.check(), ErrImpossible, "store_settings").Figures["number"])
	s = DefaultStoreSettings()
	s.FoamYield = dx("1.1")
	refusedBy(t, s.check(), ErrImpossible, "store_waste")
}

func TestWindowQuantitiesAreRoundedUp(t *testing.T) {
	r := request()
	r.Store.Waste = dx("0.1")
	r.Frame.Width, r.Screws = dx("1500.001"), nil
	r.Joints = allRound(Joint{Gap: dx("10.1"), Depth: dx("10"), Backing: true})
	r.Trims = dxs("1000", "1500", "1000")
	r.Patches = []Patch{{Length: dx("100"), Width: dx("101"), Coats: []Coat{{Thickness: dx("10"), Sand: dx("4")}}}}
	q := mustTake(t, r)
	sealant := itemOf(t, q, SealantItem)
	same(t, "505.001", sealant.Need) // 5.000002 m × 10.1 × 10 = 505.000202
	same(t, "50.501", sealant.Waste)
	same(t, "505.1", figureOf(t, sealant.Reasons, "take_sealant", "need"))
	same(t, "555.6", figureOf(t, sealant.Reasons, "take_sealant", "all"))
	// 0.000101 m³ wet: 1.33 × 0.000101 / 5 × 4 of sand, said to 0.001 m³.
	same(t, "0.001", figureOf(t, itemOf(t, q, SandItem).Reasons, "take_sand", "need"))
	trim := itemOf(t, q, TrimItem)
	same(t, "1500", trim.Pieces[0], "longest first")
	same(t, "1000", trim.Pieces[2])
	for _, i := range q.Items {
		require.NotEqual(t, ScrewItem, i.Kind, "no screws, none to take")
	}
}
