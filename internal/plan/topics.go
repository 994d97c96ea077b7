package plan

import (
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// Topics are what can be asked about a plan. They stand on buttons.
var Topics = []string{"size", "screws", "packers", "left", "head", "right", "sill", "glass", "joints", "vents", "safety", "stores", "job"}

// Why is what gave the figures of a topic: readings, rules, sources and marks.
func (p Plan) Why(topic string) []phrase.Text {
	switch topic {
	case "left", "right", "head", "sill":
		return p.whySide(calc.Side(topic))
	case "screws":
		asked, more := p.sectionReasons()
		return slices.Concat(p.fixingLines(), sourcedAll(p.Fixings.Reasons, p.screwReasons(), asked, more))
	case "packers":
		return slices.Concat(p.packerLines(p.Troubles()), sourcedAll(p.Packers.Reasons))
	case "glass":
		var lines []phrase.Text
		for _, w := range p.glassWhys() {
			lines = append(lines, sourced(w.reason, p.ofLights(w)))
		}
		return append(lines, p.findingLines(ofTopics(safety.Glass, safety.Bath))...)
	case "joints":
		var lines []phrase.Text
		for _, w := range p.jointWhys(func(j calc.Joint) []calc.Reason { return slices.Concat(j.Reasons, j.Warnings) }) {
			lines = append(lines, sourced(w.reason, p.ofSides(w)))
		}
		return lines
	case "vents":
		return append(p.airLines(), p.findingLines(ofTopics(safety.Vents, safety.Purge))...)
	case "safety":
		return p.findingLines(ofTopics(safety.Structure, safety.Missing, safety.Glass, safety.Bath, safety.Guarding, safety.Escape))
	case "stores":
		return slices.Concat(takeLines(p.Packers.Take), p.storeLines())
	case "job":
		return p.findingLines(func(f safety.Finding) bool { return f.Scope == safety.OfJob && !f.CardOnly })
	}
	return p.whySize()
}

// whySize are both sums with the rule behind each figure, the figure of the opening,
// and what is still to be feared.
func (p Plan) whySize() []phrase.Text {
	lines := SizeLines(p.Order)
	var reasons []calc.Reason
	for _, step := range p.Order.Steps {
		reasons = append(reasons, step.Reason)
	}
	lines = append(lines, sourcedAll(reasons, p.Order.Figure.Reasons)...)
	lines = append(lines, p.riskLines()...)
	return append(lines, shorts(p.Order.Warnings)...)
}

// SizeLines are both dimensions with what each is made of, in a line or two of a phone.
func SizeLines(order calc.Order) []phrase.Text {
	return []phrase.Text{sizeLine(order, calc.Width), sizeLine(order, calc.Height)}
}

func sizeLine(order calc.Order, dimension calc.Dimension) phrase.Text {
	var terms []phrase.Text
	total := decimal.Zero
	for _, step := range order.Steps {
		if step.Dimension != dimension {
			continue
		}
		total = total.Add(step.Amount)
		if step.Reason.Rule != "order_round" {
			terms = append(terms, phrase.Of("term").Sub1("figure", summand(step.Amount, len(terms) == 0)).Sub1("of", termOf(step.Reason)))
		}
	}
	return phrase.Of("size."+string(dimension)).With("total", total).Sub1("sum", spaced(terms))
}

// termOf names what a figure of a sum is.
func termOf(r calc.Reason) phrase.Text {
	switch rule := r.Rule; {
	case rule == "order_smallest":
		return phrase.Of(r.Words["reading"])
	case rule == "order_sill_piece":
		return phrase.Of("term.sill")
	case strings.HasPrefix(rule, "order_plaster"):
		return phrase.Of("term.plaster")
	case strings.HasPrefix(rule, "order_check"):
		return phrase.Of("term.overlap")
	case strings.HasPrefix(rule, "order_lean"):
		return phrase.Of("term.lean")
	case strings.HasPrefix(rule, "order_inner"):
		return phrase.Of("term.inner")
	}
	return phrase.Of("term.gap")
}

// whySide is all that was worked out for one side.
func (p Plan) whySide(side calc.Side) []phrase.Text {
	var lines []phrase.Text
	for _, s := range p.Fixings.Sides {
		if s.Side == side {
			lines = append(append(lines, fixingLine(s)), shorts(s.Shortfall)...)
			lines = append(lines, sourcedAll(s.Reasons)...)
		}
	}
	if stacks := p.stackTexts(side); len(stacks) > 0 {
		lines = append(lines, phrase.Of("plan.packers.of").WithRow("stacks", stacks...))
	}
	for _, trouble := range p.Troubles() {
		if trouble.Words["side"] == "side."+string(side) {
			lines = append(lines, shorts([]calc.Reason{trouble})...)
		}
	}
	dimension := calc.Height
	if side == calc.Left || side == calc.Right {
		dimension = calc.Width
	}
	for _, step := range p.Order.Steps {
		if step.Dimension == dimension && strings.HasPrefix(step.Reason.Rule, "gap_table") {
			lines = append(lines, sourced(step.Reason, ReasonText(step.Reason)))
		}
	}
	if j, ok := p.Joints[side]; ok {
		lines = append(lines, jointLine(side, j))
	}
	return append(lines, sourcedAll([]calc.Reason{p.Fixings.Reasons[0]})...)
}

// sourcedAll are reasons with their sources, each rule once.
func sourcedAll(lists ...[]calc.Reason) []phrase.Text {
	var lines []phrase.Text
	said := map[string]bool{}
	for _, r := range slices.Concat(lists...) {
		if !said[r.Rule] && r.Rule != "order_round" {
			said[r.Rule] = true
			lines = append(lines, sourced(r, ReasonText(r)))
		}
	}
	return lines
}

// findingLines are whole findings with their sources.
func (p Plan) findingLines(of func(safety.Finding) bool) []phrase.Text {
	var lines []phrase.Text
	for _, f := range p.Findings {
		if of(f) {
			lines = append(lines, p.whole(f))
		}
	}
	return lines
}

// whole is a finding in full. What was looked at and needs nothing is a tick on the
// card alone, and plain words elsewhere.
func (p Plan) whole(f safety.Finding) phrase.Text {
	if f.CardOnly {
		f.Severity = safety.Advise
	}
	return warningLine(f, len(p.Layout.Lights))
}

func ofTopics(topics ...safety.Topic) func(safety.Finding) bool {
	return func(f safety.Finding) bool { return slices.Contains(topics, f.Topic) }
}

// Folded are the rules that are no ticks in full, with their sources: what a reader
// unfolds. A finding that but is true of is left out.
func (p Plan) Folded(but func(safety.Finding) bool) []phrase.Text {
	return p.findingLines(func(f safety.Finding) bool { return !f.CardOnly && !but(f) })
}

// WhyFigure is where a figure of the plan comes from, mm or what the figure counts; it is
// empty for a figure that is none of the plan's.
func (p Plan) WhyFigure(n decimal.Decimal) []phrase.Text {
	lines := p.whereRead(n)
	for _, side := range p.Fixings.Sides {
		if slices.ContainsFunc(side.At, n.Equal) {
			lines = append(lines, phrase.Of("figure.fixing").With("n", n).Word("place", "figure.place."+string(side.Side)))
			lines = append(lines, sourcedAll([]calc.Reason{p.Fixings.Reasons[0]}, side.Reasons)...)
		}
	}
	for _, place := range p.Packers.Places {
		if place.At.Equal(n) && len(place.Stack) > 0 {
			lines = append(lines, phrase.Of("figure.packer").With("n", n).Word("place", "figure.place."+string(place.Side)).
				With("gap", place.Gap.Round(1)).Saying("stack", stackWord(place)))
		}
	}
	var found []calc.Reason
	for _, r := range p.reasons() {
		for _, figure := range r.Figures {
			if figure.Equal(n) {
				found = append(found, r)
				break
			}
		}
	}
	lines = append(lines, sourcedAll(found)...)
	return p.unlike(append(lines, p.findingLines(func(f safety.Finding) bool {
		for _, figure := range f.Figures {
			if figure.Equal(n) {
				return true
			}
		}
		return false
	})...))
}

// whereRead is a figure as a reading or a size of the order.
func (p Plan) whereRead(n decimal.Decimal) []phrase.Text {
	var lines []phrase.Text
	o := p.Opening
	for i, v := range slices.Concat(o.Widths[:], o.Heights[:], []decimal.Decimal{o.Rising, o.Falling}) {
		if v.Equal(n) {
			lines = append(lines, phrase.Of("figure.reading").With("n", n).Word("reading", "reading."+opening.ReadingKeys[i]))
		}
	}
	if p.Order.Size.Width.Equal(n) {
		lines = append(lines, sizeLine(p.Order, calc.Width))
	}
	if p.Order.Size.Height.Equal(n) {
		lines = append(lines, sizeLine(p.Order, calc.Height))
	}
	return lines
}

// reasons are all of the plan's.
func (p Plan) reasons() []calc.Reason {
	_, asked := p.sectionReasons()
	all := slices.Concat(p.Order.Figure.Reasons, p.screwReasons(), asked, p.Packers.Reasons)
	for _, step := range p.Order.Steps {
		all = append(all, step.Reason)
	}
	for _, g := range p.Glass {
		all = append(all, g.Reasons...)
	}
	all = append(all, p.Weight.Reasons...)
	for _, side := range sides {
		all = append(all, p.Joints[side].Reasons...)
	}
	return all
}

// unlike are texts, each once.
func (p Plan) unlike(lines []phrase.Text) []phrase.Text {
	var out []phrase.Text
	for _, line := range lines {
		if !slices.ContainsFunc(out, line.Same) {
			out = append(out, line)
		}
	}
	return out
}
