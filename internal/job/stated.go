package job

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// StatedText is the value of a field that stands on a line, in words.
func StatedText(p opening.Pair) phrase.Text {
	if mm, err := decimal.NewFromString(p.Value); err == nil && p.Key == "handle" {
		return phrase.Of("stated.handle").With("mm", mm)
	}
	if list, ok := opening.PanesOf(p.Value); p.Key == opening.ByLight {
		if !ok {
			return Value{Say: p.Value}.text()
		}
		return panesText(list)
	}
	return statedValue(opening.Find(p.Key), p.Value).text()
}

func panesText(list []opening.PaneGlass) phrase.Text {
	row := make([]phrase.Text, len(list))
	for i, p := range list {
		row[i] = phrase.Of("stated.pane").WithInt("n", p.Light).Word("glass", "button.safeglass."+string(p.Glass))
	}
	return phrase.Of("stated.panes").WithRow("panes", row...)
}
