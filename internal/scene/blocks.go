package scene

import (
	"fmt"
	"slices"

	"sillbot/internal/calc"
	"sillbot/internal/typeface"
)

// badge is the letter of one glass block, or of two of a kind side by side.
type badge struct {
	role calc.Role
	edge calc.Side // of the pane that it stands at
	box  Box
}

// blockThick is how thick a glass block is drawn, mm on paper.
const blockThick = 1.2

// barOf is one glass block's place at the edge of the glass that is seen.
func (w *window) barOf(seen Box, pane calc.Size, b calc.Block) Box {
	long, whole := seen.along(b.Edge), Box{W: w.mm(pane.Width), H: w.mm(pane.Height)}.along(b.Edge)
	half := max(0.8, min(w.mm(b.Length)/2, long/6))
	return seen.bar(b.Edge, max(half, min(long-half, w.mm(b.At)/whole*long)), half, blockThick)
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

// drawBars draws the blocks: solid where they carry or brace, hollow where they
// only keep the glass in its place.
func (w *window) drawBars(n int) {
	w.blocks(n, func(b calc.Block, bar Box) { w.drawBlock(b.Role, bar) })
}

func (s *Scene) drawBlock(r calc.Role, bar Box) {
	s.Fill(bar, Black)
	if r == calc.Location {
		s.Fill(bar.Inset(0.3), Paper)
	}
}

// badges are the letters of a light's blocks, each beside its block, inside the
// glass. Where two of a kind would lie on each other one stands for both.
func (w *window) badges(n int) []badge {
	pane := w.panes[n]
	var out []badge
	w.blocks(n, func(b calc.Block, bar Box) {
		wide, high := badgeFont.Width(w.letter(b.Role))+0.8, badgeFont.capital()+0.8
		box := bar.Middle(wide, high)
		switch b.Edge {
		case calc.Left:
			box.X = bar.Right() + badgeGap
		case calc.Right:
			box.X = bar.X - badgeGap - wide
		case calc.Head:
			box.Y = bar.Bottom() + badgeGap
		default:
			box.Y = bar.Y - badgeGap - high
		}
		again := func(box Box) bool {
			return slices.ContainsFunc(out, func(o badge) bool { return o.role == b.Role && o.box.Inset(-0.5).Overlaps(box) })
		}
		if aside := box.away(b.Edge, pane); again(box) && aside.In(pane) && !again(aside) {
			box = aside
		}
		if box.In(pane) && !again(box) {
			out = append(out, badge{b.Role, b.Edge, box})
		}
	})
	return out
}

// away is b moved along an edge of the pane by its own size, away from the nearer
// corner.
func (b Box) away(edge calc.Side, pane Box) Box {
	switch x, y := pane.X+pane.W/2, pane.Y+pane.H/2; {
	case level(edge) && b.X < x:
		b.X += b.W + 0.2
	case level(edge):
		b.X -= b.W + 0.2
	case b.Y < y:
		b.Y += b.H + 0.2
	default:
		b.Y -= b.H + 0.2
	}
	return b
}

const badgeGap = 0.3 // between a block and its letter

var badgeFont = Font{typeface.Bold, 2.8}

func (w *window) letter(r calc.Role) string { return w.voice.Key("card.letter." + string(r)) }

// drawBadges writes the letters where nothing is written yet.
func (w *window) drawBadges(n int) {
	for i, b := range w.badges(n) {
		if !slices.ContainsFunc(w.taken, b.box.Inset(-0.5).Overlaps) {
			w.part = fmt.Sprintf("block %d %s %d", n+1, b.role, i+1)
			w.Fill(b.box, Paper)
			w.inside(w.letter(b.role), badgeFont, b.box, Black)
			w.taken = append(w.taken, b.box)
		}
	}
	w.part = ""
}
