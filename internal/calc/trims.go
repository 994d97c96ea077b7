package calc

import "github.com/shopspring/decimal"

// TrimSettings are the trims and extension pieces that a crew buys, mm; common
// practice without a source, all of them.
type TrimSettings struct {
	Widths     []decimal.Decimal `json:"trim_widths"`
	Lap        decimal.Decimal   `json:"trim_lap"`   // of a trim on the frame's face
	Extensions []decimal.Decimal `json:"extensions"` // heights of extension pieces for the frame
	Kerf       decimal.Decimal   `json:"kerf"`       // what a saw's cut takes
}

// DefaultTrimSettings are usual sizes; a crew puts in its supplier's.
func DefaultTrimSettings() TrimSettings {
	return TrimSettings{
		Widths:     millimetres(20, 30, 40, 45, 60, 90),
		Lap:        decimal.NewFromInt(10),
		Extensions: millimetres(10, 15, 20, 25, 40, 50),
		Kerf:       decimal.NewFromInt(3),
	}
}

func millimetres(all ...int64) []decimal.Decimal {
	out := make([]decimal.Decimal, len(all))
	for i, mm := range all {
		out[i] = decimal.NewFromInt(mm)
	}
	return out
}

// TrimPlan is what to do about a gap that is too wide at one side. Take the one or the
// other: an extension piece makes the gap right, a trim covers it.
type TrimPlan struct {
	Side        Side
	Least, Most decimal.Decimal // the gap, mm: down and up to 0.1
	Needed      bool            // over the largest published
	Cover       decimal.Decimal // mm of trim width to cover it
	Width       decimal.Decimal // the stock width for that; zero: none is so wide
	Length      decimal.Decimal // mm of the trim, between what stands at its ends
	Extension   decimal.Decimal // mm; zero: none in stock makes the gap right
	Leaves      [2]decimal.Decimal
	Reasons     []Reason
}

// GapTrim is what to do about the gap at one side of the frame in its place. A trim
// butts against the masonry and laps the frame by the setting, so that it covers the
// widest gap; it is bedded in sealant for PVC-U and is as long as the opening is there,
// at its shortest. An extension piece is the largest in stock that leaves at least the gap of the
// table everywhere, and nowhere more than the largest published.
//
// ErrImpossible at a side behind a check, where the masonry covers the frame, and for
// settings that are not positive.
func GapTrim(o Order, side Side, s TrimSettings) (TrimPlan, error) {
	if o.Finish == Check && side != Sill {
		return TrimPlan{}, refuse(ErrImpossible, "trim_check", nil, map[string]string{"side": "side." + string(side)})
	}
	if !s.Lap.IsPositive() || s.Kerf.IsNegative() {
		return TrimPlan{}, refuse(ErrImpossible, "trim_settings", map[string]decimal.Decimal{"lap": s.Lap, "kerf": s.Kerf}, nil)
	}
	least, most := o.sideGaps(o.masonryEdges(), o.frame(), side)
	p := TrimPlan{
		Side: side, Needed: o.tooWide(side, most), Length: o.trimLength(side),
		Least: inMM(least).RoundFloor(1), Most: inMM(most).RoundUp(1),
	}
	p.Cover = p.Most.Add(s.Lap)
	p.Width = nextStock(s.Widths, p.Cover)
	largest := largestGap(o.smallest(side.dimension()))
	limit := inMM(microns(largest) + o.roundedOff(side))
	// A whole millimetre lost by a frame set to one side excuses no extension piece.
	p.extend(s.Extensions, o.Gap[side].Sub(roundedOff.Mul(oneHalf)), decimal.Min(limit, largest.Add(roundedOff)))
	p.say(o, s, limit)
	return p, nil
}

// extend takes the largest extension piece that leaves a right gap everywhere.
func (p *TrimPlan) extend(stock []decimal.Decimal, asked, limit decimal.Decimal) {
	if !p.Needed {
		return
	}
	for _, e := range stock {
		if e.GreaterThan(p.Extension) && !p.Least.Sub(e).LessThan(asked) && !p.Most.Sub(e).GreaterThan(limit) {
			p.Extension, p.Leaves = e, [2]decimal.Decimal{p.Least.Sub(e), p.Most.Sub(e)}
		}
	}
}

// trimLength is how long the opening is along a side of the frame, at its shortest,
// mm rounded down.
func (o Order) trimLength(side Side) decimal.Decimal {
	e, f := o.Figure.outline().edges(), o.frame() // what is seen: plaster stays
	switch side {
	case Left, Right:
		at := f.left
		if side == Right {
			at = f.right
		}
		return inMM(e.head.at(at, false) - e.sill.at(at, true) - microns(o.SillPiece)).RoundFloor(0)
	case Head:
		return inMM(e.right.at(f.top, false) - e.left.at(f.top, true)).RoundFloor(0)
	}
	return inMM(e.right.at(f.bottom, false) - e.left.at(f.bottom, true)).RoundFloor(0)
}

func (p *TrimPlan) say(o Order, s TrimSettings, limit decimal.Decimal) {
	figures := map[string]decimal.Decimal{
		"gap": p.Most, "least": p.Least, "most": limit.RoundFloor(1), "lap": s.Lap, "cover": p.Cover, "width": p.Width,
		"length": p.Length, "extension": p.Extension, "leaves": p.Leaves[1],
	}
	because := func(rule, source string, mark Mark, figures map[string]decimal.Decimal) {
		why := Reason{Rule: rule, Source: source, Mark: mark, Figures: figures, Words: map[string]string{"side": "side." + string(p.Side)}}
		p.Reasons = append(p.Reasons, why.on(o.gapMarks()...))
	}
	if !p.Needed {
		because("trim_none", "gaps_around_windows", Read, figures)
		return
	}
	because("trim_needed", "gaps_around_windows", Read, figures)
	switch {
	case p.Extension.IsPositive():
		because("trim_extension", "", Practice, figures)
	default:
		because("trim_no_extension", "", Practice, figures)
	}
	switch {
	case p.Width.IsPositive():
		because("trim_width", "", Practice, figures)
	default:
		because("trim_too_wide", "", Practice, figures)
	}
}
