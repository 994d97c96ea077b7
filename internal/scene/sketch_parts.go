package scene

import (
	"math"

	"sillbot/internal/opening"
)

// Sizes of a sketch, mm on paper: 480 × 360 pixels.
const (
	sketchWide = 48.0
	sketchHigh = 36.0
	boldTape   = 1.1
	boldHead   = 3.0 // length and width of an arrow
	thinTape   = 0.3
	thinHead   = 1.3
)

// Where the parts of a sketch stand: the name, the drawing, and under it from
// where it is seen.
var (
	sketchName = Box{4, 0.1, sketchWide - 8, 8}
	sketchArea = Box{0, 8.4, sketchWide, 23}
	sketchSeen = Box{0, 31.4, sketchWide, sketchHigh - 31.4}
)

// sketch shows where the tape goes for one reading. It is not to scale.
type sketch struct {
	window
	reading opening.Key
	under   bool // heights start under the old sill
}

// tape draws the tape from a to b, with an arrow at each end.
func (s *sketch) tape(reading opening.Key, a, b Point) {
	thick, head := thinTape, thinHead
	if reading == s.reading {
		thick, head = boldTape, boldHead
	}
	s.part = "tape " + reading
	long := math.Hypot(b.X-a.X, b.Y-a.Y)
	head = min(head, long*0.42)
	u := Point{(b.X - a.X) / long, (b.Y - a.Y) / long}
	on := func(along, beside float64) Point {
		return Point{a.X + u.X*along - u.Y*beside, a.Y + u.Y*along + u.X*beside}
	}
	s.Line(on(head*0.9, 0), on(long-head*0.9, 0), thick)
	for _, corners := range [][]Point{
		{a, on(head, head*0.45), on(head, -head*0.45)},
		{b, on(long-head, head*0.45), on(long-head, -head*0.45)},
	} {
		s.put(Shape{Kind: Polygon, Box: around(corners), Corners: corners, Ink: Black})
		s.loop(corners, 0.15, false)
	}
	s.part = ""
}

// bricks draws a wall as it is seen, not cut.
func (s *sketch) bricks(b Box) {
	const course, brick, joint = 2.34, 6.0, 0.3
	s.part = "wall"
	s.Fill(b, Pale)
	for n, y := 0, b.Y; y < b.Bottom()-joint; n, y = n+1, y+course {
		s.Fill(Box{b.X, y, b.W, joint}, Paper)
		for x := b.X + brick/2*float64(n%2); x < b.Right(); x += brick {
			s.Fill(Box{x, y, joint, min(course, b.Bottom()-y)}, Paper)
		}
	}
	s.part = ""
}

// hole draws the opening in its wall.
func (s *sketch) hole(corners ...Point) {
	s.bricks(sketchArea)
	s.part = "opening"
	s.put(Shape{Kind: Polygon, Box: around(corners), Corners: corners, Ink: Paper})
	s.loop(corners, 0.5, false)
	s.part = ""
}

// cut draws masonry that is cut through.
func (s *sketch) cut(boxes ...Box) {
	s.part = "wall"
	for _, b := range boxes {
		s.put(Shape{Kind: Hatched, Box: b})
		s.Frame(b, 0.4, Black)
	}
	s.part = ""
}

// glazed draws a frame that is cut through: the glass between two pieces.
func (s *sketch) glazed(a, b, glass Box) {
	s.part = "frame"
	for _, piece := range []Box{a, b} {
		s.Fill(piece, Pale)
		s.Frame(piece, 0.4, Black)
	}
	s.part = "glass"
	s.Fill(glass, Paper)
	s.Frame(glass, 0.3, Black)
	s.part = ""
}

// called writes where a side of the wall is.
func (s *sketch) called(key string, b Box) {
	s.Into(b, s.voice.Key(key), Black, Fonts(Regular, 9, 8, 7)...)
}
