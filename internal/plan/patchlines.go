package plan

import (
	"sillbot/internal/calc"
	"sillbot/internal/phrase"
)

// PatchLines say how each patch is laid, coat by coat, and then what holds for all.
func (p Plan) PatchLines() []phrase.Text {
	var lines []phrase.Text
	said := map[string]bool{}
	var general []calc.Reason
	for _, m := range p.MadeGood {
		lines = append(lines, phrase.Of("patch.title").WithInt("n", m.Number).With("length", m.Length).With("width", m.Width).With("depth", m.Depth))
		for _, r := range m.Reasons {
			switch {
			case r.Rule == "patch_fill":
				lines = append(lines, markedText(r, ReasonText(r)))
			case toPatches[r.Rule] && !said[r.Rule]:
				said[r.Rule] = true
				general = append(general, r)
			}
		}
		for i, c := range m.Coats {
			lines = append(lines, m.coatLine(i+1, c))
		}
	}
	return append(lines, markedLines(general)...)
}

// toPatches are the rules of what holds for all patches: the rest is in their coats.
var toPatches = map[string]bool{"patch_lime": true, "render_lime": true, "patch_batch": true}

// coatLine is one coat as it is mixed and laid.
func (m MadeGood) coatLine(n int, c calc.PatchCoat) phrase.Text {
	last := n == len(m.Coats)
	key := "patch.coat"
	if last {
		key = "patch.coat.last"
	}
	mix := phrase.Of("patch.cement").With("sand", c.Parts)
	batch := phrase.Of("patch.batch").With("cement", c.Batch.Binder).With("sand", c.Batch.Sand).With("water", c.Batch.Water)
	switch {
	case c.Lime:
		mix = phrase.Of("patch.lime").With("sand", c.Parts)
		batch = phrase.Of("patch.batch.lime").With("lime", c.Batch.Binder).With("sand", c.Batch.Sand)
	case c.Batch.Binder.IsZero():
		mix = phrase.Of("patch.ready")
		batch = phrase.Of("patch.batch.ready").With("wet", c.Batch.Wet)
	}
	return phrase.Of(key).WithInt("n", n).With("thickness", c.Thickness).Sub1("mix", mix).
		Sub1("batches", phrase.Of("patch.batches").WithInt("count", c.Batches)).Sub1("batch", batch).
		Sub1("wait", phrase.Of("patch.days").With("count", c.Days))
}

// PatchStoreLines are what the patches take along, in packs.
func (p Plan) PatchStoreLines() []phrase.Text {
	var lines []phrase.Text
	for _, item := range p.Take.Items {
		switch item.Kind {
		case calc.CementItem, calc.SandItem, calc.ReadyMixItem:
			lines = append(lines, reasonLines(item.Reasons)...)
		}
	}
	return lines
}

// WeatherLines say why not to render at a temperature, °C; nothing where the weather
// lets you.
func WeatherLines(d calc.RenderDay) []phrase.Text { return markedLines(calc.RenderWeather(d)) }
