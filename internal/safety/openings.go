package safety

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// deep reports whether a person who falls out falls further than the rule
// takes. A drop that nobody measured is deep upstairs.
func (g *guardFigures) deep(f Facts) bool {
	if f.GlassAboveFloor != nil && f.GlassAboveOutside != nil {
		return f.GlassAboveOutside.Sub(*f.GlassAboveFloor).GreaterThan(g.drop)
	}
	return f.Storey > 0
}

// asked reports whether an open light could be fallen out of. Without figures
// for the day no guard is asked for: guardFindings says so.
func (g *guardFigures) asked(f Facts, l light) bool {
	return g != nil && g.deep(f) && l.opens() && below(l.open, g.below) && !f.Guarded
}

// held reports whether a restrictor keeps the light as narrow as a guard's
// gaps.
func (g *guardFigures) held(l light) bool {
	return l.Restrictor.IsPositive() && l.Restrictor.LessThanOrEqual(g.ball)
}

// guardFindings: an opening light low above the floor with a drop outside. A
// light that is also the way out is left to pullFindings.
func guardFindings(f Facts, lights []light) []Finding {
	if f.GlassOnly {
		return nil
	}
	opening := slices.ContainsFunc(lights, light.opens)
	r, own := ruleOrEngland(guarding, f)
	switch {
	case !opening:
		return nil
	case r.guard == nil:
		return []Finding{notCovered(guarding, f, "guard")}
	}
	var found groups
	low, allHigh := false, true
	for _, l := range lights {
		if !l.opens() {
			continue
		}
		if !r.guard.asked(f, l) {
			allHigh = allHigh && l.open != nil && !l.open.LessThan(r.guard.below)
			continue
		}
		low, allHigh = true, false
		if l.pull.escapeGuard {
			continue
		}
		fd := r.lowLight(f, l)
		found.add(fd.Rule, fd.with("height", *l.open), l, "height")
	}
	out := found.all()
	switch {
	case low && !own:
		out = append(out, unverified(guarding, f.Nation))
	case allHigh && own:
		out = append(out, r.finding("guard_clear", Clear).with("below", r.guard.below))
	}
	return out
}

// lowLight is what one low light needs against a fall.
func (r ruling) lowLight(f Facts, l light) Finding {
	base := func(name string, w Weight) Finding {
		return r.finding(name, w).with("below", r.guard.below).with("drop", r.guard.drop).with("ball", r.guard.ball)
	}
	switch {
	case r.guard.held(l):
		// In a house a restrictor is advice and no law (quoted by others).
		return base("guard_held", Advise).with("gap", l.Restrictor)
	case l.Restrictor.IsPositive():
		return base("guard_loose", Must).with("gap", l.Restrictor)
	case f.Storey > 0 && l.open.LessThan(fullHeight):
		return base("guard_full", Must).with("guard", r.guard.full)
	}
	return base("guard", Must)
}

// habitable rooms, a kitchen among them for escape (from memory).
func (f Facts) habitable() bool { return f.Room == Living || f.Room == Bedroom || f.Room == Kitchen }

// asked reports whether the room needs an escape window, and whether it is too
// high up for one.
func (e *escapeFigures) asked(f Facts) (asked, high bool) {
	if f.GlassOnly || f.NotHouse || !f.habitable() {
		return false, false
	}
	high = f.Storey > 1
	if f.GlassAboveFloor != nil && f.GlassAboveOutside != nil {
		high = f.GlassAboveOutside.Sub(*f.GlassAboveFloor).GreaterThan(e.high)
	}
	return f.Storey > 0 || f.InnerRoom || f.OldEscape, high
}

// passable reports whether a person can get out through the light, without
// its restrictor and wherever its sill is.
func (e *escapeFigures) passable(l light) bool {
	return l.way.GreaterThanOrEqual(e.area) &&
		l.Clear.Width.GreaterThanOrEqual(e.side) && l.Clear.Height.GreaterThanOrEqual(e.side)
}

// reachable reports whether its sill is low enough.
func (e *escapeFigures) reachable(l light) bool {
	return l.climb != nil && !l.climb.GreaterThan(e.bottom)
}

// tight reports whether the light's restrictor stands in the way.
func (l light) tight() bool { return l.Restrictor.IsPositive() && !l.Releasable }

