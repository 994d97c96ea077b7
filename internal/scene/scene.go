// Package scene draws a window once, for the card and for the papers. A Scene
// is a list of shapes on paper, in millimetres from its top left corner, x to
// the right and y down. PNG, PDF and SVG draw it; any other form needs a Pen.
//
// A window is always seen from outside, and says so under its drawing. Fitting is
// what a fitter works by: the opening with its gaps, every fixing, packer and bar
// with its distance from the corner, and the glass blocks. Order is what a supplier
// makes by: the dimensions. Frame, sashes, opening triangles, hinges and the words
// in the lights, with what is asked of their glass, are the same in both. What
// carries is solid, what only keeps a distance is hollow. A Sketch, not to scale,
// shows where the tape goes for one reading.
//
// Figures are the plan's decimals. Binary floating point only says where a
// mark goes.
package scene

import "math"

// Point is a place on paper.
type Point struct{ X, Y float64 }

// Box is a part of the paper, from its top left corner.
type Box struct{ X, Y, W, H float64 }

// Right and Bottom are the far edges.
func (b Box) Right() float64  { return b.X + b.W }
func (b Box) Bottom() float64 { return b.Y + b.H }

// Inset is b less d on every side, and empty where it would be less.
func (b Box) Inset(d float64) Box {
	return Box{b.X + d, b.Y + d, max(0, b.W-2*d), max(0, b.H-2*d)}
}

// Middle is a box of the given size in the middle of b.
func (b Box) Middle(w, h float64) Box { return Box{b.X + (b.W-w)/2, b.Y + (b.H-h)/2, w, h} }

// Overlaps tells whether b and c have a part in common.
func (b Box) Overlaps(c Box) bool {
	return b.X < c.Right() && c.X < b.Right() && b.Y < c.Bottom() && c.Y < b.Bottom()
}

// In tells whether b lies within c.
func (b Box) In(c Box) bool {
	return b.X >= c.X && b.Right() <= c.Right() && b.Y >= c.Y && b.Bottom() <= c.Bottom()
}

// Ink is how dark a mark is: 0 is paper, 15 is black.
type Ink uint8

// The inks that are used.
const (
	Paper Ink = 0
	Faint Ink = 1
	Pale  Ink = 3 // the frame
	Grey  Ink = 7 // packers, hatching
	Black Ink = 15
)

// Level is the ink as a grey, 255 being white.
func (i Ink) Level() uint8 { return uint8(255 - 17*int(i)) }

// Kind is what a shape is.
type Kind int

// The kinds of shape.
const (
	Filled  Kind = iota // a box
	Framed              // the edge of a box, inside it
	Stroke              // a line across its box
	Polygon             // filled
	Disc                // as wide as its box
	Hatched             // a box with slanting strokes
	Lettered
)

// Shape is one thing on a scene.
type Shape struct {
	Kind Kind
	Box
	Ink     Ink
	Thick   float64 // of a frame or a stroke
	Rising  bool    // a stroke from the box's bottom left corner to its top right one
	Dashed  bool
	Corners []Point // of a polygon
	Words   string
	Font    Font
	Turned  bool // words run upwards from the box's bottom left corner
	Within  Box  // where the words have to stay, from side to side
	// Part is what of the window it shows, such as "triangle 1 left" for the
	// first light's, and empty for the rest.
	Part string
}

// Ends are the two ends of a stroke, the left one first.
func (s Shape) Ends() (a, b Point) {
	if s.Rising {
		return Point{s.X, s.Bottom()}, Point{s.Right(), s.Y}
	}
	return Point{s.X, s.Y}, Point{s.Right(), s.Bottom()}
}

// Pen is a form of picture. All lengths are in mm on paper.
type Pen interface {
	Fill(b Box, i Ink)
	Polygon(corners []Point, i Ink)
	Disc(middle Point, radius float64, i Ink)
	Hatch(b Box)
	Line(a, b Point, thick float64, dashed bool, i Ink)
	// Text sets words from base on, on the base line, upwards when turned.
	Text(words string, f Font, base Point, turned bool, i Ink)
}

