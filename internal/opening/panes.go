package opening

import (
	"slices"
	"strconv"
	"strings"
)

// PaneGlass is of what the safety glass of one light is.
type PaneGlass struct {
	Light int // from 1
	Glass SafetyGlass
}

// PanesOf reads a value of ByLight; ok is false for one that is not of its form.
func PanesOf(value string) (list []PaneGlass, ok bool) {
	for part := range strings.SplitSeq(value, ",") {
		number, glass, _ := strings.Cut(strings.TrimSpace(part), " ")
		n, err := strconv.Atoi(number)
		of := slices.ContainsFunc(Find(ByClass).Rows, func(row []string) bool { return slices.Contains(row, glass) })
		if err != nil || n < 1 || !of || slices.ContainsFunc(list, func(p PaneGlass) bool { return p.Light == n }) {
			return nil, false
		}
		list = append(list, PaneGlass{n, SafetyGlass(glass)})
	}
	return list, true
}

// WithPanes is a value of ByLight in which these lights have that glass.
func WithPanes(value string, glass SafetyGlass, lights ...int) string {
	list, _ := PanesOf(value)
	for _, n := range lights {
		list = slices.DeleteFunc(list, func(p PaneGlass) bool { return p.Light == n })
		list = append(list, PaneGlass{n, glass})
	}
	slices.SortFunc(list, func(a, b PaneGlass) int { return a.Light - b.Light })
	parts := make([]string, len(list))
	for i, p := range list {
		parts[i] = strconv.Itoa(p.Light) + " " + string(p.Glass)
	}
	return strings.Join(parts, ", ")
}

// GlassOfLight is of what the safety glass of a light is by what was stated, by its index;
// "": nobody said. Skipped and DeskSays are answers.
func GlassOfLight(stated []Pair, light int) string {
	list, _ := PanesOf(StatedAs(stated, ByLight))
	for _, p := range list {
		if p.Light == light+1 {
			return string(p.Glass)
		}
	}
	return StatedAs(stated, ByClass)
}

func (o Opening) checkPanes() FieldErrors {
	if o.Items.ByLight == "" {
		return nil
	}
	list, ok := PanesOf(o.Items.ByLight)
	if !ok || slices.ContainsFunc(list, func(p PaneGlass) bool { return p.Light > len(o.Layout.Lights) }) {
		return FieldErrors{{"items.light_glass", "must be numbers of lights with toughened, laminated or mixed, such as 1 toughened, 2 laminated"}}
	}
	return nil
}
