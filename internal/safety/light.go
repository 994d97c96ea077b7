package safety

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// light is one pane with its heights worked out. Nil: not known.
type light struct {
	Pane
	index []int // the light's number for a finding; none for a window of unknown lights

	floor, outside *decimal.Decimal // lower edge of the glass above the inside floor and the outside level
	open           *decimal.Decimal // lower edge of the opening above the floor, for guarding
	climb          *decimal.Decimal // the same, for escape
	way            decimal.Decimal  // m² that a person can pass
	swung          decimal.Decimal  // degrees to which it opens with its restrictor
	pull           pull
}

// pull is how rules pull against each other at one light.
type pull struct {
	escapeHeld  bool // the restrictor stands in the way out
	escapeGuard bool // what is needed against a fall would stand in the way out
	purgeHeld   bool // the restrictor keeps the light short of the angle that counts
	angle, gap  decimal.Decimal
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
		out[i].swung = out[i].swing()
	}
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

// freeSwing is how far a light opens without its restrictor, in degrees.
func (l light) freeSwing() decimal.Decimal {
	if l.Degrees.IsZero() {
		return unknownSwing
	}
	return l.Degrees
}

// swing is how far a light opens with its restrictor on, in degrees.
func (l light) swing() decimal.Decimal {
	full := l.freeSwing()
	if !l.Restrictor.IsPositive() {
		return full
	}
	held, err := calc.SwingHeld(l.Opening, l.Hinge, l.Restrictor)
	if err != nil {
		return full
	}
	return decimal.Min(full, held.Angle)
}

// tight reports whether the light's restrictor stands in the way.
func (l light) tight() bool { return l.Restrictor.IsPositive() && !l.Releasable }

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

// groups are findings about several lights, gathered one light at a time.
type groups struct {
	keys     []string
	findings []Finding
}

// add gathers a finding for a light. Findings with the same key become one,
// with the smaller of the two figures named keep.
func (g *groups) add(key string, f Finding, l light, keep string) {
	i := slices.Index(g.keys, key)
	if i < 0 {
		g.keys, g.findings = append(g.keys, key), append(g.findings, f.on(l.index))
		return
	}
	old := g.findings[i]
	if keep != "" {
		old = old.with(keep, decimal.Min(old.Figures[keep], f.Figures[keep]))
	}
	g.findings[i] = old.on(append(slices.Clip(old.Lights), l.index...))
}
