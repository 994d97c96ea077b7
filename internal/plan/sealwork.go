package plan

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
)

// Foam is the foam, strip and sealant of each joint.
func (p Plan) Foam() (calc.FoamPlan, error) {
	s := calc.DefaultFoamSettings()
	s.Can, s.Yield, s.Waste = p.Crew.Store.FoamCan, p.Crew.Store.FoamYield, p.Crew.Store.Waste
	return calc.PlanFoam(p.Order.Size, p.Joints, p.Section, s)
}

// SealLines say how the joints are filled and sealed, side by side, and what to do about
// a gap that is too wide.
func (p Plan) SealLines() []phrase.Text {
	made, err := p.Foam()
	if err != nil {
		text, _ := WhyRefused(err)
		return []phrase.Text{text}
	}
	lines := []phrase.Text{phrase.Of("sealwork.title")}
	for i := 0; i < len(made.Sides); {
		f, names := made.Sides[i], []phrase.Text{phrase.Of("plan.side." + string(made.Sides[i].Side))}
		for i++; i < len(made.Sides) && alikeJoint(f, made.Sides[i]); i++ {
			names = append(names, phrase.Of("side."+string(made.Sides[i].Side)))
		}
		lines = append(lines, foamLine(f).WithRow("sides", names...))
	}
	for _, r := range made.Reasons {
		lines = append(lines, markedText(r, ReasonText(r)))
	}
	return append(append(lines, p.TrimLines()...), phrase.Of("sealwork.not"))
}

// foamLine is one side's joint from the inside out.
func foamLine(f calc.FoamSide) phrase.Text {
	var row []phrase.Text
	switch {
	case f.Deep.IsPositive():
		row = append(row, phrase.Of("sealwork.foam").With("deep", f.Deep.Round(0)).With("litres", f.Foam))
	case f.Why != nil && f.Why.Rule == "foam_wide":
		row = append(row, phrase.Of("sealwork.wide").With("most", f.Why.Figures["most"]))
	case f.Why != nil && f.Why.Rule == "foam_narrow":
		row = append(row, phrase.Of("sealwork.narrow"))
	case f.Why != nil:
		row = append(row, phrase.Of("sealwork.shallow"))
	}
	if f.Strip.IsPositive() {
		row = append(row, phrase.Of("sealwork.strip").With("mm", f.Strip))
	}
	switch {
	case f.Lap.IsPositive():
		row = append(row, phrase.Of("sealwork.fillet").With("mm", f.Lap))
	case f.Sealant.IsPositive():
		row = append(row, phrase.Of("sealwork.sealant").With("mm", f.Sealant))
	}
	return phrase.Of("sealwork.side").With("gap", f.Gap).WithRow("parts", row...)
}

// alikeJoint says whether two joints are filled and sealed alike.
func alikeJoint(a, b calc.FoamSide) bool {
	return a.Gap.Equal(b.Gap) && a.Deep.Equal(b.Deep) && a.Foam.Equal(b.Foam) && a.Strip.Equal(b.Strip) && a.Sealant.Equal(b.Sealant) &&
		a.Lap.Equal(b.Lap) && a.Why == nil && b.Why == nil
}

// Trims are what covers the gaps that are too wide to seal.
func (p Plan) Trims() ([]calc.TrimPlan, error) {
	var list []calc.TrimPlan
	for _, side := range sides {
		if p.Opening.Finish == calc.Check || side == calc.Sill {
			continue // the masonry covers it, or the sill piece
		}
		made, err := calc.GapTrim(p.Order, side, p.Crew.Trim)
		if err != nil {
			return nil, err
		}
		if made.Needed {
			list = append(list, made)
		}
	}
	return list, nil
}

// TrimLines say what covers the gaps that are too wide, and how the trims are cut.
func (p Plan) TrimLines() []phrase.Text {
	trims, err := p.Trims()
	if err != nil {
		text, _ := WhyRefused(err)
		return []phrase.Text{text}
	}
	var lines []phrase.Text
	var pieces []decimal.Decimal
	for _, t := range trims {
		for _, r := range t.Reasons {
			if !isExtension(r) { // too late: the frame is in
				lines = append(lines, markedText(r, ReasonText(r)))
			}
		}
		if t.Width.IsPositive() {
			pieces = append(pieces, t.Length)
		}
	}
	if len(pieces) == 0 {
		return lines
	}
	stock := p.Crew.Store.TrimLength
	bars, _, err := calc.CutList(pieces, stock, p.Crew.Trim.Kerf)
	if err != nil {
		text, _ := WhyRefused(err)
		return append(lines, text)
	}
	for i, bar := range bars {
		lines = append(lines, phrase.Of("sealwork.bar").WithInt("n", i+1).With("stock", stock).WithRow("pieces", numbers(bar.Pieces)...).With("rest", bar.Rest.RoundFloor(0)))
	}
	return lines
}

// isExtension says whether a reason is of what goes on the frame before it is set.
func isExtension(r calc.Reason) bool {
	return r.Rule == "trim_extension" || r.Rule == "trim_no_extension"
}

// ExtensionLines say, before the frame is set, which gap is too wide and which piece on
// the frame makes it right.
func (p Plan) ExtensionLines() []phrase.Text {
	trims, err := p.Trims()
	if err != nil {
		return nil // said as it is sealed
	}
	var lines []phrase.Text
	for _, t := range trims {
		for _, r := range t.Reasons {
			if r.Rule == "trim_needed" || isExtension(r) {
				lines = append(lines, markedText(r, ReasonText(r)))
			}
		}
	}
	return lines
}

// CanLines say whether the foam can may be used at its temperature, °C.
func CanLines(degrees decimal.Decimal) (lines []phrase.Text, ok bool) {
	if why := calc.CanTemperature(degrees); why != nil {
		return []phrase.Text{markedText(*why, ReasonText(*why))}, false
	}
	return []phrase.Text{phrase.Of("sealwork.can").With("degree", degrees)}, true
}
