package plan

import (
	"slices"

	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// UnmeasuredAs is the word, after "unmeasured.", of each field whose reading stands
// against ordering while it is not taken.
var UnmeasuredAs = map[string]string{
	"diagonal.rising": "diagonals", "diagonal.falling": "diagonals", "sill.fall": "sill",
	"inner.width": "overlap", "inner.height": "overlap", "floor": "floor", "outside": "outside",
}

// Against is what stands against ordering the window besides Holds: that nobody saw
// what carries the wall, and the readings that were not taken, each by its field.
func (p Plan) Against() []Hold {
	var list []Hold
	for i := range p.Findings {
		if f := &p.Findings[i]; f.Severity == safety.Ask && f.Topic == safety.Structure {
			list = append(list, Hold{f.Rule, p.Brief(f), f})
		}
	}
	unmeasured := p.unmeasured()
	for _, key := range []string{"inner.width", "diagonal.rising", "sill.fall", "floor", "outside"} {
		if word := UnmeasuredAs[key]; slices.Contains(unmeasured, word) {
			list = append(list, Hold{Rule: key, Text: phrase.Of("against.missed").Word("what", "unmeasured."+word)})
		}
	}
	return list
}
