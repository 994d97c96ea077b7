package plan

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
)

// GlazingLines say how the lights are glazed: the order of the panes, which face is
// outside, the stack at each block, and the beads. The stacks of lights whose rebate was
// measured are said by themselves: see StackLines.
func (p Plan) GlazingLines() []phrase.Text {
	if len(p.Glass) == 0 {
		return nil
	}
	var lines []phrase.Text
	if order := calc.GlazingOrder(p.Layout); len(order) > 1 {
		lines = append(lines, phrase.Of("glazework.order").WithRow("lights", lightNumbers(order)...))
	}
	lines = append(lines, phrase.Of("glazework.face"))
	for _, i := range calc.GlazingOrder(p.Layout) {
		if !slices.ContainsFunc(p.Opening.Rebates, func(r Rebate) bool { return r.Light == i+1 }) {
			lines = append(lines, p.StackLines(i)...)
		}
	}
	return append(lines, p.beadLines()...)
}

// Stacks are the blocks of a light's pane with what fills its clearance: as its rebate
// and glass were measured, else as the glass was made to order.
func (p Plan) Stacks(light int) (calc.BlockStacks, error) {
	glass := p.Glass[light].Glass
	play := glassPlay.Mul(decimal.NewFromInt(2))
	rebate := calc.Size{Width: glass.Width.Add(play), Height: glass.Height.Add(play)}
	for _, m := range p.Opening.Rebates {
		if m.Light != light+1 {
			continue
		}
		rebate = m.Rebate
		if m.Glass.Width.IsPositive() {
			glass = m.Glass
		}
	}
	return calc.StackBlocks(p.Glass[light], rebate, glass)
}

// StackLines are the blocks of a light, by its index.
func (p Plan) StackLines(light int) []phrase.Text {
	made, err := p.Stacks(light)
	if err != nil {
		text, _ := WhyRefused(err)
		return []phrase.Text{text}
	}
	var row []phrase.Text
	for _, b := range made.Blocks {
		key := "glazework.block"
		switch b.Role {
		case calc.Heel:
			key = "glazework.block.heel"
		case calc.Toe:
			key = "glazework.block.toe"
		}
		row = append(row, phrase.Of(key).Word("edge", "side."+string(b.Edge)).With("at", b.At.Round(0)).WithRow("stack", thicknesses(b.Stack)...))
	}
	lines := []phrase.Text{phrase.Of("glazework.stack").WithInt("n", light+1).With("across", made.Across).With("up", made.Up).WithRow("blocks", row...)}
	return append(lines, shorts(made.Warnings)...)
}

// beadLines are the order of the beads, lights of one order together.
func (p Plan) beadLines() []phrase.Text {
	of := map[calc.Side][]int{}
	for _, g := range p.Glass {
		first := calc.BeadOrder(g.Sight)[0].Side
		of[first] = append(of[first], g.Light)
	}
	var lines []phrase.Text
	for _, first := range []calc.Side{calc.Head, calc.Left} {
		if len(of[first]) == 0 {
			continue
		}
		var row []phrase.Text
		for _, bead := range calc.BeadOrder(p.Glass[of[first][0]].Sight) {
			row = append(row, phrase.Of("side."+string(bead.Side)))
		}
		if len(of[first]) == len(p.Glass) {
			lines = append(lines, phrase.Of("glazework.beads").WithRow("sides", row...))
			continue
		}
		lines = append(lines, phrase.Of("glazework.beads.of").WithRow("lights", lightNumbers(of[first])...).WithRow("sides", row...))
	}
	return append(lines, phrase.Of("glazework.knock"))
}

// HingeLines hold the sash that weighs most against what its hinges or stays are rated
// for, kg.
func (p Plan) HingeLines(rated decimal.Decimal) (lines []phrase.Text, ok bool) {
	most := decimal.Zero
	for _, mass := range p.Weight.Lights {
		most = decimal.Max(most, mass)
	}
	if !most.IsPositive() {
		return []phrase.Text{phrase.Of("glazework.unweighed")}, true
	}
	why, ok, err := calc.HingeReason(most, rated, calc.Practice)
	if err != nil {
		text, _ := WhyRefused(err)
		return []phrase.Text{text}, false
	}
	return []phrase.Text{markedText(why, ReasonText(why))}, ok
}

// SashStand is how the sash of a light stands: by its diagonals, or by what is seen at a
// free corner, mm.
type SashStand struct {
	Light           int // from 1
	HeelToe, Across decimal.Decimal
	Corner          calc.ToeCorner
	By              decimal.Decimal
	Drags           bool
}

// Toe is the next packing of a light's toe for a reading of how its sash stands, after
// the readings before it.
func (p Plan) Toe(r SashStand, before *calc.ToeAdvice) (calc.ToeAdvice, error) {
	i := r.Light - 1
	if i < 0 || i >= len(p.Glass) {
		return calc.ToeAdvice{}, &calc.RefusalError{Reason: calc.Reason{Rule: "toe_hinge"}}
	}
	g := p.Glass[i]
	face := p.Crew.SashFace.Sub(p.Crew.EdgeCover).Add(glassPlay)
	twice := face.Mul(decimal.NewFromInt(2))
	sash := calc.Size{Width: g.Glass.Width.Add(twice), Height: g.Glass.Height.Add(twice)}
	reading := calc.ToeReading{HeelToe: r.HeelToe, Across: r.Across, Corner: r.Corner, By: r.By, Drags: r.Drags}
	return calc.ToeStep(reading, p.Layout.Lights[i].Hinge, sash, p.heelInset(i), before)
}

// heelInset is how far the middle of a light's heel block lies from its sash's corner.
func (p Plan) heelInset(light int) decimal.Decimal {
	g := p.Glass[light]
	inset := p.Crew.SashFace.Sub(p.Crew.EdgeCover).Add(glassPlay)
	for _, b := range g.Blocks {
		if b.Role == calc.Heel && b.Edge == calc.Sill {
			inset = inset.Add(decimal.Min(b.At, g.Glass.Width.Sub(b.At)))
		}
	}
	return inset
}

// ToeLines are what to pack at the toe of a light, each with how far to trust it.
func ToeLines(light int, a calc.ToeAdvice) []phrase.Text {
	var lines []phrase.Text
	worse := slices.ContainsFunc(a.Reasons, func(r calc.Reason) bool { return r.Rule == "toe_worse" || r.Rule == "sash_doubt" })
	for _, r := range a.Reasons {
		if worse && (r.Rule == "toe_pack" || r.Rule == "toe_take") {
			continue // look first
		}
		if r.Rule == "sash_low" || r.Rule == "sash_high" || r.Rule == "sash_square" {
			continue // both places to pack, where the step takes one
		}
		lines = append(lines, phrase.Of("plan.of.light").WithInt("n", light).Sub1("reason", ReasonText(r)))
	}
	return lines
}
