package scene

import (
	"fmt"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
)

// places draws the opening with the tape at each place of the reading's group.
func (s *sketch) places() {
	b := Box{8, 10.4, 32, 17}
	s.hole(Point{b.X, b.Y}, Point{b.Right(), b.Y}, Point{b.Right(), b.Bottom()}, Point{b.X, b.Bottom()})
	s.oldSill(b)
	ends := map[opening.Key][2]Point{
		"diagonal.rising":  {{b.X, b.Bottom()}, {b.Right(), b.Y}},
		"diagonal.falling": {{b.X, b.Y}, {b.Right(), b.Bottom()}},
	}
	for i, part := range [3]float64{0.14, 0.5, 0.86} {
		x, y := b.X+b.W*part, b.Y+b.H*part
		ends[opening.Widths[i]] = [2]Point{{b.X, y}, {b.Right(), y}}
		ends[opening.Heights[i]] = [2]Point{{x, b.Bottom()}, {x, b.Y}}
	}
	for _, key := range opening.Fellows(opening.Find(s.reading).Change) {
		if key != s.reading {
			s.tape(key, ends[key][0], ends[key][1])
		}
	}
	s.tape(s.reading, ends[s.reading][0], ends[s.reading][1])
}

// oldSill draws the sill under an opening, broken and in the tape's way where
// the heights start at its underside.
func (s *sketch) oldSill(b Box) {
	sill := Box{b.X - 1.6, b.Bottom(), b.W + 3.2, 2}
	goes := s.under && strings.HasPrefix(s.reading, "height.")
	s.part = "sill"
	if goes {
		sill.Y -= sill.H
	}
	s.Fill(sill, Paper)
	if !goes {
		s.Frame(sill, 0.4, Black)
		return
	}
	s.loop([]Point{{sill.X, sill.Y}, {sill.Right(), sill.Y}, {sill.Right(), sill.Bottom()}, {sill.X, sill.Bottom()}}, 0.3, true)
	s.Line(Point{b.X, b.Bottom()}, Point{b.Right(), b.Bottom()}, 0.5)
	under := Box{sill.X, sill.Bottom() + 0.5, sill.W, 3.2}
	s.Fill(under, Paper)
	s.Into(under, s.voice.Key("sketch.old_sill"), Black, Fonts(Bold, 7.5, 7)...)
}

// bars draws a frame with n mullions, or with a transom for none, and the tape
// from the frame's edge to the middle of each bar.
func (s *sketch) bars(n int) {
	const wide, high = 1500, 800
	mm := decimal.NewFromInt
	s.size, s.profile, s.scale = calc.Size{Width: mm(wide), Height: mm(high)}, calc.DefaultSettings(), 40.0/wide
	s.frame = Box{4, sketchArea.Y + 1, 40, high * s.scale}
	s.layout.Lights = []calc.Light{{Hinge: calc.FixedLight}}
	for i := range int64(n) {
		s.layout.Mullions = append(s.layout.Mullions, mm((i+1)*wide/int64(n+1)))
		s.layout.Lights = append(s.layout.Lights, calc.Light{Column: int(i) + 1, Hinge: calc.FixedLight})
	}
	if n == 0 {
		s.layout.Transoms = []decimal.Decimal{mm(540)}
		s.layout.Lights = append(s.layout.Lights, calc.Light{Row: 1, Hinge: calc.FixedLight})
	}
	s.settle()
	s.drawFrame()
	s.Frame(s.frame, 0.6, Black)
	if n == 0 {
		y := s.frame.Bottom() - s.mm(s.layout.Transoms[0])
		s.Dashes(Point{s.frame.X, y}, Point{s.frame.Right(), y}, 0.3)
		s.tape(s.reading, Point{s.frame.X + s.frame.W/2, s.frame.Bottom()}, Point{s.frame.X + s.frame.W/2, y})
		return
	}
	for i, at := range s.layout.Mullions {
		x, y := s.frame.X+s.mm(at), s.frame.Y+s.frame.H*float64(n-i)/float64(n+1)
		s.Dashes(Point{x, s.frame.Y}, Point{x, s.frame.Bottom()}, 0.3)
		s.tape(fmt.Sprint("mullion.", i+1), Point{s.frame.X, y}, Point{x, y})
	}
}

