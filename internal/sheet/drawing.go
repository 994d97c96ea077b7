package sheet

import (
	"slices"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// Sizes of a drawing, mm on paper.
const (
	mostFrame = 46.0 // height of the frame
	bandAbove = 6.5  // "seen from outside"
	reach     = 4.0  // from the frame to a line of dimensions
	tick      = 1.0
	sillHigh  = 1.8
	below     = 9.5 // the width's dimension
	noteHigh  = 3.6 // a line of the note under the drawing
	labelGap  = 1.2 // between two dimensions
)

// scales are 1 to these, as drawings are made.
var scales = []float64{5, 10, 15, 20, 25, 30, 40, 50, 60, 75, 100, 125, 150, 200, 250, 300, 400, 500}

// profile has the face widths of the profiles, mm, that the drawing is made
// with. The order doesn't state them.
var profile = calc.DefaultSettings()

var (
	dimension = regular(7.5)
	overall   = bold(9)
	noteFont  = regular(7)
)

// picture is a drawing whose size is known before it is drawn.
type picture struct {
	line         job.Line
	scale        float64 // 1 to this
	frame        box     // relative to the drawing's top left corner
	turned       bool    // the mullions' dimensions run upwards
	noMullions   bool    // there are too many of them to write
	dropped      bool    // some dimensions are not written
	transoms     []decimal.Decimal
	sill         float64 // height of the sill piece, 0 for none
	note         []string
	legend       []string
	height       float64
	mullionsHigh float64
	transomsWide float64
}

// mm is a length in mm on the drawing.
func (p picture) mm(d decimal.Decimal) float64 { return float(d) / p.scale }

// picture lays a drawing out. Dimensions that there is no room for are left to
// the rows beside it.
func (l *layout) picture(line job.Line) picture {
	p := picture{line: line}
	for _, t := range line.Layout.Transoms {
		if t.IsPositive() && !slices.ContainsFunc(p.transoms, t.Equal) {
			p.transoms = append(p.transoms, t)
		}
	}
	slices.SortFunc(p.transoms, decimal.Decimal.Cmp)
	if line.Sill.IsPositive() {
		p.sill = sillHigh
	}
	l.fit(&p)
	crowded := float64(len(p.transoms)+1)*dimension.line() > p.frame.h+dimension.line()+2
	if crowded && len(p.transoms) > 1 {
		p.transoms, p.dropped = nil, true
	}
	if n := float64(len(line.Layout.Mullions) + 1); p.turned && n*dimension.line() > p.frame.w+14 {
		p.noMullions, p.dropped = true, true
	}
	if p.dropped {
		l.fit(&p)
		p.note = append(l.wrap(noteFont, l.key("sheet.bars_beside"), pictureWidth), p.note...)
	}
	if l.opens(line.Layout) {
		p.legend = l.wrap(noteFont, l.key("card.legend.hinges"), pictureWidth-14)
	}
	p.height = p.frame.bottom() + p.sill + below + float64(len(p.note)+len(p.legend))*noteHigh
	return p
}

// fit finds the scale and the frame's place, with room for the dimensions.
func (l *layout) fit(p *picture) {
	l.mullionLabels(p)
	p.transomsWide = 1
	for _, t := range p.transoms {
		p.transomsWide = max(p.transomsWide, l.width(dimension, l.number(t))+reach+2)
	}
	size := p.line.Size
	across := pictureWidth - p.transomsWide - reach - 2 - l.width(overall, l.number(size.Height))
	w, h := float(size.Width), float(size.Height)
	p.scale = scales[len(scales)-1]
	for _, s := range scales {
		if w/s <= across && h/s <= mostFrame {
			p.scale = s
			break
		}
	}
	// Beyond the scales there is no window, but nothing may leave its place.
	p.scale = max(p.scale, w/across, h/mostFrame)
	p.frame = box{p.transomsWide + (across-w/p.scale)/2, bandAbove + p.mullionsHigh + 1.5, w / p.scale, h / p.scale}
	p.note = l.wrap(noteFont, l.words(phrase.Of("sheet.scale").With("scale", decimal.NewFromFloat(p.scale).Round(0))), pictureWidth)
}

// mullionLabels says how the mullions' dimensions are written: level, or
// upwards where they are many.
func (l *layout) mullionLabels(p *picture) {
	ms := p.line.Layout.Mullions
	p.mullionsHigh = 0
	if len(ms) == 0 || p.noMullions {
		return
	}
	total, long := l.width(dimension, "0")+labelGap, 0.0
	for _, m := range ms {
		w := l.width(dimension, l.number(m))
		total, long = total+w+labelGap, max(long, w)
	}
	p.mullionsHigh = reach + dimension.line()
	// Level labels take no more than the narrowest drawing leaves.
	if p.turned = total > pictureWidth*0.6; p.turned {
		p.mullionsHigh = reach + long + 3
	}
}

// bay is the daylight of the frame in which a light sits.
func (p picture) bay(light calc.Light) box {
	face, half := p.mm(profile.OuterFace), p.mm(profile.MullionFace)/2
	b := p.frame.inset(face)
	x0, x1, y0, y1 := b.x, b.right(), b.y, b.bottom()
	ms := p.line.Layout.Mullions
	if light.Column > 0 && light.Column <= len(ms) {
		x0 = p.frame.x + p.mm(ms[light.Column-1]) + half
	}
	if light.Column < len(ms) {
		x1 = p.frame.x + p.mm(ms[light.Column]) - half
	}
	if ts := p.line.Layout.Transoms; light.Column < len(ts) && ts[light.Column].IsPositive() {
		at := p.frame.bottom() - p.mm(ts[light.Column])
		if light.Row == 1 {
			y1 = at - half
		} else {
			y0 = at + half
		}
	}
	return box{x0, y0, max(0, x1-x0), max(0, y1-y0)}
}

// glass is the glass that is seen of a light.
func (p picture) glass(light calc.Light) box {
	bay := p.bay(light)
	face := decimal.NewFromInt(15)
	if light.Hinge != calc.FixedLight {
		face = profile.SashFace
	}
	return bay.inset(min(p.mm(face), bay.w/4, bay.h/4))
}

// numberFont is the largest that a light's number can be written with inside
// its glass; ok is false when there is none. A figure has no tail, so the
// line's box may reach over the sash.
func (l *layout) numberFont(p picture, n int) (f font, ok bool) {
	light := p.line.Layout.Lights[n]
	glass, bay := p.glass(light), p.bay(light)
	for _, f := range bolds(9, 7, 6) {
		if l.width(f, strconv.Itoa(n+1)) <= glass.w-0.4 && f.size*point*0.73 <= glass.h-0.4 && f.line() <= bay.h {
			return f, true
		}
	}
	return font{}, false
}

// numbered tells whether every light has its number on the drawing.
func (l *layout) numbered(p picture) bool {
	for n := range p.line.Layout.Lights {
		if _, ok := l.numberFont(p, n); !ok {
			return false
		}
	}
	return true
}

// drawPicture draws p with its top left corner at that of b.
func (l *layout) drawPicture(p picture, b box) {
	band := box{b.x, b.y, b.w, 5}
	l.fill(band, black)
	l.into(box{b.x + 2, b.y, b.w - 4, band.h}, l.key("card.seen_from_outside"), paper, bolds(8.5, 7, 6, 5, 4)...)
	p.frame.x += b.x
	p.frame.y += b.y
	l.drawFrame(p)
	for n, light := range p.line.Layout.Lights {
		l.drawLight(p, n, light)
	}
	l.drawMullions(p, b)
	l.drawTransoms(p, b)
	l.drawOverall(p, b)
	l.drawNote(p, b)
}

func (l *layout) drawFrame(p picture) {
	if p.sill > 0 {
		sill := box{p.frame.x - 1.2, p.frame.bottom(), p.frame.w + 2.4, p.sill}
		l.fill(sill, grey)
		l.frame(sill, 0.25, black)
	}
	l.fill(p.frame, pale)
	l.frame(p.frame, 0.4, black)
}

func (l *layout) drawLight(p picture, n int, light calc.Light) {
	bay, glass := p.bay(light), p.glass(light)
	if light.Hinge != calc.FixedLight {
		l.frame(bay, 0.25, black)
	}
	l.fill(glass, paper)
	l.frame(glass, 0.2, black)
	l.drawHinges(bay, light.Hinge)
	l.writeLight(p, n, light, bay, glass)
}

func (l *layout) opens(layout calc.Layout) bool {
	return slices.ContainsFunc(layout.Lights, func(light calc.Light) bool {
		_, ok := light.Hinge.Side()
		return ok
	})
}

// drawHinges draws two short bars along the sash's edge on the hinge side, the
// mark of the card.
func (l *layout) drawHinges(bay box, h calc.Hinge) {
	side, ok := h.Side()
	if !ok {
		return
	}
	thick := min(1.3, bay.w/5, bay.h/5)
	level := side == calc.Head || side == calc.Sill
	long := bay.h
	if level {
		long = bay.w
	}
	half := min(2.2, long/8)
	for _, at := range []float64{long / 5, long - long/5} {
		bar := box{bay.x, bay.y + at - half, thick, 2 * half}
		switch side {
		case calc.Right:
			bar.x = bay.right() - thick
		case calc.Head:
			bar = box{bay.x + at - half, bay.y, 2 * half, thick}
		case calc.Sill:
			bar = box{bay.x + at - half, bay.bottom() - thick, 2 * half, thick}
		}
		l.fill(bar, black)
	}
}

// writeLight writes a light's number and how it opens, as far as there is
// room. The rows beside the drawing say it in any case.
func (l *layout) writeLight(p picture, n int, light calc.Light, bay, glass box) {
	room := glass.inset(0.8)
	number := ""
	if len(p.line.Layout.Lights) > 1 {
		number = strconv.Itoa(n + 1)
	}
	words := l.key("card.light." + string(light.Hinge))
	for _, size := range []float64{8, 7, 6} {
		if l.lightFits(number, bold(size+2), words, regular(size), room) {
			l.stack(number, bold(size+2), l.wrap(regular(size), words, room.w), regular(size), room)
			return
		}
	}
	if f, ok := l.numberFont(p, n); ok && number != "" {
		l.stack(number, f, nil, f, bay)
	}
}

func (l *layout) lightFits(number string, nf font, words string, f font, room box) bool {
	if room.w <= 0 || room.h <= 0 {
		return false
	}
	for _, word := range strings.Fields(words) {
		if l.width(f, word) > room.w {
			return false
		}
	}
	h := float64(len(l.wrap(f, words, room.w))) * f.line()
	if number != "" {
		h += nf.line()
	}
	return h <= room.h && l.width(nf, number) <= room.w
}

// stack sets a number and lines under it in the middle of b.
func (l *layout) stack(number string, nf font, lines []string, f font, b box) {
	h := float64(len(lines)) * f.line()
	if number != "" {
		h += nf.line()
	}
	y := b.y + (b.h-h)/2
	if number != "" {
		l.centred(number, nf, box{b.x, y, b.w, nf.line()}, black)
		y += nf.line()
	}
	for _, line := range lines {
		l.centred(line, f, box{b.x, y, b.w, f.line()}, black)
		y += f.line()
	}
}

// drawMullions draws the distances of the mullions' centre lines from the
// frame's left edge.
func (l *layout) drawMullions(p picture, b box) {
	ms := p.line.Layout.Mullions
	if len(ms) == 0 || p.noMullions {
		return
	}
	at := append([]decimal.Decimal{{}}, ms...)
	y := p.frame.y - reach + 1
	want, size := make([]float64, len(at)), make([]float64, len(at))
	for i, m := range at {
		want[i], size[i] = p.frame.x+p.mm(m), l.width(dimension, l.number(m))+labelGap
		if p.turned {
			size[i] = dimension.line()
		}
		l.upright(want[i], y-tick, p.frame.y-y+tick, 0.15, black)
	}
	l.level(want[0], y, want[len(want)-1]-want[0], 0.15, black)
	foot := y - tick
	if p.turned {
		foot -= 2
	}
	for i, x := range spread(want, size, b.x, b.right()) {
		words := l.number(at[i])
		if p.turned {
			l.slant(want[i], y-tick, x, foot, 0.15, black)
			w := l.width(dimension, words)
			l.put(mark{box: box{x - dimension.line()/2, foot - 0.4 - w, dimension.line(), w}, words: words, font: dimension, turned: true, within: b})
			continue
		}
		l.centred(words, dimension, box{x - size[i]/2, foot - dimension.line(), size[i], dimension.line()}, black)
	}
}

// drawTransoms draws the heights of the transoms' centre lines above the
// frame's bottom edge.
func (l *layout) drawTransoms(p picture, b box) {
	if len(p.transoms) == 0 {
		return
	}
	at := append([]decimal.Decimal{{}}, p.transoms...)
	x := p.frame.x - reach + 1
	want, size := make([]float64, len(at)), make([]float64, len(at))
	for i := range at {
		// From the top down, as spread needs them in rising order.
		t := at[len(at)-1-i]
		want[i], size[i] = p.frame.bottom()-p.mm(t), dimension.line()
		l.level(x-tick, want[i], p.frame.x-x+tick, 0.15, black)
	}
	l.upright(x, want[0], want[len(want)-1]-want[0], 0.15, black)
	for i, y := range spread(want, size, p.frame.y-2, p.frame.bottom()+dimension.line()) {
		words := l.number(at[len(at)-1-i])
		l.ended(words, dimension, box{b.x, y - dimension.line()/2, x - tick - 0.6 - b.x, dimension.line()}, black)
	}
}

// drawOverall draws the width under the frame and the height at its right.
func (l *layout) drawOverall(p picture, b box) {
	f := p.frame
	y := f.bottom() + p.sill + reach
	for _, x := range []float64{f.x, f.right()} {
		l.upright(x, f.bottom()+p.sill+0.8, reach-0.8+tick, 0.15, black)
		l.slant(x-tick/2, y+tick/2, x+tick/2, y-tick/2, 0.35, black)
	}
	l.level(f.x, y, f.w, 0.2, black)
	l.centred(l.number(p.line.Size.Width), overall, box{b.x, y + 0.8, 2 * (f.x + f.w/2 - b.x), overall.line()}, black)
	x := f.right() + reach
	for _, y := range []float64{f.y, f.bottom()} {
		l.level(f.right()+0.8, y, reach-0.8+tick, 0.15, black)
		l.slant(x-tick/2, y+tick/2, x+tick/2, y-tick/2, 0.35, black)
	}
	l.upright(x, f.y, f.h, 0.2, black)
	words := l.number(p.line.Size.Height)
	l.text(words, overall, x+1.5, f.y+(f.h-overall.line())/2, black, b)
}

// drawNote explains the mark of the hinges and says the scale.
func (l *layout) drawNote(p picture, b box) {
	y := p.frame.bottom() + p.sill + below
	if len(p.legend) > 0 {
		m := y + noteHigh/2
		l.level(b.x, m, 12, 0.25, black)
		l.fill(box{b.x + 1, m - 0.65, 3.6, 1.3}, black)
		l.fill(box{b.x + 7.4, m - 0.65, 3.6, 1.3}, black)
	}
	for _, line := range p.legend {
		l.text(line, noteFont, b.x+14, y, black, box{b.x + 14, y, b.w - 14, noteHigh})
		y += noteHigh
	}
	for _, line := range p.note {
		l.text(line, noteFont, b.x, y, black, box{b.x, y, b.w, noteHigh})
		y += noteHigh
	}
}

// spread places labels along a line: the middle of each as near to want,
// which rises, as their sizes and the ends allow. When the line is too short
// they run past high.
func spread(want, size []float64, low, high float64) []float64 {
	out := slices.Clone(want)
	for i := range out {
		least := low + size[i]/2
		if i > 0 {
			least = out[i-1] + (size[i-1]+size[i])/2
		}
		out[i] = max(out[i], least)
	}
	for i := len(out) - 1; i >= 0; i-- {
		most := high - size[i]/2
		if i < len(out)-1 {
			most = out[i+1] - (size[i+1]+size[i])/2
		}
		out[i] = min(out[i], most)
	}
	// Pushed back, the first may have left the line; then nothing fits.
	for i := range out {
		least := low + size[i]/2
		if i > 0 {
			least = out[i-1] + (size[i-1]+size[i])/2
		}
		out[i] = max(out[i], least)
	}
	return out
}
