package safety

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// floorOver reports whether the inside floor is more than a limit above the
// outside. One that nobody measured is from the storey after the last on.
func (f Facts) floorOver(limit decimal.Decimal, last int) bool {
	if f.GlassAboveFloor != nil && f.GlassAboveOutside != nil {
		return f.GlassAboveOutside.Sub(*f.GlassAboveFloor).GreaterThan(limit)
	}
	return f.Storey > last
}

// asked reports whether an open light could be fallen out of. Without figures
// for the day no guard is asked for: guardFindings says so.
func (g *guardFigures) asked(f Facts, l light) bool {
	return g != nil && f.floorOver(g.drop, 0) && l.opens() && below(l.open, g.below) && !f.Guarded
}

// held reports whether a restrictor keeps the light as narrow as a guard's
// gaps.
func (g *guardFigures) held(l light) bool {
	return l.Restrictor.IsPositive() && l.Restrictor.LessThanOrEqual(g.ball)
}

// full reports whether an open light upstairs begins at the floor.
func (f Facts) full(l light) bool { return f.Storey > 0 && below(l.open, fullHeight) }

// asksGuard reports whether anything opens that could be fallen out of, or
// whether there is low glass that could be fallen through.
func asksGuard(f Facts, lights []light) bool {
	return !f.GlassOnly && slices.ContainsFunc(lights, func(l light) bool { return l.opens() || below(l.floor, guard2013.below) })
}

// guardFindings: an opening light low above the floor with a drop outside, and
// low glass over it. A light that is also the way out is left to pullFindings,
// but not the guard of one that begins at the floor.
func guardFindings(f Facts, r ruling, lights []light) []Finding {
	var found groups
	allHigh, opens := true, false
	for _, l := range lights {
		opens = opens || l.opens()
		switch {
		case !l.opens():
		case !r.guard.asked(f, l):
			allHigh = allHigh && l.open != nil && !l.open.LessThan(r.guard.below)
		default:
			allHigh = false
			if fd := r.lowLight(f, l); !l.pull.escapeGuard || fd.Rule == "guard_full" {
				found.add(fd.Rule, fd.with("height", *l.open).by(calc.Practice), l, "height")
			}
		}
	}
	for _, l := range lights {
		if !f.Guarded && below(l.floor, r.guard.below) && f.floorOver(r.guard.drop, 0) {
			allHigh = false
			fd := r.finding("contain").with("below", r.guard.below).with("drop", r.guard.drop).by(f.HeightMark)
			found.add(fd.Rule, fd.with("height", *l.floor), l, "height")
		}
	}
	switch {
	case r.standing == borrowed && (len(found.findings) > 0 || slices.ContainsFunc(lights, func(l light) bool { return l.pull.escapeGuard })):
		return append(found.findings, r.note(f.Nation))
	case opens && allHigh && r.standing != borrowed:
		return append(found.findings, r.finding("guard_clear").with("below", r.guard.below).by(calc.Practice))
	}
	return found.findings
}

// lowLight is what one low light needs against a fall.
func (r ruling) lowLight(f Facts, l light) Finding {
	base := func(rule string) Finding {
		return r.finding(rule).with("below", r.guard.below).with("drop", r.guard.drop).with("ball", r.guard.ball)
	}
	switch held := r.guard.held(l); {
	case f.full(l) && !(held && l.tight()):
		return base("guard_full").with("guard", r.guard.full)
	case held:
		// In a house a restrictor is advice and no law (quoted by others).
		return base("guard_held").with("gap", l.Restrictor)
	case l.Restrictor.IsPositive():
		return base("guard_loose").with("gap", l.Restrictor)
	}
	return base("guard")
}
