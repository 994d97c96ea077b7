package plan

import (
	"errors"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// WorkReport is how the window is fitted; it is there with the delivered frame. Lengths
// are mm.
type WorkReport struct {
	SillPiece *SillPieceReport `json:"sill_piece,omitempty"`
	Pilot     decimal.Decimal  `json:"drill,omitzero"` // diameter
	Holes     []HoleReport     `json:"holes,omitempty"`
	Order     []int            `json:"glazing_order,omitempty"` // lights from 1
	Stacks    []StackReport    `json:"glass_blocks,omitempty"`
	Foam      *FoamReport      `json:"foam,omitempty"`
	Trims     []TrimReport     `json:"trims,omitempty"`
	Refused   []Said           `json:"refused,omitempty"` // what could not be worked out
	Why       []Said           `json:"why,omitempty"`
}

// SillPieceReport is how the sill piece is cut and set.
type SillPieceReport struct {
	Cut        decimal.Decimal `json:"cut"`
	Over       decimal.Decimal `json:"over_caps"`
	Stock      decimal.Decimal `json:"off_the_bar"`
	Mark       decimal.Decimal `json:"centre_mark"`
	OnFrame    decimal.Decimal `json:"mark_on_frame"`
	Overhang   decimal.Decimal `json:"past_opening,omitzero"`
	NotchAlong decimal.Decimal `json:"notch_along,omitzero"`
	NotchDeep  decimal.Decimal `json:"notch_deep,omitzero"`
	Out        decimal.Decimal `json:"out_of_wall"`
	Fall       decimal.Decimal `json:"fall"`
	SealBack   decimal.Decimal `json:"seal_back"`
	SealEnds   decimal.Decimal `json:"seal_ends"`
}

// HoleReport is hole and screw of one fixing. Without a screw nothing in stock fits.
type HoleReport struct {
	Side  calc.Side       `json:"side"`
	At    decimal.Decimal `json:"at"`
	Gap   decimal.Decimal `json:"gap"`
	Screw decimal.Decimal `json:"screw,omitzero"`
	Hole  decimal.Decimal `json:"hole,omitzero"` // depth in the wall
	Reach decimal.Decimal `json:"reach,omitzero"`
}

// StackReport are the blocks of one light's pane.
type StackReport struct {
	Light  int             `json:"light"` // from 1
	Across decimal.Decimal `json:"across"`
	Up     decimal.Decimal `json:"up"`
	Blocks []BlockReport   `json:"blocks"`
}

// BlockReport is one glass block with what it is stacked from.
type BlockReport struct {
	Role  calc.Role       `json:"role"`
	Edge  calc.Side       `json:"edge"`
	At    decimal.Decimal `json:"at"`
	Stack []int           `json:"stack"`
}

// FoamReport is the foam of the frame's joints.
type FoamReport struct {
	Litres decimal.Decimal    `json:"litres"`
	Cans   int                `json:"cans"`
	Water  decimal.Decimal    `json:"water_ml"`
	Sides  []FoamedSideReport `json:"sides"`
}

// FoamedSideReport is the joint of one side.
type FoamedSideReport struct {
	Side    calc.Side       `json:"side"`
	Gap     decimal.Decimal `json:"gap"`
	Foam    decimal.Decimal `json:"foam_deep,omitzero"`
	Litres  decimal.Decimal `json:"litres,omitzero"`
	Strip   decimal.Decimal `json:"strip,omitzero"`
	Sealant decimal.Decimal `json:"sealant_deep,omitzero"`
	Fillet  decimal.Decimal `json:"fillet,omitzero"`
}

// TrimReport is what makes a gap right that is too wide, or covers it.
type TrimReport struct {
	Side      calc.Side       `json:"side"`
	Gap       decimal.Decimal `json:"gap"`
	Extension decimal.Decimal `json:"extension,omitzero"`
	Width     decimal.Decimal `json:"trim_width,omitzero"`
	Length    decimal.Decimal `json:"trim_length,omitzero"`
}

func (w reporter) work(p Plan) *WorkReport {
	if p.Opening.Delivered == nil {
		return nil
	}
	r := &WorkReport{}
	w.sillPiece(r, p)
	w.holes(r, p)
	for _, light := range calc.GlazingOrder(p.Layout) {
		r.Order = append(r.Order, light+1)
		w.stack(r, p, light)
	}
	w.foam(r, p)
	trims, err := p.Trims()
	w.refuse(r, err)
	for _, t := range trims {
		r.Trims = append(r.Trims, TrimReport{t.Side, t.Most, t.Extension, t.Width, t.Length})
		r.Why = append(r.Why, w.all(t.Reasons)...)
	}
	return r
}

// refuse keeps why something could not be worked out.
func (w reporter) refuse(r *WorkReport, err error) {
	if refused, ok := errors.AsType[*calc.RefusalError](err); ok {
		r.Refused = append(r.Refused, w.said(refused.Reason))
	}
}

func (w reporter) sillPiece(r *WorkReport, p Plan) {
	s, err := p.SillPiece()
	w.refuse(r, err)
	if err != nil || s == nil {
		return
	}
	r.SillPiece = &SillPieceReport{s.Cut, s.Over, s.Stock, s.Mark, s.OnFrame, s.Overhang, s.NotchAlong, s.NotchDeep, s.Out, s.Fall, s.SealBack, s.SealEnds}
	r.Why = append(append(r.Why, w.all(s.Reasons)...), w.all(s.Warnings)...)
}

func (w reporter) holes(r *WorkReport, p Plan) {
	h, err := p.Holes()
	w.refuse(r, err)
	r.Pilot = h.Pilot
	for _, place := range h.Places {
		r.Holes = append(r.Holes, HoleReport{place.Side, place.At, place.Gap, place.Length, place.Hole, place.Reach})
	}
	r.Why = append(r.Why, w.all(h.Reasons)...)
}

func (w reporter) stack(r *WorkReport, p Plan, light int) {
	s, err := p.Stacks(light)
	w.refuse(r, err)
	if err != nil {
		return
	}
	report := StackReport{Light: light + 1, Across: s.Across, Up: s.Up}
	for _, b := range s.Blocks {
		report.Blocks = append(report.Blocks, BlockReport{b.Role, b.Edge, b.At, list(b.Stack)})
	}
	r.Stacks = append(r.Stacks, report)
	r.Why = append(r.Why, w.all(s.Warnings)...)
}

func (w reporter) foam(r *WorkReport, p Plan) {
	f, err := p.Foam()
	w.refuse(r, err)
	if err != nil {
		return
	}
	r.Foam = &FoamReport{Litres: f.Foam, Cans: f.Cans, Water: f.Water}
	for _, s := range f.Sides {
		r.Foam.Sides = append(r.Foam.Sides, FoamedSideReport{s.Side, s.Gap, s.Deep, s.Foam, s.Strip, s.Sealant, s.Lap})
		if s.Why != nil {
			r.Why = append(r.Why, w.said(*s.Why))
		}
	}
	r.Why = append(r.Why, w.all(f.Reasons)...)
}
