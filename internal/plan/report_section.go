package plan

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// FixingReport is the fixings of all sides.
type FixingReport struct {
	Count       int             `json:"count"`
	ScrewLength decimal.Decimal `json:"screw_length"` // the longest of screws
	Screws      []ScrewReport   `json:"screws"`
	Sides       []SideReport    `json:"sides"`
	Why         []Said          `json:"why,omitempty"`
}

// SideReport is the fixings of one side, from the bottom corner on the jambs
// and from the left corner on head and sill.
type SideReport struct {
	Side      calc.Side         `json:"side"`
	At        []decimal.Decimal `json:"at"`
	Why       []Said            `json:"why,omitempty"`
	Shortfall []Said            `json:"shortfall,omitempty"`
}

// ScrewReport is the frame screw of one or more sides.
type ScrewReport struct {
	Sides  []calc.Side     `json:"sides"`
	Count  int             `json:"count"`
	Gap    decimal.Decimal `json:"gap"`    // packed, at its widest
	Needed decimal.Decimal `json:"needed"` // what it has to cross and its length in the masonry
	Length decimal.Decimal `json:"length"` // the stock length; 0: none, why says what is in the way
	Why    Said            `json:"why"`
}

// SectionReport is the frame in its wall, cut through. Depths are from the
// finished face of the wall.
type SectionReport struct {
	InProfile decimal.Decimal  `json:"in_profile"`          // of a screw, side to side
	Back      decimal.Decimal  `json:"back"`                // of the frame: an inside board keeps clear of it
	StandOut  *decimal.Decimal `json:"stand_out,omitempty"` // of the sill piece beyond the wall
	BoardCut  *decimal.Decimal `json:"board_cut,omitempty"` // off the inside board
	Edge      decimal.Decimal  `json:"edge_distance"`       // of the screws in the masonry; negative: in the cavity
	Why       []Said           `json:"why,omitempty"`
}

func (w reporter) fixings(p Plan) *FixingReport {
	r := &FixingReport{Count: p.Fixings.Count, Why: w.all(p.Fixings.Reasons)}
	for _, s := range p.Screws {
		r.ScrewLength = decimal.Max(r.ScrewLength, s.Length)
		r.Screws = append(r.Screws, ScrewReport{s.Sides, p.screwsAt(s), s.Gap, s.Need, s.Length, w.said(s.Why)})
	}
	for _, s := range p.Fixings.Sides {
		r.Sides = append(r.Sides, SideReport{s.Side, list(s.At), w.all(s.Reasons), w.all(s.Shortfall)})
	}
	return r
}

func (w reporter) section(p Plan) *SectionReport {
	c := p.Section
	profile, _ := c.InProfile()
	r := &SectionReport{InProfile: profile, Back: c.Back(), Edge: c.EdgeDistance()}
	if c.SillDepth.IsPositive() {
		out := c.StandOut()
		r.StandOut = &out
	}
	if edge := p.Opening.BoardEdge; edge != nil {
		cut := c.BoardCut(*edge)
		r.BoardCut = &cut
	}
	told, asked := p.sectionReasons()
	r.Why = w.all(append(told, asked...))
	return r
}
