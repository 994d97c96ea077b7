package scene

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
)

// Sizes of a supplier's drawing, mm on paper.
const (
	mostFrame  = 46.0 // height of the frame
	bandHigh   = 5.0  // "seen from outside"
	chain      = 4.0  // from the frame to a line of dimensions
	tick       = 1.0
	sillHigh   = 1.8
	underFrame = 9.5 // the width's dimension
	labelGap   = 1.2 // between two dimensions
)

// scales are 1 to these, as drawings are made.
var scales = []float64{5, 10, 15, 20, 25, 30, 40, 50, 60, 75, 100, 125, 150, 200, 250, 300, 400, 500}

var (
	dimension = Regular(7.5)
	overall   = Bold(9)
	noteFont  = Regular(7)
)

// Order is the drawing that a supplier makes by: the window to scale with its
// dimensions. Its size is known before it is drawn.
type Order struct {
	window
	// Height is of the whole drawing, mm on paper.
	Height float64
	// Dropped tells whether dimensions are not written, for want of room.
	Dropped bool

	width        float64
	turned       bool // the mullions' dimensions run upwards
	noMullions   bool // there are too many of them to write
	transoms     []decimal.Decimal
	note         []string
	key          *Key
	mullionsHigh float64
}

// NewOrder lays a drawing out, width mm wide on paper, of a frame with or
// without a sill piece. Dimensions that there is no room for are left out.
func NewOrder(v Voice, size calc.Size, layout calc.Layout, sill bool, width float64) *Order {
	d := &Order{width: width, window: window{
		voice: v, size: size, layout: layout, profile: calc.DefaultSettings(),
		ways:    []Font{Regular(8), Regular(7), Regular(6)},
		numbers: []Font{Bold(9), Bold(7), Bold(6)},
	}}
	for _, t := range layout.Transoms {
		if t.IsPositive() && !slices.ContainsFunc(d.transoms, t.Equal) {
			d.transoms = append(d.transoms, t)
		}
	}
	slices.SortFunc(d.transoms, decimal.Decimal.Cmp)
	if sill {
		d.sill = sillHigh
	}
	d.fit()
	crowded := float64(len(d.transoms)+1)*dimension.Line() > d.frame.H+dimension.Line()+2
	if crowded && len(d.transoms) > 1 {
		d.transoms, d.Dropped = nil, true
	}
	if n := float64(len(layout.Mullions) + 1); d.turned && n*dimension.Line() > d.frame.W+14 {
		d.noMullions, d.Dropped = true, true
	}
	if d.Dropped {
		d.fit()
		d.note = append(noteFont.Wrap(v.Key("sheet.bars_beside"), width), d.note...)
	}
	d.note = append(d.unasked(noteFont, width), d.note...)
	d.key = &Key{font: noteFont, columns: 2, width: width, sign: 6.6, least: noteFont.Line() + 1.4}
	d.explain(d.key)
	d.Height = d.frame.Bottom() + d.sill + underFrame + d.key.Height() + noteFont.Height(d.note)
	return d
}

// fit finds the scale and the frame's place, with room for the dimensions.
func (d *Order) fit() {
	d.mullionLabels()
	left := 1.0
	for _, t := range d.transoms {
		left = max(left, dimension.Width(d.voice.Number(t))+chain+2)
	}
	across := d.width - left - chain - 2 - overall.Width(d.voice.Number(d.size.Height))
	w, h := float(d.size.Width), float(d.size.Height)
	to := scales[len(scales)-1]
	for _, s := range scales {
		if w/s <= across && h/s <= mostFrame {
			to = s
			break
		}
	}
	// Beyond the scales there is no window, but nothing may leave its place.
	to = max(to, w/across, h/mostFrame)
	d.scale = 1 / to
	d.frame = Box{left + (across-w*d.scale)/2, bandHigh + 3 + d.mullionsHigh, w * d.scale, h * d.scale}
	d.settle()
	d.note = noteFont.Wrap(d.voice.Say(phrase.Of("sheet.scale").With("scale", decimal.NewFromFloat(to).Round(0))), d.width)
}

// mullionLabels says how the mullions' dimensions are written: level, or
// upwards where they are many.
func (d *Order) mullionLabels() {
	d.mullionsHigh = 0
	if len(d.layout.Mullions) == 0 || d.noMullions {
		return
	}
	total, long := dimension.Width("0")+labelGap, 0.0
	for _, m := range d.layout.Mullions {
		w := dimension.Width(d.voice.Number(m))
		total, long = total+w+labelGap, max(long, w)
	}
	d.mullionsHigh = chain + dimension.Line()
	// Level labels take no more than the narrowest drawing leaves.
	if d.turned = total > d.width*0.6; d.turned {
		d.mullionsHigh = chain + long + 3
	}
}

// Numbered tells whether every light has its number on the drawing.
func (d *Order) Numbered() bool {
	for n := range d.layout.Lights {
		if _, ok := d.numberFont(n); !ok {
			return false
		}
	}
	return true
}

