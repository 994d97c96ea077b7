package scene

import (
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
)

// Sizes of a supplier's drawing, mm on paper.
const (
	mostFrame = 34.0 // height of the frame
	chain     = 2.0  // from the frame to the first line of dimensions
	tick      = 1.0
	sillHigh  = 1.8
	labelGap  = 1.2 // between two dimensions
)

// scales are 1 to these, as drawings are made.
var scales = []float64{5, 10, 15, 20, 25, 30, 40, 50, 60, 75, 100, 125, 150, 200, 250, 300, 400, 500}

var (
	dimension = Regular(7.5)
	overall   = Bold(9)
	noteFont  = Regular(7)
	underFont = []Font{Bold(9), Bold(8), Bold(7)}
)

// Made is what a supplier's drawing shows.
type Made struct {
	Size   calc.Size // of the frame, mm
	Layout calc.Layout
	Sill   bool // a sill piece goes under it
	// SillPiece is how high that is, mm; zero: not known.
	SillPiece decimal.Decimal
	Marks     []Mark // of the glass, by light; none: nothing is asked
	// Screen: it is shown at whatever size, so that it has no scale.
	Screen bool
}

// Order is the drawing that a supplier makes by: the window to scale with its
// dimensions. Figures stand above their line; those of upright lines are read
// from the right. The places of the bars run on from one corner, which has the
// origin's mark (ISO 129-1, from memory). Its size is known before it is drawn.
type Order struct {
	window
	// Height is of the whole drawing, mm on paper.
	Height float64
	// Dropped tells whether dimensions are not written, for want of room.
	Dropped bool

	made       Made
	width      float64
	turned     bool // the mullions' dimensions run upwards
	noMullions bool // there are too many of them to write
	transoms   []decimal.Decimal
	note       []string
	key        *Key
	above      float64 // height of the mullions' dimensions
}

// NewOrder lays a drawing out, width mm wide on paper. Dimensions that there is
// no room for are left out.
func NewOrder(v Voice, made Made, width float64) *Order {
	d := &Order{made: made, width: width, window: window{
		voice: v, size: made.Size, layout: made.Layout, profile: calc.DefaultSettings(), marks: made.Marks,
		ways:    []Font{Regular(8), Regular(7)},
		numbers: []Font{Bold(9), Bold(7)},
	}}
	for _, t := range made.Layout.Transoms {
		if t.IsPositive() && !slices.ContainsFunc(d.transoms, t.Equal) {
			d.transoms = append(d.transoms, t)
		}
	}
	slices.SortFunc(d.transoms, decimal.Decimal.Cmp)
	if made.Sill {
		d.sill = sillHigh
	}
	d.fit()
	if len(d.transoms) > 0 && d.crowded(d.transoms) {
		d.transoms, d.Dropped = nil, true
	}
	if n := float64(len(made.Layout.Mullions) + 1); d.turned && n*dimension.Line() > d.frame.W+14 {
		d.noMullions, d.Dropped = true, true
	}
	if d.Dropped {
		d.fit()
	}
	d.note = d.notes()
	d.key = &Key{font: noteFont, columns: 1, width: width, sign: 6, least: noteFont.Line() + 0.8}
	d.explain(d.key)
	d.Height = d.under() + d.key.Height() + noteFont.Height(d.note)
	return d
}

// under is from the top of the drawing to its key.
func (d *Order) under() float64 {
	seen := d.voice.Key("card.seen_from_outside")
	f := Largest(seen, d.width, underFont...)
	return d.frame.Bottom() + d.sill + chain + overall.Line() + 1.4 + f.Height(f.Wrap(seen, d.width)) + 0.4
}

// overSill tells whether the height with the sill piece has its own line.
func (d *Order) overSill() bool { return d.made.Sill && d.made.SillPiece.IsPositive() }

// crowded tells whether the figures of these places have no room beside the
// frame.
func (d *Order) crowded(at []decimal.Decimal) bool {
	total := dimension.Width(d.voice.Number(decimal.Zero)) + labelGap
	for _, t := range at {
		total += dimension.Width(d.voice.Number(t)) + labelGap
	}
	return total > d.tall()
}

