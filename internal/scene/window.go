package scene

import (
	"fmt"
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// window is what every drawing of a window shows: the frame, its lights and
// how they open.
type window struct {
	*Scene
	voice   Voice
	size    calc.Size
	layout  calc.Layout
	glass   []calc.GlassPlan // as far as it is known
	profile calc.Settings    // has the face widths of the profiles, mm
	// ways and numbers are the fonts that are tried for the words in a light
	// and for its number, the largest first.
	ways, numbers []Font

	frame Box     // the frame's outside on paper
	scale float64 // mm on paper for a mm
	sill  float64 // height of the sill piece on paper, 0 for none
	panes []Box   // the glass that is seen of each light
	marks []Mark  // of the safety glass, by light
	taken []Box   // where something is written in the lights
}

// mm is a length of the window on paper.
func (w *window) mm(d decimal.Decimal) float64 { return float(d) * w.scale }

// float is a length in mm, to say where a mark goes.
func float(d decimal.Decimal) float64 { return d.InexactFloat64() }

func level(s calc.Side) bool { return s == calc.Head || s == calc.Sill }

// bay is the daylight of the frame in which a light sits.
func (w *window) bay(l calc.Light) Box {
	b, half := w.frame.Inset(w.mm(w.profile.OuterFace)), w.mm(w.profile.MullionFace)/2
	x0, x1, y0, y1 := b.X, b.Right(), b.Y, b.Bottom()
	mullions := w.layout.Mullions
	if l.Column > 0 && l.Column <= len(mullions) {
		x0 = w.frame.X + w.mm(mullions[l.Column-1]) + half
	}
	if l.Column < len(mullions) {
		x1 = w.frame.X + w.mm(mullions[l.Column]) - half
	}
	if ts := w.layout.Transoms; l.Column < len(ts) && ts[l.Column].IsPositive() {
		at := w.frame.Bottom() - w.mm(ts[l.Column])
		if l.Row == 1 {
			y1 = at - half
		} else {
			y0 = at + half
		}
	}
	return Box{x0, y0, max(0, x1-x0), max(0, y1-y0)}
}

// fixedFace is how much of a fixed light's edge is drawn as frame, mm.
var fixedFace = decimal.NewFromInt(15)

// settle is called when frame and scale are known, and again when they change.
func (w *window) settle() {
	w.panes = w.panes[:0]
	for n := range w.layout.Lights {
		w.panes = append(w.panes, w.paneOf(n))
	}
}

func (w *window) paneOf(n int) Box {
	light := w.layout.Lights[n]
	bay := w.bay(light)
	for _, g := range w.glass {
		wide, high := w.mm(g.Sight.Width), w.mm(g.Sight.Height)
		seen := Box{
			w.frame.X + w.mm(g.Origin.X) + (w.mm(g.Glass.Width)-wide)/2,
			w.frame.Bottom() - w.mm(g.Origin.Y) - (w.mm(g.Glass.Height)+high)/2, wide, high,
		}
		if g.Light == n && wide > 0 && high > 0 && seen.In(bay.Inset(-0.1)) {
			return seen
		}
	}
	face := w.profile.SashFace
	if light.Hinge == calc.FixedLight {
		face = fixedFace
	}
	return bay.Inset(min(w.mm(face), bay.W/4, bay.H/4))
}

// drawFrame draws the sill piece, the outer frame, the sashes and the glass.
func (w *window) drawFrame() {
	w.part = "frame"
	if w.sill > 0 {
		sill := Box{w.frame.X, w.frame.Bottom(), w.frame.W, w.sill}
		w.Fill(sill, Pale)
		w.Frame(sill, 0.4, Black)
	}
	w.Fill(w.frame, Pale)
	w.Frame(w.frame, 0.5, Black)
	for n, light := range w.layout.Lights {
		w.part = fmt.Sprint("light ", n+1)
		if light.Hinge != calc.FixedLight {
			w.Fill(w.bay(light), Faint)
			w.Frame(w.bay(light), 0.4, Black)
		}
		pane := w.panes[n]
		w.Fill(pane, Paper)
		w.Frame(pane, 0.25, Black)
		w.triangles(n)
		w.hinges(n)
	}
	w.part = ""
}

// triangles draws how a light opens: the base of a triangle stands on the side
// of the hinges and its point on the side that opens; full lines open outwards,
// towards who looks at the drawing, dashed ones inwards.
//
// Base and point: OENORM A 6240-2, quoted by a schoolbook of building services
// (S). Full and dashed: EN 12519, annex A.1, quoted by a guide of the window
// trade from PN-EN 12519:2007 (S). Elsewhere the triangle is turned round, so
// none stands without the hinges marked, and said in words.
func (w *window) triangles(n int) {
	light := w.layout.Lights[n]
	for _, side := range turns(light.Hinge) {
		w.part = fmt.Sprintf("triangle %d %s", n+1, side)
		w.triangle(w.bay(light), side, w.voice.inwards(light.Hinge))
	}
}

// turns are the sides about which a light turns: a tilt and turn light about
// two.
func turns(h calc.Hinge) []calc.Side {
	side, ok := h.Side()
	switch {
	case !ok:
		return nil
	case h == calc.TiltTurnLeft || h == calc.TiltTurnRight:
		return []calc.Side{side, calc.Sill}
	}
	return []calc.Side{side}
}

func (s *Scene) triangle(b Box, hinges calc.Side, dashed bool) {
	tl, tr := Point{b.X, b.Y}, Point{b.Right(), b.Y}
	bl, br := Point{b.X, b.Bottom()}, Point{b.Right(), b.Bottom()}
	base := map[calc.Side][2]Point{calc.Left: {tl, bl}, calc.Right: {tr, br}, calc.Head: {tl, tr}, calc.Sill: {bl, br}}[hinges]
	point := Point{tl.X + br.X - (base[0].X+base[1].X)/2, tl.Y + br.Y - (base[0].Y+base[1].Y)/2}
	for _, from := range base {
		s.line(from, point, 0.25, dashed)
	}
}

// hinges marks the side on which a light's hinges are.
func (w *window) hinges(n int) {
	side, ok := w.layout.Lights[n].Hinge.Side()
	if !ok {
		return
	}
	w.part = fmt.Sprintf("hinges %d %s", n+1, side)
	w.knuckles(w.bay(w.layout.Lights[n]), side)
}

// knuckles draws two short bars along a side of a sash.
func (s *Scene) knuckles(sash Box, side calc.Side) {
	long := sash.along(side)
	for _, at := range []float64{long / 5, long - long/5} {
		s.Fill(sash.bar(side, at, min(2.4, long/8), min(1.1, sash.W/5, sash.H/5)), Black)
	}
}

// along is the length of a side.
func (b Box) along(side calc.Side) float64 {
	if level(side) {
		return b.W
	}
	return b.H
}

// bar is a bar inside b along a side, its middle at a distance from the side's
// bottom or left corner.
func (b Box) bar(side calc.Side, at, half, thick float64) Box {
	bar := Box{b.X, b.Bottom() - at - half, thick, 2 * half}
	if level(side) {
		bar = Box{b.X + at - half, b.Y, 2 * half, thick}
	}
	switch side {
	case calc.Right:
		bar.X = b.Right() - thick
	case calc.Sill:
		bar.Y = b.Bottom() - thick
	}
	return bar
}

// ring is the mark of the corner from which distances run on (ISO 129-1, from
// memory).
func (s *Scene) ring(m Point) {
	s.disc(m, 0.8, Black)
	s.disc(m, 0.5, Paper)
}

// caption says under a drawing from where it is seen, and gives its height.
func (w *window) caption(b Box, fonts ...Font) float64 {
	words := w.voice.Key("card.seen_from_outside")
	f := Largest(words, b.W, fonts...)
	lines := f.Wrap(words, b.W)
	for n, line := range lines {
		w.Centred(line, f, Box{b.X, b.Y + float64(n)*f.Line(), b.W, f.Line()}, Black)
	}
	return f.Height(lines)
}

// any tells whether any light opens in such a way.
func (w *window) any(is func(calc.Hinge) bool) bool {
	return slices.ContainsFunc(w.layout.Lights, func(l calc.Light) bool { return is(l.Hinge) })
}

// unasked says that outwards or inwards is only what is usual, where it isn't
// in the name of the light.
func (w *window) unasked() string {
	if w.voice.opens != "" || !w.any(func(h calc.Hinge) bool { return len(turns(h)) == 1 }) {
		return ""
	}
	return w.voice.Key("card.direction_unasked")
}