// A dashed line's dashes and the gaps between them, mm.
const (
	dash    = 1.4
	dashGap = 0.8
)

// Scene is shapes, each over those before it.
type Scene struct {
	Shapes []Shape
	part   string // of what is put next
}

// Draw draws the scene with a pen.
func (s *Scene) Draw(p Pen) {
	for i := range s.Shapes {
		s.Shapes[i].draw(p)
	}
}

func (s *Shape) draw(p Pen) {
	switch s.Kind {
	case Filled:
		p.Fill(s.Box, s.Ink)
	case Framed:
		p.Fill(Box{s.X, s.Y, s.W, s.Thick}, s.Ink)
		p.Fill(Box{s.X, s.Bottom() - s.Thick, s.W, s.Thick}, s.Ink)
		p.Fill(Box{s.X, s.Y, s.Thick, s.H}, s.Ink)
		p.Fill(Box{s.Right() - s.Thick, s.Y, s.Thick, s.H}, s.Ink)
	case Stroke:
		a, b := s.Ends()
		p.Line(a, b, s.Thick, s.Dashed, s.Ink)
	case Polygon:
		p.Polygon(s.Corners, s.Ink)
	case Disc:
		p.Disc(Point{s.X + s.W/2, s.Y + s.H/2}, s.W/2, s.Ink)
	case Hatched:
		p.Hatch(s.Box)
	case Lettered:
		base := Point{s.X, s.Y + s.Font.base()}
		if s.Turned {
			base = Point{s.X + s.Font.base(), s.Bottom()}
		}
		p.Text(s.Words, s.Font, base, s.Turned, s.Ink)
	}
}

func (s *Scene) put(m Shape) {
	m.Part = s.part
	s.Shapes = append(s.Shapes, m)
}

// Fill fills a box.
func (s *Scene) Fill(b Box, i Ink) { s.put(Shape{Kind: Filled, Box: b, Ink: i}) }

// Frame draws the edge of a box, inside it.
func (s *Scene) Frame(b Box, thick float64, i Ink) {
	s.put(Shape{Kind: Framed, Box: b, Thick: thick, Ink: i})
}

// Line draws a black line between two points.
func (s *Scene) Line(a, b Point, thick float64) { s.line(a, b, thick, false) }

// Dashes draws a broken black line between two points.
func (s *Scene) Dashes(a, b Point, thick float64) { s.line(a, b, thick, true) }

func (s *Scene) line(a, b Point, thick float64, dashed bool) {
	if a.X > b.X {
		a, b = b, a
	}
	box := Box{a.X, min(a.Y, b.Y), b.X - a.X, math.Abs(b.Y - a.Y)}
	s.put(Shape{Kind: Stroke, Box: box, Thick: thick, Rising: b.Y < a.Y, Dashed: dashed, Ink: Black})
}

func (s *Scene) disc(m Point, radius float64, i Ink) {
	s.put(Shape{Kind: Disc, Box: Box{m.X - radius, m.Y - radius, 2 * radius, 2 * radius}, Ink: i})
}

// loop draws the edge of a closed shape.
func (s *Scene) loop(corners []Point, thick float64, dashed bool) {
	for i, a := range corners {
		s.line(a, corners[(i+1)%len(corners)], thick, dashed)
	}
}

// around is the box of corners.
func around(corners []Point) Box {
	x0, y0, x1, y1 := corners[0].X, corners[0].Y, corners[0].X, corners[0].Y
	for _, p := range corners[1:] {
		x0, y0, x1, y1 = min(x0, p.X), min(y0, p.Y), max(x1, p.X), max(y1, p.Y)
	}
	return Box{x0, y0, x1 - x0, y1 - y0}
}
