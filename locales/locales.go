// Package locales makes the words that people read, from one catalogue file a
// language, and knows the words that people type. Everything said to a person
// stands in these files and nowhere else.
package locales

import (
	"bytes"
	"embed"
	"fmt"
	"html"
	"path"
	"regexp"
	"sort"
	"strconv"
	"strings"
	"sync"

	"github.com/BurntSushi/toml"
	"github.com/shopspring/decimal"
	"golang.org/x/text/feature/plural"
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
	tag       language.Tag
	comma     string // decimal separator
	separator string // between the items of a row
	lexicon   lexicon
	sentences map[string]sentence // by key
	fallback  *speaker            // nil for the default language
}

// sentence is a sentence's pieces by the form that its count takes; Other is
// always there.
type sentence [len(forms)][]piece

// piece is a part of a sentence: what stands, with markup and without, and the
// place that follows it, "" after the last one.
type piece struct{ said, plain, place string }

// Load reads the embedded catalogues.
func Load() (*Catalogue, error) {
	entries, err := files.ReadDir(".")
	if err != nil {
		return nil, fmt.Errorf("reading the catalogues: %w", err)
	}
	words := map[string]map[string]any{}
	for _, e := range entries {
		raw, err := files.ReadFile(e.Name())
		if err != nil {
			return nil, fmt.Errorf("reading %s: %w", e.Name(), err)
		}
		entry := map[string]any{}
		if err := toml.Unmarshal(raw, &entry); err != nil {
			return nil, fmt.Errorf("parsing %s: %w", e.Name(), err)
		}
		words[strings.TrimSuffix(e.Name(), path.Ext(e.Name()))] = entry
	}
	return assemble(words)
}

func assemble(words map[string]map[string]any) (*Catalogue, error) {
	c := &Catalogue{speakers: map[string]*speaker{}}
	for name, entry := range words {
		tag, err := language.Parse(name)
		if err != nil {
			return nil, fmt.Errorf("a catalogue of %q: %w", name, err)
		}
		sp := &speaker{tag: tag, lexicon: newLexicon(words[Default], entry), sentences: map[string]sentence{}}
		for key, said := range entry {
			if sp.sentences[key] = read(said); sp.sentences[key][plural.Other] == nil {
				return nil, fmt.Errorf("%s, %s: no sentence, nor the form other of one", name, key)
			}
		}
		sp.comma, _ = entry["number.comma"].(string)
		sp.separator, _ = entry["list.separator"].(string)
		c.speakers[name] = sp
		if name != Default {
			c.tags = append(c.tags, name)
		}
	}
	for _, name := range c.tags {
		c.speakers[name].fallback = c.speakers[Default]
	}
	sort.Strings(c.tags)
	c.tags = append([]string{Default}, c.tags...)
	return c, nil
}

// forms are the names of the forms that a count takes.
var forms = [...]string{plural.Other: "other", plural.Zero: "zero", plural.One: "one", plural.Two: "two", plural.Few: "few", plural.Many: "many"}

// read cuts a catalogue's entry, a sentence or a table of its forms, at its
// places. One that is neither has no pieces.
func read(entry any) (s sentence) {
	table, ok := entry.(map[string]any)
	if !ok {
		table = map[string]any{"other": entry}
	}
	for form, name := range forms {
		if said, ok := table[name].(string); ok {
			s[form] = pieces(said)
		}
	}
	return s
}

// placeForm is a place in a sentence of the catalogue.
var placeForm = regexp.MustCompile(`\{\{\.(\w+)\}\}`)

func pieces(said string) []piece {
	var list []piece
	at := 0
	for _, m := range placeForm.FindAllStringSubmatchIndex(said, -1) {
		list = append(list, piece{said[at:m[0]], stripTags(said[at:m[0]]), said[m[2]:m[3]]})
		at = m[1]
	}
	return append(list, piece{said[at:], stripTags(said[at:]), ""})
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
	return c.speaker(lang).text(t, false)
}

// Plain is t in the given language without markup.
func (c *Catalogue) Plain(lang string, t phrase.Text) string {
	return c.speaker(lang).text(t, true)
}

// Has says whether the language itself, not its fallback, has the key.
func (c *Catalogue) Has(lang, key string) bool {
	_, ok := c.speaker(lang).sentences[key]
	return ok
}

func (sp *speaker) text(t phrase.Text, plain bool) string {
	if list := sp.pieces(t); len(list) == 1 {
		return list[0].in(plain)
	}
	w := writers.Get().(*writer)
	defer writers.Put(w)
	w.said, w.plain = w.said[:0], plain
	w.write(sp, t)
	return string(w.said)
}

// writers keeps the room of texts that were written.
var writers = sync.Pool{New: func() any { return new(writer) }}

