package plan

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
)

// One list over all windows has each packer, screw and block of each window, and spares
// once: counted here piece by piece.
func TestStoresCountEveryPieceAndSparesOnce(t *testing.T) {
	var s Stores
	lines, err := s.Lines()
	require.NoError(t, err)
	require.Nil(t, lines)
	require.Nil(t, s.Why())

	packers, blocks := map[int]int{}, map[string]int{}
	screws := 0
	waste := decimal.New(1, -1)
	for n, count := range []int{1, 4} {
		o := fourLights()
		o.Count, o.Name = count, "window"
		p, err := Make(o, calc.DefaultSettings())
		require.NoError(t, err)
		waste = p.Crew.Waste
		s.Add(n+1, p)
		for _, place := range p.Packers.Places {
			for _, thickness := range place.Stack {
				packers[thickness] += count
			}
		}
		for _, g := range p.Glass {
			for _, b := range g.Blocks {
				blocks[b.Length.String()] += count
			}
		}
		for _, c := range p.screwCounts() {
			screws += c.Pieces * count
		}
	}
	lines, err = s.Lines()
	require.NoError(t, err)
	spare := func(n int) decimal.Decimal {
		return decimal.NewFromInt(int64(n)).Add(waste.Mul(decimal.NewFromInt(int64(n))).Ceil())
	}
	saw, took := map[string]int{}, decimal.Zero
	for _, l := range lines {
		saw[l.Key]++
		switch l.Key {
		case "stores.packers":
			n := packers[int(l.Num["thickness"].IntPart())]
			require.True(t, l.Num["count"].Equal(spare(n)), "%s of %s", l.Num["count"], l.Num["thickness"])
		case "stores.blocks":
			require.True(t, l.Num["count"].Equal(spare(blocks[l.Num["length"].String()])))
		case "why.take_screws":
			took = took.Add(l.Num["need"])
		}
	}
	require.Equal(t, len(packers), saw["stores.packers"])
	require.Equal(t, len(blocks), saw["stores.blocks"])
	require.True(t, took.Equal(decimal.NewFromInt(int64(screws))), "%s screws of %d", took, screws)
	require.Equal(t, phrase.Of("stores.title").WithInt("count", 5).Num, lines[0].Num)
	require.Len(t, s.Why(), 2+3)
}
