// Package locales makes the words that people read, from one catalogue file a
// language, and knows the words that people type. Everything said to a person
// stands in these files and nowhere else.
package locales

import (
	"embed"
	"fmt"
	"html"
	"iter"
	"maps"
	"path"
	"regexp"
	"sort"
	"strings"

	"github.com/BurntSushi/toml"
	"github.com/nicksnyder/go-i18n/v2/i18n"
	"github.com/shopspring/decimal"
	"golang.org/x/text/language"

	"sillbot/internal/phrase"
)

//go:embed *.toml
var files embed.FS

// Default is the language that every other falls back to.
const Default = "en"

// Catalogue is every language's words. It is safe for concurrent use.
type Catalogue struct {
	speakers map[string]*speaker
	tags     []string // default first, then by name
}

// speaker is one language.
type speaker struct {
	localizer *i18n.Localizer
	comma     string // decimal separator
	separator string // between the items of a row
	lexicon   lexicon
	sentences map[string][]piece // key → its pieces, of those that no count changes
}

// Load reads the embedded catalogues.
func Load() (*Catalogue, error) {
	entries, err := files.ReadDir(".")
	if err != nil {
		return nil, fmt.Errorf("reading the catalogues: %w", err)
	}
	bundle := i18n.NewBundle(language.MustParse(Default))
	bundle.RegisterUnmarshalFunc("toml", toml.Unmarshal)
	words := map[string]map[string]any{}
	for _, e := range entries {
		raw, err := files.ReadFile(e.Name())
		if err != nil {
			return nil, fmt.Errorf("reading %s: %w", e.Name(), err)
		}
		if _, err := bundle.ParseMessageFileBytes(raw, e.Name()); err != nil {
			return nil, fmt.Errorf("parsing %s: %w", e.Name(), err)
		}
		entry := map[string]any{}
		if err := toml.Unmarshal(raw, &entry); err != nil {
			return nil, fmt.Errorf("parsing %s: %w", e.Name(), err)
		}
		words[strings.TrimSuffix(e.Name(), path.Ext(e.Name()))] = entry
	}
	return assemble(bundle, words), nil
}

func assemble(bundle *i18n.Bundle, words map[string]map[string]any) *Catalogue {
	c := &Catalogue{speakers: map[string]*speaker{}}
	for tag, entry := range words {
		sp := &speaker{localizer: i18n.NewLocalizer(bundle, tag), lexicon: newLexicon(words[Default], entry), sentences: map[string][]piece{}}
		sp.comma, _ = entry["number.comma"].(string)
		sp.separator, _ = entry["list.separator"].(string)
		for key, said := range entry {
			if said, ok := said.(string); ok {
				sp.sentences[key] = pieces(said)
			}
		}
		c.speakers[tag] = sp
		if tag != Default {
			c.tags = append(c.tags, tag)
		}
	}
	sort.Strings(c.tags)
	c.tags = append([]string{Default}, c.tags...)
	return c
}

// Languages lists the tags of the languages there are, the default first.
func (c *Catalogue) Languages() []string { return c.tags }

// Known gives the catalogue's tag for what a device or a person names, such
// as "en" for "en-GB"; ok is false when there is no such language.
func (c *Catalogue) Known(tag string) (string, bool) {
	base, _, _ := strings.Cut(strings.ToLower(strings.TrimSpace(tag)), "-")
	_, ok := c.speakers[base]
	return base, ok
}

func (c *Catalogue) speaker(lang string) *speaker {
	if sp, ok := c.speakers[lang]; ok {
		return sp
	}
	return c.speakers[Default]
}

// Text is t in the given language as HTML: the catalogue's own tags stand, a
// person's words are escaped. An unknown key is shown in brackets.
func (c *Catalogue) Text(lang string, t phrase.Text) string {
	return c.speaker(lang).text(t)
}

// Plain is t in the given language without markup.
func (c *Catalogue) Plain(lang string, t phrase.Text) string {
	return stripTags(c.speaker(lang).text(t))
}

// Has says whether the language itself, not its fallback, has the key.
func (c *Catalogue) Has(lang, key string) bool {
	_, tag, err := c.speaker(lang).localizer.LocalizeWithTag(&i18n.LocalizeConfig{
		MessageID: key, PluralCount: 2, TemplateData: map[string]any{},
	})
	return err == nil && tag.String() == lang
}

// piece is a part of a sentence: what stands, and the place that follows.
type piece struct{ said, place string }

// placeForm is a place in a sentence of the catalogue.
var placeForm = regexp.MustCompile(`\{\{\.(\w+)\}\}`)

// pieces cuts a sentence at its places. Of one that has none the only place is
// "".
func pieces(sentence string) []piece {
	var list []piece
	at := 0
	for _, m := range placeForm.FindAllStringSubmatchIndex(sentence, -1) {
		list = append(list, piece{sentence[at:m[0]], sentence[m[2]:m[3]]})
		at = m[1]
	}
	return append(list, piece{sentence[at:], ""})
}

