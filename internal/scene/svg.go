package scene

import (
	"bytes"
	"encoding/xml"
	"fmt"

	"sillbot/internal/typeface"
)

// SVG is the scene on paper of w × h mm as a picture for a page: text stays text, and
// says what the picture shows to who can't see it. It has no style of its own that a
// strict page would refuse.
func SVG(s *Scene, w, h float64, title string) []byte {
	var p svg
	p.put(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.2f %.2f" role="img" font-family="DejaVu Sans, Noto Sans, Verdana, sans-serif">`, w, h)
	p.put(`<title>%s</title>`, escaped(title))
	s.Draw(&p)
	p.WriteString("</svg>\n")
	return p.Bytes()
}

// svg is the pen of a page. Lengths are hundredths of a millimetre, which nobody sees
// the rest of.
type svg struct{ bytes.Buffer }

func (w *svg) put(form string, args ...any) { fmt.Fprintf(w, form+"\n", args...) }

func escaped(words string) string {
	var safe bytes.Buffer
	_ = xml.EscapeText(&safe, []byte(words)) // a buffer takes all
	return safe.String()
}

func grey(i Ink) string { return fmt.Sprintf("#%[1]x%[1]x%[1]x", 15-i) }

func (w *svg) Fill(b Box, i Ink) {
	w.put(`<rect x="%.2f" y="%.2f" width="%.2f" height="%.2f" fill="%s"/>`, b.X, b.Y, b.W, b.H, grey(i))
}

func (w *svg) Polygon(corners []Point, i Ink) {
	at := ""
	for _, p := range corners {
		at += fmt.Sprintf("%.2f,%.2f ", p.X, p.Y)
	}
	w.put(`<polygon points="%s" fill="%s"/>`, at, grey(i))
}

func (w *svg) Disc(m Point, radius float64, i Ink) {
	w.put(`<circle cx="%.2f" cy="%.2f" r="%.2f" fill="%s"/>`, m.X, m.Y, radius, grey(i))
}

// Hatch slants its strokes 1.2 mm apart, as a picture does. Each stroke is cut at the
// box, so that no name is needed, of which a page may have one.
func (w *svg) Hatch(b Box) {
	const apart = 1.2
	for d := apart; d < b.W+b.H; d += apart {
		x0, x1 := max(0, d-b.H), min(d, b.W)
		w.Line(Point{b.X + x0, b.Y + d - x0}, Point{b.X + x1, b.Y + d - x1}, 0.25, false, Grey)
	}
}

func (w *svg) Line(a, b Point, thick float64, dashed bool, i Ink) {
	broken := ""
	if dashed {
		broken = fmt.Sprintf(` stroke-dasharray="%g %g"`, dash, dashGap)
	}
	w.put(`<line x1="%.2f" y1="%.2f" x2="%.2f" y2="%.2f" stroke="%s" stroke-width="%.2f"%s/>`, a.X, a.Y, b.X, b.Y, grey(i), thick, broken)
}

// Text takes as much room as the scene reckoned with, whichever font the reader has.
func (w *svg) Text(words string, f Font, base Point, turned bool, i Ink) {
	if words == "" {
		return
	}
	weight, turn := "normal", ""
	if f.Weight == typeface.Bold {
		weight = "bold"
	}
	if turned {
		turn = fmt.Sprintf(` transform="rotate(-90 %.2f %.2f)"`, base.X, base.Y)
	}
	w.put(`<text x="%.2f" y="%.2f" font-size="%.2f" font-weight="%s" fill="%s" textLength="%.2f" lengthAdjust="spacingAndGlyphs"%s>%s</text>`,
		base.X, base.Y, f.Size, weight, grey(i), f.Width(words), turn, escaped(words))
}
