package day

import (
	"slices"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/plan"
)

// glazing tells how the lights are glazed, and holds the heaviest sash against what its
// hinges are rated for.
var glazing = Part{Name: "glazing", At: job.Fitted, Fields: []Field{
	{Name: "rebates", Kind: Panes, Ask: never},
	{Name: "rated", Kind: Mass, Ask: opens},
}, Tells: told(plan.Plan.GlazingLines), Ends: endGlazing}

// opens says whether a light of the window opens.
func opens(w *Window) bool {
	return slices.ContainsFunc(w.Record().Plan.Layout.Lights, func(l calc.Light) bool { return l.Hinge != calc.FixedLight })
}

func endGlazing(p *Part, w *Window) Outcome {
	made, err := w.Planned()
	if err != nil {
		return noPlan(err)
	}
	var out Outcome
	for _, r := range made.Opening.Rebates {
		out.Lines = append(out.Lines, made.StackLines(r.Light-1)...)
	}
	if rated := w.Number(p, "rated"); rated != nil {
		lines, ok := made.HingeLines(*rated)
		out.Lines, out.Wrong = append(out.Lines, lines...), !ok
	}
	return out
}
