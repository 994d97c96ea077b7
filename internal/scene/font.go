package scene

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"sillbot/internal/typeface"
)

// Point2mm is the length of a printer's point, mm.
const Point2mm = 25.4 / 72

// Font is a weight at a size in mm.
type Font struct {
	Weight typeface.Weight
	Size   float64
}

// Regular and Bold are fonts of a size in points.
func Regular(points float64) Font { return Font{typeface.Regular, points * Point2mm} }
func Bold(points float64) Font    { return Font{typeface.Bold, points * Point2mm} }

// Fonts are fonts of several sizes, to be tried in turn.
func Fonts(of func(size float64) Font, sizes ...float64) []Font {
	out := make([]Font, len(sizes))
	for i, size := range sizes {
		out[i] = of(size)
	}
	return out
}

// Line is from one base line to the next.
func (f Font) Line() float64 { return f.Size * 1.25 }

// Height is of lines under each other.
func (f Font) Height(lines []string) float64 { return float64(len(lines)) * f.Line() }

// base is from the top of a line to its base line.
func (f Font) base() float64 { return f.Size * 0.97 }

// capital is the height of a capital or a figure in this typeface.
func (f Font) capital() float64 { return f.Size * 0.729 }

// Width is of words on one line.
func (f Font) Width(words string) float64 { return typeface.Width(f.Weight, words) * f.Size }

// Beside is how far under the top of a line in other a line in f begins, so
// that both stand on one base line.
func (f Font) Beside(other Font) float64 { return other.base() - f.base() }

// units are the signs of units that stand behind a figure. They are the same in
// every language.
var units = map[string]bool{
	"mm": true, "cm": true, "m": true, "mm²": true, "m²": true, "m³": true, "mm2": true, "m2": true, "m3": true, "kg": true, "g": true,
	"ml": true, "l": true, "N": true, "Pa": true, "W/m²K": true, "W/mK": true, "mg/m³": true, "m/s": true, "%": true, "°": true, "×": true,
}

// glued tells whether no line may end between two words: a figure and its unit,
// or the two sides of a size.
func glued(before, word string) bool {
	last, _ := utf8.DecodeLastRuneInString(before)
	first, _ := utf8.DecodeRuneInString(word)
	figure := unicode.IsDigit(last) && units[strings.TrimRight(word, ".,;:)!?")]
	return figure || last == '×' && unicode.IsDigit(first)
}

// bits are words that may stand on different lines: each a word, or a figure with
// its unit where that is no wider than w.
func (f Font) bits(words string, w float64) []string {
	var out []string
	for _, word := range strings.Fields(words) {
		if n := len(out) - 1; n >= 0 && glued(out[n], word) && f.Width(out[n]+" "+word) <= w {
			out[n] += " " + word
			continue
		}
		out = append(out, word)
	}
	return out
}

// Wrap breaks words into lines no wider than w. A figure stays with its unit. A
// word that is longer than a line is broken where it has to be.
func (f Font) Wrap(words string, w float64) []string {
	var lines []string
	line, wide, space := "", 0.0, f.Width(" ")
	end := func() {
		if line != "" {
			lines, line = append(lines, line), ""
		}
	}
	for _, word := range f.bits(words, w) {
		for f.Width(word) > w {
			end()
			part := f.cut(word, w)
			lines, word = append(lines, part), word[len(part):]
		}
		long := f.Width(word)
		if line != "" && wide+space+long <= w {
			line, wide = line+" "+word, wide+space+long
			continue
		}
		end()
		line, wide = word, long
	}
	end()
	return lines
}

// cut is the beginning of a word that is wider than w: what fits, and one
// letter at least.
func (f Font) cut(word string, w float64) string {
	wide := 0.0
	for i, r := range word {
		wide += typeface.Outline(f.Weight, r).Advance * f.Size
		if wide > w && i > 0 {
			return word[:i]
		}
	}
	return word
}

// Largest is the first of the fonts in which words take no more than w; the
// last when none does.
func Largest(words string, w float64, fonts ...Font) Font {
	for _, f := range fonts {
		if f.Width(words) <= w {
			return f
		}
	}
	return fonts[len(fonts)-1]
}

// Squeezed breaks words into lines in the first of the fonts in which they
// stay within w and h; in the last when they do in none.
func Squeezed(words string, w, h float64, fonts ...Font) (Font, []string) {
	for _, f := range fonts {
		if lines := f.Wrap(words, w); f.Height(lines) <= h {
			return f, lines
		}
	}
	f := fonts[len(fonts)-1]
	return f, f.Wrap(words, w)
}
