package day

import (
	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
)

// patches are the places to make good in the wall round the window.
var patches = Part{Name: "patch", At: job.Glazed, ByWord: true, Fields: []Field{
	{Name: "places", Kind: Patch},
	{Name: "wall", Kind: Choice, Sorts: true, Codes: []string{"hard", "lime"}, Means: map[string]string{"brick": "hard", "concrete": "hard", "aerated": "hard", "hollow": "hard"}},
	{Name: "mix", Kind: Choice, Sorts: true, Codes: []string{"bags", "loose"}, Ask: notLime},
	{Name: "warmth", Kind: Degree},
	{Name: "sky", Kind: Choice, Sorts: true, Codes: []string{"rising", "falling", "frost", "rain"}, Ask: never},
}, Ends: endPatches}

func notLime(w *Window) bool { return w.Value(&patchKeys, "wall") != "lime" }

func endPatches(p *Part, w *Window) Outcome {
	made, err := w.Planned()
	if err != nil {
		return noPlan(err)
	}
	if len(made.MadeGood) == 0 {
		return Outcome{Lines: []phrase.Text{phrase.Of("patch.none")}}
	}
	for i, place := range w.Places() {
		if before := len(made.MadeGood) - len(w.Places()); before+i >= 0 {
			made.MadeGood[before+i].Number = place.Number
		}
	}
	var out Outcome
	if degrees := w.Number(p, "warmth"); degrees != nil {
		sky := w.Value(p, "sky")
		out.Lines = plan.WeatherLines(calc.RenderDay{Temperature: *degrees, Rising: sky == "rising", Frost: sky == "frost", Rain: sky == "rain"})
	}
	out.Lines = append(out.Lines, made.PatchLines()...)
	out.Lines = append(out.Lines, made.PatchStoreLines()...)
	out.Lines = append(out.Lines, phrase.Of("patch.before"), phrase.Of("patch.how").WithInt("n", w.ID).WithInt("patch", made.MadeGood[0].Number))
	return out
}
