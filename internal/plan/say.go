package plan

import (
	"maps"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// ReasonText is a reason in words.
func ReasonText(r calc.Reason) phrase.Text {
	t := phrase.Filled("why."+r.Rule, r.Figures, r.Words)
	if r.Rule != "bill" {
		return t
	}
	t.Num = map[string]decimal.Decimal{"share": r.Figures["share"]}
	for _, name := range []string{"net", "vat", "gross", "deposit", "balance"} {
		t = t.Saying(name, Pounds(r.Figures[name]))
	}
	return t
}

// markedText is a reason's sentence with how far it may be trusted.
func markedText(r calc.Reason, words phrase.Text) phrase.Text {
	return phrase.Of("plan.marked").Sub1("reason", words).Word("mark", "mark."+string(r.Mark))
}

// Pounds writes money to the penny.
func Pounds(d decimal.Decimal) string { return d.StringFixed(2) }

// sterling writes money to the penny with its sign before the pound.
func sterling(d decimal.Decimal) string {
	if d.IsNegative() {
		return "−£" + Pounds(d.Neg())
	}
	return "£" + Pounds(d)
}

// FindingText is a finding in words, without its document.
func FindingText(f safety.Finding) phrase.Text {
	t := phrase.Filled("finding."+f.Rule, f.Figures, f.Words)
	t.Say = maps.Clone(f.Said)
	if day, err := time.Parse(DateForm, t.Say["day"]); err == nil {
		delete(t.Say, "day")
		t = t.Sub1("day", phrase.Day(day))
	}
	return t
}

// SourceText names the document of a finding, its clause and edition and how
// far it may be trusted; ok is false when there is none to name.
func SourceText(f safety.Finding) (phrase.Text, bool) {
	if f.Document == "" {
		return phrase.Text{}, false
	}
	t := phrase.Of("source.line")
	switch {
	case f.Clause != "" && f.Edition != "":
		t = phrase.Of("source.line.part.part").Saying("part1", f.Clause).Saying("part2", f.Edition)
	case f.Clause != "" || f.Edition != "":
		t = phrase.Of("source.line.part").Saying("part1", f.Clause+f.Edition)
	}
	return t.Word("document", "source."+f.Document).Sub1("mark", markText(f.Own, f.Mark)), true
}

// markText is how far something may be trusted, and before it how far its source
// goes by itself where that is further.
func markText(own, mark calc.Mark) phrase.Text {
	if own != "" && (mark == calc.FromMemory || mark == calc.Practice) {
		return phrase.Of("mark.weaker").Word("own", "mark."+string(own)).Word("mark", "mark.with."+string(mark))
	}
	return phrase.Of("mark." + string(mark))
}

// RefusalText is why no answer can be given, and what to do.
func RefusalText(refused *calc.RefusalError) phrase.Text {
	return phrase.Of("refused").Sub1("reason", ReasonText(refused.Reason))
}

// reasonLines are reasons as sentences, without their sources.
func reasonLines(reasons []calc.Reason) []phrase.Text {
	var lines []phrase.Text
	for _, r := range reasons {
		lines = append(lines, ReasonText(r))
	}
	return lines
}

// markedLines are reasons that a person may go by, with how far.
func markedLines(reasons []calc.Reason) []phrase.Text {
	var lines []phrase.Text
	for _, r := range reasons {
		lines = append(lines, markedText(r, ReasonText(r)))
	}
	return lines
}
