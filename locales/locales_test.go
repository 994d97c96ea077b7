package locales

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/phrase"
)

func load(t *testing.T) *Catalogue {
	c, err := Load()
	require.NoError(t, err)
	return c
}

// TestEveryLanguageHasEveryKeyAndPlace compares each catalogue with the
// English one: a sentence without a place that English fills would lose a
// figure on the way.
func TestEveryLanguageHasEveryKeyAndPlace(t *testing.T) {
	c := load(t)
	english := entries(t, Default)
	for _, lang := range c.Languages()[1:] {
		own := entries(t, lang)
		for key, text := range english {
			if strings.HasPrefix(key, "words.") {
				continue // English words are known in every language
			}
			require.Contains(t, own, key, lang)
			require.Equal(t, places(text), places(own[key]), "%s: %s", lang, key)
		}
	}
}

func entries(t *testing.T, lang string) map[string]string {
	raw, err := os.ReadFile(lang + ".toml")
	require.NoError(t, err)
	all := map[string]any{}
	require.NoError(t, toml.Unmarshal(raw, &all))
	out := map[string]string{}
	for key, value := range all {
		switch v := value.(type) {
		case string:
			out[key] = v
		case map[string]any:
			out[key] = v["other"].(string)
		}
	}
	return out
}

var place = regexp.MustCompile(`{{\.\w+}}`)

func places(text string) map[string]bool {
	found := map[string]bool{}
	for _, p := range place.FindAllString(text, -1) {
		found[p] = true
	}
	return found
}

func TestAPersonsWordsCantBecomeMarkup(t *testing.T) {
	c := load(t)
	text := c.Text("en", phrase.Of("fail.date").Saying("given", "<b>&\u202egpj.exe\x07"))
	require.Contains(t, text, "&lt;b&gt;&amp;gpj.exe")
	require.Contains(t, c.Plain("en", phrase.Of("fail.date").Saying("given", "<b>&")), "“<b>&”")
}

func TestNumbersAndPlurals(t *testing.T) {
	c := load(t)
	require.Equal(t, "−0.5", c.Plain("en", phrase.Of("number").With("n", decimal.New(-5, -1))))
	require.NotEqual(t, c.Plain("en", phrase.Of("plan.fixings").WithInt("count", 1)), c.Plain("en", phrase.Of("plan.fixings").WithInt("count", 2)))
	require.Equal(t, "[no.such.key]", c.Text("en", phrase.Of("no.such.key")))
	require.Empty(t, c.Text("en", phrase.Text{}))
}

func TestMatchTakesTheLongestWords(t *testing.T) {
	c := load(t)
	for _, test := range []struct{ text, group, code, rest string }{
		{"bare brick, 1204", "finish", "bare", "1204"},
		{"Fair-faced", "finish", "bare", ""},
		{"outer leaf overlaps the frame", "finish", "check", ""},
		{"outer leaf", "finish", "check", ""},
		{"Northern Ireland today", "nation", "ni", "today"},
	} {
		code, rest, ok := c.Match("en", test.group, test.text)
		require.True(t, ok, test.text)
		require.Equal(t, test.code, code)
		require.Equal(t, test.rest, rest)
	}
	_, rest, ok := c.Match("en", "finish", "renderings")
	require.False(t, ok)
	require.Equal(t, "renderings", rest)
}

func TestKnownLanguages(t *testing.T) {
	c := load(t)
	tag, ok := c.Known("en-GB")
	require.True(t, ok)
	require.Equal(t, "en", tag)
	_, ok = c.Known("tlh")
	require.False(t, ok)
}
