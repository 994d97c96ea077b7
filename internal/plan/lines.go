package plan

import (
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// OrderLines are the order size, the two sums with their reasons, and the
// warnings.
func OrderLines(order calc.Order, sillDepth decimal.Decimal) []phrase.Text {
	return NewOrderLines(order, sillDepth, nil)
}

// NewOrderLines leaves out the sum of a dimension and the warnings that are as
// they were before; nil says everything.
func NewOrderLines(order calc.Order, sillDepth decimal.Decimal, before *calc.Order) []phrase.Text {
	lines := []phrase.Text{phrase.Of("order.size").With("width", order.Size.Width).With("height", order.Size.Height)}
	if sillDepth.IsPositive() {
		lines = append(lines, phrase.Of("order.sill").With("depth", sillDepth))
	}
	if before == nil || !order.Size.Width.Equal(before.Size.Width) {
		lines = append(lines, sumText(order, calc.Width))
	}
	if before == nil || !order.Size.Height.Equal(before.Size.Height) {
		lines = append(lines, sumText(order, calc.Height))
	}
	for _, warning := range order.Warnings {
		if before == nil || !slices.ContainsFunc(before.Warnings, func(old calc.Reason) bool { return reflect.DeepEqual(old, warning) }) {
			lines = append(lines, phrase.Of("order.warning").Sub1("warning", ReasonText(warning)))
		}
	}
	return lines
}

// sumText writes the sum of one dimension out: the reading, what came off or
// on, and the rule behind each. A rule is said once.
func sumText(order calc.Order, dimension calc.Dimension) phrase.Text {
	var figures, reasons []phrase.Text
	said := map[string]bool{}
	var exact, rounded decimal.Decimal
	for _, step := range order.Steps {
		if step.Dimension != dimension {
			continue
		}
		if step.Reason.Rule == "order_round" {
			rounded = step.Amount
			continue
		}
		if !said[step.Reason.Rule] {
			said[step.Reason.Rule] = true
			reasons = append(reasons, ReasonText(step.Reason))
		}
		exact = exact.Add(step.Amount)
		figures = append(figures, summand(step.Amount, len(figures) == 0))
	}
	t := phrase.Of("sum." + string(dimension))
	if !rounded.IsZero() {
		t = phrase.Of("sum."+string(dimension)+".rounded").With("exact", exact)
	}
	return t.With("total", exact.Add(rounded)).Sub1("sum", spaced(figures)).Sub1("reasons", spaced(reasons))
}

// summand is one figure of a sum with its sign.
func summand(amount decimal.Decimal, first bool) phrase.Text {
	switch {
	case first:
		return phrase.Of("sum.first").With("n", amount)
	case amount.IsNegative():
		return phrase.Of("sum.less").With("n", amount.Neg())
	}
	return phrase.Of("sum.more").With("n", amount)
}

// spaced sets texts side by side with a space between.
func spaced(items []phrase.Text) phrase.Text {
	var t phrase.Text
	for i := len(items) - 1; i >= 0; i-- {
		if i == len(items)-1 {
			t = items[i]
			continue
		}
		t = phrase.Of("pair").Sub1("first", items[i]).Sub1("rest", t)
	}
	return t
}

// fixingLines are the places of the fixings and the screws.
func (p Plan) fixingLines() []phrase.Text {
	lines := []phrase.Text{phrase.Of("plan.fixings").WithInt("count", p.Fixings.Count)}
	for _, side := range p.Fixings.Sides {
		lines = append(append(lines, fixingLine(side)), shorts(side.Shortfall)...)
	}
	lines = append(lines, p.screwLines()...)
	told, _ := p.sectionReasons()
	return append(lines, shorts(told)...)
}

// screwLines are the stock length of the screws, by places where it differs,
// and what keeps a place from having one.
func (p Plan) screwLines() []phrase.Text {
	var items []phrase.Text
	var troubles []calc.Reason
	alike := true
	for _, w := range p.Screws {
		alike = alike && w.Length.Equal(p.Screws[0].Length)
		switch {
		case w.Length.IsPositive():
			items = append(items, phrase.Of("plan.screws.item").WithInt("count", p.screwsAt(w)).With("length", w.Length).Word("place", w.Why.Words["place"]))
		case !slices.ContainsFunc(troubles, func(r calc.Reason) bool { return r.Rule == w.Why.Rule && r.Rule != "screw_beyond" }):
			troubles = append(troubles, w.Why)
		}
	}
	if len(items) == 0 {
		return shorts(troubles)
	}
	if alike {
		items = []phrase.Text{phrase.Of("plan.screws.all").WithInt("count", p.screws()).With("length", p.Screws[0].Length)}
	}
	key := "plan.screws"
	if p.atJoint() {
		key = "plan.screws.joint"
	}
	return append([]phrase.Text{phrase.Of(key).WithRow("items", items...)}, shorts(troubles)...)
}

// atJoint reports whether a fixing had to be left at a bed joint.
func (p Plan) atJoint() bool {
	return slices.ContainsFunc(p.Fixings.Sides, func(side calc.SideFixings) bool {
		return slices.ContainsFunc(side.Shortfall, func(r calc.Reason) bool { return r.Rule == "fixing_in_joint" })
	})
}

// shorts are reasons why something falls short.
func shorts(reasons []calc.Reason) []phrase.Text {
	var lines []phrase.Text
	for _, r := range reasons {
		lines = append(lines, phrase.Of("plan.short").Sub1("reason", ReasonText(r)))
	}
	return lines
}

// places is how finely a quantity is said, after the decimal point: millilitres
// by tens, the rest by tenths.
func places(unit string) int32 {
	if unit == "ml" {
		return -1
	}
	return 1
}

// storeLines are the stores to take along, waste included.
func (p Plan) storeLines() []phrase.Text {
	var lines, items []phrase.Text
	for _, item := range p.Take.Items {
		if item.Kind == calc.ScrewItem || !item.Need.IsPositive() {
			continue // screws stand with the fixings
		}
		items = append(items, phrase.Of("plan.item").Word("item", "item."+string(item.Kind)).
			With("need", item.Need.Add(item.Waste).RoundUp(places(item.Unit))).Word("unit", "unit."+item.Unit))
	}
	if len(items) > 0 {
		lines = append(lines, phrase.Of("plan.store").WithRow("items", items...))
	}
	return append(lines, shorts(p.Take.Reasons)...)
}

func fixingLine(side calc.SideFixings) phrase.Text {
	if len(side.At) == 0 {
		return phrase.Of("plan.fixings.none").Word("side", "plan.side."+string(side.Side))
	}
	return phrase.Of("plan.fixings."+string(side.Side)).WithInt("count", len(side.At)).WithRow("places", numbers(side.At)...)
}

func numbers(ns []decimal.Decimal) []phrase.Text {
	texts := make([]phrase.Text, len(ns))
	for i, n := range ns {
		texts[i] = phrase.Of("number").With("n", n)
	}
	return texts
}

// packerLines are the stacks, their troubles and what to take along.
func (p Plan) packerLines(troubles []calc.Reason) []phrase.Text {
	return slices.Concat(p.stackLines(), shorts(troubles), takeLines(p.Packers.Take))
}

// Troubles are what is wrong with the gaps at the packers: of each side the
// widest place that is too wide and the narrowest that takes no packer. What
// helps is the same all along a side, so that one line a side says it.
func (p Plan) Troubles() []calc.Reason {
	var out []calc.Reason
	for _, side := range sides {
		for _, narrow := range []bool{true, false} {
			if place := p.worst(side, narrow); place != nil {
				out = append(out, *place.Trouble)
			}
		}
	}
	return out
}

// NewTroubles are those of Troubles that the order's own warnings leave out.
func (p Plan) NewTroubles() []calc.Reason {
	return slices.DeleteFunc(p.Troubles(), func(trouble calc.Reason) bool {
		return slices.ContainsFunc(p.Order.Warnings, func(w calc.Reason) bool {
			return "packer_"+w.Rule == trouble.Rule && w.Words["side"] == trouble.Words["side"]
		})
	})
}

// worst is the place of a side with the worst trouble of one kind, nil when
// there is none.
func (p Plan) worst(side calc.Side, narrow bool) *calc.PackerPlace {
	var worst *calc.PackerPlace
	for i, place := range p.Packers.Places {
		if place.Side != side || place.Trouble == nil || place.NoRoom() != narrow {
			continue
		}
		if worst == nil || narrow && place.Gap.LessThan(worst.Gap) || !narrow && place.Gap.GreaterThan(worst.Gap) {
			worst = &p.Packers.Places[i]
		}
	}
	return worst
}

// stackLines are the stacks side by side in the order of the fixings.
func (p Plan) stackLines() []phrase.Text {
	lines := []phrase.Text{phrase.Of("plan.packers")}
	for _, side := range sides {
		if stacks := p.stackTexts(side); len(stacks) > 0 {
			lines = append(lines, phrase.Of("plan.packers.side").Word("side", "plan.side."+string(side)).WithRow("stacks", stacks...))
		}
	}
	return lines
}

func (p Plan) stackTexts(side calc.Side) []phrase.Text {
	var stacks []phrase.Text
	for _, place := range p.Packers.Places {
		if place.Side == side {
			stacks = append(stacks, stackText(place))
		}
	}
	return stacks
}

// takeLines are the packers to take along.
func takeLines(counts []calc.PackerCount) []phrase.Text {
	var take []phrase.Text
	for _, c := range counts {
		take = append(take, phrase.Of("plan.take.packer").WithInt("thickness", c.Thickness).WithInt("count", c.Pieces))
	}
	if len(take) == 0 {
		return nil
	}
	return []phrase.Text{phrase.Of("plan.take").WithRow("items", take...)}
}

func stackText(place calc.PackerPlace) phrase.Text {
	key := "plan.stack"
	switch {
	case place.Unseen:
		key = "plan.stack.unseen"
	case len(place.Stack) == 0:
		key = "plan.stack.none"
	case place.Bed:
		key = "plan.stack.bed"
	}
	return phrase.Of(key).With("at", place.At).Saying("stack", piecesOf(place))
}

// piecesOf is a stack as it is written: 5+3.
func piecesOf(place calc.PackerPlace) string {
	pieces := make([]string, len(place.Stack))
	for i, thickness := range place.Stack {
		pieces[i] = strconv.Itoa(thickness)
	}
	return strings.Join(pieces, "+")
}

// glassLines are each light's glass and where its blocks go.
func (p Plan) glassLines() []phrase.Text {
	lines := []phrase.Text{phrase.Of("plan.glass")}
	for i, g := range p.Glass {
		light := p.Layout.Lights[g.Light]
		line := phrase.Of("plan.light").WithInt("n", i+1).Word("opens", "button.light."+string(light.Hinge)).
			With("width", g.Glass.Width).With("height", g.Glass.Height).Word("blocks", "blocks."+string(light.Hinge))
		lines = append(lines, line)
		if g.Mass.IsPositive() {
			lines = append(lines, massLine(g))
		}
	}
	return lines
}

func massLine(g calc.GlassPlan) phrase.Text {
	if g.Team == 0 {
		return phrase.Of("plan.mass.aid").With("mass", g.Mass.Round(1))
	}
	return phrase.Of("plan.mass").With("mass", g.Mass.Round(1)).WithInt("count", g.Team)
}

// WarningLines are the findings, those that stop the work first.
func (p Plan) WarningLines() []phrase.Text {
	lines := []phrase.Text{phrase.Of("warnings.title")}
	for _, f := range p.Findings {
		lines = append(lines, warningLine(f, len(p.Layout.Lights)))
	}
	return append(lines, phrase.Of("warnings.footer"))
}

// warningLine is one finding, with its lights where it is not about all of
// them.
func warningLine(f safety.Finding, lights int) phrase.Text {
	line := phrase.Of("warnings." + string(f.Severity))
	if len(f.Lights) > 0 && len(f.Lights) < lights {
		line = phrase.Of("warnings."+string(f.Severity)+".lights").WithRow("lights", lightNumbers(f.Lights)...)
	}
	line = line.Sub1("finding", FindingText(f))
	if source, ok := SourceText(f); ok {
		return line.Sub1("source", source)
	}
	if f.Mark != "" {
		return line.Sub1("source", phrase.Of("source.mark").Word("mark", "mark."+string(f.Mark)))
	}
	return line.Word("source", "")
}

// sourced is a reason's sentence with where it is from.
func sourced(r calc.Reason, words phrase.Text) phrase.Text {
	t := phrase.Of("why.plain").Sub1("reason", words)
	switch {
	case r.Source != "":
		t.Key = "why.sourced"
		t = t.Word("source", "source."+r.Source).Sub1("mark", markText(r.Own, r.Mark))
	case r.Mark != "":
		t.Key = "why.marked"
		t = t.Word("mark", "mark."+string(r.Mark))
	}
	return t
}