// Draw draws the window with its top left corner at p.
func (d *Order) Draw(s *Scene, p Point) {
	d.Scene, d.key.scene = s, s
	d.frame.X, d.frame.Y = d.frame.X+p.X, d.frame.Y+p.Y
	d.settle()
	b := Box{p.X, p.Y, d.width, bandHigh}
	d.Fill(b, Black)
	d.Into(Box{b.X + 2, b.Y, b.W - 4, b.H}, d.voice.Key("card.seen_from_outside"), Paper, Bold(8.5), Bold(7), Bold(6), Bold(5), Bold(4))
	d.drawFrame()
	for n := range d.layout.Lights {
		d.write(n)
	}
	d.part = "dimension"
	d.drawMullions(b)
	d.drawTransoms(b)
	d.drawOverall(b)
	d.part = ""
	y := d.frame.Bottom() + d.sill + underFrame
	d.key.Draw(Point{p.X, y})
	d.Lines(d.note, noteFont, Box{b.X, y + d.key.Height(), b.W, 0}, Black)
}

// drawMullions draws the distances of the mullions' centre lines from the
// frame's left edge.
func (d *Order) drawMullions(b Box) {
	if len(d.layout.Mullions) == 0 || d.noMullions {
		return
	}
	at := append([]decimal.Decimal{{}}, d.layout.Mullions...)
	y := d.frame.Y - chain + 1
	want, wide := make([]float64, len(at)), make([]float64, len(at))
	for i, m := range at {
		want[i], wide[i] = d.frame.X+d.mm(m), dimension.Width(d.voice.Number(m))+labelGap
		if d.turned {
			wide[i] = dimension.Line()
		}
		d.Line(Point{want[i], y - tick}, Point{want[i], d.frame.Y}, 0.15)
	}
	d.Line(Point{want[0], y}, Point{want[len(want)-1], y}, 0.15)
	foot := y - tick
	if d.turned {
		foot -= 2
	}
	for i, x := range spreadOver(want, wide, b.X, b.Right()) {
		words := d.voice.Number(at[i])
		if d.turned {
			d.Line(Point{want[i], y - tick}, Point{x, foot}, 0.15)
			w := dimension.Width(words)
			d.put(Shape{Kind: Lettered, Box: Box{x - dimension.Line()/2, foot - 0.4 - w, dimension.Line(), w}, Words: words, Font: dimension, Turned: true, Ink: Black, Within: b})
			continue
		}
		d.Centred(words, dimension, Box{x - wide[i]/2, foot - dimension.Line(), wide[i], dimension.Line()}, Black)
	}
}

// spreadOver is spread for labels of given sizes that stay between low and
// high.
func spreadOver(want, size []float64, low, high float64) []float64 {
	apart := make([]float64, len(size)-1)
	for i := range apart {
		apart[i] = (size[i] + size[i+1]) / 2
	}
	return spread(want, apart, low+size[0]/2, high-size[len(size)-1]/2)
}

// drawTransoms draws the heights of the transoms' centre lines above the
// frame's bottom edge.
func (d *Order) drawTransoms(b Box) {
	if len(d.transoms) == 0 {
		return
	}
	at := append([]decimal.Decimal{{}}, d.transoms...)
	slices.Reverse(at) // from the top down, as spread needs them in rising order
	x := d.frame.X - chain + 1
	want, high := make([]float64, len(at)), make([]float64, len(at))
	for i, t := range at {
		want[i], high[i] = d.frame.Bottom()-d.mm(t), dimension.Line()
		d.Line(Point{x - tick, want[i]}, Point{d.frame.X, want[i]}, 0.15)
	}
	d.Line(Point{x, want[0]}, Point{x, want[len(want)-1]}, 0.15)
	for i, y := range spreadOver(want, high, d.frame.Y-2, d.frame.Bottom()+dimension.Line()) {
		d.Ended(d.voice.Number(at[i]), dimension, Box{b.X, y - dimension.Line()/2, x - tick - 0.6 - b.X, dimension.Line()}, Black)
	}
}

// drawOverall draws the width under the frame and the height at its right.
func (d *Order) drawOverall(b Box) {
	f := d.frame
	foot := f.Bottom() + d.sill
	y, x := foot+chain, f.Right()+chain
	for _, x := range []float64{f.X, f.Right()} {
		d.Line(Point{x, foot + 0.8}, Point{x, y + tick}, 0.15)
		d.Line(Point{x - tick/2, y + tick/2}, Point{x + tick/2, y - tick/2}, 0.35)
	}
	d.Line(Point{f.X, y}, Point{f.Right(), y}, 0.2)
	d.Centred(d.voice.Number(d.size.Width), overall, Box{b.X, y + 0.8, 2 * (f.X + f.W/2 - b.X), overall.Line()}, Black)
	for _, y := range []float64{f.Y, f.Bottom()} {
		d.Line(Point{f.Right() + 0.8, y}, Point{x + tick, y}, 0.15)
		d.Line(Point{x - tick/2, y + tick/2}, Point{x + tick/2, y - tick/2}, 0.35)
	}
	d.Line(Point{x, f.Y}, Point{x, f.Bottom()}, 0.2)
	d.Text(d.voice.Number(d.size.Height), overall, Box{x + 1.5, f.Y + (f.H-overall.Line())/2, b.Right() - x - 1.5, 0}, Black)
}