// level draws a spirit level that stands on the left end of the sill, and the
// tape under its right end, where the sill is lower.
func (s *sketch) level() {
	left, right := Point{8, 21.6}, Point{40, 29.6}
	s.hole(Point{left.X, 9.6}, Point{right.X, 9.6}, right, left)
	level := Box{left.X + 0.6, left.Y - 3.8, 30.8, 3.8}
	vial := level.Middle(7, 2.2)
	s.part = "level"
	s.Fill(level, Grey)
	s.Frame(level, 0.4, Black)
	s.Fill(vial, Paper)
	s.Frame(vial, 0.3, Black)
	s.disc(Point{vial.X + vial.W/2, vial.Y + vial.H/2}, 0.8, Black)
	for _, x := range []float64{vial.X + 2.2, vial.Right() - 2.2} {
		s.Line(Point{x, vial.Y}, Point{x, vial.Bottom()}, 0.3)
	}
	x := level.Right() - 2
	s.tape(s.reading, Point{x, level.Bottom()}, Point{x, left.Y + (right.Y-left.Y)*(x-left.X)/(right.X-left.X)})
}

// behind draws the inner leaf behind the overlapping outer one, cut level for
// the width and upright for the height, and says how.
func (s *sketch) behind() string {
	if s.reading == "inner.width" {
		s.cut(Box{-1, 12, 8, 7}, Box{41, 12, 8, 7}, Box{-1, 20.6, 14, 6}, Box{35, 20.6, 14, 6})
		s.glazed(Box{7.6, 17.4, 7.4, 2.8}, Box{33, 17.4, 7.4, 2.8}, Box{15, 18.3, 18, 1})
		s.tape(s.reading, Point{7, 14.4}, Point{41, 14.4})
		s.called("sketch.inside", Box{14, 8, 20, 4.4})
		s.called("sketch.outside", Box{13.4, 25, 21.2, 5.6})
		return "sketch.above"
	}
	s.cut(Box{20.6, 8.4, 9, 3}, Box{13, 8.4, 6, 6.6}, Box{11, 28, 18.6, 4})
	s.glazed(Box{19.4, 11.8, 2.8, 5}, Box{19.4, 24.4, 2.8, 3.6}, Box{20.3, 16.8, 1, 7.6})
	s.tape(s.reading, Point{26.4, 28}, Point{26.4, 11.4})
	s.called("sketch.outside", Box{0.4, 16, 14, 6})
	s.called("sketch.inside", Box{31.4, 16, 16, 6})
	return "sketch.side"
}

// glassAbove draws the wall under a window, cut upright, and the tape from the
// floor inside, or from a step outside, up to the lowest edge of the glass.
func (s *sketch) glassAbove() {
	const edge, stand = 17.0, 28.6
	s.cut(Box{19, 21, 8, 11}, Box{26.6, stand, 22, 4}, Box{9, stand, 10.4, 4}, Box{-1, 30.4, 10.4, 2})
	s.glazed(Box{21.4, edge, 3.2, 4}, Box{21.4, 8.4, 3.2, 2}, Box{22.4, 10.4, 1.2, edge - 10.4})
	x := 35.0
	if s.reading == "outside" {
		x = 14
	}
	s.part = "edge"
	s.Line(Point{min(x-2, 22.4), edge}, Point{max(x+2, 23.6), edge}, 0.3)
	s.tape(s.reading, Point{x, stand}, Point{x, edge})
	s.called("sketch.outside", Box{0.4, 9, 19, 5})
	s.called("sketch.inside", Box{27, 9, 20, 5})
}
