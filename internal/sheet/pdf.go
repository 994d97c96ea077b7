package sheet

import (
	"bytes"
	"fmt"
	"strings"

	"codeberg.org/go-pdf/fpdf"

	"sillbot/internal/typeface"
)

// pdf writes a layout.
func (p Printer) pdf(l *layout) ([]byte, error) {
	f := fpdf.New("P", "mm", "A4", "")
	f.SetAutoPageBreak(false, 0)
	f.SetMargins(0, 0, 0)
	f.SetCatalogSort(true)
	f.SetCreationDate(p.At)
	f.SetModificationDate(p.At)
	f.SetProducer("sillbot", true)
	f.SetTitle(l.title(), true)
	w := &writer{Fpdf: f, l: l, known: map[string]bool{}}
	for _, page := range l.pages {
		f.AddPage()
		for _, m := range page.marks {
			w.draw(m)
		}
	}
	var out bytes.Buffer
	if err := f.Output(&out); err != nil {
		return nil, fmt.Errorf("sheet: writing the PDF: %w", err)
	}
	return readable(out.Bytes(), l.letters())
}

// writer puts marks on the pages of a PDF.
type writer struct {
	*fpdf.Fpdf
	l     *layout
	known map[string]bool // the fonts that were added
}

func (w *writer) draw(m mark) {
	if m.words != "" {
		w.write(m)
		return
	}
	i := int(m.ink)
	w.SetDrawColor(i, i, i)
	w.SetLineWidth(m.thick)
	switch m.shape {
	case filled:
		w.SetFillColor(i, i, i)
		w.Rect(m.x, m.y, m.w, m.h, "F")
	case outlined:
		in := m.inset(m.thick / 2)
		w.Rect(in.x, in.y, in.w, in.h, "D")
	case rising:
		w.Line(m.x, m.bottom(), m.right(), m.y)
	case dashed:
		w.SetDashPattern([]float64{1.2, 0.8}, 0)
		w.Line(m.x, m.y, m.right(), m.bottom())
		w.SetDashPattern(nil, 0)
	default:
		w.Line(m.x, m.y, m.right(), m.bottom())
	}
}

// write sets the words of a mark, part by part where one file has not all of
// the letters.
func (w *writer) write(m mark) {
	i := int(m.ink)
	w.SetTextColor(i, i, i)
	x, base := m.x, m.y+m.font.base()
	if m.turned {
		// The words are set along the box's left edge and turned about its
		// bottom left corner.
		w.TransformBegin()
		w.TransformRotate(90, m.x, m.bottom())
		base = m.bottom() + m.font.base()
	}
	for _, run := range w.l.runs(m.font.weight, m.words) {
		w.use(m.font, run.file)
		w.Text(x, base, run.words)
		x += w.l.width(m.font, run.words)
	}
	if m.turned {
		w.TransformEnd()
	}
}

// run is words that one font file can draw.
type run struct {
	file  int
	words string
}

func (l *layout) runs(w typeface.Weight, words string) []run {
	var out []run
	var b strings.Builder
	file := 0
	end := func() {
		if b.Len() > 0 {
			out = append(out, run{file, b.String()})
			b.Reset()
		}
	}
	for _, r := range words {
		g := l.glyphOf(w, r)
		if g.file != file {
			end()
			file = g.file
		}
		b.WriteRune(g.r)
	}
	end()
	return out
}

// use sets the font, which is added to the document when it is used first.
func (w *writer) use(f font, file int) {
	family := fmt.Sprintf("%sletters%d", untagged[len("/utf8"):], file)
	style := ""
	if f.weight == typeface.Bold {
		style = "B"
	}
	if !w.known[family+style] {
		w.known[family+style] = true
		w.AddUTF8FontFromBytes(family, style, typeface.Files(f.weight)[file])
	}
	w.SetFont(family, style, f.size)
}
