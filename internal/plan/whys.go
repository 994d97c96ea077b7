package plan

import (
	"maps"
	"slices"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
)

// Lights and sides have reasons of the same rule with different figures. Said
// one below the other without their place they would contradict each other.

// glassWhy is a reason that the glass of some lights has in common.
type glassWhy struct {
	reason calc.Reason
	lights []int
}

// glassWhys gathers the reasons of the glass over its lights.
func (p Plan) glassWhys() []glassWhy {
	var out []glassWhy
	for _, g := range p.Glass {
		for _, r := range g.Reasons {
			i := slices.IndexFunc(out, func(w glassWhy) bool { return alike(w.reason, r, "number") })
			if i < 0 {
				out = append(out, glassWhy{r, []int{g.Light}})
				continue
			}
			out[i].lights = append(out[i].lights, g.Light)
		}
	}
	for _, r := range p.Weight.Reasons {
		out = append(out, glassWhy{r, allLights(len(p.Glass))})
	}
	return out
}

func allLights(n int) []int {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	return all
}

// ofLights is the reason behind the numbers of its lights.
func (p Plan) ofLights(w glassWhy) phrase.Text {
	if len(w.lights) == len(p.Glass) {
		return ReasonText(w.reason)
	}
	return phrase.Of("plan.of.lights").WithRow("lights", lightNumbers(w.lights)...).Sub1("reason", ReasonText(w.reason))
}

// lightNumbers are lights as people count them, from 1.
func lightNumbers(lights []int) []phrase.Text {
	numbers := make([]phrase.Text, len(lights))
	for i, light := range lights {
		numbers[i] = phrase.Of("number").WithInt("n", light+1)
	}
	return numbers
}

// jointWhy is a reason that the joints of some sides have in common. Where
// their gaps differ it is that of the narrowest, which is strained most.
type jointWhy struct {
	reason    calc.Reason
	sides     []calc.Side
	narrowest calc.Side
	uneven    bool
}

// jointWhys gathers reasons of the joints over the sides. A joint too wide for
// mastic is said with its own gap.
func (p Plan) jointWhys(of func(calc.Joint) []calc.Reason) []jointWhy {
	var out []jointWhy
	for _, side := range sides {
		for _, r := range of(p.Joints[side]) {
			but := "gap"
			if r.Rule == "joint_wide" {
				but = ""
			}
			i := slices.IndexFunc(out, func(w jointWhy) bool { return alike(w.reason, r, but) })
			if i < 0 {
				out = append(out, jointWhy{r, []calc.Side{side}, side, false})
				continue
			}
			out[i].add(side, r)
		}
	}
	return out
}

func (w *jointWhy) add(side calc.Side, r calc.Reason) {
	w.sides = append(w.sides, side)
	gap, narrowest := r.Figures["gap"], w.reason.Figures["gap"]
	w.uneven = w.uneven || !gap.Equal(narrowest)
	if gap.LessThan(narrowest) {
		w.reason, w.narrowest = r, side
	}
}

// ofSides is the reason behind the names of its sides.
func (p Plan) ofSides(w jointWhy) phrase.Text {
	words := ReasonText(w.reason)
	all := len(w.sides) == len(p.Joints)
	if all && !w.uneven {
		return words
	}
	names := make([]phrase.Text, len(w.sides))
	for i, side := range w.sides {
		names[i] = phrase.Of("side." + string(side))
	}
	names[0] = phrase.Of("plan.side." + string(w.sides[0])) // begins with a capital
	t := phrase.Of("plan.of.sides").WithRow("sides", names...)
	switch {
	case w.uneven && all:
		t = phrase.Of("plan.of.all.narrowest").Word("narrowest", "side."+string(w.narrowest))
	case w.uneven:
		t.Key = "plan.of.sides.narrowest"
		t = t.Word("narrowest", "side."+string(w.narrowest))
	}
	return t.Sub1("reason", words)
}

// alike reports whether two reasons say the same, whatever the figure named
// but is.
func alike(a, b calc.Reason, but string) bool {
	if a.Rule != b.Rule || len(a.Figures) != len(b.Figures) || !maps.Equal(a.Words, b.Words) {
		return false
	}
	for name, figure := range a.Figures {
		other, ok := b.Figures[name]
		if !ok || name != but && !figure.Equal(other) {
			return false
		}
	}
	return true
}

// jointLines are the four joints, then what the frame's movement asks of the sealant.
func (p Plan) jointLines() []phrase.Text {
	if len(p.Joints) == 0 {
		return nil
	}
	lines := []phrase.Text{phrase.Of("plan.joints")}
	for _, side := range sides {
		if j, ok := p.Joints[side]; ok {
			lines = append(lines, jointLine(side, j))
		}
	}
	for _, w := range p.jointWhys(func(j calc.Joint) []calc.Reason { return j.Reasons }) {
		switch w.reason.Rule {
		case "joint_movement", "joint_class", "joint_own", "joint_long":
			lines = append(lines, markedText(w.reason, p.ofSides(w)))
		}
	}
	for _, w := range p.jointWhys(func(j calc.Joint) []calc.Reason { return j.Warnings }) {
		lines = append(lines, phrase.Of("plan.short").Sub1("reason", p.ofSides(w)))
	}
	return lines
}

// jointLine is how the joint of one side is sealed.
func jointLine(side calc.Side, j calc.Joint) phrase.Text {
	key := "plan.joint"
	switch {
	case j.TooWide():
		key = "plan.joint.wide"
	case j.Lap.IsPositive():
		key = "plan.joint.fillet"
	}
	return phrase.Of(key).Word("side", "plan.side."+string(side)).
		With("gap", j.Gap).With("depth", j.Depth).With("lap", j.Lap)
}

// sides is the order in which the four sides are said.
var sides = []calc.Side{calc.Left, calc.Right, calc.Head, calc.Sill}
