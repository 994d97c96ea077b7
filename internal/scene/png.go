package scene

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"sync"

	"sillbot/internal/typeface"
)

// perMM is how many pixels of a PNG a millimetre takes.
const perMM = 10

// greys is the palette, so that a pixel's index is its ink. One more than
// sixteen makes the PNG a byte a pixel: two pixels a byte take the encoder
// nearly twice the time and save little.
var greys = func() color.Palette {
	p := make(color.Palette, Black+2)
	for i := range p {
		p[i] = color.Gray{Y: Ink(min(i, int(Black))).Level()}
	}
	return p
}()

var encoder = png.Encoder{CompressionLevel: png.BestSpeed, BufferPool: new(buffers)}

// buffers keeps the encoder's buffers from one picture to the next.
type buffers sync.Pool

func (b *buffers) Get() *png.EncoderBuffer {
	kept, _ := (*sync.Pool)(b).Get().(*png.EncoderBuffer)
	return kept
}

func (b *buffers) Put(buffer *png.EncoderBuffer) { (*sync.Pool)(b).Put(buffer) }

// PNG is the scene on paper of w × h mm as a PNG in sixteen greys, ten pixels
// a millimetre. What lies outside is not drawn.
func PNG(s *Scene, w, h float64) ([]byte, error) {
	c := newCanvas(w, h)
	s.Draw(c)
	var out bytes.Buffer
	if err := encoder.Encode(&out, c.img); err != nil {
		return nil, fmt.Errorf("scene: %w", err)
	}
	return out.Bytes(), nil
}

// canvas is the pen of a picture.
type canvas struct{ img *image.Paletted }

func newCanvas(w, h float64) canvas {
	return canvas{image.NewPaletted(image.Rect(0, 0, px(w), px(h)), greys)}
}

func px(mm float64) int { return int(math.Round(mm * perMM)) }

// rows goes through the rows of pixels of a box.
func (c canvas) rows(x0, y0, x1, y1 int, each func(x, y int, row []uint8)) {
	r := image.Rect(x0, y0, x1, y1).Intersect(c.img.Rect)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		each(r.Min.X, y, c.img.Pix[c.img.PixOffset(r.Min.X, y):][:r.Dx()])
	}
}

func (i Ink) fill(_, _ int, row []uint8) {
	for n := range row {
		row[n] = uint8(i)
	}
}

func (c canvas) Fill(b Box, i Ink) { c.rows(px(b.X), px(b.Y), px(b.Right()), px(b.Bottom()), i.fill) }

func (c canvas) Hatch(b Box) {
	strokes := [12]Ink{2: Grey / 2, 3: Grey, 4: Grey, 5: Grey / 2}
	row := make([]uint8, c.img.Rect.Dx()+len(strokes))
	for n := range row {
		row[n] = uint8(strokes[n%len(strokes)])
	}
	c.rows(px(b.X), px(b.Y), px(b.Right()), px(b.Bottom()), func(x, y int, to []uint8) { copy(to, row[(x+y)%len(strokes):]) })
}

// Polygon fills a closed shape. Its edge is not smoothed: draw a line over it.
func (c canvas) Polygon(corners []Point, i Ink) {
	top, bottom := corners[0].Y, corners[0].Y
	for _, p := range corners {
		top, bottom = min(top, p.Y), max(bottom, p.Y)
	}
	for y := px(top); y < px(bottom); y++ {
		if x0, x1, ok := across(corners, (float64(y)+0.5)/perMM); ok {
			c.rows(px(x0), y, px(x1), y+1, i.fill)
		}
	}
}

// across is the widest stretch of the level line y inside a closed shape.
func across(corners []Point, y float64) (x0, x1 float64, ok bool) {
	x0, x1 = math.Inf(1), math.Inf(-1)
	for n, a := range corners {
		b := corners[(n+1)%len(corners)]
		if (a.Y <= y) == (b.Y <= y) {
			continue
		}
		x := a.X + (b.X-a.X)*(y-a.Y)/(b.Y-a.Y)
		x0, x1 = min(x0, x), max(x1, x)
	}
	return x0, x1, x0 < x1
}

