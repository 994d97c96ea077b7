package locales

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"

	"sillbot/internal/phrase"
)

// A catalogue says for each form of its language how it reads; one that it does
// not say reads as the others. The rules are those of Unicode's CLDR.
func TestACountTakesItsForm(t *testing.T) {
	c, err := assemble(map[string]map[string]any{
		"en": {"vents": map[string]any{"one": "{{.count}} vent, {{.each}}", "other": "{{.count}} vents"}, "only": "only here {{.n}}"},
		"pl": {"vents": map[string]any{"one": "{{.count}} raz", "few": "{{.count}} razy", "other": "{{.count}} razu"}},
	})
	require.NoError(t, err)
	vents := func(lang, n string) string {
		return c.Text(lang, phrase.Of("vents").With("count", decimal.RequireFromString(n)).WithInt("each", 9))
	}
	require.Equal(t, "1 vent, 9", vents("en", "1"))
	require.Equal(t, "0 vents", vents("en", "0"))
	require.Equal(t, "2 vents", vents("en", "2.0"))
	require.Equal(t, "1.5 vents", vents("en", "1.5"))
	require.Equal(t, "1 raz", vents("pl", "1"))
	require.Equal(t, "3 razy", vents("pl", "3"))
	require.Equal(t, "1.5 razu", vents("pl", "1.5"))
	require.Equal(t, "5 razu", vents("pl", "5"), "a form that is not said reads as the others")
	require.Equal(t, plural.Many, (&speaker{tag: language.Polish}).form(decimal.NewFromInt(5)))

	require.Equal(t, "only here 7", c.Text("pl", phrase.Of("only").WithInt("n", 7)), "the default language says it")
	require.Equal(t, "only here <no value>", c.Text("en", phrase.Of("only")))
	require.Equal(t, "[never]", c.Text("pl", phrase.Of("never")))
	require.False(t, c.Has("pl", "only"))

	for _, entry := range []any{7, map[string]any{"one": "x"}, map[string]any{"other": 7}} {
		_, err := assemble(map[string]map[string]any{"en": {"k": entry}})
		require.ErrorContains(t, err, "en, k")
	}
}
