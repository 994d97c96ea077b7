package scene

// Text sets one line with its top left corner at that of b.
func (s *Scene) Text(words string, f Font, b Box, i Ink) {
	s.set(words, f, Box{b.X, b.Y, f.Width(words), f.Line()}, b, i)
}

func (s *Scene) set(words string, f Font, at, within Box, i Ink) {
	if words != "" {
		s.put(Shape{Kind: Lettered, Box: at, Words: words, Font: f, Ink: i, Within: within})
	}
}

// Lines sets lines under each other from the top of b and says how high they
// are.
func (s *Scene) Lines(lines []string, f Font, b Box, i Ink) float64 {
	for n, line := range lines {
		s.Text(line, f, Box{b.X, b.Y + float64(n)*f.Line(), b.W, f.Line()}, i)
	}
	return f.Height(lines)
}

// Centred sets one line in the middle of b, Ended one at its right edge.
func (s *Scene) Centred(words string, f Font, b Box, i Ink) {
	s.set(words, f, b.Middle(f.Width(words), f.Line()), b, i)
}

func (s *Scene) Ended(words string, f Font, b Box, i Ink) {
	at := b.Middle(f.Width(words), f.Line())
	at.X = b.Right() - at.W
	s.set(words, f, at, b, i)
}

// Into sets words in the middle of b, in the first of the fonts that lets them.
func (s *Scene) Into(b Box, words string, i Ink, fonts ...Font) {
	f, lines := Squeezed(words, b.W, b.H, fonts...)
	s.stack(lines, f, b, i)
}

// stack sets lines in the middle of b.
func (s *Scene) stack(lines []string, f Font, b Box, i Ink) {
	y := b.Y + (b.H-f.Height(lines))/2
	for n, line := range lines {
		s.Centred(line, f, Box{b.X, y + float64(n)*f.Line(), b.W, f.Line()}, i)
	}
}

// Under sets words from the top left corner of b, in the first of the fonts
// that lets them, and says how high they are.
func (s *Scene) Under(b Box, words string, fonts ...Font) float64 {
	f, lines := Squeezed(words, b.W, b.H, fonts...)
	return s.Lines(lines, f, b, Black)
}

// inside sets figures or capitals in the middle of a sign.
func (s *Scene) inside(words string, f Font, b Box, i Ink) {
	at := b.Middle(f.Width(words), f.capital())
	at.Y, at.H = at.Y+f.capital()-f.base(), f.Line()
	s.set(words, f, at, b, i)
}
