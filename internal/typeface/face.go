package typeface

import (
	"fmt"
	"image"
	"image/draw"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// Face is one weight at one size in pixels.
type Face struct {
	weight Weight
	mu     sync.RWMutex
	faces  []font.Face // as parsed; not safe for concurrent use: only under mu
	shapes map[rune]*image.Alpha
}

// maxShapes bounds what one face keeps. It is far above what the catalogue
// uses; people's own words are what could grow past it.
const maxShapes = 2048

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
	f := &Face{weight: w, shapes: map[rune]*image.Alpha{}}
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

// Shape is the shape of r, or of the replacement character where the font has
// no r. Its bounds are relative to the pen on the base line, y down.
func (f *Face) Shape(r rune) *image.Alpha {
	f.mu.RLock()
	kept := f.shapes[r]
	f.mu.RUnlock()
	if kept != nil {
		return kept
	}
	letter := Outline(f.weight, r)
	f.mu.Lock()
	defer f.mu.Unlock()
	drawn := shape(f.faces[letter.File], letter.Rune)
	if len(f.shapes) < maxShapes {
		f.shapes[r] = drawn
	}
	return drawn
}

// shape draws r. The mask that the font library hands out is used again for
// the next letter, so it is copied.
func shape(face font.Face, r rune) *image.Alpha {
	bounds, mask, at, _, ok := face.Glyph(fixed.Point26_6{}, r)
	if !ok {
		return image.NewAlpha(image.Rectangle{})
	}
	own := image.NewAlpha(bounds)
	draw.Draw(own, bounds, mask, at, draw.Src)
	return own
}
