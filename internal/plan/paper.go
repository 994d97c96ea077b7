package plan

import (
	"strings"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
)

// ArrivalPaper is how the delivered frame stood to its order, without what the fitter may
// still try.
func (p Plan) ArrivalPaper() []phrase.Text {
	if p.Arrival == nil {
		return nil
	}
	var lines []phrase.Text
	for _, c := range p.Arrival.Checks {
		for _, why := range c.Reasons {
			if !strings.HasPrefix(why.Rule, "arrive_maybe") {
				lines = append(lines, SourcedText(why))
			}
		}
	}
	return lines
}

// SetPaper is how a frame stood on its packers when it was read last, each reading with
// its limit.
func SetPaper(r calc.SetResult) []phrase.Text {
	var lines []phrase.Text
	for _, v := range r.Now.Verdicts {
		if v.Read {
			lines = append(lines, SourcedText(v.Reason))
		}
	}
	return lines
}

// SourcedText is a reason with the source behind it and how far it may be trusted.
func SourcedText(r calc.Reason) phrase.Text {
	if r.Source == "" {
		return markedText(r, ReasonText(r))
	}
	return phrase.Of("plan.sourced").Sub1("reason", ReasonText(r)).Word("source", "source."+r.Source).Sub1("mark", markText(r.Own, r.Mark))
}
