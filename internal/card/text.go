package card

import (
	"image"
	"strings"

	"sillbot/internal/typeface"
)

// lineHeight is from one base line to the next.
func lineHeight(f *typeface.Face) int { return f.Px * 5 / 4 }

// capHeight is the height of a capital or a figure: 0.729 of the size in this
// typeface.
func capHeight(px int) int { return px * 729 / 1000 }

// wrap breaks words into lines no wider than width. A word that is longer
// than a line is broken where it has to be.
func wrap(f *typeface.Face, words string, width int) []string {
	var lines []string
	line, wide := "", 0
	space := f.Width(" ")
	for _, word := range strings.Fields(words) {
		for f.Width(word) > width {
			var part string
			part, word = breakWord(f, word, width)
			lines = keep(lines, line)
			line, wide = "", 0
			lines = append(lines, part)
		}
		w := f.Width(word)
		if line != "" && wide+space+w <= width {
			line, wide = line+" "+word, wide+space+w
			continue
		}
		lines = keep(lines, line)
		line, wide = word, w
	}
	return keep(lines, line)
}

func keep(lines []string, line string) []string {
	if line == "" {
		return lines
	}
	return append(lines, line)
}

// breakWord cuts a word that is wider than width; the first part has at least
// one letter.
func breakWord(f *typeface.Face, word string, width int) (part, rest string) {
	wide := 0
	for i, r := range word {
		wide += f.Glyph(r).Advance
		if wide > width && i > 0 {
			return word[:i], word[i:]
		}
	}
	return word, ""
}

// shorten keeps at most n lines and marks the cut.
func shorten(lines []string, n int) []string {
	if len(lines) <= n {
		return lines
	}
	last := []rune(lines[n-1])
	return append(lines[:n-1:n-1], string(last[:len(last)-min(2, len(last))])+"…")
}

// largest is the first of the sizes, in bold, at which words take no more
// than width; the last when none does.
func largest(words string, width int, sizes ...int) int {
	for _, px := range sizes {
		if typeface.At(typeface.Bold, px).Width(words) <= width {
			return px
		}
	}
	return sizes[len(sizes)-1]
}

// paragraph sets words under what is there.
func (s *sheet) paragraph(words string, w typeface.Weight, px int) {
	f := typeface.At(w, px)
	s.lines(wrap(f, words, cardWidth-2*margin), f, black)
}

func (s *sheet) lines(lines []string, f *typeface.Face, i ink) {
	for _, line := range lines {
		s.text(line, f, margin, s.y, i)
		s.y += lineHeight(f)
	}
}

// text sets one line with its top left corner at x, y.
func (s *sheet) text(words string, f *typeface.Face, x, y int, i ink) {
	box := image.Rect(x, y, x+f.Width(words), y+lineHeight(f))
	s.write(x, y+f.Px, f, words, i)
	s.labels = append(s.labels, label{text: words, box: box})
}

// centred sets one line in the middle of box.
func (s *sheet) centred(words string, f *typeface.Face, box image.Rectangle, i ink) {
	width := f.Width(words)
	s.text(words, f, box.Min.X+(box.Dx()-width)/2, box.Min.Y+(box.Dy()-lineHeight(f))/2, i)
}

// inside sets figures or capitals in the middle of a sign. The sign is what is
// placed, so the words are not noted as a label of their own.
func (s *sheet) inside(words string, f *typeface.Face, box image.Rectangle, i ink) {
	x := box.Min.X + (box.Dx()-f.Width(words))/2
	s.write(x, box.Min.Y+(box.Dy()+capHeight(f.Px))/2, f, words, i)
}
