package sheet

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/scene"
)

// What is worked out of a line stands on it as that. What rests on somebody's
// example says so, and is nothing to cut by.

// workedRows are the sizes of the glass, the profile and the weight.
func (o *order) workedRows(l job.Line) []row {
	w := l.Worked
	if w == nil {
		return nil
	}
	rows := []row{{label: o.key("sheet.glass_sizes"), parts: []part{{o.glassSizes(l), say}}}}
	if words := o.profileWords(*w); words != "" {
		rows = append(rows, row{label: o.key("sheet.profile"), parts: []part{{words, say}}})
	}
	if w.Mass.IsPositive() {
		rows = append(rows, row{label: o.key("sheet.weight"), parts: []part{{o.weightWords(l), say}}})
	}
	return rows
}

// glassSizes are the sizes of the glass by light, those alike together.
func (o *order) glassSizes(l job.Line) string {
	var sizes []phrase.Text
	for i, g := range l.Worked.Glass {
		same := func(other job.WorkedGlass) bool {
			return other.Size.Width.Equal(g.Size.Width) && other.Size.Height.Equal(g.Size.Height)
		}
		if slices.IndexFunc(l.Worked.Glass, same) < i {
			continue
		}
		size := phrase.Of("card.size").With("width", g.Size.Width).With("height", g.Size.Height)
		if len(l.Worked.Glass) > 1 {
			var lights []int
			for n, other := range l.Worked.Glass {
				if same(other) {
					lights = append(lights, n)
				}
			}
			size = phrase.Of("sheet.glass_size").Saying("numbers", scene.Numbers(lights)).Sub1("size", size)
		}
		sizes = append(sizes, size)
	}
	key := "sheet.glass_sizes.own"
	if l.Worked.GlassByExamples() {
		key = "sheet.glass_sizes.example"
	}
	return o.words(phrase.Of(key).WithRow("sizes", sizes...))
}

// profileWords are the figures of the profile that the crew gave; empty for none.
func (o *order) profileWords(w job.Worked) string {
	f := w.Faces
	var said []phrase.Text
	for _, face := range []struct {
		key string
		mm  decimal.Decimal
	}{{"depth", f.Depth}, {"outer", f.Outer}, {"sash", f.Sash}, {"mullion", f.Mullion}, {"rebate", f.Cover}} {
		if face.mm.IsPositive() && !w.IsExample(face.key) && !w.Unused(face.key) {
			said = append(said, phrase.Of("settings.face").Word("name", "setting."+face.key).With("mm", face.mm))
		}
	}
	if len(said) == 0 {
		return ""
	}
	return o.words(phrase.Of("sheet.profile.own").WithRow("faces", said...))
}

func (o *order) weightWords(l job.Line) string {
	words := o.words(phrase.Of("sheet.weight.window").With("kg", l.Worked.Mass))
	var sashes []phrase.Text
	for n, g := range l.Worked.Glass {
		if g.Sash.IsPositive() {
			sashes = append(sashes, phrase.Of("sheet.weight.light").WithInt("n", n+1).With("kg", g.Sash.RoundUp(0)))
		}
	}
	if len(sashes) > 0 {
		words += o.words(phrase.Of("sheet.weight.lights").WithRow("lights", sashes...))
	}
	return words
}

// evenWords says that nobody gave the bars a place; empty where somebody did, and
// for one mullion, whose middle is the middle by any profile.
func (o *order) evenWords(l job.Line) string {
	w := l.Worked
	if w == nil || !w.Even {
		return ""
	}
	switch example := w.IsExample("outer", "mullion"); {
	case example && len(l.Layout.Mullions) > 1:
		return o.key("sheet.mullions_example")
	case !example && w.Daylight.IsPositive():
		return o.words(phrase.Of("sheet.mullions_daylight").With("each", w.Daylight))
	}
	return o.key("sheet.mullions_even")
}
