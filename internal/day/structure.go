package day

import (
	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// structure is what is looked at before the old window comes out, and by whom.
var structure = Part{Name: "structure", At: job.Delivered, Fields: []Field{
	{Name: "lintel", Kind: Tick},
	{Name: "cracks", Kind: Tick},
	{Name: "services", Kind: Tick},
	{Name: "inside", Kind: Tick},
	{Name: "weather", Kind: Tick},
	{Name: "stand", Kind: Tick},
	{Name: "who", Kind: Words},
}, Ends: endStructure}

func endStructure(p *Part, w *Window) Outcome {
	var out Outcome
	wrong := p.troubles(w)
	for _, name := range []string{"lintel", "cracks"} {
		if v := w.Value(p, name); v != OK {
			out.Wrong = true
		}
	}
	switch {
	case out.Wrong:
		out.Lines = append(wrong, phrase.Of("day.structure.stop"))
	case len(wrong) > 0:
		out.Lines = append(wrong, phrase.Of("day.structure.first"))
		out.Again = true
	default:
		out.Lines = []phrase.Text{phrase.Of("day.structure.ok").Saying("who", w.Value(p, "who"))}
	}
	return out
}
