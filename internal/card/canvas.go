package card

import (
	"image"
	"image/color"
	"math"

	"sillbot/internal/typeface"
)

// ink is how dark a mark is: 0 is paper, 15 is black.
type ink uint8

const (
	paper ink = 0
	pale  ink = 3 // the frame
	grey  ink = 7 // packers, hatching
	black ink = 15
)

// greys is the palette, so that a pixel's index is its ink. One more than
// sixteen makes the PNG a byte a pixel: two pixels a byte take the encoder
// nearly twice the time and save little.
var greys = func() color.Palette {
	p := make(color.Palette, black+2)
	for i := range p {
		p[i] = color.Gray{Y: uint8(max(0, 255-17*i))}
	}
	return p
}()

// point is a place on the canvas in pixels, y down.
type point struct{ x, y float64 }

// canvas is a picture in sixteen greys. Whatever falls outside is not drawn.
type canvas struct{ img *image.Paletted }

func newCanvas(w, h int) canvas {
	return canvas{image.NewPaletted(image.Rect(0, 0, w, h), greys)}
}

// blend lays i over the pixel at offset with a coverage of 0 to 255.
func (c canvas) blend(offset int, i ink, cover int) {
	old := int(c.img.Pix[offset])
	c.img.Pix[offset] = uint8(old + ((int(i)-old)*cover+signOf(int(i)-old)*127)/255)
}

func signOf(n int) int {
	if n < 0 {
		return -1
	}
	return 1
}

func (c canvas) fill(r image.Rectangle, i ink) {
	r = r.Intersect(c.img.Rect)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		row := c.img.Pix[c.img.PixOffset(r.Min.X, y):][:r.Dx()]
		for x := range row {
			row[x] = uint8(i)
		}
	}
}

// outline draws the edge of r, inside it, t pixels thick.
func (c canvas) outline(r image.Rectangle, t int, i ink) {
	c.fill(image.Rect(r.Min.X, r.Min.Y, r.Max.X, r.Min.Y+t), i)
	c.fill(image.Rect(r.Min.X, r.Max.Y-t, r.Max.X, r.Max.Y), i)
	c.fill(image.Rect(r.Min.X, r.Min.Y, r.Min.X+t, r.Max.Y), i)
	c.fill(image.Rect(r.Max.X-t, r.Min.Y, r.Max.X, r.Max.Y), i)
}

// hatch fills r with slanting strokes.
func (c canvas) hatch(r image.Rectangle) {
	r = r.Intersect(c.img.Rect)
	strokes := [12]ink{2: grey / 2, 3: grey, 4: grey, 5: grey / 2}
	for y := r.Min.Y; y < r.Max.Y; y++ {
		row := c.img.Pix[c.img.PixOffset(r.Min.X, y):][:r.Dx()]
		for x := range row {
			row[x] = uint8(strokes[(r.Min.X+x+y)%len(strokes)])
		}
	}
}

// shape fills a closed shape. Its edge is not smoothed: draw a line over it.
func (c canvas) shape(corners []point, i ink) {
	top, bottom := corners[0].y, corners[0].y
	for _, p := range corners {
		top, bottom = min(top, p.y), max(bottom, p.y)
	}
	for y := int(top); float64(y) < bottom; y++ {
		x0, x1, ok := across(corners, float64(y)+0.5)
		if ok {
			c.fill(image.Rect(int(math.Round(x0)), y, int(math.Round(x1)), y+1), i)
		}
	}
}

// across is the widest stretch of the level line y inside a closed shape.
func across(corners []point, y float64) (x0, x1 float64, ok bool) {
	x0, x1 = math.Inf(1), math.Inf(-1)
	for n, a := range corners {
		b := corners[(n+1)%len(corners)]
		if (a.y <= y) == (b.y <= y) {
			continue
		}
		x := a.x + (b.x-a.x)*(y-a.y)/(b.y-a.y)
		x0, x1 = min(x0, x), max(x1, x)
	}
	return x0, x1, x0 < x1
}

// line draws a smoothed line, width pixels thick.
func (c canvas) line(a, b point, width float64, i ink) {
	dx, dy := b.x-a.x, b.y-a.y
	length := math.Hypot(dx, dy)
	if length == 0 {
		return
	}
	if math.Abs(dy) >= math.Abs(dx) {
		if a.y > b.y {
			a, b = b, a
		}
		half := width / 2 * length / math.Abs(dy)
		for y := math.Round(a.y); y < math.Round(b.y); y++ {
			x := a.x + (b.x-a.x)*(y+0.5-a.y)/(b.y-a.y)
			c.stroke(x-half, x+half, int(y), true, i)
		}
		return
	}
	if a.x > b.x {
		a, b = b, a
	}
	half := width / 2 * length / math.Abs(dx)
	for x := math.Round(a.x); x < math.Round(b.x); x++ {
		y := a.y + (b.y-a.y)*(x+0.5-a.x)/(b.x-a.x)
		c.stroke(y-half, y+half, int(x), false, i)
	}
}

// stroke covers from to along one row (level) or one column, with smoothed
// ends.
func (c canvas) stroke(from, to float64, at int, level bool, i ink) {
	for n := int(math.Floor(from)); float64(n) < to; n++ {
		cover := min(float64(n+1), to) - max(float64(n), from)
		x, y := at, n
		if level {
			x, y = n, at
		}
		if (image.Point{X: x, Y: y}).In(c.img.Rect) {
			c.blend(c.img.PixOffset(x, y), i, int(cover*255))
		}
	}
}

// dashes draws a broken line.
func (c canvas) dashes(a, b point, width float64, i ink) {
	const dash, step = 14, 22
	length := math.Hypot(b.x-a.x, b.y-a.y)
	along := func(d float64) point {
		return point{a.x + (b.x-a.x)*d/length, a.y + (b.y-a.y)*d/length}
	}
	for d := 0.0; d < length; d += step {
		c.line(along(d), along(min(d+dash, length)), width, i)
	}
}

func (c canvas) disc(m point, radius float64, i ink) {
	for y := math.Floor(m.y - radius); y <= m.y+radius; y++ {
		rise := y + 0.5 - m.y
		if half := math.Sqrt(max(0, radius*radius-rise*rise)); half > 0 {
			c.stroke(m.x-half, m.x+half, int(y), true, i)
		}
	}
}

// write sets a line of text with the pen at x on the base line.
func (c canvas) write(x, base int, f *typeface.Face, text string, i ink) {
	for _, r := range text {
		g := f.Glyph(r)
		box := g.Mask.Rect.Add(image.Pt(x, base)).Intersect(c.img.Rect)
		for y := box.Min.Y; y < box.Max.Y; y++ {
			masks := g.Mask.Pix[g.Mask.PixOffset(box.Min.X-x, y-base):][:box.Dx()]
			row := c.img.PixOffset(box.Min.X, y)
			for n, cover := range masks {
				if cover > 0 {
					c.blend(row+n, i, int(cover))
				}
			}
		}
		x += g.Advance
	}
}
