package card

import (
	"image"
	"math"
	"slices"
	"strconv"
	"strings"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/typeface"
)

// badge is the side of the square sign of a glass block.
const badge = 34

// px is a length in mm on the canvas.
func (w *window) px(mm float64) int { return int(math.Round(mm * w.scale)) }

// bay is the daylight of the frame in which a light sits.
func (w *window) bay(l calc.Light) image.Rectangle {
	face, half := w.px(float(w.profile.OuterFace)), w.px(float(w.profile.MullionFace)/2)
	r := w.frame.Inset(max(8, face))
	mullions := w.p.Layout.Mullions
	if l.Column > 0 && l.Column <= len(mullions) {
		r.Min.X = w.frame.Min.X + w.px(float(mullions[l.Column-1])) + half
	}
	if l.Column < len(mullions) {
		r.Max.X = w.frame.Min.X + w.px(float(mullions[l.Column])) - half
	}
	if l.Column >= len(w.p.Layout.Transoms) || w.p.Layout.Transoms[l.Column].IsZero() {
		return r
	}
	transom := w.frame.Max.Y - w.px(float(w.p.Layout.Transoms[l.Column]))
	if l.Row == 1 {
		r.Max.Y = transom - half
	} else {
		r.Min.Y = transom + half
	}
	return r
}

// glass is the glass that is seen of a light, inside its bay.
func (w *window) glass(n int) image.Rectangle {
	light := w.p.Layout.Lights[n]
	bay := w.bay(light)
	for _, g := range w.p.Glass {
		if g.Light != n || !g.Sight.Width.IsPositive() || !g.Sight.Height.IsPositive() {
			continue
		}
		x := float(g.Origin.X) + (float(g.Glass.Width)-float(g.Sight.Width))/2
		y := float(g.Origin.Y) + (float(g.Glass.Height)-float(g.Sight.Height))/2
		r := image.Rect(w.px(x), -w.px(y+float(g.Sight.Height)), w.px(x+float(g.Sight.Width)), -w.px(y))
		r = r.Add(image.Pt(w.frame.Min.X, w.frame.Max.Y)).Intersect(bay)
		if !r.Empty() {
			return r
		}
	}
	if light.Hinge == calc.FixedLight {
		return bay.Inset(max(2, w.px(15)))
	}
	return bay.Inset(max(4, w.px(float(w.profile.SashFace))))
}

// drawFrame draws the sill piece, the outer frame, mullions, transoms, sashes
// and glass.
func (w *window) drawFrame() {
	s := w.s
	if w.below > 0 {
		sill := image.Rect(w.frame.Min.X, w.frame.Max.Y, w.frame.Max.X, w.frame.Max.Y+w.below)
		s.fill(sill, grey)
		s.outline(sill, 3, black)
	}
	s.fill(w.frame, pale)
	s.outline(w.frame, 3, black)
	for n, light := range w.p.Layout.Lights {
		bay := w.bay(light)
		s.outline(bay, 2, black)
		glass := w.glass(n)
		s.fill(glass, paper)
		s.outline(glass, 2, black)
		w.drawKnuckles(bay, light.Hinge)
	}
}

// drawKnuckles draws two short bars along the sash's edge on the hinge side.
func (w *window) drawKnuckles(bay image.Rectangle, h calc.Hinge) {
	side, ok := h.Side()
	if !ok {
		return
	}
	r, long := bay, bay.Dy()
	thick := max(7, min(11, w.px(float(w.profile.SashFace))-3))
	switch side {
	case calc.Left:
		r.Max.X = bay.Min.X + thick
	case calc.Right:
		r.Min.X = bay.Max.X - thick
	case calc.Head:
		r.Max.Y = bay.Min.Y + thick
	default:
		r.Min.Y = bay.Max.Y - thick
	}
	if level(side) {
		long = bay.Dx()
	}
	half := max(4, min(24, long/8))
	for _, at := range []int{long / 5, long - long/5} {
		if level(side) {
			r.Min.X, r.Max.X = bay.Min.X+at-half, bay.Min.X+at+half
		} else {
			r.Min.Y, r.Max.Y = bay.Min.Y+at-half, bay.Min.Y+at+half
		}
		w.s.fill(r, black)
	}
}

// hingeWords say how a light opens.
func (w *window) hingeWords(h calc.Hinge) string { return w.s.sayKey("card.light." + string(h)) }

// wordForms are the sizes at which words are tried inside a light.
var wordForms = []int{32, 28, smallest}

// wordsFit tells whether the way of opening can be written inside every
// light.
func (w *window) wordsFit() bool {
	return w.wordSize() > 0
}

// wordSize is the size at which the words fit in every light; zero when they
// fit at none.
func (w *window) wordSize() int {
	for _, px := range wordForms {
		if w.allFit(px) {
			return px
		}
	}
	return 0
}

func (w *window) allFit(px int) bool {
	f := typeface.At(typeface.Regular, px)
	for n, light := range w.p.Layout.Lights {
		free := w.free(n)
		words := w.hingeWords(light.Hinge)
		for _, word := range strings.Fields(words) {
			if f.Width(word) > free.Dx() {
				return false
			}
		}
		if free.Dx() <= 0 || len(wrap(f, words, free.Dx()))*lineHeight(f)+w.numberHeight() > free.Dy() {
			return false
		}
	}
	return true
}

