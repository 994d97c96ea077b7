package telegram

import (
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/telegram/telegramtest"
)

func TestSplitBreaksAtLineEnds(t *testing.T) {
	for name, tc := range map[string]struct {
		text  string
		limit int
		want  []string
	}{
		"fits":                  {"one\ntwo", 10, []string{"one\ntwo"}},
		"line end":              {"one two\nthree four", 12, []string{"one two", "three four"}},
		"space without a line":  {"one two three", 9, []string{"one two", "three"}},
		"nowhere":               {"abcdefgh", 3, []string{"abc", "def", "gh"}},
		"tag goes on":           {"<b>one\ntwo</b> x", 5, []string{"<b>one\n</b>", "<b>two</b> x"}},
		"nested tags":           {"<b><i>one\ntwo</i></b>", 4, []string{"<b><i>one\n</i></b>", "<b><i>two</i></b>"}},
		"tag with an attribute": {`<a href="x">ab cd</a>`, 3, []string{`<a href="x">ab </a>`, `<a href="x">cd</a>`}},
		"reference is one":      {"a&lt;b&gt;c", 3, []string{"a&lt;b", "&gt;c"}},
		"two units a character": {"😀😀😀", 4, []string{"😀😀", "😀"}},
		"two do not fit in one": {"a😀b", 2, []string{"a", "😀", "b"}},
		"nothing to see":        {"  <b> \n</b> ", 100, nil},
		"empty":                 {"", 100, nil},
	} {
		t.Run(name, func(t *testing.T) {
			require.Equal(t, tc.want, split(tc.text, tc.limit))
		})
	}
}

// Every part reads by itself on the strict server, keeps to the limit, and
// together they show what the whole showed, but for white space at the breaks.
func TestSplitLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := htmlText(t, 0)
		limit := rapid.IntRange(2, 60).Draw(t, "limit")
		whole, err := telegramtest.Read(text)
		require.NoError(t, err)
		require.Equal(t, whole, plain(text))
		require.Equal(t, units(whole), shown(text))
		together := ""
		for _, part := range split(text, limit) {
			seen, err := telegramtest.Read(part)
			require.NoError(t, err, part)
			require.NotEmpty(t, strings.TrimSpace(seen))
			require.LessOrEqual(t, units(seen), limit)
			together += seen
		}
		require.Equal(t, withoutSpace(whole), withoutSpace(together))
	})
}

func withoutSpace(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return -1
		}
		return r
	}, s)
}

// htmlText draws a well-formed text.
func htmlText(t *rapid.T, depth int) string {
	var b strings.Builder
	for range rapid.IntRange(0, 6).Draw(t, "pieces") {
		switch kind := rapid.IntRange(0, 3).Draw(t, "kind"); {
		case kind == 0 && depth < 3:
			tag := rapid.SampledFrom([]string{"b", "i", "code", "pre"}).Draw(t, "tag")
			b.WriteString("<" + tag + ">" + htmlText(t, depth+1) + "</" + tag + ">")
		case kind == 1:
			b.WriteString(rapid.SampledFrom([]string{"&lt;", "&amp;", "&gt;", "&#34;", "&quot;", "😀", "ü", "\n", " "}).Draw(t, "sign"))
		default:
			b.WriteString(rapid.StringMatching(`[a-z0-9 ,.;\n]{0,20}`).Draw(t, "words"))
		}
	}
	return b.String()
}

func TestPlainKeepsWhatIsNoMarkup(t *testing.T) {
	for in, want := range map[string]string{
		"<b>5 &lt; 6</b>": "5 < 6",
		"5 < 6 > 4":       "5 < 6 > 4",
		"a & b; c":        "a & b; c",
		"<b>open":         "open",
		"end <":           "end <",
	} {
		require.Equal(t, want, plain(in), in)
	}
}
