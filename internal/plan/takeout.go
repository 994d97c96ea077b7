package plan

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// TakeOutLines are how the old window comes out: the order of cuts by the lights of the
// new one, what holds the wall meanwhile, and how far inside work is cut back so that
// the new frame seats. Common practice, no source.
func (p Plan) TakeOutLines() []phrase.Text {
	lines := []phrase.Text{phrase.Of("takeout.title"), p.takeOutCautions()}
	var opens, fixed []int
	for i, light := range p.Layout.Lights {
		if light.Hinge == calc.FixedLight {
			fixed = append(fixed, i)
			continue
		}
		opens = append(opens, i)
	}
	if len(opens) > 0 {
		lines = append(lines, p.ofHeaviest("takeout.opens", "takeout.opens.unknown", opens))
	}
	if len(fixed) > 0 {
		lines = append(lines, p.ofHeaviest("takeout.fixed", "takeout.fixed.unknown", fixed))
	}
	wall := p.holdsWall()
	if wall == "takeout.wall.stop" { // then nothing of the frame is cut
		return append(lines, phrase.Of(wall), p.cutBackLine())
	}
	if bars := p.bars(); len(bars) > 0 {
		lines = append(lines, phrase.Of("takeout.bars").WithRow("bars", bars...))
	}
	lines = append(lines, p.sawLine(), phrase.Of("takeout.fold"), phrase.Of(wall))
	return append(lines, p.cutBackLine())
}

// takeOutCautions are the dangers of taking out at this house, once.
func (p Plan) takeOutCautions() phrase.Text {
	o := p.Opening
	row := []phrase.Text{phrase.Of("takeout.danger.glass")}
	if !o.From1992 && !o.From2000 {
		row = append(row, phrase.Of("takeout.danger.lead"))
	}
	if !o.From2000 {
		row = append(row, phrase.Of("takeout.danger.asbestos"))
	}
	if o.Storey > 0 {
		row = append(row, phrase.Of("takeout.danger.height"))
	}
	return phrase.Of("takeout.dangers").WithRow("dangers", row...)
}

// ofHeaviest says something of some lights with what the heaviest of them weighs with
// the new glass, which is no lighter than the old one as a rule.
func (p Plan) ofHeaviest(key, unknown string, lights []int) phrase.Text {
	most, team := decimal.Zero, 0
	for _, i := range lights {
		mass := p.Glass[i].Mass
		if i < len(p.Weight.Lights) && p.Weight.Lights[i].IsPositive() {
			mass = p.Weight.Lights[i]
		}
		most, team = decimal.Max(most, mass), max(team, p.Glass[i].Team)
	}
	if !most.IsPositive() {
		key = unknown
	}
	return phrase.Of(key).WithRow("lights", lightNumbers(lights)...).With("mass", most).WithInt("team", max(2, team))
}

// bars are mullions and transoms with where they stand.
func (p Plan) bars() []phrase.Text {
	var row []phrase.Text
	for column, at := range p.Layout.Transoms {
		if at.IsPositive() {
			row = append(row, phrase.Of("takeout.transom").WithInt("n", column+1).With("at", at))
		}
	}
	for _, at := range p.Layout.Mullions {
		row = append(row, phrase.Of("takeout.mullion").With("at", at))
	}
	return row
}

// sawLine says where to saw so that sill, jambs and head fold in, from the frame's left
// edge and from its bottom, and how deep the saw may go.
func (p Plan) sawLine() phrase.Text {
	half := decimal.New(5, -1)
	return phrase.Of("takeout.saw").With("across", p.Order.Size.Width.Mul(half).Round(0)).With("up", p.Order.Size.Height.Mul(half).Round(0))
}

// holdsWall names what is said of the wall over the opening meanwhile.
func (p Plan) holdsWall() string {
	o := p.Opening
	switch {
	case o.Bay || o.NoLintel || o.Over == safety.OverBricks || o.Over == safety.OverHidden || o.Over == "":
		return "takeout.wall.stop"
	case o.Over == safety.OverArch:
		return "takeout.wall.arch"
	case o.Over == safety.OverTimber:
		return "takeout.wall.timber"
	}
	return "takeout.wall.lintel"
}

// cutBackLine says how far the inside board is cut back, or where it may begin while
// nobody measured its edge.
func (p Plan) cutBackLine() phrase.Text {
	edge := p.Opening.BoardEdge
	if edge == nil {
		why, _ := p.Section.BoardReason(nil)
		return markedText(why, ReasonText(why))
	}
	back, err := calc.CutBackFor(p.Section, calc.CutBackRequest{
		Work: calc.InsideBoard, Side: calc.Sill, Edges: [2]decimal.Decimal{*edge, *edge}, Clear: calc.BoardClear,
	})
	if err != nil {
		text, _ := WhyRefused(err)
		return text
	}
	return markedText(back.Reasons[0], ReasonText(back.Reasons[0]))
}

// CutBackLines say how far inside work is cut back so that the frame seats.
func (p Plan) CutBackLines(work []calc.CutBackRequest) []phrase.Text {
	var lines []phrase.Text
	for _, r := range work {
		back, err := calc.CutBackFor(p.Section, r)
		if err != nil {
			text, _ := WhyRefused(err)
			lines = append(lines, text)
			continue
		}
		lines = append(lines, markedLines(back.Reasons)...)
	}
	return lines
}
