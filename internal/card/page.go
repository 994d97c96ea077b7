package card

import (
	"sillbot/internal/scene"
	"sillbot/internal/typeface"
)

// Sizes of the card, mm; a millimetre is ten pixels. The height is what the
// card needs; the drawing gives way so that it stays under tallest.
const (
	cardWidth = 108.0
	tallest   = 236.0
	margin    = 2.8
	width     = cardWidth - 2*margin
	smallest  = 2.6 // no letter is smaller
	// mostWarnings is the height that the drawing leaves to the warnings.
	mostWarnings = 54.0
)

func regular(mm float64) scene.Font { return scene.Font{Weight: typeface.Regular, Size: mm} }
func bold(mm float64) scene.Font    { return scene.Font{Weight: typeface.Bold, Size: mm} }

// card is a card being drawn from the top down.
type card struct {
	scene.Scene
	scene.Voice
	y       float64 // where the next part begins
	dropped int     // places that there was no room to name
}

// gap stands between the parts of a card.
const gap = 1.4

// rule draws a broken line across the card.
func (c *card) rule() {
	c.y += gap
	c.Dashes(scene.Point{X: margin, Y: c.y}, scene.Point{X: margin + width, Y: c.y}, 0.3)
	c.y += 0.8
}

// part is some lines of the card.
type part struct {
	lines []string
	font  scene.Font
}

func wrapped(words string, f scene.Font) part { return part{f.Wrap(words, width), f} }

func (c *card) paragraph(words string, f scene.Font) { c.lines(f.Wrap(words, width), f) }

func (c *card) lines(lines []string, f scene.Font) {
	c.y += c.Lines(lines, f, scene.Box{X: margin, Y: c.y, W: width}, scene.Black)
}
