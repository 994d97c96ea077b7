package safety

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// beside reports whether a pane is within reach of a door's edge, or may be for
// all that is known. Doubt: nobody said which of several panes is.
func (f Facts) beside(l light) (near, doubt bool) {
	if slices.ContainsFunc(f.Panes, func(p Pane) bool { return p.BesideDoor }) {
		return l.BesideDoor, false
	}
	return f.BesideDoor, f.BesideDoor && len(f.Panes) > 1
}

// zone is below which height a pane needs safety glass.
func (g *glassFigures) zone(f Facts, l light) decimal.Decimal {
	if near, _ := f.beside(l); f.Door || near {
		return g.door
	}
	return g.window
}

// least is the least class of BS EN 12600. A pane of unknown width in a door
// is taken as a wide one.
func (g *glassFigures) least(f Facts, l light) decimal.Decimal {
	if near, _ := f.beside(l); (f.Door || near) && (l.Size.Width.IsZero() || l.Size.Width.GreaterThan(g.wide)) {
		return g.wideClass
	}
	return g.class
}

// small reports whether a pane is small enough for thicker ordinary glass.
func (g *glassFigures) small(s calc.Size) bool {
	least := decimal.Min(s.Width, s.Height)
	return least.IsPositive() && least.LessThanOrEqual(g.smallSide) && area(s).LessThanOrEqual(g.smallArea)
}

// glassFindings are the critical places for glass. A pane is critical when any
// part of it is below the zone from the inside floor or from the outside
// standing level, which is the cautious reading of the datum (from memory).
func glassFindings(f Facts, r ruling, lights []light) []Finding {
	var found groups
	must, most := false, decimal.Zero
	for _, l := range lights {
		zone := r.glass.zone(f, l)
		most = decimal.Max(most, zone)
		inside, outside := below(l.floor, zone), below(l.outside, zone)
		if !inside && !outside {
			continue
		}
		own, datum, lowest := r, "datum.floor", l.floor
		if !inside {
			own.mark, datum, lowest = calc.FromMemory, "datum.outside", l.outside
		} else if outside && l.outside.LessThan(*l.floor) {
			datum, lowest = "datum.outside", l.outside
		}
		fd := f.glassFinding(own, l).with("zone", zone).with("height", *lowest).word("datum", datum).by(f.HeightMark)
		if fd.Rule == "glass_window" || fd.Rule == "glass_window_inner" {
			fd = fd.with("zone", r.glass.window)
		}
		must = must || fd.Severity == Must
		found.add(fd.Rule+datum+fd.Figures["class"].String(), fd, l, "height")
	}
	known := f.GlassAboveFloor != nil && (f.GlassAboveOutside != nil || f.Storey > 0)
	switch {
	case len(found.findings) == 0 && known:
		// The datum outside is from memory, and the glass that was measured is the
		// old window's.
		return []Finding{r.finding("glass_clear").with("zone", most).by(calc.Practice)}
	case must && f.NotHouse:
		return append(found.findings, r.finding("glass_screen").with("ball", r.glass.screenBall).with("height", r.glass.screenHeight))
	}
	return found.findings
}

// glassFinding is what a critical pane needs. Where people can stand on both
// sides both sheets of the unit are meant, upstairs the inner one (quoted by
// others).
func (f Facts) glassFinding(r ruling, l light) Finding {
	class := r.glass.least(f, l)
	near, doubt := f.beside(l)
	low := below(l.floor, r.glass.window) || below(l.outside, r.glass.window)
	if f.GlassOnly {
		return r.finding("glass_only").with("class", class)
	}
	if f.NotHouse && r.glass.takes(f.Thickness, l.Size) {
		return r.finding("glass_annealed").with("thickness", f.Thickness)
	}
	if r.glass.small(l.Size) {
		thick, name := r.glass.smallThick, "glass_small_thin"
		if f.Leaded {
			thick = r.glass.leadedThick
		}
		if f.Thickness.GreaterThanOrEqual(thick) {
			name = "glass_small"
		}
		return r.finding(name).with("class", class).with("thickness", thick).with("side", r.glass.smallSide).with("area", r.glass.smallArea)
	}
	switch {
	case f.Door:
		return r.finding("glass_door").with("class", class).with("reach", r.glass.reach).with("wide", r.glass.wide)
	case near && doubt && !low:
		return r.finding("glass_beside_any").with("class", class).with("reach", r.glass.reach).with("wide", r.glass.wide)
	case near && !doubt:
		return r.finding("glass_beside_door").with("class", class).with("reach", r.glass.reach).with("wide", r.glass.wide)
	case f.Storey > 0 && f.GlassAboveOutside == nil && !near:
		return r.finding("glass_window_inner").with("class", class)
	}
	return r.finding("glass_window").with("class", class)
}

// bathFindings: glass beside a bath or shower. The document is a code of
// practice: it advises, no regulation asks.
func bathFindings(_ Facts, r ruling, _ []light) []Finding {
	return []Finding{r.finding("glass_bath_code").with("reach", r.bath.reach).with("class", r.bath.class)}
}