// numbered tells whether the lights carry numbers: when there are several.
func (w *window) numbered() bool { return len(w.p.Layout.Lights) > 1 }

func numberFace() *typeface.Face { return typeface.At(typeface.Bold, 38) }

func (w *window) numberHeight() int {
	if !w.numbered() {
		return 0
	}
	return lineHeight(numberFace())
}

// free is the room for words in a light, clear of the signs of its blocks.
func (w *window) free(n int) image.Rectangle {
	r := w.glass(n).Inset(12)
	middle := (r.Min.Y + r.Max.Y) / 2
	for _, b := range w.badges(n) {
		if b.role == calc.Location {
			continue
		}
		if y := (b.box.Min.Y + b.box.Max.Y) / 2; y > middle {
			r.Max.Y = min(r.Max.Y, b.box.Min.Y-4)
		} else {
			r.Min.Y = max(r.Min.Y, b.box.Max.Y+4)
		}
	}
	return r
}

// drawLights writes in the lights and draws their blocks.
func (w *window) drawLights() {
	px := w.wordSize()
	if len(w.lists) > 0 {
		px = 0
	}
	for n, light := range w.p.Layout.Lights {
		w.drawBars(n)
		w.writeLight(n, light, px)
		w.drawBadges(n)
	}
}

// writeLight writes the light's number and, unless px is zero, how it opens.
func (w *window) writeLight(n int, light calc.Light, px int) {
	s, free := w.s, w.free(n)
	var lines []string
	f := typeface.At(typeface.Regular, max(px, smallest))
	if px > 0 {
		lines = wrap(f, w.hingeWords(light.Hinge), free.Dx())
	} else {
		free = w.glass(n)
	}
	y := free.Min.Y + (free.Dy()-w.numberHeight()-len(lines)*lineHeight(f))/2
	if w.numbered() {
		w.writeNumber(n, image.Rect(free.Min.X, y, free.Max.X, y+w.numberHeight()))
		y += w.numberHeight()
	}
	for _, line := range lines {
		s.centred(line, f, image.Rect(free.Min.X, y, free.Max.X, y+lineHeight(f)), black)
		y += lineHeight(f)
	}
}

// writeNumber writes the light's number, smaller where the light is small. In
// a light too small for any letter it stands on a patch of paper, and where
// even that would cover another it is left out.
func (w *window) writeNumber(n int, box image.Rectangle) {
	words := strconv.Itoa(n + 1)
	f := numberFace()
	if glass := w.glass(n); glass.Dx() < f.Width(words)+8 || glass.Dy() < capHeight(f.Px)+8 {
		f = typeface.At(typeface.Bold, smallest)
	}
	middle := image.Pt((box.Min.X+box.Max.X)/2, (box.Min.Y+box.Max.Y)/2)
	size := image.Pt(f.Width(words)+4, capHeight(f.Px)+6)
	box = image.Rectangle{Max: size}.Add(middle).Sub(size.Div(2))
	if w.s.taken(box) {
		w.s.dropped++
		return
	}
	w.s.fill(box, paper)
	w.s.inside(words, f, box, black)
	w.s.labels = append(w.s.labels, label{text: words, box: box})
}

// taken tells whether something is written where box is.
func (s *sheet) taken(box image.Rectangle) bool {
	return slices.ContainsFunc(s.labels, func(l label) bool { return l.box.Overlaps(box) })
}

// lightList says how each light opens, lights that open alike together.
func (w *window) lightList() []string {
	var order []calc.Hinge
	numbers := map[calc.Hinge][]string{}
	for n, light := range w.p.Layout.Lights {
		if numbers[light.Hinge] == nil {
			order = append(order, light.Hinge)
		}
		numbers[light.Hinge] = append(numbers[light.Hinge], strconv.Itoa(n+1))
	}
	var parts []string
	for _, h := range order {
		if !w.numbered() {
			parts = append(parts, w.hingeWords(h))
			continue
		}
		parts = append(parts, w.s.say(phrase.Of("card.lights").
			Saying("numbers", strings.Join(numbers[h], ", ")).Word("way", "card.light."+string(h))))
	}
	return wrap(listFace(), strings.Join(parts, " · "), cardWidth-2*margin)
}

// sign is the sign of one glass block, or of the two that share a corner.
type sign struct {
	role calc.Role
	box  image.Rectangle
}

// bar is one glass block's place at the edge of the glass.
func (w *window) bar(glass image.Rectangle, size calc.Size, b calc.Block) image.Rectangle {
	const thick = 9
	long, whole := glass.Dy(), float(size.Height)
	if level(b.Edge) {
		long, whole = glass.Dx(), float(size.Width)
	}
	half := max(8, min(w.px(float(b.Length))/2, long/6))
	at := max(half, min(long-half, int(float(b.At)/whole*float64(long))))
	switch b.Edge {
	case calc.Left:
		return image.Rect(glass.Min.X, glass.Max.Y-at-half, glass.Min.X+thick, glass.Max.Y-at+half)
	case calc.Right:
		return image.Rect(glass.Max.X-thick, glass.Max.Y-at-half, glass.Max.X, glass.Max.Y-at+half)
	case calc.Head:
		return image.Rect(glass.Min.X+at-half, glass.Min.Y, glass.Min.X+at+half, glass.Min.Y+thick)
	}
	return image.Rect(glass.Min.X+at-half, glass.Max.Y-thick, glass.Min.X+at+half, glass.Max.Y)
}

