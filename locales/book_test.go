package locales_test

import (
	"cmp"
	"errors"
	"flag"
	"html"
	"io"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/BurntSushi/toml"
	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/card"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
	"sillbot/internal/sheet"
	"sillbot/locales"
)

// collected are the sentences that were met, the first of each form.
type collected map[string]phrase.Text

// form is a key, and which of its plural forms.
func form(key string, one bool) string {
	if one {
		return key + " one"
	}
	return key
}

// take keeps a sentence and those inside it.
func (c collected) take(t phrase.Text) {
	if t.Key == "" {
		return
	}
	count, counted := t.Num["count"]
	if f := form(t.Key, counted && count.Equal(decimal.NewFromInt(1))); c[f].Key == "" {
		c[f] = t
	}
	for _, name := range slices.Sorted(maps.Keys(t.Sub)) {
		c.take(t.Sub[name])
	}
	for _, lists := range []map[string][]phrase.Text{t.Lines, t.Row} {
		for _, name := range slices.Sorted(maps.Keys(lists)) {
			for _, inner := range lists[name] {
				c.take(inner)
			}
		}
	}
}

// sentence is an entry of the catalogue under the heading that it stands
// under. one is its form for a count of 1, empty when there is none.
type sentence struct {
	occasion, key, one, other string
}

// form is the sentence for a count of 1, or for others.
func (s sentence) form(one bool) string {
	if one {
		return s.one
	}
	return s.other
}

// sentences are the catalogue's in its order, without the words that people
// type.
func sentences(t *testing.T) []sentence {
	raw, err := os.ReadFile("en.toml")
	require.NoError(t, err)
	values := map[string]any{}
	require.NoError(t, toml.Unmarshal(raw, &values))
	entry := regexp.MustCompile(`^"([^"]+)" =`)
	var all []sentence
	occasion := ""
	for _, line := range strings.Split(string(raw), "\n") {
		if heading, ok := strings.CutPrefix(line, "# --- "); ok {
			occasion = strings.TrimSuffix(heading, " ---")
		}
		found := entry.FindStringSubmatch(line)
		if found == nil || strings.HasPrefix(found[1], "words.") {
			continue
		}
		s := sentence{occasion: occasion, key: found[1]}
		switch v := values[s.key].(type) {
		case string:
			s.other = v
		case map[string]any:
			s.one, s.other = v["one"].(string), v["other"].(string)
		}
		all = append(all, s)
	}
	require.NotEmpty(t, all)
	return all
}

// hear looks for each sentence in what the bot says in the transcripts.
func (c collected) hear(t *testing.T, all []sentence) {
	lines, turns := transcripts(t)
	for _, s := range all {
		for _, one := range []bool{true, false} {
			text := s.form(one)
			if c[form(s.key, one)].Key != "" || len(letters.FindAllString(places.ReplaceAllString(tags.ReplaceAllString(text, ""), ""), -1)) < 8 {
				continue
			}
			said := lines
			if strings.Contains(text, "\n") {
				said = turns
			}
			if found := find(said, text); found != nil {
				t := phrase.Of(s.key)
				for i, name := range places.FindAllStringSubmatch(text, -1) {
					t = t.Saying(name[1], html.UnescapeString(tags.ReplaceAllString(found[i+1], "")))
				}
				c[form(s.key, one)] = t
			}
		}
	}
}

var (
	places  = regexp.MustCompile(`{{\.(\w+)}}`)
	tags    = regexp.MustCompile(`</?[a-z]+(?: expandable)?>`)
	letters = regexp.MustCompile(`[A-Za-z]`)
)

// find gives the parts of the first thing said that is the sentence, or holds
// it, by its places. Nil when there is none.
func find(said []string, text string) []string {
	text = strings.TrimSpace(text)
	longest := ""
	for _, own := range places.Split(text, -1) {
		if len(own) > len(longest) {
			longest = own
		}
	}
	var like *regexp.Regexp
	for _, line := range said {
		if !strings.Contains(line, longest) {
			continue
		}
		if like == nil {
			like = pattern(text)
		}
		if found := like.FindStringSubmatch(line); found != nil {
			return found
		}
	}
	return nil
}

