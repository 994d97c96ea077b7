package plan

import (
	"encoding/json"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// worked is the opening of onItsDay with more said of it.
func worked(t *testing.T, more string) Plan {
	t.Helper()
	raw := strings.Replace(onItsDay, `"storey":1`, `"storey":1`+more, 1)
	if strings.Contains(more, "sill_depth") { // the frame is 30 mm less high
		raw = strings.NewReplacer("1040", "1010", "1582", "1563", "1583", "1564").Replace(raw)
	}
	o, err := opening.Parse([]byte(raw), nil)
	require.NoError(t, err)
	p, err := Make(o, calc.DefaultSettings())
	require.NoError(t, err)
	return p
}

// A file with the delivered frame says how it is fitted, in the report and in words.
func TestAFileSaysHowItIsFitted(t *testing.T) {
	p := worked(t, `,"sill_depth":150,"masonry":"concrete","rebates":[{"light":1,"rebate":{"width":964,"height":781},"glass":{"width":958,"height":770}}],
"patches":[{"length":1200,"width":150,"depth":22,"wall":"lime"},{"length":300,"width":300,"depth":95}]`)
	report := p.Report(func(text phrase.Text) string { return text.Key })
	w := report.Work
	require.Empty(t, w.Refused)

	// The frame that came is 1194 wide, a cap is 3 and a saw's cut 3 (common practice, no
	// source); 150 × tan 5° = 13.1.
	s := w.SillPiece
	require.Equal(t, []string{"1188", "1194", "1191", "594", "597", "13.1"}, figures(s.Cut, s.Over, s.Stock, s.Mark, s.OnFrame, s.Fall))

	require.Len(t, w.Holes, p.Fixings.Count)
	for _, h := range w.Holes {
		require.True(t, h.Reach.GreaterThan(h.Screw), "the drill goes beyond the screw's tip")
		require.True(t, h.Hole.LessThan(h.Reach))
	}
	require.Equal(t, []int{1}, w.Order)
	require.Equal(t, []string{"6", "11"}, figures(w.Stacks[0].Across, w.Stacks[0].Up))

	foam := decimal.Zero
	for _, side := range w.Foam.Sides {
		foam = foam.Add(side.Litres)
		if side.Gap.LessThan(mm(5)) { // a fillet below 5 mm (TG 6.7/01, R)
			require.Equal(t, []string{"10", "0", "0"}, figures(side.Fillet, side.Strip, side.Sealant), side.Side)
			continue
		}
		require.True(t, side.Strip.GreaterThan(side.Gap), "a strip is thicker than its joint")
		require.Equal(t, "6", side.Sealant.String(), "half of a narrow joint, but not under 6 mm (architectural detailing textbook, R)")
	}
	require.True(t, foam.Sub(w.Foam.Litres).Abs().LessThan(decimal.New(4, -2)), "rounded up by side")
	require.Empty(t, w.Trims)

	require.Len(t, report.MadeGood, 2)
	require.Equal(t, "lime", report.MadeGood[0].Coats[0].Binder)
	require.Equal(t, "73", report.MadeGood[1].Fill.String(), "pieces of brick first")
	require.Len(t, report.Patches, 1, "nobody published what lime weighs")
	for _, m := range report.MadeGood {
		sum := m.Fill
		for _, c := range m.Coats {
			require.False(t, c.Thickness.LessThan(mm(6)), "no coat that can't be laid")
			sum = sum.Add(c.Thickness)
		}
		require.True(t, sum.Equal(m.Depth))
	}
	_, err := json.Marshal(report)
	require.NoError(t, err)

	said := map[string]bool{}
	for _, line := range p.TextLines() {
		said[line.Key] = true
	}
	for _, key := range []string{"plan.work", "takeout.title", "sillwork.bed", "fixwork.title", "glazework.stack", "sealwork.side", "patch.coat", "patch.coat.last"} {
		require.True(t, said[key], key)
	}
}

func figures(ds ...decimal.Decimal) []string {
	var list []string
	for _, d := range ds {
		list = append(list, d.String())
	}
	return list
}

// Nothing of the work is said before the frame is here.
func TestNoWorkWithoutAFrame(t *testing.T) {
	o, err := opening.Parse([]byte(onItsDay), nil)
	require.NoError(t, err)
	o.Delivered, o.Set, o.Fixed = nil, nil, [3]decimal.Decimal{}
	p, err := Make(o, calc.DefaultSettings())
	require.NoError(t, err)
	require.Nil(t, p.Report(func(phrase.Text) string { return "" }).Work)
	require.Nil(t, p.workLines())
}

// A gap at the head that is too wide: over 10 mm where the largest published gap is 10
// (an article on gaps around windows, R). The extension piece is said before the frame is
// set, the trim as it is sealed.
func TestAWideHead(t *testing.T) {
	p := worked(t, "")
	o := p.Opening
	d := *o.Delivered
	d.Height, d.Rising, d.Falling = mm(1020), mm(1570), mm(1571)
	o.Delivered, o.Set, o.Fixed, o.TightTo = &d, nil, [3]decimal.Decimal{}, calc.Sill
	p, err := Make(o, calc.DefaultSettings())
	require.NoError(t, err)
	trims, err := p.Trims()
	require.NoError(t, err)
	require.Len(t, trims, 1)
	require.Equal(t, calc.Head, trims[0].Side)
	rules := func(lines []phrase.Text) string {
		var all []string
		for _, l := range lines {
			all = append(all, l.Key+" "+l.Sub["reason"].Key)
		}
		return strings.Join(all, "\n")
	}
	require.Contains(t, rules(p.SillLines()), "why.trim_extension")
	require.NotContains(t, rules(p.SealLines()), "why.trim_extension")
	require.Contains(t, rules(p.SealLines()), "why.trim_width")
	require.Contains(t, rules(p.SealLines()), "sealwork.bar")
	require.Equal(t, trims[0].Most.Add(mm(10)), trims[0].Cover, "10 mm on the frame")
}

// How the old window comes out is at most ten short lines, whatever the window, and where
// nobody knows what carries the wall the head stays.
func TestTakeOutLines(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 2026))
	for range 40 {
		o := drawn(r)
		o.Over = []safety.Over{safety.OverLintel, safety.OverArch, safety.OverTimber, safety.OverBricks, safety.OverHidden, ""}[r.IntN(6)]
		p, err := Make(o, calc.DefaultSettings())
		if err != nil {
			continue
		}
		lines := p.TakeOutLines()
		require.LessOrEqual(t, len(lines), 10)
		keys := map[string]bool{}
		for _, l := range lines {
			keys[l.Key] = true
		}
		known := o.Over == safety.OverLintel || o.Over == safety.OverArch || o.Over == safety.OverTimber
		require.Equal(t, !known, keys["takeout.wall.stop"], o.Over)
		require.Equal(t, known && len(o.Layout.Lights) > 1, keys["takeout.bars"])
		require.Equal(t, known, keys["takeout.saw"], "the head stays where nobody knows what it carries")
	}
}