func (sp *speaker) text(t phrase.Text) string {
	if list, ok := sp.sentences[t.Key]; ok && len(list) == 1 {
		return list[0].said
	}
	var b strings.Builder
	sp.write(&b, t)
	return b.String()
}

// write adds t to what is said.
func (sp *speaker) write(b *strings.Builder, t phrase.Text) {
	if t.Key == "" {
		return
	}
	list, ok := sp.sentences[t.Key]
	if !ok {
		b.WriteString(sp.localize(t))
		return
	}
	for _, p := range list {
		b.WriteString(p.said)
		if p.place != "" && !sp.fill(b, t, p.place) {
			b.WriteString("<no value>")
		}
	}
}

// fill writes what belongs into a place; ok is false for nothing.
func (sp *speaker) fill(b *strings.Builder, t phrase.Text, place string) (ok bool) {
	if items, ok := t.Row[place]; ok {
		sp.join(b, items, sp.separator)
		return true
	}
	if lines, ok := t.Lines[place]; ok {
		sp.join(b, lines, "\n")
		return true
	}
	if sub, ok := t.Sub[place]; ok {
		sp.write(b, sub)
		return true
	}
	if words, ok := t.Say[place]; ok {
		b.WriteString(html.EscapeString(printable(words)))
		return true
	}
	num, ok := t.Num[place]
	if ok {
		b.WriteString(sp.number(num))
	}
	return ok
}

func (sp *speaker) join(b *strings.Builder, items []phrase.Text, separator string) {
	for i, t := range items {
		if i > 0 {
			b.WriteString(separator)
		}
		sp.write(b, t)
	}
}

// localize makes a sentence whose form hangs on a count, or that only another
// language has.
func (sp *speaker) localize(t phrase.Text) string {
	conf := i18n.LocalizeConfig{MessageID: t.Key, TemplateData: sp.places(t)}
	if count, ok := t.Num["count"]; ok {
		conf.PluralCount = count.String()
	}
	out, err := sp.localizer.Localize(&conf)
	if err != nil && conf.PluralCount != nil {
		conf.PluralCount = nil // an entry that reads the same for any count
		out, err = sp.localizer.Localize(&conf)
	}
	if err != nil {
		return "[" + html.EscapeString(t.Key) + "]"
	}
	return out
}

// places are all that fills t, by its name.
func (sp *speaker) places(t phrase.Text) map[string]string {
	m := map[string]string{}
	for _, names := range []iter.Seq[string]{maps.Keys(t.Num), maps.Keys(t.Say), maps.Keys(t.Sub), maps.Keys(t.Lines), maps.Keys(t.Row)} {
		for name := range names {
			var b strings.Builder
			sp.fill(&b, t, name)
			m[name] = b.String()
		}
	}
	return m
}

// number writes n with the language's decimal separator and a true minus.
func (sp *speaker) number(n decimal.Decimal) string {
	s := n.String()
	if sp.comma != "" && sp.comma != "." {
		s = strings.Replace(s, ".", sp.comma, 1)
	}
	return strings.Replace(s, "-", "−", 1)
}

// printable drops control characters and the marks that turn the direction of
// text, so that a person's words can't rearrange the bot's.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r < ' ' || r == 0x7f:
			return ' '
		case r >= 0x202a && r <= 0x202e, r >= 0x2066 && r <= 0x2069, r == 0x200e, r == 0x200f, r == 0x61c:
			return -1
		}
		return r
	}, s)
}

// stripTags takes the catalogue's markup out. The only < and > in a rendered
// text are those of tags, because everything else was escaped.
func stripTags(s string) string {
	if !strings.ContainsAny(s, "<&") {
		return s
	}
	var b strings.Builder
	for {
		open := strings.IndexByte(s, '<')
		if open < 0 {
			break
		}
		end := strings.IndexByte(s[open:], '>')
		if end < 0 {
			break
		}
		b.WriteString(s[:open])
		s = s[open+end+1:]
	}
	b.WriteString(s)
	return html.UnescapeString(b.String())
}

// Match takes the longest known words of a group from the front of text. The
// rest is what follows them. ok is false when the text does not start with
// any.
func (c *Catalogue) Match(lang, group, text string) (code, rest string, ok bool) {
	l := c.speaker(lang).lexicon
	meanings := l.meanings[group]
	var heads []string // the first word, the first two words, …
	ends := []int{}
	pos, joined := 0, ""
	for len(heads) < l.longest[group] {
		word, end := nextWord(text, pos)
		if word == "" {
			break
		}
		joined = strings.TrimLeft(joined+" "+word, " ")
		heads, ends = append(heads, joined), append(ends, end)
		pos = end
	}
	for i := len(heads) - 1; i >= 0; i-- {
		if code, ok := meanings[heads[i]]; ok {
			return code, strings.TrimLeft(text[ends[i]:], " \t\r\n,;."), true
		}
	}
	return "", text, false
}
