package safety

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// ventFindings are the background vents of the room.
func ventFindings(f Facts, _ []light) []Finding {
	if f.GlassOnly || f.NotHouse {
		return nil
	}
	var out []Finding
	if f.OpenFlue {
		out = append(out, Finding{Rule: "open_flue", Weight: Stop})
	}
	switch r, ok := rule(background, f.Nation, f.Date); {
	case ok:
		out = append(out, f.vents(r)...)
	case cover(background, f.Nation, f.Date) == tooLate:
		// editionFindings says so.
	case f.OldVents || vents2021[f.Room].IsPositive(): // the rooms that England asks vents of
		out = append(out, notCovered(background, f, "vents"))
	}
	return out
}

// vents are the findings of 3.14 and 3.15.
func (f Facts) vents(r ruling) []Finding {
	if f.MVHR {
		return []Finding{r.finding("vents_mvhr", Clear)}
	}
	if f.VentsUnknown {
		return []Finding{r.finding("vents_ask", Ask)}
	}
	need := r.vents[f.Room]
	room := "room." + string(f.Room)
	if f.OldVents {
		r.clause = "3.14"
		need = f.OldVentArea
		if need.IsZero() {
			return []Finding{r.finding("vents_keep_unknown", Must)}
		}
	} else {
		r.clause = "3.15"
		if need.IsZero() {
			return nil // a hall needs none, and an unknown room is asked for elsewhere
		}
	}
	have := f.NewVentArea
	switch {
	case have.IsZero() && f.OldVents:
		return []Finding{r.finding("vents_keep", Must).with("area", need)}
	case have.IsZero():
		return []Finding{r.finding("vents_new", Must).with("area", need).word("room", room)}
	case have.LessThan(need):
		return []Finding{r.finding("vents_short", Must).with("area", need).with("have", have).with("short", need.Sub(have))}
	}
	return []Finding{r.finding("vents_clear", Clear).with("area", need).with("have", have)}
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

// purgeAngle is the angle below which a restrictor costs the room its purging:
// zero when it does not, or when nobody knows.
func (f Facts) purgeAngle(lights []light) decimal.Decimal {
	r, ok := rule(purge, f.Nation, f.Date)
	if !ok || r.purge.angles == nil || f.Room != Living && f.Room != Bedroom || f.MVHR {
		return decimal.Zero
	}
	if f.FloorArea.IsPositive() && r.purge.enough(f, lights, false) {
		return decimal.Zero
	}
	return r.purge.angles.narrow
}

// purgeFindings: enough opening to change the air of a habitable room
// quickly.
func purgeFindings(f Facts, lights []light) []Finding {
	if f.GlassOnly || f.NotHouse || f.MVHR || f.Room != Living && f.Room != Bedroom || len(f.Panes) == 0 {
		return nil
	}
	r, ok := rule(purge, f.Nation, f.Date)
	switch {
	case !ok && f.FloorArea.IsPositive() && cover(purge, f.Nation, f.Date) != tooLate:
		return []Finding{notCovered(purge, f, "purge")}
	case !ok:
		return nil // too late: editionFindings says so; else nobody asked
	}
	restricted, guessed := false, false
	for _, l := range lights {
		restricted = restricted || l.Restrictor.IsPositive()
		guessed = guessed || r.purge.angles != nil && l.Degrees.IsZero() && l.Hinge != calc.FixedLight
	}
	fd := func(name string, w Weight) Finding {
		return r.finding(name, w).with("part", r.purge.part).with("open", purgeArea(lights, decimal.Zero, true).Round(2))
	}
	switch {
	case purgeArea(lights, decimal.Zero, true).IsZero():
		return []Finding{fd("purge_none", Advise)}
	case f.FloorArea.IsPositive() && r.purge.enough(f, lights, false) && guessed:
		// Enough only if they open as far as was taken for granted.
		ask := fd("purge_angle", Ask).with("floor", f.FloorArea).with("angle", unknownSwing)
		ask.Mark = weaker(ask.Mark, calc.FromMemory)
		return []Finding{ask}
	case f.FloorArea.IsPositive() && r.purge.enough(f, lights, false):
		return []Finding{fd("purge_clear", Clear).with("floor", f.FloorArea)}
	case f.FloorArea.IsPositive() && r.purge.enough(f, lights, true):
		return nil // the restrictors cost it: pullFindings says so
	case f.FloorArea.IsPositive():
		return []Finding{fd("purge_small", Advise).with("floor", f.FloorArea)}
	case restricted:
		return []Finding{fd("purge_area", Ask)}
	}
	return nil
}

// CheckRoom looks at the background vents and the airing of one room over all
// its windows together: f.Panes are the lights of every window, with the
// degrees to which they open, and the vent areas are sums.
func CheckRoom(f Facts) []Finding {
	if !f.Nation.known() || f.Date.IsZero() {
		return nil
	}
	f.OpenFlue = false // said with the window
	lights := f.lights()
	return append(ventFindings(f, lights), purgeFindings(f, lights)...)
}
