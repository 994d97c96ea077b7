package scene

import (
	"bytes"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"sillbot/internal/typeface"
)

// hatchStep is from one slanting stroke of a hatched box to the next, mm
// along its edge.
const hatchStep = 1.2

// PDF is scenes as the pages of an A4 document. Its fonts are embedded and
// subset and its text can be searched and copied. The same scenes, title and
// moment give the same bytes.
func PDF(pages []*Scene, title string, made time.Time) ([]byte, error) {
	f := fpdf.New("P", "mm", "A4", "")
	f.SetAutoPageBreak(false, 0)
	f.SetMargins(0, 0, 0)
	f.SetCatalogSort(true)
	f.SetCreationDate(made)
	f.SetModificationDate(made)
	f.SetProducer("sillbot", true)
	f.SetTitle(title, true)
	w := page{Fpdf: f, known: map[string]bool{}, letters: map[rune]bool{}}
	for _, s := range pages {
		f.AddPage()
		s.Draw(w)
	}
	var out bytes.Buffer
	if err := f.Output(&out); err != nil {
		return nil, fmt.Errorf("scene: %w", err)
	}
	return readable(out.Bytes(), slices.Sorted(maps.Keys(w.letters)))
}

// page is the pen of a page.
type page struct {
	*fpdf.Fpdf
	known   map[string]bool // the fonts that were added
	letters map[rune]bool   // that were set
}

func (w page) fill(i Ink) {
	n := int(i.Level())
	w.SetFillColor(n, n, n)
}

func (w page) stroke(thick float64, i Ink) {
	n := int(i.Level())
	w.SetDrawColor(n, n, n)
	w.SetLineWidth(thick)
}

func (w page) Fill(b Box, i Ink) {
	w.fill(i)
	w.Rect(b.X, b.Y, b.W, b.H, "F")
}

func (w page) Polygon(corners []Point, i Ink) {
	w.fill(i)
	points := make([]fpdf.PointType, len(corners))
	for n, p := range corners {
		points[n] = fpdf.PointType{X: p.X, Y: p.Y}
	}
	w.Fpdf.Polygon(points, "F")
}

func (w page) Disc(m Point, radius float64, i Ink) {
	w.fill(i)
	w.Circle(m.X, m.Y, radius, "F")
}

func (w page) Hatch(b Box) {
	w.stroke(0.2, Grey)
	w.ClipRect(b.X, b.Y, b.W, b.H, false)
	for d := hatchStep; d < b.W+b.H; d += hatchStep {
		w.Fpdf.Line(b.X+d-b.H, b.Bottom(), b.X+d, b.Y)
	}
	w.ClipEnd()
}

func (w page) Line(a, b Point, thick float64, dashed bool, i Ink) {
	w.stroke(thick, i)
	if dashed {
		w.SetDashPattern([]float64{dash, dashGap}, 0)
		defer w.SetDashPattern(nil, 0)
	}
	w.Fpdf.Line(a.X, a.Y, b.X, b.Y)
}

// Text sets words part by part where one file has not all of the letters.
func (w page) Text(words string, f Font, base Point, turned bool, i Ink) {
	n := int(i.Level())
	w.SetTextColor(n, n, n)
	if turned {
		w.TransformBegin()
		defer w.TransformEnd()
		w.TransformRotate(90, base.X, base.Y)
	}
	for _, run := range w.runs(f.Weight, words) {
		w.use(f, run.file)
		w.Fpdf.Text(base.X, base.Y, run.words)
		base.X += f.Width(run.words)
	}
}

// run is words that one font file can draw.
type run struct {
	file  int
	words string
}

func (w page) runs(weight typeface.Weight, words string) []run {
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
		letter := typeface.Outline(weight, r)
		w.letters[letter.Rune] = true
		if letter.File != file {
			end()
			file = letter.File
		}
		b.WriteRune(letter.Rune)
	}
	end()
	return out
}

// use sets the font, which is added to the document when it is used first.
func (w page) use(f Font, file int) {
	family := fmt.Sprintf("%sletters%d", untagged[len("/utf8"):], file)
	style := ""
	if f.Weight == typeface.Bold {
		style = "B"
	}
	if !w.known[family+style] {
		w.known[family+style] = true
		w.AddUTF8FontFromBytes(family, style, typeface.Files(f.Weight)[file])
	}
	w.SetFont(family, style, f.Size/Point2mm)
}
