package day

import (
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/reading"
	"sillbot/internal/safety"
)

// takeout tells how the old window comes out, and takes where inside work begins: mm in
// from the finished face of the wall, a board's left and right end as seen from outside.
var takeout = Part{Name: "takeout", At: job.Delivered, Fields: []Field{
	{Name: "board", Usual: inReveal, Ask: never},
	{Name: "boardright", Usual: inReveal, Ask: never},
	{Name: "left", Usual: inReveal, Ask: never},
	{Name: "right", Usual: inReveal, Ask: never},
}, Together: []string{"board+boardright", "left+right"}, Tells: func(w *Window) []phrase.Text {
	lines := told(func(p plan.Plan) []phrase.Text {
		if o := &p.Opening; w.Value(&structureKeys, "lintel") == OK && (o.Over == "" || o.Over == safety.OverHidden) && !o.NoLintel && !o.Bay {
			o.Over = safety.OverLintel // somebody looked before it comes out, and saw it at each leaf
		}
		return p.TakeOutLines()
	})(w)
	return append(lines, phrase.Of("takeout.measured").WithInt("n", w.ID))
}, Ends: func(_ *Part, w *Window) Outcome {
	if len(w.insideWork()) == 0 {
		return Outcome{}
	}
	return Outcome{Lines: told(func(p plan.Plan) []phrase.Text { return p.CutBackLines(w.insideWork()) })(w)}
}}

// inReveal is how far in inside work may begin.
var inReveal = reading.MM(0, 600)

// sillpiece tells what comes before the frame is set; how far the piece goes past the
// opening may be said.
var sillpiece = Part{Name: "sillpiece", At: job.Out, Fields: []Field{
	{Name: "past", Usual: reading.MM(0, 300), Ask: never},
}, Tells: func(w *Window) []phrase.Text {
	if w.Has(&pastKeys, "past") {
		return nil // as it ends
	}
	return told(plan.Plan.SillLines)(w)
}, Ends: func(p *Part, w *Window) Outcome {
	if !w.Has(p, "past") {
		return Outcome{}
	}
	return Outcome{Lines: told(plan.Plan.SillLines)(w)}
}}

// fixing tells hole and screw of each place, once it is known what the screws go into.
var fixing = Part{Name: "fixing", At: job.Out, Fields: []Field{
	{Name: "masonry", Kind: Choice, Sorts: true, Codes: []string{"brick", "concrete", "aerated", "hollow"}, Ask: masonryUnknown},
}, Tells: func(w *Window) []phrase.Text {
	if masonryUnknown(w) {
		return nil // after it was asked
	}
	return told(plan.Plan.FixingLines)(w)
}, Ends: func(p *Part, w *Window) Outcome {
	if !masonryUnknown(w) || !w.Has(p, "masonry") {
		return Outcome{}
	}
	return Outcome{Lines: told(plan.Plan.FixingLines)(w)}
}}

// masonryUnknown says whether the survey does not say what the screws go into.
func masonryUnknown(w *Window) bool { return w.Record().Plan.Masonry == "" }

// seal tells foam, strip and sealant of each joint, and takes the temperature of the can.
var seal = Part{Name: "seal", At: job.Glazed, Fields: []Field{
	{Name: "can", Kind: Degree},
}, Tells: told(plan.Plan.SealLines), Ends: func(p *Part, w *Window) Outcome {
	can := w.Number(p, "can")
	if can == nil {
		return Outcome{}
	}
	lines, ok := plan.CanLines(*can)
	return Outcome{Lines: lines, Again: !ok}
}}

// told makes lines of a plan into what a part tells.
func told(lines func(plan.Plan) []phrase.Text) func(*Window) []phrase.Text {
	return func(w *Window) []phrase.Text {
		made, err := w.Planned()
		if err != nil {
			text, _ := plan.WhyRefused(err)
			return []phrase.Text{text}
		}
		return lines(made)
	}
}

// Houses are the fields of which one answer holds for the house: they are taken over
// from a window where they were said.
var Houses = []opening.Key{"fixing.masonry", "patch.wall", "patch.mix"}

// Read is what was read of a field by its key; "" for nothing.
func (w *Window) Read(key opening.Key) string {
	if v := w.read[key].Value; v != opening.Skipped {
		return v
	}
	return ""
}
