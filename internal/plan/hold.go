package plan

import (
	"errors"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// Hold is a reason why a window must not be ordered as it stands.
type Hold struct {
	Rule string // "readings", or that of a finding
	Text phrase.Text
	// Finding is what a rule stops; nil for readings.
	Finding *safety.Finding
}

// Holds are why the window must not be ordered: readings that can't all be
// right, and what a rule stops. None: it may be.
func (p Plan) Holds() []Hold {
	var holds []Hold
	if suspects := p.Order.Figure.Suspects; len(suspects) > 0 {
		holds = append(holds, Hold{Rule: "readings", Text: phrase.Of("plan.hold.readings").WithRow("readings", likeliest(suspects)...)})
	}
	for _, w := range p.Order.Warnings {
		if w.Rule == "arched" {
			holds = append(holds, Hold{Rule: w.Rule, Text: ReasonText(w)})
		}
	}
	for i := range p.Findings {
		if f := &p.Findings[i]; f.Severity == safety.Stop {
			holds = append(holds, Hold{f.Rule, FindingText(*f), f})
		}
	}
	return holds
}

// likeliest names the readings that are most likely the mistake.
func likeliest(suspects []calc.Suspect) []phrase.Text {
	var names []phrase.Text
	for _, s := range suspects {
		if s.Rank == suspects[0].Rank {
			names = append(names, phrase.Of("reading."+s.Reading))
			if s.With != "" {
				names = append(names, phrase.Of("reading."+s.With))
			}
		}
	}
	return names
}

// WhyRefused is why an opening of a file has no plan. The error is a
// *calc.RefusalError or FieldErrors; ok is false for any other.
func WhyRefused(err error) (t phrase.Text, ok bool) {
	if refused, ok := errors.AsType[*calc.RefusalError](err); ok {
		return ReasonText(refused.Reason), true
	}
	wrong, ok := errors.AsType[FieldErrors](err)
	if !ok {
		return phrase.Text{}, false
	}
	return phrase.Of("plan.wrong").Sub1("errors", wrongFields(wrong)), true
}

// wrongFields are errors one after another; many of them have commas.
func wrongFields(wrong FieldErrors) (all phrase.Text) {
	for i := len(wrong) - 1; i >= 0; i-- {
		one := phrase.Of("plan.wrong.field").Saying("field", wrong[i].Field).Saying("why", wrong[i].Why)
		if i == len(wrong)-1 {
			all = one
			continue
		}
		all = phrase.Of("plan.wrong.more").Sub1("one", one).Sub1("others", all)
	}
	return all
}