// escapeFindings: whether a light can be escaped through.
func escapeFindings(f Facts, lights []light) []Finding {
	r, own := ruleOrEngland(escape, f)
	asked, high := r.escape.asked(f)
	if !asked {
		return nil
	}
	fd := func(name string, w Weight) Finding {
		return r.finding(name, w).with("area", r.escape.area).with("side", r.escape.side).with("bottom", r.escape.bottom)
	}
	var out []Finding
	switch good, missing, best := r.escape.ways(lights); {
	case high && !f.OldEscape:
		out = append(out, r.finding("escape_high", Advise).with("high", r.escape.high))
	case len(good) > 0:
		out = append(out, fd("escape_clear", Clear).on(good))
	case missing:
		out = append(out, fd("escape_measure", Ask))
	case f.OldEscape:
		out = append(out, fd("escape_less", Must).with("width", best.Width).with("height", best.Height))
	default:
		out = append(out, fd("escape_small", Ask).with("width", best.Width).with("height", best.Height))
	}
	if !own {
		out = append(out, unverified(escape, f.Nation))
	}
	return out
}

// ways are the lights that serve, whether one of the others may for all that
// is known, and the largest clear opening.
func (e *escapeFigures) ways(lights []light) (good []int, missing bool, best calc.Size) {
	most := decimal.Zero
	for _, l := range lights {
		unknown := l.opens() && l.Hinge != calc.BottomHung && l.way.IsZero() || l.Light < 0
		switch {
		case e.passable(l) && e.reachable(l):
			good = append(good, l.index...)
		case unknown, e.passable(l) && l.climb == nil:
			missing = true
		}
		if l.way.GreaterThan(most) {
			best, most = l.Clear, l.way
		}
	}
	return good, missing, best
}

// pull is how rules pull against each other at one light.
type pull struct {
	escapeHeld  bool // the restrictor stands in the way out
	escapeGuard bool // what is needed against a fall would stand in the way out
	purgeHeld   bool // the restrictor keeps the light short of the angle that counts
	angle, gap  decimal.Decimal
}

// findPulls asks calc.Pull about every light. One light that can be escaped
// through freely is enough for the room, and so is air enough through the
// others.
func (f Facts) findPulls(lights []light) {
	if f.GlassOnly || f.NotHouse {
		return
	}
	out, _ := ruleOrEngland(escape, f)
	fall, _ := ruleOrEngland(guarding, f)
	asked, high := out.escape.asked(f)
	asked = asked && (!high || f.OldEscape)
	purgeAngle := f.purgeAngle(lights)
	for _, l := range lights {
		guarded := fall.guard.asked(f, l) && !l.Restrictor.IsPositive()
		if out.escape.passable(l) && out.escape.reachable(l) && !l.tight() && !guarded {
			asked = false
		}
	}
	for i, l := range lights {
		if !l.opens() || l.Light < 0 {
			continue
		}
		req := calc.PullRequest{
			Light: calc.ClearOpening{Light: l.Light, Opening: l.Opening, Clear: l.Clear},
			Hinge: l.Hinge, Restrictor: l.Restrictor, Releasable: l.Releasable,
			Guard: fall.guard.asked(f, l), PurgeAngle: purgeAngle,
		}
		if asked && out.escape.reachable(l) {
			req.EscapeArea, req.EscapeSide = out.escape.area, out.escape.side
		}
		reasons, err := calc.Pull(req)
		if err != nil {
			continue // a restrictor wider than the sash holds nothing
		}
		p := &lights[i].pull
		for _, r := range reasons {
			switch r.Rule {
			case "pull_escape_held":
				p.escapeHeld = true
			case "pull_escape_guard":
				p.escapeGuard = true
			case "pull_purge_held":
				p.purgeHeld, p.angle, p.gap = true, r.Figures["angle"], r.Figures["needed"]
			}
		}
	}
}

// pullFindings says together where restrictor, escape and purge pull against
// each other.
func pullFindings(f Facts, lights []light) []Finding {
	r, _ := ruleOrEngland(escape, f)
	fall, _ := ruleOrEngland(guarding, f)
	air, _ := ruleOrEngland(purge, f)
	var found groups
	for _, l := range lights {
		var fd Finding
		switch p := l.pull; {
		case p.escapeHeld && p.purgeHeld:
			fd = r.finding("pull_all", Must).with("gap", l.Restrictor).with("needed", p.gap).with("least", air.purge.angles.narrow)
		case p.escapeHeld:
			fd = r.finding("pull_escape_held", Must).with("gap", l.Restrictor)
		case p.escapeGuard:
			guard := r
			guard.mark = weaker(r.mark, fall.mark)
			fd = guard.finding("pull_escape_guard", Must).with("below", fall.guard.below).with("ball", fall.guard.ball)
		case p.purgeHeld:
			fd = air.finding("pull_purge_held", Advise).with("gap", l.Restrictor).
				with("angle", p.angle).with("least", air.purge.angles.narrow).with("needed", p.gap)
		default:
			continue
		}
		found.add(fd.Rule+l.Restrictor.String()+l.pull.gap.String(), fd, l, "")
	}
	return found.all()
}
