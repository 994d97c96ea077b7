package sheet

import (
	"strings"
	"unicode"

	"sillbot/internal/phrase"
	"sillbot/internal/typeface"
)

// Sizes of the page, in mm. Every printer can print inside the margins.
const (
	pageWidth  = 210.0
	pageHeight = 297.0
	left       = 15.0
	right      = pageWidth - 15
	top        = 13.0
	bottom     = pageHeight - 20 // of the lines; the foot stands below
	footTop    = bottom + 3
	lowest     = pageHeight - 9
	width      = right - left
)

const point = 25.4 / 72 // mm

// ink is how dark a mark is: 0 is black, 255 paper.
type ink uint8

const (
	black ink = 0
	grey  ink = 120
	pale  ink = 208
	faint ink = 236
	paper ink = 255
)

// box is a place on a page, mm from its top left corner.
type box struct{ x, y, w, h float64 }

func (b box) right() float64  { return b.x + b.w }
func (b box) bottom() float64 { return b.y + b.h }

// inset is b less d on every side.
func (b box) inset(d float64) box { return box{b.x + d, b.y + d, b.w - 2*d, b.h - 2*d} }

// font is a weight at a size in points.
type font struct {
	weight typeface.Weight
	size   float64
}

// line is from one base line to the next, mm.
func (f font) line() float64 { return f.size * point * 1.25 }

// base is from the top of a line to its base line, mm.
func (f font) base() float64 { return f.size * point * 0.97 }

func regular(size float64) font { return font{typeface.Regular, size} }
func bold(size float64) font    { return font{typeface.Bold, size} }

// mark is something that was placed on a page: words, or a shape when words
// is empty.
type mark struct {
	box
	words  string
	font   font
	ink    ink
	turned bool // words run upwards from the box's bottom left corner
	shape  shape
	thick  float64 // of a line or an outline
	// within is the cell or column that the words belong to, for the tests of
	// the layout.
	within box
}

// shape is what a mark without words is.
type shape int

const (
	filled   shape = iota
	outlined       // with its line inside the box
	stroke         // from the box's top left to its bottom right
	dashed         // the same, broken
	rising         // from the box's bottom left to its top right
)

// page is one side of paper.
type page struct{ marks []mark }

// layout is a sheet being laid out from the top down.
type layout struct {
	say   func(phrase.Text) string
	said  map[string]string
	glyph map[glyphKey]glyph
	pages []*page
	y     float64
	head  func(l *layout) // draws the head of a page and moves y under it
}

func newLayout(say func(phrase.Text) string) *layout {
	return &layout{say: say, said: map[string]string{}, glyph: map[glyphKey]glyph{}, head: func(*layout) {}}
}

// newPage begins a page.
func (l *layout) newPage() {
	l.pages = append(l.pages, &page{})
	l.y = top
	l.head(l)
}

// room is what is left of the page.
func (l *layout) room() float64 { return bottom - l.y }

// need begins a page when less than h is left.
func (l *layout) need(h float64) bool {
	if h <= l.room()+1e-6 {
		return false
	}
	l.newPage()
	return true
}

func (l *layout) put(m mark) {
	p := l.pages[len(l.pages)-1]
	p.marks = append(p.marks, m)
}

func (l *layout) fill(b box, i ink) { l.put(mark{box: b, ink: i, shape: filled}) }

func (l *layout) frame(b box, thick float64, i ink) {
	l.put(mark{box: b, ink: i, thick: thick, shape: outlined})
}

// level draws a level line, upright an upright one.
func (l *layout) level(x, y, w, thick float64, i ink) {
	l.put(mark{box: box{x, y, w, 0}, ink: i, thick: thick, shape: stroke})
}

func (l *layout) upright(x, y, h, thick float64, i ink) {
	l.put(mark{box: box{x, y, 0, h}, ink: i, thick: thick, shape: stroke})
}

// slant draws a line between any two points.
func (l *layout) slant(x0, y0, x1, y1, thick float64, i ink) {
	if x0 > x1 {
		x0, y0, x1, y1 = x1, y1, x0, y0
	}
	m := mark{box: box{x0, min(y0, y1), x1 - x0, max(y0, y1) - min(y0, y1)}, ink: i, thick: thick, shape: stroke}
	if y1 < y0 {
		m.shape = rising
	}
	l.put(m)
}

// text sets one line with its top left corner at x, y. Within is where it has
// to stay.
func (l *layout) text(words string, f font, x, y float64, i ink, within box) {
	if words == "" {
		return
	}
	l.put(mark{box: box{x, y, l.width(f, words), f.line()}, words: words, font: f, ink: i, within: within})
}

// lines sets lines under each other from the top of b.
func (l *layout) lines(lines []string, f font, b box, i ink) {
	for n, line := range lines {
		l.text(line, f, b.x, b.y+float64(n)*f.line(), i, b)
	}
}

// centred sets one line in the middle of b, ended one at its right edge.
func (l *layout) centred(words string, f font, b box, i ink) {
	l.text(words, f, b.x+(b.w-l.width(f, words))/2, b.y+(b.h-f.line())/2, i, b)
}