// pattern is a sentence as it can be said: on a line of its own, on a button,
// or, where it begins and ends with words of its own, inside a line.
func pattern(text string) *regexp.Regexp {
	before, after := `(?:^|\n|[.:>?!▸⚠✓⛔] |\[)`, `(?:$|\n|[ <\]])`
	if strings.HasPrefix(text, "{{") {
		before = `(?:^|\n|\[)`
	}
	if strings.HasSuffix(text, "}}") {
		after = `(?:$|\n|\])`
	}
	var b strings.Builder
	at := 0
	for _, span := range places.FindAllStringIndex(text, -1) {
		b.WriteString(regexp.QuoteMeta(text[at:span[0]]) + `([^\n]+?)`)
		at = span[1]
	}
	return regexp.MustCompile(before + b.String() + regexp.QuoteMeta(text[at:]) + after)
}

// transcripts are the bot's lines, each once, and all that it says at once, for
// the sentences of several lines.
func transcripts(t *testing.T) (lines, turns []string) {
	paths, err := filepath.Glob("../testdata/*/*.txtar")
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	bots := regexp.MustCompile(`^[a-z]*<\|? ?(.*)$`)
	seen := map[string]bool{}
	for _, path := range paths {
		raw, err := os.ReadFile(path)
		require.NoError(t, err)
		turn := ""
		for _, l := range strings.Split(string(raw), "\n") {
			found := bots.FindStringSubmatch(l)
			switch {
			case found == nil && turn != "":
				turns, turn = append(turns, turn), ""
			case found == nil:
			default:
				turn += "\n" + found[1]
				if !seen[found[1]] {
					seen[found[1]] = true
					lines = append(lines, found[1])
				}
			}
		}
	}
	return lines, turns
}

// plan takes what is said of the openings of testdata and of many others, on
// cards and on papers.
func (c collected) plan(t *testing.T) {
	say := func(p phrase.Text) string { c.take(p); return "x" }
	raw, err := os.Open("../testdata/openings.json")
	require.NoError(t, err)
	defer raw.Close()
	var total plan.Total
	var plans []plan.Plan
	do := func(o opening.Opening) error {
		p, err := plan.Make(o, calc.DefaultSettings())
		var refused *calc.RefusalError
		if errors.As(err, &refused) {
			c.take(plan.RefusalText(refused))
			return nil
		}
		require.NoError(t, err)
		p.Report(say)
		lines := slices.Concat(p.TextLines(), p.WarningLines())
		for _, topic := range plan.Topics {
			lines = append(lines, p.Why(topic)...)
		}
		for _, row := range p.Screen("4-20-4", func(safety.Finding) bool { return false }) {
			lines = append(lines, row.Text)
		}
		for _, l := range lines {
			c.take(l)
		}
		plans = append(plans, p)
		return nil
	}
	require.NoError(t, plan.Read(raw, func(plan.Job) error { return nil }, func(r plan.Record) error {
		o, err := r.Opening()
		require.NoError(t, err)
		return do(o)
	}))
	wrong, ok := plan.WhyRefused(plan.FieldErrors{{Field: "gauge", Why: "must be from 40 to 1000"}, {Field: "bay", Why: "must be true or false"}})
	require.True(t, ok)
	c.take(wrong)
	for _, p := range plans {
		require.NoError(t, total.Add(p))
		_, err := card.Draw(p, card.Of{}, say)
		require.NoError(t, err)
	}
	lines, err := total.Lines()
	require.NoError(t, err)
	for _, l := range lines {
		c.take(l)
	}
	_, err = total.Report(say)
	require.NoError(t, err)
	paper, err := sheet.Printer{Say: say, At: time.Date(2026, time.November, 25, 9, 0, 0, 0, time.UTC)}.Plans(io.Discard, ".pdf")
	require.NoError(t, err)
	for i, p := range plans {
		require.NoError(t, paper.Add(i+1, p))
	}
	require.NoError(t, paper.Refuse(len(plans)+1, "x", wrong))
	require.NoError(t, paper.Close())
	random := rand.New(rand.NewPCG(1, 2))
	for range 1500 {
		require.NoError(t, do(someOpening(random)))
	}
}