// beyond is how far the upright figures may stand out over the frame's top, and
// under its foot.
const beyond = 1.4

// tall is what the upright figures may take.
func (d *Order) tall() float64 { return d.frame.H + d.sill + 2*beyond }

// fit finds the scale and the frame's place, with room for the dimensions.
func (d *Order) fit() {
	d.mullionLabels()
	left, right := 1.0, chain+overall.Line()+tick
	if len(d.transoms) > 0 {
		left = chain + dimension.Line() + 2*tick
	}
	if d.overSill() {
		right += overall.Line() + tick
	}
	across := d.width - left - right
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
	d.frame = Box{left + (across-w*d.scale)/2, 1.6 + d.above, w * d.scale, h * d.scale}
	// A low frame leaves no room for an upright figure beside it.
	if need := overall.Width(d.voice.Number(d.size.Height)) - d.frame.H; need > 0 {
		d.frame.Y += need / 2
	}
	d.settle()
}

// notes are the scale, and what has to be known to read the drawing.
func (d *Order) notes() []string {
	var all []string
	if !d.made.Screen {
		all = append(all, d.voice.Say(phrase.Of("sheet.scale").With("scale", decimal.NewFromFloat(1/d.scale).Round(0))))
	}
	if d.overSill() {
		all = append(all, d.voice.Key("sheet.with_sill"))
	}
	if words := d.unasked(); words != "" {
		all = append(all, words)
	}
	if d.Dropped {
		all = append(all, d.voice.Key("sheet.bars_beside"))
	}
	return noteFont.Wrap(strings.Join(all, " "), d.width)
}

// mullionLabels says how the mullions' dimensions are written: level, or
// upwards where they are many.
func (d *Order) mullionLabels() {
	d.above = 0
	if len(d.layout.Mullions) == 0 || d.noMullions {
		return
	}
	total, long := dimension.Width("0")+labelGap, 0.0
	for _, m := range d.layout.Mullions {
		w := dimension.Width(d.voice.Number(m))
		total, long = total+w+labelGap, max(long, w)
	}
	d.above = chain + tick + dimension.Line()
	// Level labels take no more than the narrowest drawing leaves.
	if d.turned = total > d.width*0.6; d.turned {
		d.above = chain + long + 3
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
	y := p.Y + d.under()
	d.frame.X, d.frame.Y = d.frame.X+p.X, d.frame.Y+p.Y
	d.settle()
	b := Box{p.X, p.Y, d.width, 0}
	d.drawFrame()
	for n := range d.layout.Lights {
		d.write(n)
	}
	d.part = "dimension"
	d.drawMullions(b)
	d.drawTransoms(b)
	d.drawOverall(b)
	d.part = ""
	d.caption(Box{p.X, d.frame.Bottom() + d.sill + chain + overall.Line() + 1.4, d.width, 0}, underFont...)
	d.key.Draw(Point{p.X, y})
	d.Lines(d.note, noteFont, Box{b.X, y + d.key.Height(), b.W, 0}, Black)
}

// drawMullions draws the distances of the mullions' centre lines, running on
// from the frame's left edge.
func (d *Order) drawMullions(b Box) {
	if len(d.layout.Mullions) == 0 || d.noMullions {
		return
	}
	at := append([]decimal.Decimal{{}}, d.layout.Mullions...)
	y := d.frame.Y - chain
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
		d.end(i, Point{want[i], y}, calc.Head)
		if d.turned {
			d.Line(Point{want[i], y - tick}, Point{x, foot}, 0.15)
			d.upright(words, dimension, Point{x - dimension.Line()/2, foot - 0.4}, b)
			continue
		}
		d.Centred(words, dimension, Box{x - wide[i]/2, foot - dimension.Line(), wide[i], dimension.Line()}, Black)
	}
}

