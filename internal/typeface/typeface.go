// Package typeface holds the letters that pictures are written with: DejaVu
// Sans and DejaVu Sans Bold, embedded, with ten letters of Noto Sans that make
// Cyrillic complete (U+0526 to U+052F). The licences are in DejaVu-LICENSE.txt
// and NotoSans-LICENSE.txt beside this file.
//
// A Face keeps the shapes it has drawn, and may be used by many goroutines at
// once.
package typeface

import (
	_ "embed" // the fonts
	"fmt"
	"image"
	"image/draw"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

var (
	//go:embed DejaVuSans.ttf
	regularTTF []byte
	//go:embed DejaVuSans-Bold.ttf
	boldTTF []byte
	//go:embed NotoSans-Regular-extra.ttf
	regularExtraTTF []byte
	//go:embed NotoSans-Bold-extra.ttf
	boldExtraTTF []byte
)

// Weight is how heavy the letters are.
type Weight int

// The weights.
const (
	Regular Weight = iota
	Bold
)

// parsed gives the fonts of a weight, the first that has a letter being the
// one that draws it. They are part of the program, so a font that does not
// parse is a broken build.
var parsed = [...]func() []*sfnt.Font{
	Regular: sync.OnceValue(func() []*sfnt.Font { return mustParse(regularTTF, regularExtraTTF) }),
	Bold:    sync.OnceValue(func() []*sfnt.Font { return mustParse(boldTTF, boldExtraTTF) }),
}

func mustParse(files ...[]byte) []*sfnt.Font {
	fonts := make([]*sfnt.Font, len(files))
	for i, ttf := range files {
		f, err := opentype.Parse(ttf)
		if err != nil {
			panic(fmt.Sprintf("typeface: embedded font %d: %v", i, err))
		}
		fonts[i] = f
	}
	return fonts
}

// fontOf is the number of the weight's font that has r; ok is false when none
// has.
func fontOf(w Weight, r rune) (n int, ok bool) {
	var buf sfnt.Buffer
	for n, f := range parsed[w]() {
		if i, err := f.GlyphIndex(&buf, r); err == nil && i != 0 {
			return n, true
		}
	}
	return 0, false
}

// Has tells whether the weight has a shape for r.
func Has(w Weight, r rune) bool {
	_, ok := fontOf(w, r)
	return ok
}

// Glyph is the shape of one letter. The mask's bounds are relative to the pen
// on the base line, y down.
type Glyph struct {
	Mask    *image.Alpha
	Advance int // pixels to the next pen position
}

// Face is one weight at one size in pixels.
type Face struct {
	Px int

	weight Weight
	mu     sync.RWMutex
	faces  []font.Face // as parsed; not safe for concurrent use: only under mu
	glyphs map[rune]*Glyph
}

// maxGlyphs bounds what one face keeps. It is far above what the catalogue
// uses; people's own words are what could grow past it.
const maxGlyphs = 2048

type faceKey struct {
	weight Weight
	px     int
}

var faces sync.Map // faceKey → *Face

// At is the face of a weight at a size in pixels. Ask for few sizes: each is
// kept for the life of the program.
func At(w Weight, px int) *Face {
	if f, ok := faces.Load(faceKey{w, px}); ok {
		return f.(*Face)
	}
	f := &Face{Px: px, weight: w, glyphs: map[rune]*Glyph{}}
	for _, parsed := range parsed[w]() {
		face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: float64(px), DPI: 72})
		if err != nil {
			panic(fmt.Sprintf("typeface: %v", err)) // only a nil font or a bad size
		}
		f.faces = append(f.faces, face)
	}
	kept, _ := faces.LoadOrStore(faceKey{w, px}, f)
	return kept.(*Face)
}

// Glyph is the shape of r, or of the replacement character where the font has
// no r.
func (f *Face) Glyph(r rune) *Glyph {
	f.mu.RLock()
	g := f.glyphs[r]
	f.mu.RUnlock()
	if g != nil {
		return g
	}
	font, ok := fontOf(f.weight, r)
	if !ok && r != '\uFFFD' {
		return f.Glyph('\uFFFD')
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	g = f.shape(f.faces[font], r)
	if len(f.glyphs) < maxGlyphs {
		f.glyphs[r] = g
	}
	return g
}

// shape draws r. The mask that the font library hands out is used again for
// the next letter, so it is copied.
func (f *Face) shape(face font.Face, r rune) *Glyph {
	bounds, mask, at, advance, ok := face.Glyph(fixed.Point26_6{}, r)
	if !ok {
		return &Glyph{Mask: image.NewAlpha(image.Rectangle{}), Advance: f.Px / 2}
	}
	own := image.NewAlpha(bounds)
	draw.Draw(own, bounds, mask, at, draw.Src)
	return &Glyph{Mask: own, Advance: advance.Round()}
}

// Width is the length of a line of text in pixels.
func (f *Face) Width(text string) int {
	w := 0
	for _, r := range text {
		w += f.Glyph(r).Advance
	}
	return w
}
