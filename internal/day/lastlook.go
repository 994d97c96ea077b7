package day

import (
	"slices"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// lastlook is what is looked at before the paper is handed over: as much of it as this
// window has. What is not all right of it is a snag.
var lastlook = Part{Name: "lastlook", At: job.Sealed, Fields: []Field{
	{Name: "drains", Kind: Tick, Ask: drains},
	{Name: "shuts", Kind: Tick, Ask: opensSome},
	{Name: "stays", Kind: Tick, Ask: staysWanted},
	{Name: "vent", Kind: Tick, Ask: ventOrdered},
	{Name: "marks", Kind: Tick, Ask: safetyGlass},
	{Name: "screws", Kind: Tick},
	{Name: "board", Kind: Tick},
	{Name: "rubbish", Kind: Tick},
	{Name: "papers", Kind: Tick},
}, Ends: endLastlook}

// drains says whether the frame lets water out by slots. Common practice, no source:
// frames of timber and steel are drained otherwise.
func drains(w *Window) bool {
	m := w.Record().Plan.Material
	return m != calc.Timber && m != calc.Steel
}

func opensSome(w *Window) bool {
	return slices.ContainsFunc(w.Record().Plan.Layout.Lights, func(l calc.Light) bool { return l.Hinge != calc.FixedLight && l.Hinge != "" })
}

// staysWanted says whether a restrictor was ordered, or a rule asks about one.
func staysWanted(w *Window) bool {
	o := w.Record().Plan
	if slices.ContainsFunc(o.Sashes, func(s opening.Sash) bool { return s.Restrictor.IsPositive() }) {
		return true
	}
	line, _ := w.Told()
	for _, pair := range line.Stated {
		if pair.Key == "stays" && pair.Value == "each" {
			return true
		}
	}
	return slices.ContainsFunc(line.Safety, func(f safety.Finding) bool {
		return f.Topic == safety.Guarding && f.Scope == safety.OfWindow && f.Severity != safety.Clear
	})
}

func endLastlook(p *Part, w *Window) Outcome {
	var out Outcome
	open := OpenSnags(w.Snags())
	looked := 0
	var passed []phrase.Text
	for i := range p.Fields {
		f := &p.Fields[i]
		switch value := w.Value(p, f.Name); {
		case value == opening.Skipped:
			passed = append(passed, p.Title(f))
		case value != "":
			looked++
		}
	}
	if len(open) == 0 {
		out.Lines = append(out.Lines, phrase.Of("day.lastlook.ok").WithInt("count", looked))
	} else {
		out.Lines = append(out.Lines, phrase.Of("day.lastlook.snags").WithInt("count", len(open)))
		for _, s := range open {
			out.Lines = append(out.Lines, s.Line(w.ID))
		}
		out.Lines = append(out.Lines, phrase.Of("day.lastlook.close").Saying("snag", open[0].Ref(w.ID)))
	}
	if len(passed) > 0 {
		out.Lines = append(out.Lines, phrase.Of("day.lastlook.passed").WithRow("names", passed...))
	}
	return out
}
