package sheet

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// money is an amount for a program: pounds and pence with a point, or as finely as the
// desk gave it.
func money(d decimal.Decimal) string {
	if d.Equal(d.Round(2)) {
		return d.StringFixed(2)
	}
	return d.String()
}

// workedCells are the sizes of the glass by light, by whose profile, the frame's depth
// and the window's weight. A depth that is an example has an empty cell.
func (o *order) workedCells(l job.Line) []string {
	w := l.Worked
	if w == nil {
		return make([]string, 4)
	}
	by, depth, mass := "crew", "", ""
	if w.GlassByExamples() {
		by = "example"
	}
	if !w.IsExample("depth") {
		depth = w.Faces.Depth.String()
	}
	if w.Mass.IsPositive() {
		mass = w.Mass.String()
	}
	sizes := ""
	for n, g := range w.Glass {
		if n > 0 {
			sizes += "; "
		}
		size := phrase.Of("sheet.glass_size").WithInt("numbers", n+1).Sub1("size", phrase.Of("card.size").With("width", g.Size.Width).With("height", g.Size.Height))
		sizes += o.words(size)
	}
	return []string{sizes, by, depth, mass}
}