// end marks the end of a running dimension: the origin's ring, or an arrow that
// points away from it.
func (d *Order) end(i int, at Point, side calc.Side) {
	if i == 0 {
		d.ring(at)
		return
	}
	corners := []Point{at, {at.X - 1.6, at.Y - 0.4}, {at.X - 1.6, at.Y + 0.4}}
	if !level(side) {
		corners = []Point{at, {at.X - 0.4, at.Y + 1.6}, {at.X + 0.4, at.Y + 1.6}}
	}
	d.put(Shape{Kind: Polygon, Box: around(corners), Corners: corners, Ink: Black})
}

// upright sets figures that are read from the right, upwards from foot, their
// left edge at its X.
func (d *Order) upright(words string, f Font, foot Point, within Box) {
	w := f.Width(words)
	d.put(Shape{Kind: Lettered, Box: Box{foot.X, foot.Y - w, f.Line(), w}, Words: words, Font: f, Turned: true, Ink: Black, Within: within})
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

// drawTransoms draws the heights of the transoms' centre lines, running on from
// the frame's bottom edge.
func (d *Order) drawTransoms(b Box) {
	if len(d.transoms) == 0 {
		return
	}
	at := append([]decimal.Decimal{{}}, d.transoms...)
	x := d.frame.X - chain
	want, high := make([]float64, len(at)), make([]float64, len(at))
	for i, t := range at {
		y := d.frame.Bottom() - d.mm(t)
		want[i], high[i] = -y, dimension.Width(d.voice.Number(t))+labelGap // rising, as spread needs them
		d.Line(Point{x - tick, y}, Point{d.frame.X, y}, 0.15)
		d.end(i, Point{x, y}, calc.Left)
	}
	d.Line(Point{x, -want[0]}, Point{x, -want[len(want)-1]}, 0.15)
	foot := d.frame.Bottom() + d.sill + beyond
	for i, up := range spreadOver(want, high, -foot, d.tall()-foot) {
		words := d.voice.Number(at[i])
		d.upright(words, dimension, Point{x - tick - dimension.Line(), -up + dimension.Width(words)/2}, b)
	}
}

// drawOverall draws the width under the frame and the height at its right, and
// beyond that the height with the sill piece.
func (d *Order) drawOverall(b Box) {
	f := d.frame
	foot := f.Bottom() + d.sill
	y := foot + chain + overall.Line()
	d.span(Point{f.X, y}, Point{f.Right(), y}, foot)
	d.Centred(d.voice.Number(d.size.Width), overall, Box{b.X, y - overall.Line() - 0.2, 2 * (f.X + f.W/2 - b.X), overall.Line()}, Black)
	x := f.Right() + chain + overall.Line()
	d.height(x, f.Bottom(), d.size.Height, overall, b)
	if d.overSill() {
		d.height(x+overall.Line()+tick, foot, d.size.Height.Add(d.made.SillPiece), dimension, b)
	}
}

// height draws an upright dimension from the frame's top down to foot.
func (d *Order) height(x, foot float64, n decimal.Decimal, f Font, b Box) {
	d.span(Point{x, foot}, Point{x, d.frame.Y}, d.frame.Right())
	words := d.voice.Number(n)
	d.upright(words, f, Point{x - f.Line() - 0.2, (d.frame.Y+foot)/2 + f.Width(words)/2}, b)
}

// span draws a dimension line with a stroke across each end and its extension
// lines from the frame's edge at from.
func (d *Order) span(a, b Point, from float64) {
	d.Line(a, b, 0.2)
	for _, p := range []Point{a, b} {
		edge := Point{p.X, from + 0.6}
		past := Point{p.X, p.Y + tick/2}
		if a.X == b.X {
			edge, past = Point{from + 0.6, p.Y}, Point{p.X + tick/2, p.Y}
		}
		d.Line(edge, past, 0.15)
		d.Line(Point{p.X - tick/2, p.Y + tick/2}, Point{p.X + tick/2, p.Y - tick/2}, 0.4)
	}
}