func (l *layout) ended(words string, f font, b box, i ink) {
	l.text(words, f, b.right()-l.width(f, words), b.y+(b.h-f.line())/2, i, b)
}

// key is the words of a plain key.
func (l *layout) key(key string) string {
	words, ok := l.said[key]
	if !ok {
		words = l.words(phrase.Of(key))
		l.said[key] = words
	}
	return words
}

// words is a text on one line, without anything that can't be drawn.
func (l *layout) words(t phrase.Text) string { return clean(l.say(t)) }

// clean puts words on one line. Letters outside the basic plane can't be
// written by the PDF library and become the replacement character.
func clean(words string) string {
	return strings.Map(func(r rune) rune {
		if r > 0xFFFF {
			return unicode.ReplacementChar
		}
		return r
	}, typeface.Line(words))
}

type glyphKey struct {
	weight typeface.Weight
	r      rune
}

// glyph is what is needed to set a letter.
type glyph struct {
	r       rune // the letter, or the replacement character
	file    int  // of typeface.Files
	advance float64
}

func (l *layout) glyphOf(w typeface.Weight, r rune) glyph {
	key := glyphKey{w, r}
	if g, ok := l.glyph[key]; ok {
		return g
	}
	g := glyph{r: r}
	var ok bool
	if g.file, g.advance, ok = typeface.Outline(w, r); !ok || r > 0xFFFF {
		g.r = unicode.ReplacementChar
		g.file, g.advance, _ = typeface.Outline(w, g.r)
	}
	l.glyph[key] = g
	return g
}

// width is of one line, mm.
func (l *layout) width(f font, words string) float64 {
	total := 0.0
	for _, r := range words {
		total += l.glyphOf(f.weight, r).advance
	}
	return total * f.size * point
}

// wrap breaks words into lines no wider than w. A word that is longer than a
// line is broken where it has to be.
func (l *layout) wrap(f font, words string, w float64) []string {
	var lines []string
	line, wide, space := "", 0.0, l.width(f, " ")
	for _, word := range strings.Fields(words) {
		for l.width(f, word) > w {
			if line != "" {
				lines, line, wide = append(lines, line), "", 0
			}
			var part string
			part, word = l.breakWord(f, word, w)
			lines = append(lines, part)
		}
		wordWide := l.width(f, word)
		switch {
		case word == "":
		case line == "":
			line, wide = word, wordWide
		case wide+space+wordWide <= w:
			line, wide = line+" "+word, wide+space+wordWide
		default:
			lines = append(lines, line)
			line, wide = word, wordWide
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// breakWord cuts a word that is wider than w; the first part has at least one
// letter.
func (l *layout) breakWord(f font, word string, w float64) (part, rest string) {
	wide := 0.0
	for i, r := range word {
		wide += l.width(f, string(r))
		if wide > w && i > 0 {
			return word[:i], word[i:]
		}
	}
	return word, ""
}

// fitting is the largest of the sizes at which words, in bold, take no more
// than w; the last when none does.
func (l *layout) fitting(words string, w float64, sizes ...float64) font {
	for _, size := range sizes {
		if l.width(bold(size), words) <= w {
			return bold(size)
		}
	}
	return bold(sizes[len(sizes)-1])
}

// squeezed breaks words into lines at the largest of the sizes at which they
// stay within w and h; at the last when they do at none.
func (l *layout) squeezed(words string, w, h float64, fonts ...font) (font, []string) {
	for _, f := range fonts {
		if lines := l.wrap(f, words, w); float64(len(lines))*f.line() <= h {
			return f, lines
		}
	}
	f := fonts[len(fonts)-1]
	return f, l.wrap(f, words, w)
}

// into sets words in the middle of b, as large as the fonts allow.
func (l *layout) into(b box, words string, i ink, fonts ...font) {
	f, lines := l.squeezed(words, b.w, b.h, fonts...)
	y := b.y + (b.h-float64(len(lines))*f.line())/2
	for n, line := range lines {
		l.centred(line, f, box{b.x, y + float64(n)*f.line(), b.w, f.line()}, i)
	}
}

// under sets words from the top left corner of b, as large as the fonts allow.
func (l *layout) under(b box, words string, fonts ...font) {
	f, lines := l.squeezed(words, b.w, b.h, fonts...)
	l.lines(lines, f, b, black)
}

func regulars(sizes ...float64) []font {
	out := make([]font, len(sizes))
	for i, size := range sizes {
		out[i] = regular(size)
	}
	return out
}

func bolds(sizes ...float64) []font {
	out := make([]font, len(sizes))
	for i, size := range sizes {
		out[i] = bold(size)
	}
	return out
}

// paragraph sets words over the width of the page, on as many pages as it
// takes.
func (l *layout) paragraph(words string, f font) {
	for _, line := range l.wrap(f, words, width) {
		l.need(f.line())
		l.text(line, f, left, l.y, black, box{left, l.y, width, f.line()})
		l.y += f.line()
	}
}
