package safety

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// Check looks at one opening under every rule of its nation on the day of the
// work. The findings come in the order in which a person wants to read them:
// what stops the work, what a document requires, what is missing, advice and
// cautions, and last what was looked at and needs nothing.
//
// Where a nation's rule is not verified, England's figures stand in, marked as
// from memory, and a finding says so. Where no edition is known for the day,
// there is no figure at all.
func Check(f Facts) []Finding {
	all := make([]Finding, 0, 16)
	if !f.Nation.known() {
		all = append(all, Finding{Rule: "nation", Weight: Ask})
	}
	if f.Date.IsZero() {
		all = append(all, Finding{Rule: "date", Weight: Ask})
	}
	if len(all) == 0 {
		lights := f.lights()
		for _, rules := range []func(Facts, []light) []Finding{
			structure, heights, glassFindings, bathFindings, guardFindings, escapeFindings,
			pullFindings, ventFindings, purgeFindings, heatFindings, editionFindings, paperFindings,
		} {
			all = append(all, rules(f, lights)...)
		}
	} else {
		all = append(all, structure(f, nil)...)
	}
	all = append(all, cautions(f)...)
	slices.SortStableFunc(all, func(a, b Finding) int { return order(a.Weight) - order(b.Weight) })
	return all
}

func order(w Weight) int { return slices.Index([]Weight{Stop, Must, Ask, Advise, Clear}, w) }

func (n Nation) known() bool {
	switch n {
	case England, Wales, Scotland, NI:
		return true
	}
	return false
}

// light is one pane with its heights worked out. Nil: not known.
type light struct {
	Pane
	index []int // the light's number for a finding; none for a window of unknown lights

	floor, outside *decimal.Decimal // lower edge of the glass above the inside floor and the outside level
	open           *decimal.Decimal // lower edge of the opening above the floor, for guarding
	climb          *decimal.Decimal // the same, for escape
	way            decimal.Decimal  // m² that a person can pass
	swung          decimal.Decimal  // degrees to which it opens with its restrictor; zero without a floor area
	pull           pull
}

// lights are the panes with their heights. A window whose panes are not known
// is taken as one pane of unknown size.
func (f Facts) lights() []light {
	panes := f.Panes
	if len(panes) == 0 {
		panes = []Pane{{Light: -1}}
	}
	lowest := panes[0].Bottom
	for _, p := range panes {
		lowest = decimal.Min(lowest, p.Bottom)
	}
	out := make([]light, len(panes))
	for i, p := range panes {
		out[i] = p.light(raised(f.GlassAboveFloor, lowest.Neg()), raised(f.GlassAboveOutside, lowest.Neg()))
		if f.FloorArea.IsPositive() {
			out[i].swung = out[i].swing()
		}
	}
	f.findPulls(out)
	return out
}

// light is the pane with its heights; floor and outside are those of the
// frame's bottom.
func (p Pane) light(floor, outside *decimal.Decimal) light {
	openAt, climbAt := p.OpenBottom, p.OpenBottom
	if p.OpenBottom.IsZero() {
		openAt, climbAt = p.Bottom.Sub(sashAndFrame), p.Bottom
	}
	if p.Opening == (calc.Size{}) {
		p.Opening = p.Size
	}
	l := light{
		Pane: p, floor: raised(floor, p.Bottom), outside: raised(outside, p.Bottom),
		open: raised(floor, openAt), climb: raised(floor, climbAt), way: area(p.Clear),
	}
	if p.Light >= 0 {
		l.index = []int{p.Light}
	}
	return l
}

// raised is a height with an amount on top, if it is known.
func raised(height *decimal.Decimal, by decimal.Decimal) *decimal.Decimal {
	if height == nil {
		return nil
	}
	h := height.Add(by)
	return &h
}

// opens reports whether the light has a sash.
func (l light) opens() bool { return l.Hinge != calc.FixedLight && l.Hinge != "" }

// area is in m².
func area(s calc.Size) decimal.Decimal { return s.Width.Mul(s.Height).Shift(-6) }

func below(h *decimal.Decimal, limit decimal.Decimal) bool { return h != nil && h.LessThan(limit) }

// group is a finding about several lights, gathered one light at a time.
type groups struct {
	keys     []string
	findings map[string]Finding
}

// add gathers a finding for a light. Findings with the same key become one,
// with the figure in place of keep the smaller of the two.
func (g *groups) add(key string, f Finding, l light, keep string) {
	old, seen := g.findings[key]
	if !seen {
		if g.findings == nil {
			g.findings = map[string]Finding{}
		}
		g.keys = append(g.keys, key)
		g.findings[key] = f.on(l.index)
		return
	}
	if v, ok := f.Figures[keep]; ok && v.LessThan(old.Figures[keep]) {
		old = old.with(keep, v)
	}
	g.findings[key] = old.on(append(slices.Clip(old.Lights), l.index...))
}

func (g *groups) all() []Finding {
	var out []Finding
	for _, k := range g.keys {
		out = append(out, g.findings[k])
	}
	return out
}
