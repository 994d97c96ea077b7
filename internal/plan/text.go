package plan

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
)

// TextLines are the whole plan for people: more than Lines, which is what fits
// a conversation.
func (p Plan) TextLines() []phrase.Text {
	lines := []phrase.Text{phrase.Of("plan.title")}
	if p.Count > 1 {
		lines = append(lines, phrase.Of("plan.count").WithInt("count", p.Count))
	}
	for _, h := range p.Holds() {
		lines = append(lines, phrase.Of("plan.doubtful").Sub1("reason", h.Text))
	}
	lines = append(lines, OrderLines(p.Ordered, p.Opening.SillDepth)...)
	if p.Arrival != nil {
		lines = append(lines, phrase.Of("plan.delivered").With("width", p.Order.Size.Width).With("height", p.Order.Size.Height))
		if p.Arrival.Worst == calc.VerdictWrong {
			lines = append(lines, phrase.Of("plan.delivered.wrong"))
		}
		lines = append(lines, p.ArrivalLines()...)
	}
	lines = append(lines, p.riskLines()...)
	lines = append(lines, reasonLines(p.Order.Figure.Reasons)...)
	if p.Opening.TightTo != "" {
		lines = append(lines, p.tightLine())
	}
	lines = append(lines, p.fixingLines()...)
	lines = append(lines, p.windLines()...)
	lines = append(lines, p.packerLines(p.NewTroubles())...)
	lines = append(lines, p.standLines()...)
	lines = append(lines, p.glassLines()...)
	lines = append(lines, p.sashLines()...)
	lines = append(lines, p.jointLines()...)
	lines = append(lines, p.airLines()...)
	if p.Heat != nil {
		lines = append(append(lines, phrase.Of("plan.heat")), markedLines(p.Heat.Reasons)...)
	}
	lines = append(lines, p.goodsLines()...)
	lines = append(lines, p.workLines()...)
	lines = append(lines, billLines(p.Bill)...)
	return append(lines, p.WarningLines()...)
}

// tightLine says which side the frame is set tight to, with the sill piece whose
// ends may be nearer to the jamb than the frame.
func (p Plan) tightLine() phrase.Text {
	key, side := "plan.tight", p.Opening.TightTo
	if p.Order.SillPiece.IsPositive() && (side == calc.Left || side == calc.Right) {
		key = "plan.tight.sill_piece"
	}
	return phrase.Of(key).Word("side", "side."+string(side))
}

// windLines are the load across a jamb screw and what the screw's data sheet
// says; without a load the pressure alone, which says why there is none.
func (p Plan) windLines() []phrase.Text {
	if p.Wind == nil {
		return nil
	}
	if !p.Load.IsPositive() {
		return []phrase.Text{ReasonText(*p.Wind)}
	}
	lines := []phrase.Text{phrase.Of("plan.load").Sub1("wind", ReasonText(*p.Wind)).With("load", p.Load).With("span", p.Held).With("gap", p.jambGap())}
	if p.Screw != nil {
		lines = append(lines, markedLines([]calc.Reason{*p.Screw})...)
	}
	return lines
}

// sashLines are how each light opens, what a person can pass, and what lifts a
// sash that has dropped.
func (p Plan) sashLines() []phrase.Text {
	lines := []phrase.Text{phrase.Of("plan.opening")}
	for i, clear := range p.Clear {
		if p.Layout.Lights[i].Hinge == calc.FixedLight {
			continue
		}
		lines = append(lines, markedLines(clear.Reasons)...)
		if p.Swings != nil {
			lines = append(lines, numbered(i, p.Swings[i].Reasons)...)
		}
		for _, s := range p.Sags {
			if s.Light == i {
				lines = append(lines, numbered(i, s.Reasons)...)
			}
		}
	}
	if len(lines) == 1 {
		return nil
	}
	return lines
}

// numbered are reasons behind the number of their light.
func numbered(light int, reasons []calc.Reason) []phrase.Text {
	var lines []phrase.Text
	for _, r := range reasons {
		lines = append(lines, phrase.Of("plan.of.light").WithInt("n", light+1).Sub1("reason", ReasonText(r)))
	}
	return lines
}

// airLines are the vents and the airing.
func (p Plan) airLines() []phrase.Text {
	var lines []phrase.Text
	if p.Vents != nil {
		lines = append(lines, reasonLines(p.Vents.Reasons)...)
	}
	if p.VentsToFit > 0 {
		lines = append(lines, phrase.Of("plan.vents").WithInt("count", p.VentsToFit).With("each", p.Opening.VentEach))
	}
	if p.Purge != nil {
		lines = append(lines, phrase.Of("plan.purge").With("wide", p.Purge.Wide.Shift(2)).With("narrow", p.Purge.Narrow.Shift(2)))
	}
	return lines
}

// goodsLines are what to take along in packs, and the patches coat by coat.
func (p Plan) goodsLines() []phrase.Text {
	lines := []phrase.Text{phrase.Of("plan.goods")}
	for _, item := range p.Take.Items {
		lines = append(lines, reasonLines(item.Reasons)...)
		if item.Kind == calc.TrimItem {
			lines = append(lines, phrase.Of("plan.trims").WithRow("pieces", numbers(item.Pieces)...))
		}
	}
	for i, patch := range p.Opening.Patches {
		if patch.Depth.IsPositive() {
			continue
		}
		var coats []phrase.Text
		for _, c := range patch.Coats {
			key := "plan.coat"
			switch {
			case c.Dub && patch.ReadyMix:
				key = "plan.coat.dub.ready"
			case c.Dub:
				key = "plan.coat.dub"
			case patch.ReadyMix:
				key = "plan.coat.ready"
			}
			coats = append(coats, phrase.Of(key).With("thickness", c.Thickness).With("sand", c.Sand))
		}
		lines = append(lines, phrase.Of("plan.patch").WithInt("n", i+1).With("length", patch.Length).With("width", patch.Width).WithRow("coats", coats...))
	}
	lines = append(lines, p.PatchLines()...)
	return append(lines, shorts(p.Take.Reasons)...)
}

// billLines are the price lines and what they come to.
func billLines(b *calc.Bill) []phrase.Text {
	if b == nil {
		return nil
	}
	lines := []phrase.Text{phrase.Of("plan.money")}
	for _, l := range b.Lines {
		line := phrase.Of("plan.price").Saying("what", l.What).With("quantity", l.Quantity).With("rate", percent(l.VATRate))
		for name, money := range map[string]decimal.Decimal{"each": l.Each, "net": l.Net, "vat": l.VAT, "gross": l.Gross} {
			line = line.Saying(name, sterling(money))
		}
		lines = append(lines, line)
	}
	return append(lines, reasonLines(b.Reasons)...)
}

func percent(fraction decimal.Decimal) decimal.Decimal { return fraction.Shift(2) }

// workLines are how the window is fitted, once its frame is here.
func (p Plan) workLines() []phrase.Text {
	if p.Opening.Delivered == nil {
		return nil
	}
	lines := []phrase.Text{phrase.Of("plan.work")}
	for _, part := range [][]phrase.Text{p.TakeOutLines(), p.SillLines(), p.FixingLines(), p.GlazingLines()} {
		lines = append(lines, part...)
	}
	for _, r := range p.Opening.Rebates {
		if r.Light <= len(p.Glass) {
			lines = append(lines, p.StackLines(r.Light-1)...)
		}
	}
	return append(lines, p.SealLines()...)
}