// The cautions are those of the house: lead before 1992, asbestos before 2000, height
// upstairs.
func TestTakeOutCautions(t *testing.T) {
	for _, c := range []struct {
		from1992, from2000 bool
		storey, want       int
	}{{false, false, 0, 3}, {false, false, 1, 4}, {true, false, 0, 2}, {true, true, 0, 1}, {false, true, 2, 2}} {
		p := Plan{Opening: Opening{From1992: c.from1992, From2000: c.from2000, Storey: c.storey}}
		require.Len(t, p.takeOutCautions().Row["dangers"], c.want)
	}
}

// A board in the way is cut back by what the section says and 3 mm: the frame's back is
// 100 mm in, set back 30 and 70 deep (settings).
func TestCutBack(t *testing.T) {
	p := worked(t, `,"board_edge":90`)
	why := p.cutBackLine().Sub["reason"]
	require.Equal(t, "why.cut_back", why.Key)
	require.Equal(t, "13", why.Num["most"].String())
	p.Opening.BoardEdge = nil
	require.Equal(t, "why.board_edge", p.cutBackLine().Sub["reason"].Key)
}

// A rebate of a light that is not there, or half a size, is refused by its place.
func TestRebatesAreChecked(t *testing.T) {
	for more, want := range map[string]string{
		`[{"light":2,"rebate":{"width":964,"height":781}}]`:                                                 "rebates[0].light",
		`[{"light":0,"rebate":{"width":964,"height":781}}]`:                                                 "rebates[0].light",
		`[{"light":1,"rebate":{"width":964,"height":0}}]`:                                                   "rebates[0].rebate",
		`[{"light":1,"rebate":{"width":964,"height":781}},{"light":1,"rebate":{"width":964,"height":781}}]`: "rebates[1].light",
		`[{"light":1,"rebate":{"width":964,"height":781},"glass":{"width":958,"height":0}}]`:                "rebates[0].glass",
	} {
		o, err := opening.Parse([]byte(strings.Replace(onItsDay, `"storey":1`, `"storey":1,"rebates":`+more, 1)), nil)
		if err == nil {
			err = o.Check()
		}
		require.ErrorContains(t, err, want)
	}
}
