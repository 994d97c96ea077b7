package day

import (
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/reading"
)

// bow is the width after the screws are home, at three heights: a jamb that was pulled
// or packed out of line shows in it.
var bow = Part{Name: "bow", At: job.Out, Loop: true, Fields: []Field{
	{Name: "top", Usual: reading.MM(100, 6000)},
	{Name: "middle", Usual: reading.MM(100, 6000)},
	{Name: "bottom", Usual: reading.MM(100, 6000)},
}, Ends: endBow}

func endBow(_ *Part, w *Window) Outcome {
	made, err := w.Planned()
	if err != nil {
		return noPlan(err)
	}
	if made.Fixed == nil {
		return Outcome{Lines: []phrase.Text{phrase.Of("day.bow.nothing")}}
	}
	return Outcome{Lines: plan.FixedLines(*made.Fixed), Again: !made.Fixed.Within, Paper: []phrase.Text{plan.SourcedText(made.Fixed.Reason)}}
}
