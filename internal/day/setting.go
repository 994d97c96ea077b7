package day

import (
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/reading"
)

// setting is the frame on its packers, read by a level, packed and read again until it
// is true.
var setting = Part{Name: "setting", At: job.Out, Loop: true, Fields: []Field{
	{Name: "sill", Kind: Slope},
	{Name: "left", Kind: Slope},
	{Name: "right", Kind: Slope},
	{Name: "leftface", Kind: Slope},
	{Name: "rightface", Kind: Slope},
	{Name: "rising", Usual: reading.MM(280, 8500)},
	{Name: "falling", Usual: reading.MM(280, 8500), Ask: bothDiagonals("setting")},
	{Name: "head", Kind: Slope, Ask: never},
	{Name: "strings", Usual: reading.MM(0, 100), Ask: never},
	{Name: "length", Usual: reading.MM(200, 3000), Ask: never},
	{Name: "corner", Kind: Words, Ask: never},
}, Together: []string{"rising+falling", "left+right", "leftface+rightface"}, Ends: endSetting}

func endSetting(_ *Part, w *Window) Outcome {
	made, err := w.Planned()
	if err != nil {
		return noPlan(err)
	}
	if len(made.Set) == 0 {
		return Outcome{Lines: []phrase.Text{phrase.Of("day.setting.nothing")}}
	}
	last := made.Set[len(made.Set)-1]
	return Outcome{Lines: plan.SetResultLines(last), Again: !last.True, Paper: plan.SetPaper(last)}
}
