package safety

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// heights asks for the readings that several rules hang on.
func heights(f Facts, _ []light) []Finding {
	var out []Finding
	if f.GlassAboveFloor == nil {
		out = append(out, Finding{Rule: "height_floor", Weight: Ask})
	}
	if f.GlassAboveOutside == nil && f.Storey <= 0 {
		out = append(out, Finding{Rule: "height_outside", Weight: Ask})
	}
	return out
}

// zone is below which height the window's lights need safety glass.
func (g *glassFigures) zone(f Facts) decimal.Decimal {
	if f.Door || f.BesideDoor {
		return g.door
	}
	return g.window
}

// least is the least class of BS EN 12600. A pane of unknown width in a door
// is taken as a wide one.
func (g *glassFigures) least(f Facts, l light) decimal.Decimal {
	if (f.Door || f.BesideDoor) && (l.Size.Width.IsZero() || l.Size.Width.GreaterThan(g.wide)) {
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
func glassFindings(f Facts, lights []light) []Finding {
	r, ok := rule(safetyGlass, f.Nation, f.Date)
	if !ok {
		return []Finding{notCovered(safetyGlass, f, "glass")}
	}
	var found groups
	known := true
	zone := r.glass.zone(f)
	for _, l := range lights {
		inside, outside := below(l.floor, zone), below(l.outside, zone)
		if !inside && !outside {
			known = known && l.floor != nil && (l.outside != nil || f.Storey > 0)
			continue
		}
		own, datum, lowest := r, "datum.floor", l.floor
		if !inside {
			own.mark, datum, lowest = calc.FromMemory, "datum.outside", l.outside
		} else if outside && l.outside.LessThan(*l.floor) {
			datum, lowest = "datum.outside", l.outside
		}
		fd := f.glassFinding(own, l).with("zone", zone).with("height", *lowest).word("datum", datum)
		found.add(fd.Rule+datum+fd.Figures["class"].String(), fd, l, "height")
	}
	out := found.all()
	switch {
	case len(out) == 0 && known:
		return []Finding{r.finding("glass_clear", Clear).with("zone", zone)}
	case hasMust(out):
		s := r.finding("glass_screen", Advise).with("ball", r.glass.screenBall)
		out = append(out, s)
	}
	return out
}

func hasMust(fs []Finding) bool {
	for _, f := range fs {
		if f.Weight == Must {
			return true
		}
	}
	return false
}

// glassFinding is what a critical pane needs.
func (f Facts) glassFinding(r ruling, l light) Finding {
	class := r.glass.least(f, l)
	if f.GlassOnly {
		r.clause, r.mark = glassOnlyClause(r), weaker(r.mark, glassOnlyMark(f.Nation))
		return r.finding("glass_only", Advise).with("class", class)
	}
	if f.NotHouse && r.glass.takes(f.Thickness, l.Size) {
		if r.document == "ad_k" {
			r.clause = "K4 diagram 5.2, para 5.5"
		}
		return r.finding("glass_annealed", Advise).with("thickness", f.Thickness)
	}
	if r.glass.small(l.Size) {
		thick := r.glass.smallThick
		if f.Leaded {
			thick = r.glass.leadedThick
		}
		w := Must
		name := "glass_small_thin"
		if f.Thickness.GreaterThanOrEqual(thick) {
			w, name = Advise, "glass_small"
		}
		return r.finding(name, w).with("class", class).with("thickness", thick).with("side", r.glass.smallSide).with("area", r.glass.smallArea)
	}
	if f.Door || f.BesideDoor {
		if r.document == "ad_k" {
			r.clause = "K4 section 5, para 5.4"
		}
		name := "glass_door"
		if !f.Door {
			name = "glass_beside_door"
		}
		return r.finding(name, Must).with("class", class).with("reach", r.glass.reach).with("wide", r.glass.wide)
	}
	return r.finding("glass_window", Must).with("class", class)
}

// glassOnlyClause: that glass alone is not building work was read in AD K 0.2.
func glassOnlyClause(r ruling) string {
	if r.document == "ad_k" {
		return "0.2"
	}
	return r.clause
}

func glassOnlyMark(n Nation) calc.Mark {
	if n == England {
		return calc.Read
	}
	return calc.FromMemory
}

// weaker is the mark that promises less.
func weaker(a, b calc.Mark) calc.Mark {
	rank := map[calc.Mark]int{calc.Read: 0, calc.Derived: 1, calc.Quoted: 2, calc.FromMemory: 3, calc.Practice: 4}
	if rank[b] > rank[a] {
		return b
	}
	return a
}

// bathFindings: glass beside a bath or shower.
func bathFindings(f Facts, _ []light) []Finding {
	if !f.NearBath {
		return nil
	}
	r, ok := rule(bathGlass, f.Nation, f.Date)
	if !ok {
		return []Finding{notCovered(bathGlass, f, "glass_bath")}
	}
	return []Finding{r.finding("glass_bath", Must).with("reach", r.bath.reach)}
}
