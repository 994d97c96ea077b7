package calc

import (
	"maps"
	"slices"

	"github.com/shopspring/decimal"
)

// Tally adds up what the windows of a job take, one after another, without
// keeping the windows. Its size depends on the kinds of things taken and on
// the lengths of trim in whole mm, not on the number of windows. The zero
// Tally is ready to use.
type Tally struct {
	need    map[ItemKind]decimal.Decimal
	packers [thickestPacker + 1]int
	trims   map[int64]int // pieces by length, mm rounded up
	screws  map[int64]int // pieces by length, µm
	reasons []Reason      // each rule once
}

// Add takes a number of equal windows into the tally.
func (t *Tally) Add(q Quantities, windows int) {
	if t.need == nil {
		t.need, t.trims, t.screws = map[ItemKind]decimal.Decimal{}, map[int64]int{}, map[int64]int{}
	}
	for _, item := range q.Items {
		if item.Kind == ScrewItem {
			t.screws[microns(item.Length)] += int(item.Need.IntPart()) * windows
			continue
		}
		t.need[item.Kind] = t.need[item.Kind].Add(item.Need.Mul(count(windows)))
		for _, piece := range item.Pieces {
			t.trims[piece.Ceil().IntPart()] += windows
		}
	}
	for _, p := range q.Packers {
		t.packers[p.Thickness] += p.Pieces * windows
	}
	for _, r := range q.Reasons {
		if !slices.ContainsFunc(t.reasons, func(s Reason) bool { return s.Rule == r.Rule }) {
			t.reasons = append(t.reasons, r)
		}
	}
}

// Total is the list for all windows together, rounded up to whole packs once.
// Offcuts of trim are shared between windows; its Pieces are left out. Packers
// keep the spares that were counted window by window. Refusals are those of
// WindowQuantities.
func (t *Tally) Total(s StoreSettings) (Quantities, error) {
	if err := s.check(); err != nil {
		return Quantities{}, err
	}
	q, err := listOf(t.need, t.screws, nil, s)
	if err != nil {
		return Quantities{}, err
	}
	for i, item := range q.Items {
		if item.Kind != TrimItem {
			continue
		}
		lengths, err := t.stockLengths(s.TrimLength)
		if err != nil {
			return Quantities{}, err
		}
		item.Buy = max(item.Buy, lengths)
		item.Reasons[0].Figures["count"] = count(item.Buy)
		q.Items[i] = item
	}
	for thickness, pieces := range t.packers {
		if pieces > 0 {
			q.Packers = append(q.Packers, PackerCount{thickness, pieces})
		}
	}
	q.Reasons = t.reasons
	return q, nil
}

// stockLengths is StockLengths over the counted pieces: longest piece first,
// each cut from the shortest rest that still holds it.
func (t *Tally) stockLengths(stock decimal.Decimal) (int, error) {
	most := stock.Floor().IntPart()
	rest := make([]int, most+1) // begun lengths by what is left of them
	begun := 0
	for _, piece := range slices.Backward(slices.Sorted(maps.Keys(t.trims))) {
		if piece > most {
			return 0, refuse(ErrBeyondTable, "trim_long", map[string]decimal.Decimal{"piece": decimal.NewFromInt(piece), "stock": stock}, nil)
		}
		for left, at := t.trims[piece], piece; left > 0; {
			for at <= most && rest[at] == 0 {
				at++
			}
			if at > most { // begin new lengths, as many as the rest of the pieces fill
				n := (left + int(most/piece) - 1) / int(most/piece)
				begun, rest[most] = begun+n, n
				at = most
			}
			cut := min(left, rest[at])
			rest[at], rest[at-piece], left = rest[at]-cut, rest[at-piece]+cut, left-cut
			at = max(piece, at-piece)
		}
	}
	return begun, nil
}
