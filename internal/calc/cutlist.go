package calc

import "github.com/shopspring/decimal"

// Bar is one stock length and what is cut from it, longest first, mm. Rest is what is
// left after the last cut.
type Bar struct {
	Pieces []decimal.Decimal
	Rest   decimal.Decimal
}

// cutExactly is up to how many pieces the fewest bars are found by trying all ways.
const cutExactly = 14

// mostPieces is a guard against nonsense, not a rule of the trade.
const mostPieces = 500

// CutList cuts pieces from stock lengths in mm; each cut between two pieces takes the
// saw's kerf. Up to 14 pieces it takes the fewest bars there are; above, the longest
// piece goes first into the first bar that holds it, and fewest says whether that is
// known to be the fewest. A piece is never joined.
//
// ErrImpossible for pieces, stock or kerf that cannot be and for more than 500 pieces,
// ErrBeyondTable for a piece that is longer than the stock.
func CutList(pieces []decimal.Decimal, stock, kerf decimal.Decimal) (bars []Bar, fewest bool, err error) {
	sorted, room := longestFirst(pieces), micronsDown(stock.Add(kerf))
	if !stock.IsPositive() || stock.GreaterThan(longestStock) || kerf.IsNegative() || !kerf.LessThan(stock) || len(pieces) > mostPieces {
		return nil, false, refuse(ErrImpossible, "cut_stock", map[string]decimal.Decimal{
			"stock": stock, "kerf": kerf, "pieces": count(len(pieces)), "most": count(mostPieces), "longest": longestStock,
		}, nil)
	}
	need, all := make([]int64, len(sorted)), int64(0)
	for i, piece := range sorted {
		figures := map[string]decimal.Decimal{"piece": piece, "stock": stock}
		if !piece.IsPositive() {
			return nil, false, refuse(ErrImpossible, "trim_piece", figures, nil)
		}
		if piece.GreaterThan(stock) {
			return nil, false, refuse(ErrBeyondTable, "trim_long", figures, nil)
		}
		need[i] = microns(piece.RoundUp(3)) + microns(kerf) // a kerf beyond each piece, in a bar a kerf longer
		all += need[i]
	}
	at, n := firstFit(need, room), 0
	fewest = true
	switch n = barsIn(at); {
	case int64(n) == divUp(all, room): // no way could take fewer
	case len(need) <= cutExactly:
		at = fewestBars(need, room)
		n = barsIn(at)
	default:
		fewest = false
	}
	bars = make([]Bar, n)
	left := make([]int64, n)
	for i, bar := range at {
		bars[bar].Pieces = append(bars[bar].Pieces, sorted[i])
		left[bar] += need[i]
	}
	for i := range bars {
		bars[i].Rest = inMM(max(0, room-left[i]-microns(kerf)))
	}
	return bars, fewest, nil
}

// longestStock is a guard against nonsense, mm.
var longestStock = decimal.NewFromInt(longestSide / 1000)

// barsIn is how many bars a list of each piece's bar names.
func barsIn(at []int) int {
	n := 0
	for _, bar := range at {
		n = max(n, bar+1)
	}
	return n
}

// firstFit puts each piece into the first bar that still holds it.
func firstFit(need []int64, room int64) []int {
	at, left := make([]int, len(need)), []int64(nil)
	for i, n := range need {
		bar := 0
		for bar < len(left) && left[bar] < n {
			bar++
		}
		if bar == len(left) {
			left = append(left, room)
		}
		left[bar] -= n
		at[i] = bar
	}
	return at
}

// fewestBars tries all ways at once: for each set of pieces, the fewest bars that hold
// them and, with so many, the least that the last bar is filled.
func fewestBars(need []int64, room int64) []int {
	type way struct {
		bars  int
		used  int64
		piece int // that was put in last
	}
	ways := make([]way, 1<<len(need))
	for set := 1; set < len(ways); set++ {
		best := way{bars: len(need) + 1}
		for i, n := range need {
			if set&(1<<i) == 0 {
				continue
			}
			w := ways[set&^(1<<i)]
			switch {
			case w.bars > 0 && w.used+n <= room:
				w.used += n
			default:
				w.bars, w.used = w.bars+1, n
			}
			if w.bars < best.bars || w.bars == best.bars && w.used < best.used {
				best = way{w.bars, w.used, i}
			}
		}
		ways[set] = best
	}
	at := make([]int, len(need))
	for set := len(ways) - 1; set > 0; {
		w := ways[set]
		at[w.piece] = w.bars - 1
		set &^= 1 << w.piece
	}
	return at
}