func (p piece) in(plain bool) string {
	if plain {
		return p.plain
	}
	return p.said
}

// writer is a text being written, with markup or plain.
type writer struct {
	said  []byte
	plain bool
}

// write adds t to what is said.
func (w *writer) write(sp *speaker, t phrase.Text) {
	if t.Key == "" {
		return
	}
	list := sp.pieces(t)
	if list == nil {
		w.words("[" + t.Key + "]")
	}
	for _, p := range list {
		w.said = append(w.said, p.in(w.plain)...)
		if p.place != "" && !w.fill(sp, t, p.place) && !w.plain {
			w.said = append(w.said, "<no value>"...)
		}
	}
}

// words adds what is no markup.
func (w *writer) words(words string) {
	if !w.plain {
		words = html.EscapeString(words)
	}
	w.said = append(w.said, words...)
}

// pieces are those of t's sentence in the form for its count, nil for an
// unknown key.
func (sp *speaker) pieces(t phrase.Text) []piece {
	s, ok := sp.sentences[t.Key]
	if !ok && sp.fallback != nil {
		return sp.fallback.pieces(t)
	}
	if count, ok := t.Num["count"]; ok {
		if list := s[sp.form(count)]; list != nil {
			return list
		}
	}
	return s[plural.Other]
}

// form is the form of the language's words beside a number (CLDR, cardinal).
func (sp *speaker) form(n decimal.Decimal) plural.Form {
	whole, fraction, _ := strings.Cut(n.Abs().String(), ".") // no zeros end it
	i, _ := strconv.Atoi(whole)
	f, _ := strconv.Atoi(fraction)
	return plural.Cardinal.MatchPlural(sp.tag, i, len(fraction), len(fraction), f, f)
}

// fill writes what belongs into a place; ok is false for nothing.
func (w *writer) fill(sp *speaker, t phrase.Text, place string) (ok bool) {
	if items, ok := t.Row[place]; ok {
		w.join(sp, items, sp.separator)
		return true
	}
	if lines, ok := t.Lines[place]; ok {
		w.join(sp, lines, "\n")
		return true
	}
	if sub, ok := t.Sub[place]; ok {
		w.write(sp, sub)
		return true
	}
	if words, ok := t.Say[place]; ok {
		w.words(printable(words))
		return true
	}
	num, ok := t.Num[place]
	if ok {
		w.number(sp, num)
	}
	return ok
}

func (w *writer) join(sp *speaker, items []phrase.Text, separator string) {
	for i, t := range items {
		if i > 0 {
			w.said = append(w.said, separator...)
		}
		w.write(sp, t)
	}
}

// number writes n with the language's decimal separator and a true minus.
func (w *writer) number(sp *speaker, n decimal.Decimal) {
	from := len(w.said)
	if n.IsNegative() {
		w.said, n = append(w.said, "−"...), n.Neg()
	}
	w.said = phrase.AppendNumber(w.said, n)
	if sp.comma == "" || sp.comma == "." {
		return
	}
	if at := bytes.IndexByte(w.said[from:], '.'); at >= 0 {
		w.said = append(w.said[:from+at], sp.comma+string(w.said[from+at+1:])...)
	}
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
	return html.UnescapeString(tagForm.ReplaceAllString(s, ""))
}

var tagForm = regexp.MustCompile(`<[^>]*>`)

// Phrases calls do with all that people may type in the language: the group,
// the code that is meant, and the words.
func (c *Catalogue) Phrases(lang string, do func(group, code, phrase string)) {
	for _, e := range c.speaker(lang).lexicon.entries {
		do(e.group, e.code, e.phrase)
	}
}

// Match takes the longest known words of a group from the front of text. The
// rest is what follows them. ok is false when the text does not start with
// any.
func (c *Catalogue) Match(lang, group, text string) (code, rest string, ok bool) {
	l := c.speaker(lang).lexicon
	rest = text
	pos, joined := 0, "" // the first word, the first two words, …
	for range l.longest[group] {
		word, end := nextWord(text, pos)
		if word == "" {
			break
		}
		joined, pos = strings.TrimLeft(joined+" "+word, " "), end
		if meaning, known := l.meanings[group][joined]; known {
			code, rest, ok = meaning, afterWord(text[end:]), true
		}
	}
	return code, rest, ok
}

// afterWord leaves out what stands between a word and what follows, but for the point of
// a figure: left .5
func afterWord(text string) string {
	rest := strings.TrimLeft(text, " \t\r\n,;.")
	gap := text[:len(text)-len(rest)]
	if strings.HasSuffix(gap, " .") && rest != "" && rest[0] >= '0' && rest[0] <= '9' {
		return "." + rest
	}
	return rest
}
