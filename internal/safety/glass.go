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

// zone is below which height the light needs safety glass.
func (f Facts) zone() decimal.Decimal {
	if f.Door || f.BesideDoor {
		return doorZone
	}
	return windowZone
}

// class is the least class of BS EN 12600. A pane of unknown width in a door
// is taken as a wide one.
func (f Facts) class(l light) decimal.Decimal {
	if (f.Door || f.BesideDoor) && (l.Size.Width.IsZero() || l.Size.Width.GreaterThan(wideInDoor)) {
		return class2
	}
	return class3
}

// small reports whether a pane is small enough for thicker ordinary glass.
func (l light) small() bool {
	least := decimal.Min(l.Size.Width, l.Size.Height)
	return least.IsPositive() && least.LessThanOrEqual(smallSide) && area(l.Size).LessThanOrEqual(smallArea)
}

// glassFindings are the critical places for glass. A pane is critical when any
// part of it is below the zone from the inside floor or from the outside
// standing level, which is the cautious reading of the datum (from memory).
func glassFindings(f Facts, lights []light) []Finding {
	r, ok := rule(safetyGlass, f.Nation, f.Date)
	if !ok {
		return nil
	}
	var found groups
	known := true
	zone := f.zone()
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
		s := r.finding("glass_screen", Advise).with("ball", screenBall)
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
	class := f.class(l)
	if f.GlassOnly {
		r.clause, r.mark = glassOnlyClause(r), weaker(r.mark, glassOnlyMark(f.Nation))
		return r.finding("glass_only", Advise).with("class", class)
	}
	if f.NotHouse && AnnealedAllowed(f.Thickness, l.Size) {
		if r.document == "ad_k" {
			r.clause = "K4 diagram 5.2, para 5.5"
		}
		return r.finding("glass_annealed", Advise).with("thickness", f.Thickness)
	}
	if l.small() {
		thick := smallThick
		if f.Leaded {
			thick = leadedThick
		}
		w := Must
		name := "glass_small_thin"
		if f.Thickness.GreaterThanOrEqual(thick) {
			w, name = Advise, "glass_small"
		}
		return r.finding(name, w).with("class", class).with("thickness", thick).with("side", smallSide).with("area", smallArea)
	}
	if f.Door || f.BesideDoor {
		if r.document == "ad_k" {
			r.clause = "K4 section 5, para 5.4"
		}
		name := "glass_door"
		if !f.Door {
			name = "glass_beside_door"
		}
		return r.finding(name, Must).with("class", class).with("reach", doorReach).with("wide", wideInDoor)
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

// annealed is Diagram 5.2 of AD K 2013 (read): the largest pane of a
// thickness, mm, the shorter side first.
var annealed = []struct{ thickness, short, long decimal.Decimal }{
	{mm(8), mm(1100), mm(1100)},
	{mm(10), mm(2250), mm(2250)},
	{mm(12), mm(3000), mm(4500)},
}

// annealedAny may have any size.
var annealedAny = mm(15)

// AnnealedAllowed reports whether Diagram 5.2 of AD K takes ordinary annealed
// glass of a thickness, mm, in a pane of this size in a critical place. The
// diagram is only for shop, office and public fronts (para 5.5): it never
// clears a window of a house, and Check does not ask it there.
func AnnealedAllowed(thickness decimal.Decimal, size calc.Size) bool {
	short, long := decimal.Min(size.Width, size.Height), decimal.Max(size.Width, size.Height)
	if !short.IsPositive() {
		return false
	}
	if thickness.GreaterThanOrEqual(annealedAny) {
		return true
	}
	for _, a := range annealed {
		if thickness.GreaterThanOrEqual(a.thickness) && short.LessThanOrEqual(a.short) && long.LessThanOrEqual(a.long) {
			return true
		}
	}
	return false
}

// bathFindings: glass beside a bath or shower.
func bathFindings(f Facts, _ []light) []Finding {
	if !f.NearBath {
		return nil
	}
	r, _ := rule(bathGlass, f.Nation, f.Date)
	return []Finding{r.finding("glass_bath", Must).with("reach", bathReach)}
}
