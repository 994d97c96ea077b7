package plan

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
)

// arrive holds the delivered frame against its order. All that follows is of the frame
// that came, in the opening that is.
func (p *Plan) arrive() error {
	if p.Opening.Delivered == nil {
		return nil
	}
	a, err := calc.Arrive(p.Order, p.Opening.Material, p.Opening.Delivered.Frame(), p.Crew.Joint)
	if err != nil {
		return err
	}
	p.Arrival, p.Order = &a, a.Order
	return nil
}

// stand works through the rounds of readings of the frame on its packers, and the widths
// after the screws.
func (p *Plan) stand() error {
	o := p.Opening
	places := p.Packers.Places
	for _, round := range o.Set {
		readings, err := round.Readings()
		if err != nil {
			return err
		}
		req := calc.SetRequest{Frame: p.Order.Size, Material: o.Material, Places: places, Readings: readings}
		if o.Delivered != nil {
			req.MadeRising, req.MadeFalling = o.Delivered.Rising, o.Delivered.Falling
		}
		result, err := calc.Set(req)
		if err != nil {
			return err
		}
		p.Set, places = append(p.Set, result), result.Places
	}
	if o.Fixed[0].IsZero() && o.Fixed[1].IsZero() && o.Fixed[2].IsZero() {
		return nil
	}
	fixed, err := calc.CheckWidths(calc.WidthRequest{Frame: p.Order.Size, Dimension: calc.Width, Read: o.Fixed, Places: places})
	p.Fixed = &fixed
	return err
}

// ArrivalLines say how the delivered frame stands to its order, the worst first; what
// is right in one line.
func (p Plan) ArrivalLines() []phrase.Text {
	if p.Arrival == nil {
		return nil
	}
	var lines, right []phrase.Text
	for _, v := range []calc.Verdict{calc.VerdictWrong, calc.VerdictNote} {
		for _, c := range p.Arrival.Checks {
			if c.Verdict != v {
				continue
			}
			for _, why := range c.Reasons {
				lines = append(lines, phrase.Of("arrival."+string(v)).Sub1("reason", markedText(why, ReasonText(why))))
			}
		}
	}
	for _, c := range p.Arrival.Checks {
		if c.Verdict == calc.VerdictRight {
			right = append(right, phrase.Of("arrival.ok."+string(c.What)).With("mm", rightFigure(c)))
		}
	}
	if right != nil {
		lines = append(lines, phrase.Of("arrival.right").WithRow("what", right...))
	}
	return lines
}

// rightFigure is what was measured of a check that is right, mm.
func rightFigure(c calc.ArrivalCheck) decimal.Decimal {
	for _, name := range []string{"measured", "apart", "twist"} {
		if d, ok := c.Reasons[0].Figures[name]; ok {
			return d
		}
	}
	return decimal.Zero
}

// SetLines are what the frame is set by: what is left at the sides, screws and packers.
func (p Plan) SetLines() []phrase.Text {
	rows := append([]Row{{Text: p.riskRow()}, p.screwRow()}, p.packerRows()...)
	lines := make([]phrase.Text, len(rows))
	for i, row := range rows {
		lines[i] = row.Text
	}
	return lines
}
