package safety

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// bound reports whether the rules for new windows of a house hold.
func (f Facts) bound() bool { return !f.GlassOnly && !f.NotHouse }

// asksVents reports whether the room may need background vents: it is one of
// those that England asks them of, or the old window had some.
func asksVents(f Facts, _ []light) bool {
	return f.bound() && (f.OldVents || vents2021[f.Room].IsPositive())
}

// ventFindings are the background vents of the room, by 3.14 and 3.15.
func ventFindings(f Facts, r ruling, _ []light) []Finding {
	if !f.bound() {
		return nil
	}
	if f.MVHR {
		return []Finding{r.finding("vents_mvhr")}
	}
	if f.VentsUnknown {
		return []Finding{r.finding("vents_ask")}
	}
	need, have := r.vents[f.Room], f.NewVentArea
	name := "vents_new"
	if f.OldVents {
		need, name = f.OldVentArea, "vents_keep"
	}
	fd := func(rule string) Finding {
		out := r.finding(rule)
		out.Clause = r.finding(name).Clause
		return out
	}
	switch least := r.vents[f.Room]; {
	case need.IsZero() && f.OldVents && least.IsPositive():
		// Nobody knows what the old ones were: what a room without any gets.
		return []Finding{r.finding("vents_keep_least").with("area", least).word("room", "room."+string(f.Room))}
	case need.IsZero() && f.OldVents:
		return []Finding{fd("vents_keep_unknown")}
	case need.IsZero():
		return nil // a hall needs none, and an unknown room is asked for elsewhere
	case have.GreaterThanOrEqual(need):
		return []Finding{fd("vents_clear").with("area", need).with("have", have)}
	case !f.OldVents:
		return []Finding{f.newVents(r, need, have)}
	case have.IsZero():
		return []Finding{fd(name).with("area", need)}
	}
	return []Finding{fd("vents_short").with("area", need).with("have", have).with("short", need.Sub(have))}
}

// newVents is what is said where the old window had no vents: the areas of 3.15
// are one way to show that the room is aired, and not the only one.
func (f Facts) newVents(r ruling, need, have decimal.Decimal) Finding {
	room := "room." + string(f.Room)
	switch {
	case f.FewWindows:
		return r.finding("vents_few_windows").with("area", need).word("room", room)
	case f.Heritage:
		return r.finding("vents_heritage").with("area", need).word("room", room)
	case f.Extract:
		return r.finding("vents_extract").with("area", need).word("room", room)
	case have.IsZero():
		return r.finding("vents_new").with("area", need).word("room", room)
	}
	return r.finding("vents_few").with("area", need).with("have", have).with("short", need.Sub(have)).word("room", room)
}

// purgeArea is the opening area, m², of the lights that open to an angle or
// more. Free leaves the restrictors off.
func purgeArea(lights []light, least decimal.Decimal, free bool) decimal.Decimal {
	sum := decimal.Zero
	for _, l := range lights {
		swung := l.swung
		if free {
			swung = l.freeSwing()
		}
		if l.opens() && swung.GreaterThanOrEqual(least) {
			sum = sum.Add(area(l.Opening))
		}
	}
	return sum
}

// enough reports whether the lights are enough for the floor area. How lights
// that open wide and lights that open narrowly add up is not published, so
// they are not added.
func (p *purgeFigures) enough(f Facts, lights []light, free bool) bool {
	enough := func(least, part decimal.Decimal) bool {
		return purgeArea(lights, least, free).Mul(part).GreaterThanOrEqual(f.FloorArea)
	}
	if a := p.angles; a != nil {
		return enough(a.wide, p.part) || enough(a.narrow, a.narrowPart)
	}
	return enough(decimal.Zero, p.part)
}

// airs reports whether the room must be aired by its windows.
func (f Facts) airs() bool { return (f.Room == Living || f.Room == Bedroom) && !f.MVHR }

// purgeAngle is the angle below which a restrictor costs the room its purging:
// zero when it does not, or when nobody knows.
func (f Facts) purgeAngle(lights []light) decimal.Decimal {
	r := f.look(Purge).purge
	if r == nil || r.angles == nil || !f.airs() || f.FloorArea.IsPositive() && r.enough(f, lights, false) {
		return decimal.Zero
	}
	return r.angles.narrow
}

// asksPurge reports whether the lights are held against the room's floor.
func asksPurge(f Facts, _ []light) bool {
	return f.bound() && f.airs() && len(f.Panes) > 0 && f.FloorArea.IsPositive()
}

// purgeFindings: enough opening to change the air of a habitable room
// quickly.
func purgeFindings(f Facts, r ruling, lights []light) []Finding {
	if !f.bound() || !f.airs() || len(f.Panes) == 0 {
		return nil
	}
	restricted, guessed := false, false
	for _, l := range lights {
		restricted = restricted || l.Restrictor.IsPositive()
		guessed = guessed || r.purge.angles != nil && l.Degrees.IsZero() && l.Hinge != calc.FixedLight
	}
	open, floor := purgeArea(lights, decimal.Zero, true), f.FloorArea.IsPositive()
	fd := func(rule string) Finding {
		// What opens is worked out from the faces of frame and sash.
		return r.finding(rule).with("part", r.purge.part).with("open", open.Round(2)).by(calc.Practice)
	}
	switch {
	case open.IsZero():
		return []Finding{fd("purge_none")}
	case !floor && restricted:
		return []Finding{fd("purge_area")}
	case !floor:
		return nil
	case r.purge.enough(f, lights, false) && guessed:
		// Enough only if they open as far as was taken for granted.
		return []Finding{fd("purge_angle").with("floor", f.FloorArea).with("angle", unknownSwing)}
	case r.purge.enough(f, lights, false):
		return []Finding{fd("purge_clear").with("floor", f.FloorArea)}
	case r.purge.enough(f, lights, true):
		return nil // the restrictors cost it: pullFindings says so
	}
	return []Finding{fd("purge_small").with("floor", f.FloorArea)}
}
