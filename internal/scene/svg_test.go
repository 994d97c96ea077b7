package scene

import (
	"encoding/xml"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/typeface"
)

// svg is a pen for pages of the web, to see that a third form needs no more
// than a Pen.
type svg struct{ strings.Builder }

func (w *svg) put(form string, args ...any) { fmt.Fprintf(w, form+"\n", args...) }

func grey(i Ink) string { return fmt.Sprintf("rgb(%[1]d,%[1]d,%[1]d)", i.Level()) }

func (w *svg) Fill(b Box, i Ink) {
	w.put(`<rect x="%.3f" y="%.3f" width="%.3f" height="%.3f" fill="%s"/>`, b.X, b.Y, b.W, b.H, grey(i))
}

func (w *svg) Polygon(corners []Point, i Ink) {
	at := ""
	for _, p := range corners {
		at += fmt.Sprintf("%.3f,%.3f ", p.X, p.Y)
	}
	w.put(`<polygon points="%s" fill="%s"/>`, at, grey(i))
}

func (w *svg) Disc(m Point, radius float64, i Ink) {
	w.put(`<circle cx="%.3f" cy="%.3f" r="%.3f" fill="%s"/>`, m.X, m.Y, radius, grey(i))
}

func (w *svg) Hatch(b Box) {
	w.put(`<rect x="%.3f" y="%.3f" width="%.3f" height="%.3f" fill="url(#hatch)"/>`, b.X, b.Y, b.W, b.H)
}

func (w *svg) Line(a, b Point, thick float64, dashed bool, i Ink) {
	broken := ""
	if dashed {
		broken = fmt.Sprintf(` stroke-dasharray="%g %g"`, dash, dashGap)
	}
	w.put(`<line x1="%.3f" y1="%.3f" x2="%.3f" y2="%.3f" stroke="%s" stroke-width="%.3f"%s/>`, a.X, a.Y, b.X, b.Y, grey(i), thick, broken)
}

func (w *svg) Text(words string, f Font, base Point, turned bool, i Ink) {
	weight, turn := "normal", ""
	if f.Weight == typeface.Bold {
		weight = "bold"
	}
	if turned {
		turn = fmt.Sprintf(` transform="rotate(-90 %.3f %.3f)"`, base.X, base.Y)
	}
	var safe strings.Builder
	_ = xml.EscapeText(&safe, []byte(words))
	w.put(`<text x="%.3f" y="%.3f" font-size="%.3f" font-weight="%s" fill="%s"%s>%s</text>`, base.X, base.Y, f.Size, weight, grey(i), turn, safe.String())
}

func TestAThirdFormNeedsOnlyAPen(t *testing.T) {
	for _, s := range []*Scene{ordered(leaning(), english).Scene, func() *Scene { d, _ := fitted(leaning(), english); return d.Scene }()} {
		var w svg
		s.Draw(&w)
		var said []string
		marks := 0
		for d := xml.NewDecoder(strings.NewReader("<svg>" + w.String() + "</svg>")); ; {
			token, err := d.Token()
			if err == io.EOF {
				break
			}
			require.NoError(t, err)
			switch token := token.(type) {
			case xml.StartElement:
				marks++
			case xml.CharData:
				if words := strings.TrimSpace(string(token)); words != "" {
					said = append(said, words)
				}
			}
		}
		require.Equal(t, s.texts(), said)
		require.GreaterOrEqual(t, marks, len(s.Shapes))
	}
}
