package scene

import (
	"fmt"
	"slices"

	"sillbot/internal/calc"
	"sillbot/internal/typeface"
)

// badgeSide is the side of the square sign of a glass block.
const badgeSide = 3.4

// badge is the sign of one glass block, or of the two that share a corner.
type badge struct {
	role calc.Role
	box  Box
}

// barOf is one glass block's place at the edge of the glass that is seen.
func (w *window) barOf(seen Box, pane calc.Size, b calc.Block) Box {
	long, whole := seen.along(b.Edge), Box{W: w.mm(pane.Width), H: w.mm(pane.Height)}.along(b.Edge)
	half := max(0.8, min(w.mm(b.Length)/2, long/6))
	return seen.bar(b.Edge, max(half, min(long-half, w.mm(b.At)/whole*long)), half, 0.9)
}

// blocks goes through the blocks of a light with their bars.
func (w *window) blocks(n int, each func(calc.Block, Box)) {
	for _, g := range w.glass {
		if g.Light != n || !g.Glass.Width.IsPositive() || !g.Glass.Height.IsPositive() {
			continue
		}
		for _, b := range g.Blocks {
			each(b, w.barOf(w.panes[n], g.Glass, b))
		}
	}
}

// drawBars draws the blocks: full where they carry or brace, hollow where they
// only keep the glass in its place.
func (w *window) drawBars(n int) {
	w.blocks(n, func(b calc.Block, bar Box) {
		w.Fill(bar, Black)
		if b.Role == calc.Location {
			w.Fill(bar.Inset(0.2), Paper)
		}
	})
}

// badges are the signs of a light's blocks, each once: the heel's two blocks
// share a sign in their corner, and so do the toe's.
func (w *window) badges(n int) []badge {
	pane := w.panes[n]
	inner := pane.Inset(1.3)
	edges := map[calc.Role][2]calc.Side{} // upright and level edge
	w.blocks(n, func(b calc.Block, _ Box) {
		e := edges[b.Role]
		if level(b.Edge) {
			e[1] = b.Edge
		} else {
			e[0] = b.Edge
		}
		edges[b.Role] = e
	})
	var out []badge
	w.blocks(n, func(b calc.Block, bar Box) {
		box := bar.Middle(w.badgeWidth(b.Role), badgeSide)
		box.X = max(inner.X, min(inner.Right()-box.W, box.X))
		box.Y = max(inner.Y, min(inner.Bottom()-box.H, box.Y))
		if e := edges[b.Role]; (b.Role == calc.Heel || b.Role == calc.Toe) && e[0] != "" && e[1] != "" {
			box.X, box.Y = inner.X, inner.Y
			if e[0] == calc.Right {
				box.X = inner.Right() - box.W
			}
			if e[1] == calc.Sill {
				box.Y = inner.Bottom() - box.H
			}
		}
		again := slices.ContainsFunc(out, func(o badge) bool { return o.role == b.Role && o.box.Overlaps(box) })
		if box.In(pane) && !again {
			out = append(out, badge{b.Role, box})
		}
	})
	return out
}

var badgeFont = Font{typeface.Bold, 2.6}

func (w *window) letter(r calc.Role) string { return w.voice.Key("card.letter." + string(r)) }

func (w *window) badgeWidth(r calc.Role) float64 {
	return max(badgeSide, badgeFont.Width(w.letter(r))+1.2)
}

// drawBadges draws the signs where nothing is written yet.
func (w *window) drawBadges(n int) {
	for i, b := range w.badges(n) {
		if !slices.ContainsFunc(w.taken, b.box.Overlaps) {
			w.part = fmt.Sprintf("block %d %s %d", n+1, b.role, i+1)
			w.drawBadge(b.role, b.box)
			w.taken = append(w.taken, b.box)
		}
	}
	w.part = ""
}

// drawBadge draws the sign of a role: white on black for the heel, an oval for
// the toe, a square for a setting block, a bare letter for a location block.
func (w *window) drawBadge(r calc.Role, box Box) {
	ink := Black
	switch r {
	case calc.Heel:
		w.Fill(box, Black)
		ink = Paper
	case calc.Toe:
		w.oval(box, Black)
		w.oval(box.Inset(0.3), Paper)
	case calc.Setting:
		w.Fill(box, Paper)
		w.Frame(box, 0.3, Black)
	}
	w.inside(w.letter(r), badgeFont, box, ink)
}

// oval fills a box with round ends.
func (s *Scene) oval(b Box, i Ink) {
	radius := b.H / 2
	s.disc(Point{b.X + radius, b.Y + radius}, radius, i)
	if b.W > b.H {
		s.disc(Point{b.Right() - radius, b.Y + radius}, radius, i)
		s.Fill(Box{b.X + radius, b.Y, b.W - b.H, b.H}, i)
	}
}
