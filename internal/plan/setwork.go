package plan

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
)

// SillPiece is how the sill piece is cut and set; nil without one, and for one that
// comes on the frame.
func (p Plan) SillPiece() (*calc.SillPiecePlan, error) {
	if !p.Opening.SillDepth.IsPositive() || p.Opening.Items.SillFixing == "fixed" {
		return nil, nil
	}
	past := decimal.Zero
	if p.Opening.Items.SillPast != nil {
		past = *p.Opening.Items.SillPast
	}
	made, err := calc.PlanSillPiece(p.Order, p.Section, past, p.Crew.SillPiece)
	if err != nil {
		return nil, err
	}
	return &made, nil
}

// SillLines say what comes before the frame is set: the bed packers and the sill piece.
func (p Plan) SillLines() []phrase.Text {
	var lines []phrase.Text
	if beds := p.beds(); len(beds) > 0 {
		lines = append(lines, phrase.Of("sillwork.bed").WithRow("beds", beds...))
	}
	lines = append(lines, p.ExtensionLines()...)
	made, err := p.SillPiece()
	switch {
	case err != nil:
		text, _ := WhyRefused(err)
		return append(lines, text)
	case made == nil:
		return lines
	}
	lines = append(lines, reasonLines(made.Reasons)...)
	return append(append(lines, shorts(made.Warnings)...), phrase.Of("sillwork.mark"))
}

// beds are the bed packers, each as thick as it is where it is.
func (p Plan) beds() []phrase.Text {
	var row []phrase.Text
	for _, place := range p.Packers.Places {
		if place.Bed && len(place.Stack) > 0 {
			row = append(row, phrase.Of("sillwork.packer").WithRow("stack", thicknesses(place.Stack)...).With("at", place.At.Round(0)))
		}
	}
	return row
}

func thicknesses(stack []int) []phrase.Text {
	row := make([]phrase.Text, len(stack))
	for i, piece := range stack {
		row[i] = phrase.Of("number").WithInt("n", piece)
	}
	return row
}

// Holes are hole and screw of each fixing of the frame as it was set last.
func (p Plan) Holes() (calc.DrillPlan, error) {
	packed := p.Packers
	if n := len(p.Set); n > 0 && p.Set[n-1].Places != nil {
		packed.Places = p.Set[n-1].Places
	}
	packed.Places = slices.DeleteFunc(slices.Clone(packed.Places), func(place calc.PackerPlace) bool { return p.Bracketed(place.Side) })
	return calc.Drill(p.Section, packed, p.Opening.InWall(), p.Crew.Settings, p.Crew.Drill)
}

// FixingLines say where the frame is fixed, and hole and screw of each place.
func (p Plan) FixingLines() []phrase.Text {
	holes, err := p.Holes()
	if err != nil {
		text, _ := WhyRefused(err)
		return []phrase.Text{text}
	}
	lines := []phrase.Text{phrase.Of("fixwork.title").WithInt("count", len(holes.Places))}
	for _, side := range sides {
		lines = append(lines, holeLines(side, holes.Places)...)
	}
	if p.Opening.NoHead {
		lines = append(lines, phrase.Of("fixwork.brackets"))
	}
	lines = append(lines, markedLines(holes.Reasons)...)
	if holes.Edge != nil {
		lines = append(lines, markedText(*holes.Edge, ReasonText(*holes.Edge)))
	}
	return lines
}

// holeLines are the places of one side, those with one screw in a row, and the deepest
// hole of them.
func holeLines(side calc.Side, places []calc.DrillPlace) []phrase.Text {
	var lines []phrase.Text
	for i := 0; i < len(places); {
		first, hole, reach := places[i], decimal.Zero, decimal.Zero
		var at []phrase.Text
		for ; i < len(places) && sameScrew(first, places[i]); i++ {
			at = append(at, phrase.Of("number").With("n", places[i].At.Round(0)))
			hole, reach = decimal.Max(hole, places[i].Hole), decimal.Max(reach, places[i].Reach)
		}
		if first.Side != side {
			continue
		}
		line := phrase.Of("fixwork.side").With("length", first.Length).With("hole", hole.RoundUp(0)).With("reach", reach.RoundUp(0))
		switch {
		case first.Length.IsPositive():
		case first.Why.Rule == "screw_own":
			line = phrase.Of("fixwork.own")
		default:
			line = phrase.Of("fixwork.none").Sub1("reason", ReasonText(first.Why))
		}
		lines = append(lines, line.Word("side", "plan.side."+string(side)).WithRow("at", at...))
	}
	return lines
}

func sameScrew(a, b calc.DrillPlace) bool {
	return a.Side == b.Side && a.Length.Equal(b.Length) && a.Why.Rule == b.Why.Rule
}
