package plan

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
)

// Stores adds up what the windows of a job take, before the van leaves. Spares and whole
// packs are counted once over all windows. The zero Stores is ready to use.
type Stores struct {
	windows int
	crew    Crew
	tally   calc.Tally
	packers calc.PackerTally
	blocks  []blockCount
	trims   []trimPieces
	failed  error
	screws  bool // a place has no stock length
	unseen  bool // a gap was not measured, so that its packers are not known
	rows    []phrase.Text
}

// blockCount is how many setting and location blocks of a length, mm, are wanted.
type blockCount struct {
	length decimal.Decimal
	pieces int
}

// trimPieces are the lengths of the trims of a width, mm.
type trimPieces struct {
	width  decimal.Decimal
	pieces []decimal.Decimal
}

// Add takes the equal windows of a plan in; number is that of the window.
func (s *Stores) Add(number int, p Plan) {
	s.windows += p.Count
	s.crew = p.Crew
	take := p.Take
	take.Packers = nil // counted below, without spares
	s.tally.Add(take, p.Count)
	s.packers.Add(p.Packers.Places, p.Count)
	pieces, blocks := 0, 0
	for _, place := range p.Packers.Places {
		pieces += len(place.Stack)
		s.unseen = s.unseen || place.Unseen
	}
	for _, g := range p.Glass {
		for _, b := range g.Blocks {
			s.block(b.Length, p.Count)
			blocks++
		}
	}
	s.cover(p)
	screws := 0
	for _, c := range p.screwCounts() {
		screws += c.Pieces
	}
	s.screws = s.screws || slices.ContainsFunc(p.Screws, func(w calc.Screw) bool { return !w.Length.IsPositive() })
	s.rows = append(s.rows, phrase.Of("stores.window").WithInt("n", number).Saying("name", p.Opening.Name).WithInt("count", p.Count).
		WithInt("screws", screws).WithInt("packers", pieces).WithInt("blocks", blocks))
}

// cover counts the trims of the gaps that are too wide to seal.
func (s *Stores) cover(p Plan) {
	trims, err := p.Trims()
	if err != nil {
		s.failed = err
		return
	}
	for _, t := range trims {
		if !t.Width.IsPositive() {
			continue
		}
		i := slices.IndexFunc(s.trims, func(w trimPieces) bool { return w.width.Equal(t.Width) })
		if i < 0 {
			i, s.trims = len(s.trims), append(s.trims, trimPieces{width: t.Width})
		}
		s.trims[i].pieces = append(s.trims[i].pieces, slices.Repeat([]decimal.Decimal{t.Length}, p.Count)...)
	}
}

// bars are the stock lengths that the trims are cut from, a line a width, and with cuts
// which pieces come out of each.
func (s *Stores) bars(cuts bool) []phrase.Text {
	var lines []phrase.Text
	stock := s.crew.Store.TrimLength
	for _, w := range s.trims {
		bars, _, err := calc.CutList(w.pieces, stock, s.crew.Trim.Kerf)
		if err != nil {
			s.failed = err
			continue
		}
		lines = append(lines, phrase.Of("stores.trims").WithInt("count", len(bars)).With("width", w.width).With("length", stock))
		for i, bar := range bars {
			if cuts {
				lines = append(lines, phrase.Of("sealwork.bar").WithInt("n", i+1).With("stock", stock).WithRow("pieces", numbers(bar.Pieces)...).With("rest", bar.Rest.RoundFloor(0)))
			}
		}
	}
	if s.failed != nil {
		text, _ := WhyRefused(s.failed)
		lines = append(lines, text)
	}
	return lines
}

func (s *Stores) block(length decimal.Decimal, windows int) {
	i := slices.IndexFunc(s.blocks, func(b blockCount) bool { return b.length.Equal(length) })
	if i < 0 {
		i, s.blocks = len(s.blocks), append(s.blocks, blockCount{length: length})
	}
	s.blocks[i].pieces += windows
}

// Lines are the one list over all windows; none without a window. The error is that of
// calc.Tally.
func (s *Stores) Lines() ([]phrase.Text, error) {
	if s.windows == 0 {
		return nil, nil
	}
	take, err := s.tally.Total(s.crew.Store)
	if err != nil {
		return nil, err
	}
	lines := []phrase.Text{phrase.Of("stores.title").WithInt("count", s.windows)}
	for _, c := range s.packers.Take(s.crew.Waste) {
		lines = append(lines, phrase.Of("stores.packers").WithInt("count", c.Pieces).WithInt("thickness", c.Thickness))
	}
	if s.unseen {
		lines = append(lines, phrase.Of("stores.unseen"))
	}
	for _, item := range take.Items {
		lines = append(lines, reasonLines(item.Reasons)...)
	}
	if s.screws {
		lines = append(lines, phrase.Of("stores.no_screw"))
	}
	slices.SortFunc(s.blocks, func(a, b blockCount) int { return a.length.Cmp(b.length) })
	for _, b := range s.blocks {
		n := b.pieces + calc.Spares(b.pieces, s.crew.Store.Waste)
		lines = append(lines, phrase.Of("stores.blocks").WithInt("count", n).With("length", b.length))
	}
	return append(append(lines, s.bars(false)...), reasonLines(take.Reasons)...), nil
}

// Why says where the list comes from: each window's share, and by what spares and packs
// are counted.
func (s *Stores) Why() []phrase.Text {
	if s.windows == 0 {
		return nil
	}
	c := s.crew
	lines := append(slices.Clone(s.rows), s.bars(true)...)
	return append(lines,
		phrase.Of("stores.why.spares").With("packers", c.Waste.Shift(2)).With("rest", c.Store.Waste.Shift(2)),
		phrase.Of("stores.why.packs").With("tube", c.Store.Tube).With("can", c.Store.FoamCan).With("fills", c.Store.FoamCan.Mul(c.Store.FoamYield)).
			With("roll", c.Store.Backing).With("box", c.Store.ScrewBox).With("bar", c.Store.TrimLength),
		phrase.Of("stores.why.not"))
}