// blocks goes through the blocks of a light with their bars.
func (w *window) blocks(n int, each func(calc.Block, image.Rectangle)) {
	for _, g := range w.p.Glass {
		if g.Light != n || !g.Glass.Width.IsPositive() || !g.Glass.Height.IsPositive() {
			continue
		}
		for _, b := range g.Blocks {
			each(b, w.bar(w.glass(n), g.Glass, b))
		}
	}
}

// drawBars draws the blocks: full where they carry or brace, hollow where they
// only keep the glass in its place.
func (w *window) drawBars(n int) {
	w.blocks(n, func(b calc.Block, bar image.Rectangle) {
		w.s.fill(bar, black)
		if b.Role == calc.Location {
			w.s.fill(bar.Inset(2), paper)
		}
	})
}

// badges are the signs of a light's blocks, each once: the heel's two blocks
// share a sign in their corner, and so do the toe's.
func (w *window) badges(n int) []sign {
	glass := w.glass(n)
	inner := glass.Inset(13)
	edges := map[calc.Role][2]calc.Side{} // upright and level edge
	w.blocks(n, func(b calc.Block, _ image.Rectangle) {
		e := edges[b.Role]
		if level(b.Edge) {
			e[1] = b.Edge
		} else {
			e[0] = b.Edge
		}
		edges[b.Role] = e
	})
	var out []sign
	w.blocks(n, func(b calc.Block, bar image.Rectangle) {
		box := w.badgeAt(inner, bar, b.Role)
		if e := edges[b.Role]; (b.Role == calc.Heel || b.Role == calc.Toe) && e[0] != "" && e[1] != "" {
			box = inCorner(inner, box, e[0], e[1])
		}
		again := slices.ContainsFunc(out, func(o sign) bool { return o.role == b.Role && o.box.Overlaps(box) })
		if box.In(glass) && !again {
			out = append(out, sign{b.Role, box})
		}
	})
	return out
}

// badgeAt is the place of a sign beside its bar.
func (w *window) badgeAt(inner, bar image.Rectangle, r calc.Role) image.Rectangle {
	at := bar.Min.Add(bar.Max).Div(2)
	width := w.badgeWidth(r)
	x := max(inner.Min.X, min(inner.Max.X-width, at.X-width/2))
	y := max(inner.Min.Y, min(inner.Max.Y-badge, at.Y-badge/2))
	return image.Rect(x, y, x+width, y+badge)
}

// inCorner is box moved into the corner of two edges.
func inCorner(inner, box image.Rectangle, upright, level calc.Side) image.Rectangle {
	to := inner.Min
	if upright == calc.Right {
		to.X = inner.Max.X - box.Dx()
	}
	if level == calc.Sill {
		to.Y = inner.Max.Y - box.Dy()
	}
	return box.Sub(box.Min).Add(to)
}

func (w *window) badgeWidth(r calc.Role) int { return max(badge, w.badgeFace().Width(w.letter(r))+12) }

func (w *window) badgeFace() *typeface.Face { return typeface.At(typeface.Bold, smallest) }

func (w *window) letter(r calc.Role) string { return w.s.sayKey("card.letter." + string(r)) }

// drawBadges draws the signs where nothing is written yet.
func (w *window) drawBadges(n int) {
	for _, b := range w.badges(n) {
		if !w.s.taken(b.box) {
			w.drawBadge(b.role, b.box)
			w.s.labels = append(w.s.labels, label{text: w.letter(b.role), box: b.box})
		}
	}
}

// drawBadge draws the sign of a role: white on black for the heel, an oval for
// the toe, a square for a setting block, a bare letter for a location block.
func (w *window) drawBadge(r calc.Role, box image.Rectangle) {
	letter, f := w.letter(r), w.badgeFace()
	switch r {
	case calc.Heel:
		w.s.fill(box, black)
		w.s.inside(letter, f, box, paper)
		return
	case calc.Toe:
		w.s.oval(box, black)
		w.s.oval(box.Inset(3), paper)
	case calc.Setting:
		w.s.fill(box, paper)
		w.s.outline(box, 3, black)
	}
	w.s.inside(letter, f, box, black)
}

// oval fills a box with round ends.
func (s *sheet) oval(box image.Rectangle, i ink) {
	radius := float64(box.Dy()) / 2
	y := float64(box.Min.Y) + radius
	left, right := float64(box.Min.X)+radius, float64(box.Max.X)-radius
	s.disc(point{left, y}, radius, i)
	if right > left {
		s.disc(point{right, y}, radius, i)
		s.fill(image.Rect(int(left), box.Min.Y, int(right), box.Max.Y), i)
	}
}
