package safety

import (
	"slices"

	"sillbot/internal/calc"
)

// habitable rooms. By the text that was read a kitchen is none, for escape.
func (f Facts) habitable() bool { return f.Room == Living || f.Room == Bedroom }

// asksEscape reports whether the room may need a way out by its window: upstairs
// and of an inner room, and wherever the old window was one.
func asksEscape(f Facts, _ []light) bool {
	return f.bound() && (f.OldEscape || f.habitable() && (f.Storey > 0 || f.InnerRoom))
}

// passable reports whether a person can get out through the light, without
// its restrictor and wherever its sill is. A top-hung light has to stay open
// without being held (quoted by others): only its maker can say that.
func (e *escapeFigures) passable(l light) bool {
	return e.wide(l) && (l.Hinge != calc.TopHung || l.ClearGiven)
}

// wide reports whether the light's clear opening is large enough.
func (e *escapeFigures) wide(l light) bool { return !e.small(l) && !e.narrow(l) }

// small and narrow are the two ways in which it may not be.
func (e *escapeFigures) small(l light) bool { return l.way.LessThan(e.area) }
func (e *escapeFigures) narrow(l light) bool {
	return l.Clear.Width.LessThan(e.side) || l.Clear.Height.LessThan(e.side)
}

// high reports whether the light's sill is known to be too high.
func (e *escapeFigures) tooHigh(l light) bool { return l.climb != nil && l.climb.GreaterThan(e.bottom) }

// serves reports whether its sill is low enough too.
func (e *escapeFigures) serves(l light) bool {
	return e.passable(l) && l.climb != nil && !e.tooHigh(l)
}

// escapeFindings: whether a light can be escaped through.
func escapeFindings(f Facts, r ruling, lights []light) []Finding {
	var out []Finding
	switch w := r.escape.ways(lights); {
	case f.floorOver(r.escape.high, 1) && !f.OldEscape:
		high := r.finding("escape_high").with("high", r.escape.high)
		if f.GlassAboveFloor == nil || f.GlassAboveOutside == nil {
			high = high.by(calc.Practice) // by the storey alone
		}
		out = append(out, high)
	case len(w.good) > 0 && w.blocked:
		// pullFindings says what stands in the way.
	case len(w.good) > 0:
		out = append(out, r.way("escape_clear").on(w.good).by(calc.Practice))
	case w.missing:
		out = append(out, r.way("escape_measure"))
	case w.hung != nil:
		out = append(out, r.way("escape_top_hung").on(w.hung))
	default:
		none := r.noWay(f, w.best)
		if slices.ContainsFunc(lights, light.opens) && w.best == nil {
			none = none.by(calc.FromMemory) // that such a light gives no way
		}
		out = append(out, none)
	}
	if r.standing == borrowed {
		out = append(out, r.note(f.Nation))
	}
	return out
}

// way is a finding with what a way out takes.
func (r ruling) way(rule string) Finding {
	return r.finding(rule).with("area", r.escape.area).with("side", r.escape.side).with("bottom", r.escape.bottom)
}

// noWay says what the best light falls short of: area, side, or the height of its
// sill; nil: none can be climbed through at all. In England what the old
// window gave has to be kept; Scotland asks for today's figures.
func (r ruling) noWay(f Facts, best *light) Finding {
	fd := r.way("escape_none")
	if e := r.escape; best != nil {
		switch high, wide := e.tooHigh(*best), e.wide(*best); {
		case high && wide:
			fd = r.way("escape_sill")
		case high:
			fd = r.way("escape_size_sill")
		default:
			fd = r.way("escape_size")
		}
		if !e.wide(*best) {
			fd = fd.with("width", best.Clear.Width).with("height", best.Clear.Height).with("have", best.way.RoundDown(3)).word("fails", e.fails(*best))
		}
		if e.tooHigh(*best) {
			fd = fd.with("at", best.climb.RoundUp(0)).by(calc.Practice) // by the faces of the frame; upwards, as what is at fault
		}
		if !best.ClearGiven {
			fd = fd.by(calc.FromMemory) // what an open sash takes off
		}
		fd = fd.on(best.index)
	}
	switch {
	case f.OldEscape:
		return fd.word("then", "escape.then.old")
	case r.escape.today:
		return fd.word("then", "escape.then.today")
	}
	return fd.word("then", "escape.then.check").softer(Ask)
}

// fails names what of its size falls short.
func (e *escapeFigures) fails(l light) string {
	small := e.small(l)
	switch width, height := l.Clear.Width.LessThan(e.side), l.Clear.Height.LessThan(e.side); {
	case small && width && height:
		return "escape.fails.area_sides"
	case small && width:
		return "escape.fails.area_width"
	case small && height:
		return "escape.fails.area_height"
	case small:
		return "escape.fails.area"
	case width:
		return "escape.fails.width" // both can't be: the area would be less
	}
	return "escape.fails.height"
}

// ways is what the lights are as ways out.
type ways struct {
	good    []int  // lights that serve
	hung    []int  // top-hung ones that would if their maker said so
	blocked bool   // all that serve have something in the way
	missing bool   // whether one of the others may for all that is known
	best    *light // the one that comes nearest; nil: nobody can pass any
}

func (e *escapeFigures) ways(lights []light) (w ways) {
	w.blocked = true
	for i, l := range lights {
		unknown := l.opens() && l.Hinge != calc.BottomHung && l.way.IsZero() || l.Light < 0
		switch {
		case e.serves(l):
			w.good = append(w.good, l.index...)
			w.blocked = w.blocked && (l.pull.escapeHeld || l.pull.escapeGuard)
		case unknown, e.passable(l) && l.climb == nil:
			w.missing = true
		case e.wide(l) && !e.passable(l) && !e.tooHigh(l):
			w.hung = append(w.hung, l.index...)
		}
		if l.way.IsPositive() && (w.best == nil || e.nearer(l, *w.best)) {
			w.best = &lights[i]
		}
	}
	return w
}

// nearer reports whether a light comes nearer to a way out than another: large
// enough first, then by its area.
func (e *escapeFigures) nearer(l, than light) bool {
	if e.wide(l) == e.wide(than) {
		return l.way.GreaterThan(than.way)
	}
	return e.wide(l)
}
