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

// asksGuard reports whether anything opens that could be fallen out of.
func asksGuard(f Facts, lights []light) bool {
	return !f.GlassOnly && slices.ContainsFunc(lights, light.opens)
}

// guardFindings: an opening light low above the floor with a drop outside. A
// light that is also the way out is left to pullFindings.
func guardFindings(f Facts, r ruling, lights []light) []Finding {
	var found groups
	low, allHigh := false, true
	for _, l := range lights {
		switch {
		case !l.opens():
		case !r.guard.asked(f, l):
			allHigh = allHigh && l.open != nil && !l.open.LessThan(r.guard.below)
		default:
			low, allHigh = true, false
			if !l.pull.escapeGuard {
				fd := r.lowLight(f, l)
				found.add(fd.Rule, fd.with("height", *l.open), l, "height")
			}
		}
	}
	switch {
	case low && r.standing == borrowed:
		return append(found.findings, r.note(f.Nation))
	case allHigh && r.standing != borrowed:
		return append(found.findings, r.finding("guard_clear").with("below", r.guard.below).byFaces())
	}
	return found.findings
}

// byFaces is a finding that all is well where the opening begins: it may be
// trusted no more than the face widths that the height comes from, which are a
// crew's own or an example (common practice, no source).
func (f Finding) byFaces() Finding {
	f.Mark = weaker(f.Mark, calc.Practice)
	return f
}

// lowLight is what one low light needs against a fall.
func (r ruling) lowLight(f Facts, l light) Finding {
	base := func(rule string) Finding {
		return r.finding(rule).with("below", r.guard.below).with("drop", r.guard.drop).with("ball", r.guard.ball)
	}
	switch {
	case r.guard.held(l):
		// In a house a restrictor is advice and no law (quoted by others).
		return base("guard_held").with("gap", l.Restrictor)
	case l.Restrictor.IsPositive():
		return base("guard_loose").with("gap", l.Restrictor)
	case f.Storey > 0 && l.open.LessThan(fullHeight):
		return base("guard_full").with("guard", r.guard.full)
	}
	return base("guard")
}

// habitable rooms, a kitchen among them for escape (from memory).
func (f Facts) habitable() bool { return f.Room == Living || f.Room == Bedroom || f.Room == Kitchen }

// asksEscape reports whether the room may need a way out by its window.
func asksEscape(f Facts, _ []light) bool {
	return f.bound() && f.habitable() && (f.Storey > 0 || f.InnerRoom || f.OldEscape)
}

// passable reports whether a person can get out through the light, without
// its restrictor and wherever its sill is.
func (e *escapeFigures) passable(l light) bool {
	return l.way.GreaterThanOrEqual(e.area) &&
		l.Clear.Width.GreaterThanOrEqual(e.side) && l.Clear.Height.GreaterThanOrEqual(e.side)
}

// serves reports whether its sill is low enough too.
func (e *escapeFigures) serves(l light) bool {
	return e.passable(l) && l.climb != nil && !l.climb.GreaterThan(e.bottom)
}

// escapeFindings: whether a light can be escaped through.
func escapeFindings(f Facts, r ruling, lights []light) []Finding {
	fd := func(rule string) Finding {
		return r.finding(rule).with("area", r.escape.area).with("side", r.escape.side).with("bottom", r.escape.bottom)
	}
	var out []Finding
	switch good, missing, best := r.escape.ways(lights); {
	case f.floorOver(r.escape.high, 1) && !f.OldEscape:
		out = append(out, r.finding("escape_high").with("high", r.escape.high))
	case len(good) > 0:
		out = append(out, fd("escape_clear").on(good).byFaces())
	case missing:
		out = append(out, fd("escape_measure"))
	case f.OldEscape:
		out = append(out, fd("escape_less").with("width", best.Width).with("height", best.Height))
	default:
		out = append(out, fd("escape_small").with("width", best.Width).with("height", best.Height))
	}
	if r.standing == borrowed {
		out = append(out, r.note(f.Nation))
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
		case e.serves(l):
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

// findPulls finds at each light where restrictor, way out and airing pull
// against each other. One light that can be escaped through freely is enough
// for the room, and so is air enough through the others.
func (f Facts) findPulls(lights []light) {
	if !f.bound() {
		return
	}
	out, guard := look(Escape, f.Nation, f.Date).escape, look(Guarding, f.Nation, f.Date).guard
	needsGuard := func(l light) bool { return guard.asked(f, l) && !l.Restrictor.IsPositive() }
	free := func(l light) bool { return out.serves(l) && !l.tight() && !needsGuard(l) }
	asked := out != nil && asksEscape(f, lights) && (!f.floorOver(out.high, 1) || f.OldEscape) && !slices.ContainsFunc(lights, free)
	angle := f.purgeAngle(lights)
	for i, l := range lights {
		if !l.opens() {
			continue
		}
		p, err := l.purgePull(angle)
		if err != nil {
			continue // a restrictor wider than the sash holds nothing
		}
		way := asked && out.serves(l)
		p.escapeHeld, p.escapeGuard = way && l.tight(), way && needsGuard(l)
		lights[i].pull = p
	}
}

// purgePull is whether the restrictor keeps the light short of an angle, and
// the whole mm of gap that would not.
func (l light) purgePull(angle decimal.Decimal) (p pull, err error) {
	if !angle.IsPositive() || !l.Restrictor.IsPositive() {
		return p, nil
	}
	held, err := calc.SwingHeld(l.Opening, l.Hinge, l.Restrictor)
	if err != nil || held.Angle.GreaterThanOrEqual(angle) {
		return p, err
	}
	free, err := calc.SwingAt(l.Opening, l.Hinge, angle)
	return pull{purgeHeld: true, angle: held.Angle, gap: free.Gap.Floor().Add(mm(1))}, err
}

// pullFindings says together where restrictor, escape and purge pull against
// each other.
func pullFindings(f Facts, lights []light) []Finding {
	out, fall, air := look(Escape, f.Nation, f.Date), look(Guarding, f.Nation, f.Date), look(Purge, f.Nation, f.Date)
	var found groups
	for _, l := range lights {
		var fd Finding
		switch p := l.pull; {
		case p.escapeHeld && p.purgeHeld:
			fd = out.finding("pull_all").with("gap", l.Restrictor).with("needed", p.gap).with("least", air.purge.angles.narrow)
		case p.escapeHeld:
			fd = out.finding("pull_escape_held").with("gap", l.Restrictor)
		case p.escapeGuard:
			fd = out.finding("pull_escape_guard").with("below", fall.guard.below).with("ball", fall.guard.ball)
			fd.Mark = weaker(out.mark, fall.mark)
		case p.purgeHeld:
			fd = air.finding("pull_purge_held").with("gap", l.Restrictor).
				with("angle", p.angle).with("least", air.purge.angles.narrow).with("needed", p.gap)
		default:
			continue
		}
		found.add(fd.Rule+l.Restrictor.String()+l.pull.gap.String(), fd, l, "")
	}
	return found.findings
}
