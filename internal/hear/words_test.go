package hear

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
	"sillbot/locales"
)

// marks are the groups that this package reads besides the choices of fields,
// with the codes that it knows.
var marks = map[string]string{
	"hear":     "absent and all asking built builtbefore but correct end dunno dwelling lintel exchange half harmless higher inside is joins late less level lower meant minus more no not or others outside point over real same sameas sides skip there thing was wrong",
	"axis":     "width height",
	"pos":      "top middle bottom left right",
	"place":    "left middle right",
	"part":     "half third thirds quarters two-thirds",
	"row":      "upper lower",
	"ordinal":  "1 2 3 4",
	"stuff":    "pvcu timber aluminium steel",
	"colour":   "white other any",
	"measure":  "mm cm m in ft",
	"query":    "meaning why how sides other",
	"layout":   "1 2 3 4 1t 2t 3t 4t",
	"answer":   "yes no keep",
	"pass":     "mullion transom outside",
	"before":   "before",
	"when":     "today tomorrow yesterday in a next this day week fortnight month",
	"inday":    "th of on",
	"monthday": "",
	"light":    "side tilt-turn",
	"storey":   "0 1 2",
	"glass":    "4-20-4 4-16-4",
	"together": "",
}

// Every word that is heard means a code that the program knows.
func TestEveryWordMeansSomething(t *testing.T) {
	c, err := locales.Load()
	require.NoError(t, err)
	for _, lang := range c.Languages() {
		c.Phrases(lang, func(group, code, phrase string) {
			if !heardGroup(group) || !known(group, code) {
				if heardGroup(group) {
					t.Errorf("%s: %q means %s of %s, which nothing reads", lang, phrase, code, group)
				}
			}
		})
	}
}

func known(group, code string) bool {
	group = base(strings.TrimSuffix(group, "-maybe"))
	if slices.Contains(strings.Fields(marks[group]), code) {
		return true
	}
	switch group {
	case "when", "monthday", "count", "term", "alias", "name":
		return true // days and months, figures, the glossary, other spellings; names are held by locales
	}
	for f := range opening.Fields {
		for _, row := range f.Rows {
			if (f.Group == group || f.Key == group) && slices.Contains(row, code) {
				return true
			}
		}
	}
	return false
}
