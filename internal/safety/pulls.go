package safety

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// findPulls finds at each light where restrictor, way out and airing pull
// against each other. One light that can be escaped through freely is enough
// for the room, and so is air enough through the others.
func (f Facts) findPulls(lights []light) {
	if !f.bound() {
		return
	}
	out, guard := f.look(Escape).escape, f.look(Guarding).guard
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
	out, fall, air := f.look(Escape), f.look(Guarding), f.look(Purge)
	var found groups
	for _, l := range lights {
		var fd Finding
		switch p := l.pull; {
		case p.escapeHeld && p.purgeHeld:
			fd = out.finding("pull_all").with("gap", l.Restrictor).with("needed", p.gap).with("least", air.purge.angles.narrow)
		case p.escapeHeld:
			fd = out.finding("pull_escape_held").with("gap", l.Restrictor)
		case p.escapeGuard:
			fd = out.finding("pull_escape_guard").with("below", fall.guard.below).with("ball", fall.guard.ball).by(fall.mark)
		case p.purgeHeld:
			fd = air.finding("pull_purge_held").with("gap", l.Restrictor).
				with("angle", p.angle).with("least", air.purge.angles.narrow).with("needed", p.gap)
		default:
			continue
		}
		if fd.Topic == Escape && !f.OldEscape && !out.escape.today {
			fd = fd.softer(Ask) // the old window may have been no way out either
		}
		// What can be climbed through and how wide it swings is worked out from the
		// faces of frame and sash.
		found.add(fd.Rule+l.Restrictor.String()+l.pull.gap.String(), fd.by(calc.Practice), l, "")
	}
	return found.findings
}
