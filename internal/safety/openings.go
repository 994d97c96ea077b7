package safety

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// falls reports whether a person who falls out falls further than the rule
// takes. Known is false when nobody measured it.
func (f Facts) falls() (deep, known bool) {
	if f.GlassAboveFloor != nil && f.GlassAboveOutside != nil {
		return f.GlassAboveOutside.Sub(*f.GlassAboveFloor).GreaterThan(guardDrop), true
	}
	return f.Storey > 0, f.Storey > 0
}

// needsGuard reports whether an open light could be fallen out of.
func (f Facts) needsGuard(l light) bool {
	deep, _ := f.falls()
	return deep && l.opens() && below(l.open, guardBelow) && !f.Guarded
}

// held reports whether a restrictor keeps the light as narrow as a guard's
// gaps.
func (l light) held() bool {
	return l.Restrictor.IsPositive() && l.Restrictor.LessThanOrEqual(guardBall)
}

// guardFindings: an opening light low above the floor with a drop outside. A
// light that is also the way out is left to pullFindings.
func guardFindings(f Facts, lights []light) []Finding {
	if f.GlassOnly {
		return nil
	}
	r, own := ruleOrEngland(guarding, f)
	var found groups
	opening, allHigh := false, true
	for _, l := range lights {
		if !l.opens() {
			continue
		}
		opening = true
		if !f.needsGuard(l) {
			allHigh = allHigh && l.open != nil && !l.open.LessThan(guardBelow)
			continue
		}
		allHigh = false
		if l.pull.escapeGuard {
			continue
		}
		fd := r.guard(f, l)
		found.add(fd.Rule, fd.with("height", *l.open), l, "height")
	}
	out := found.all()
	switch {
	case len(out) > 0 && !own:
		out = append(out, unverified(guarding, f.Nation))
	case opening && allHigh && own:
		out = append(out, r.finding("guard_clear", Clear).with("below", guardBelow))
	}
	return out
}

// guard is what one low light needs.
func (r ruling) guard(f Facts, l light) Finding {
	base := func(name string, w Weight) Finding {
		return r.finding(name, w).with("below", guardBelow).with("drop", guardDrop).with("ball", guardBall)
	}
	switch {
	case l.held():
		// In a house a restrictor is advice and no law (quoted by others).
		return base("guard_held", Advise).with("gap", l.Restrictor)
	case l.Restrictor.IsPositive():
		return base("guard_loose", Must).with("gap", l.Restrictor)
	case f.Storey > 0 && l.open.LessThan(fullHeight):
		return base("guard_full", Must).with("guard", guardFull)
	}
	return base("guard", Must)
}

// habitable rooms, a kitchen among them for escape (from memory).
func (f Facts) habitable() bool { return f.Room == Living || f.Room == Bedroom || f.Room == Kitchen }

// escapeAsked reports whether the room needs an escape window, and whether it
// is too high up for one.
func (f Facts) escapeAsked() (asked, high bool) {
	if f.GlassOnly || f.NotHouse || !f.habitable() {
		return false, false
	}
	high = f.Storey > 1
	if f.GlassAboveFloor != nil && f.GlassAboveOutside != nil {
		high = f.GlassAboveOutside.Sub(*f.GlassAboveFloor).GreaterThan(escapeHigh)
	}
	return f.Storey > 0 || f.InnerRoom || f.OldEscape, high
}

// passable reports whether a person can get out through the light, without
// its restrictor and wherever its sill is.
func (l light) passable() bool {
	return l.way.GreaterThanOrEqual(escapeArea) &&
		l.Clear.Width.GreaterThanOrEqual(escapeSide) && l.Clear.Height.GreaterThanOrEqual(escapeSide)
}

// reachable reports whether its sill is low enough.
func (l light) reachable() bool { return l.climb != nil && !l.climb.GreaterThan(escapeBottom) }

// tight reports whether the light's restrictor stands in the way.
func (l light) tight() bool { return l.Restrictor.IsPositive() && !l.Releasable }

// escapeFindings: whether a light can be escaped through.
func escapeFindings(f Facts, lights []light) []Finding {
	asked, high := f.escapeAsked()
	if !asked {
		return nil
	}
	r, own := ruleOrEngland(escape, f)
	fd := func(name string, w Weight) Finding {
		return r.finding(name, w).with("area", escapeArea).with("side", escapeSide).with("bottom", escapeBottom)
	}
	var out []Finding
	switch good, missing, best := escapes(lights); {
	case high && !f.OldEscape:
		out = append(out, r.finding("escape_high", Advise).with("high", escapeHigh))
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

// escapes are the lights that serve, whether one of the others may for all
// that is known, and the largest clear opening.
func escapes(lights []light) (good []int, missing bool, best calc.Size) {
	most := decimal.Zero
	for _, l := range lights {
		unknown := l.opens() && l.Hinge != calc.BottomHung && l.way.IsZero() || l.Light < 0
		switch {
		case l.passable() && l.reachable():
			good = append(good, l.index...)
		case unknown, l.passable() && l.climb == nil:
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
	asked, high := f.escapeAsked()
	asked = asked && (!high || f.OldEscape)
	purgeAngle := f.purgeAngle(lights)
	for _, l := range lights {
		if l.passable() && l.reachable() && !l.tight() && !(f.needsGuard(l) && !l.Restrictor.IsPositive()) {
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
			Guard: f.needsGuard(l), PurgeAngle: purgeAngle,
		}
		if asked && l.reachable() {
			req.EscapeArea, req.EscapeSide = escapeArea, escapeSide
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
	air, _ := ruleOrEngland(purge, f)
	var found groups
	for _, l := range lights {
		var fd Finding
		switch p := l.pull; {
		case p.escapeHeld && p.purgeHeld:
			fd = r.finding("pull_all", Must).with("gap", l.Restrictor).with("needed", p.gap).with("least", purgeNarrow)
		case p.escapeHeld:
			fd = r.finding("pull_escape_held", Must).with("gap", l.Restrictor)
		case p.escapeGuard:
			guard := r
			guard.mark = weaker(r.mark, calc.FromMemory) // the drop is
			fd = guard.finding("pull_escape_guard", Must).with("below", guardBelow).with("ball", guardBall)
		case p.purgeHeld:
			fd = air.finding("pull_purge_held", Advise).with("gap", l.Restrictor).
				with("angle", p.angle).with("least", purgeNarrow).with("needed", p.gap)
		default:
			continue
		}
		found.add(fd.Rule+l.Restrictor.String()+l.pull.gap.String(), fd, l, "")
	}
	return found.all()
}
