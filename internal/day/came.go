package day

import (
	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/reading"
)

// frame is the delivered frame, held against its line before the old window comes out.
var frame = Part{Name: "frame", At: job.Delivered, Fields: []Field{
	{Name: "width", Usual: reading.MM(200, 6000)},
	{Name: "height", Usual: reading.MM(200, 6000)},
	{Name: "rising", Usual: reading.MM(280, 8500)},
	{Name: "falling", Usual: reading.MM(280, 8500), Ask: bothDiagonals("frame")},
	{Name: "twist", Usual: reading.MM(0, 100)},
	{Name: "hand", Kind: Choice, Codes: []string{"asdrawn", "mirrored"}},
	{Name: "mark", Kind: Choice, Codes: []string{"marked", "unmarked"}, Ask: safetyGlass},
	{Name: "vent", Kind: Choice, Codes: []string{"vented", "ventless"}, Ask: ventOrdered},
	{Name: "warmth", Kind: Degree, Ask: never},
}, Together: []string{"width+height", "rising+falling"}, Ends: endFrame}

// safetyGlass says whether a pane of the window must be safety glass, and so bears a
// mark.
func safetyGlass(w *Window) bool {
	line, _ := w.Told()
	for n := range line.Layout.Lights {
		if _, _, asked := line.SafetyClass(n); asked {
			return true
		}
	}
	return false
}

// ventOrdered says whether the frame was ordered with a vent.
func ventOrdered(w *Window) bool {
	vents := w.Record().Plan.Items.Vents
	return vents != nil && vents.IsPositive()
}

func endFrame(p *Part, w *Window) Outcome {
	var out Outcome
	made, err := w.Planned()
	if err != nil {
		return noPlan(err)
	}
	out.Lines = seenWrong(p, w)
	out.Wrong = len(out.Lines) > 0
	out.Lines = append(out.Lines, made.ArrivalLines()...)
	out.Paper = made.ArrivalPaper()
	a := made.Arrival
	switch {
	case a == nil:
		out.Lines = append(out.Lines, phrase.Of("day.frame.unmeasured"))
	case a.Worst == calc.VerdictWrong || out.Wrong:
		out.Wrong = true
		out.Lines = append([]phrase.Text{phrase.Of("day.frame.wrong").WithInt("n", w.ID)}, out.Lines...)
		return out
	case a.Worst == calc.VerdictNote:
		out.Lines = append([]phrase.Text{phrase.Of("day.frame.note")}, out.Lines...)
	default:
		out.Lines = append([]phrase.Text{phrase.Of("day.frame.right")}, out.Lines...)
	}
	out.Lines = append(out.Lines, asItIs(made)...)
	return out
}

// seenWrong is what was seen of the frame and is not as ordered.
func seenWrong(p *Part, w *Window) []phrase.Text {
	var lines []phrase.Text
	if w.Value(p, "hand") == "mirrored" {
		lines = append(lines, phrase.Of("day.frame.mirrored"))
	}
	if w.Value(p, "mark") == "unmarked" {
		lines = append(lines, phrase.Of("day.frame.unmarked"))
	}
	if w.Value(p, "vent") == "ventless" {
		lines = append(lines, phrase.Of("day.frame.ventless"))
	}
	return lines
}

// asItIs are gaps, packers and screws for the frame that came, where that is another
// than was ordered.
func asItIs(p plan.Plan) []phrase.Text {
	for _, step := range p.Order.Steps {
		if step.Reason.Rule == calc.Arrived {
			return append([]phrase.Text{phrase.Of("day.frame.plan")}, p.SetLines()...)
		}
	}
	return nil
}