// bookPath is where the sample book is kept.
const bookPath = "../docs/sample-book.md"

const bookHead = `# Sample book

Every sentence of the English catalogue with figures in it, by occasion, to be
read from end to end. The key stands behind each sentence. Of a sentence with a
plural both forms stand here.

Most figures are from what the bot says in ` + "`testdata`" + ` (transcripts, people) and
of some 1500 plans. A sentence that was not met there is marked †: its figures
were filled in for this book, in ` + "`locales/book_values_test.go`" + `.

Made by ` + "`go test ./locales -run TestSampleBook -update`" + `: do not edit it. That keeps
each line that still has the words of the catalogue; to have every figure new,
take this file away first.
`

var update = flag.Bool("update", false, "rewrite the sample book")

// TestSampleBook renders every sentence of the catalogue, with all its places
// filled, and holds the kept book against the catalogue: each sentence stands
// in it, in the catalogue's order and words. The figures may be those of an
// earlier run, so that a change of what a plan comes to leaves the book alone.
func TestSampleBook(t *testing.T) {
	words, err := locales.Load()
	require.NoError(t, err)
	all := sentences(t)
	said := collected{}
	said.hear(t, all)
	said.plan(t)
	old := readBook(t)
	var book strings.Builder
	book.WriteString(bookHead)
	occasion := "-"
	for _, s := range all {
		if s.occasion != occasion {
			occasion = s.occasion
			book.WriteString(heading(occasion))
		}
		for _, one := range []bool{true, false} {
			if one && s.one == "" {
				continue
			}
			text, mark := said.sample(t, s, one)
			require.NotContains(t, words.Text(locales.Default, text), "<no value>", s.key)
			line := strings.TrimSpace(words.Plain(locales.Default, text))
			require.NotContains(t, line, "["+s.key+"]")
			book.WriteString(old.entry(s.form(one), line, mark, s.key))
		}
	}
	if *update {
		require.NoError(t, os.WriteFile(bookPath, []byte(book.String()), 0o644))
	}
	kept, err := os.ReadFile(bookPath)
	require.NoError(t, err)
	checkBook(t, string(kept), all)
}

func heading(occasion string) string { return "\n## " + cmp.Or(occasion, "signs") + "\n\n" }

// entries are the lines of a book by key, those of a plural one after the other.
type entries map[string][]string

var entryLine = regexp.MustCompile("(?ms)^- (.*?) `([a-zA-Z0-9_.-]+)`\n")

// readBook takes the kept book apart; none is kept before the first.
func readBook(t *testing.T) entries {
	kept, err := os.ReadFile(bookPath)
	if !errors.Is(err, fs.ErrNotExist) {
		require.NoError(t, err)
	}
	old := entries{}
	for _, found := range entryLine.FindAllStringSubmatch(string(kept), -1) {
		old[found[2]] = append(old[found[2]], found[1])
	}
	return old
}

// entry is a sentence as it stands in the book. What stood there stays while
// its words are the catalogue's, so that a book changes no more than it must;
// to have all figures new, take the book away first.
func (old entries) entry(text, line, mark, key string) string {
	line = strings.ReplaceAll(line, "\n", "\n  ") + mark
	if kept := old[key]; len(kept) > 0 {
		old[key] = kept[1:]
		if shape(text).MatchString(plainEntry(kept[0])) {
			line = kept[0]
		}
	}
	return "- " + line + " `" + key + "`\n"
}

// plainEntry is the sentence of an entry.
func plainEntry(entry string) string {
	return strings.ReplaceAll(strings.TrimSuffix(entry, " †"), "\n  ", "\n")
}