func (c canvas) Line(a, b Point, thick float64, dashed bool, i Ink) {
	length := math.Hypot(b.X-a.X, b.Y-a.Y)
	if length == 0 {
		return
	}
	if !dashed {
		c.line(a, b, thick, i)
		return
	}
	along := func(d float64) Point {
		return Point{a.X + (b.X-a.X)*d/length, a.Y + (b.Y-a.Y)*d/length}
	}
	for d := 0.0; d < length; d += dash + dashGap {
		c.line(along(d), along(min(d+dash, length)), thick, i)
	}
}

// line draws a line; a slanting one is smoothed.
func (c canvas) line(a, b Point, thick float64, i Ink) {
	dx, dy, half := math.Abs(b.X-a.X), math.Abs(b.Y-a.Y), thick/2
	switch {
	case dx == 0:
		c.Fill(Box{a.X - half, min(a.Y, b.Y), thick, dy}, i)
		return
	case dy == 0:
		c.Fill(Box{min(a.X, b.X), a.Y - half, dx, thick}, i)
		return
	}
	half *= math.Hypot(dx, dy) / max(dx, dy) * perMM
	a, b = Point{a.X * perMM, a.Y * perMM}, Point{b.X * perMM, b.Y * perMM}
	steep := dy >= dx
	if !steep {
		a, b = Point{a.Y, a.X}, Point{b.Y, b.X}
	}
	if a.Y > b.Y {
		a, b = b, a
	}
	for y := math.Round(a.Y); y < math.Round(b.Y); y++ {
		x := a.X + (b.X-a.X)*(y+0.5-a.Y)/(b.Y-a.Y)
		c.stroke(x-half, x+half, int(y), steep, i)
	}
}

// stroke covers from to along one row (level) or one column, with smoothed
// ends.
func (c canvas) stroke(from, to float64, at int, level bool, i Ink) {
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

// blend lays i over the pixel at offset with a coverage of 0 to 255.
func (c canvas) blend(offset int, i Ink, cover int) {
	old, half := int(c.img.Pix[offset]), 127
	if int(i) < old {
		half = -127
	}
	c.img.Pix[offset] = uint8(old + ((int(i)-old)*cover+half)/255)
}

func (c canvas) Disc(m Point, radius float64, i Ink) {
	m, radius = Point{m.X * perMM, m.Y * perMM}, radius*perMM
	for y := math.Floor(m.Y - radius); y <= m.Y+radius; y++ {
		rise := y + 0.5 - m.Y
		if half := math.Sqrt(max(0, radius*radius-rise*rise)); half > 0 {
			c.stroke(m.X-half, m.X+half, int(y), true, i)
		}
	}
}

func (c canvas) Text(words string, f Font, base Point, turned bool, i Ink) {
	face := typeface.At(f.Weight, px(f.Size))
	for _, r := range words {
		c.letter(face.Shape(r), px(base.X), px(base.Y), turned, i)
		wide := typeface.Outline(f.Weight, r).Advance * f.Size
		if turned {
			base.Y -= wide
		} else {
			base.X += wide
		}
	}
}

// letter lays a letter on the picture with the pen at x, y. A turned one has
// its right at the top.
func (c canvas) letter(mask *image.Alpha, x, y int, turned bool, i Ink) {
	for v := mask.Rect.Min.Y; v < mask.Rect.Max.Y; v++ {
		for n, cover := range mask.Pix[mask.PixOffset(mask.Rect.Min.X, v):][:mask.Rect.Dx()] {
			u := mask.Rect.Min.X + n
			at := image.Pt(x+u, y+v)
			if turned {
				at = image.Pt(x+v, y-u-1)
			}
			if cover > 0 && at.In(c.img.Rect) {
				c.blend(c.img.PixOffset(at.X, at.Y), i, int(cover))
			}
		}
	}
}