// checkBook goes through a book sentence by sentence.
func checkBook(t *testing.T, kept string, all []sentence) {
	require.True(t, strings.HasPrefix(kept, bookHead), "the head of the book: run with -update")
	rest := strings.TrimPrefix(kept, bookHead)
	occasion := "-"
	for _, s := range all {
		if s.occasion != occasion {
			occasion = s.occasion
			require.True(t, strings.HasPrefix(rest, heading(occasion)), "%s: not in the sample book here, run with -update", occasion)
			rest = strings.TrimPrefix(rest, heading(occasion))
		}
		for _, text := range []string{s.one, s.other} {
			if text == "" && s.one == "" { // no plural
				continue
			}
			end := strings.Index(rest, " `"+s.key+"`\n")
			require.GreaterOrEqual(t, end, 0, "%s: not in the sample book here, run with -update", s.key)
			require.Regexp(t, shape(text), plainEntry(strings.TrimPrefix(rest[:end], "- ")), "%s: the sample book has other words, run with -update", s.key)
			rest = rest[end+len(" `"+s.key+"`\n"):]
		}
	}
	require.Empty(t, rest, "the sample book has more than the catalogue: run with -update")
}

// shape is a sentence with anything in its places, without its markup.
func shape(text string) *regexp.Regexp {
	text = strings.TrimSpace(tags.ReplaceAllString(text, ""))
	var b strings.Builder
	at := 0
	for _, span := range places.FindAllStringIndex(text, -1) {
		b.WriteString(regexp.QuoteMeta(html.UnescapeString(text[at:span[0]])) + `.*`)
		at = span[1]
	}
	return regexp.MustCompile(`(?s)^\s*` + b.String() + regexp.QuoteMeta(html.UnescapeString(text[at:])) + `\s*$`)
}

// sample is the sentence as it was met, or else with the book's own values,
// and the mark of those.
func (c collected) sample(t *testing.T, s sentence, one bool) (phrase.Text, string) {
	text, mark := c[form(s.key, one)], ""
	if text.Key == "" {
		text = phrase.Of(s.key)
		for _, found := range places.FindAllStringSubmatch(s.form(one), -1) {
			mark = " †"
			value, ok := ownValues[s.key+" "+found[1]]
			if !ok {
				value, ok = usualValues[found[1]]
			}
			require.True(t, ok, "%s: say in book_values_test.go what {{.%s}} may be", s.key, found[1])
			text = text.Saying(found[1], value)
		}
	}
	if s.one != "" {
		text = counted(text, one)
	}
	return text, mark
}

// counted gives the count as a number, which chooses the form.
func counted(text phrase.Text, one bool) phrase.Text {
	n, known := text.Num["count"]
	if said, ok := text.Say["count"]; ok {
		n, known = decimal.RequireFromString(said), true
		text.Say = maps.Clone(text.Say)
		delete(text.Say, "count")
	}
	switch single := n.Equal(decimal.NewFromInt(1)); {
	case one:
		return text.WithInt("count", 1)
	case !known, single:
		return text.WithInt("count", 3)
	}
	return text.With("count", n)
}

// TestSentencesAreHeard on a line, on a button and inside a line, and not where
// another sentence stands.
func TestSentencesAreHeard(t *testing.T) {
	said := []string{"⚠ The gap is 12 mm. Order size: 1190 wide × 990 high, mm", "[Measure kitchen left] [See kitchen left]", "kitchen left: fitted, 2 off"}
	require.Equal(t, []string{"The gap is 12 mm.", "12"}, trimmed(find(said, "The gap is {{.gap}} mm.")))
	require.Equal(t, []string{"[Measure kitchen left]", "kitchen left"}, trimmed(find(said, "Measure {{.name}}")))
	require.Nil(t, find(said, "{{.name}}: fitted"), "the line goes on")
	require.Nil(t, find(said, "gap is {{.gap}} mm."), "the sentence begins before")
}

func trimmed(parts []string) []string {
	parts[0] = strings.Trim(parts[0], " ⚠")
	return parts
}
