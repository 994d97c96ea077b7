// Package phrase holds what is said to people as data: a catalogue key and
// what fills its places. The words are made at the edge, by locales, in the
// reader's language.
package phrase

import (
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/shopspring/decimal"
)

// Text is one sentence or block. Key names an entry of the catalogue; an
// empty one says nothing.
type Text struct {
	Key string `json:"k"`
	// Num fills a place with a number, written as the language writes it. The
	// place "count" also chooses the plural form.
	Num map[string]decimal.Decimal `json:"n,omitempty"`
	// Say fills a place with a person's own words, which are escaped.
	Say map[string]string `json:"s,omitempty"`
	// Sub fills a place with another text.
	Sub map[string]Text `json:"t,omitempty"`
	// Lines fills a place with texts, one a line.
	Lines map[string][]Text `json:"l,omitempty"`
	// Row fills a place with texts on one line, with the catalogue's separator.
	Row map[string][]Text `json:"r,omitempty"`
}

// Of is the text of a key with nothing to fill in.
func Of(key string) Text { return Text{Key: key} }

// Filled is the text of a key with numbers and with the texts of further keys.
func Filled(key string, numbers map[string]decimal.Decimal, words map[string]string) Text {
	t := Of(key)
	t.Num = numbers
	if len(words) > 0 {
		t.Sub = make(map[string]Text, len(words))
	}
	for name, word := range words {
		t.Sub[name] = Of(word)
	}
	return t
}

// Day is a day in words, in its own zone.
func Day(d time.Time) Text {
	return Of("date.day").WithInt("day", d.Day()).Saying("year", strconv.Itoa(d.Year())).Word("month", "month."+strconv.Itoa(int(d.Month())))
}

// Digest writes all that tells the text from another into a hash.
func (t Text) Digest(h io.Writer) {
	writeWord(h, t.Key)
	digestEach(h, t.Num, func(n decimal.Decimal) { writeWord(h, n.String()) })
	digestEach(h, t.Say, func(words string) { writeWord(h, words) })
	digestEach(h, t.Sub, func(sub Text) { sub.Digest(h) })
	for _, lists := range []map[string][]Text{t.Lines, t.Row} {
		digestEach(h, lists, func(list []Text) {
			for _, sub := range list {
				sub.Digest(h)
			}
		})
	}
}

// Same reports whether two texts say the same.
func (t Text) Same(other Text) bool { return t.digest() == other.digest() }

func (t Text) digest() string {
	var b strings.Builder
	t.Digest(&b)
	return b.String()
}

// digestEach writes what fills the places of one kind, in order, and where they end.
func digestEach[V any](h io.Writer, places map[string]V, one func(V)) {
	if len(places) > 0 {
		for _, name := range slices.Sorted(maps.Keys(places)) {
			writeWord(h, name)
			one(places[name])
		}
	}
	_, _ = h.Write([]byte{1})
}

// writeWord writes a word and where it ends; a hash takes all.
func writeWord(h io.Writer, word string) {
	_, _ = io.WriteString(h, word)
	_, _ = h.Write([]byte{0})
}

// With returns t with a number in place name. t is not changed.
func (t Text) With(name string, n decimal.Decimal) Text {
	t.Num = put(t.Num, name, n)
	return t
}

// WithInt returns t with a whole number in place name.
func (t Text) WithInt(name string, n int) Text {
	return t.With(name, decimal.NewFromInt(int64(n)))
}

// Saying returns t with a person's own words in place name.
func (t Text) Saying(name, words string) Text {
	t.Say = put(t.Say, name, words)
	return t
}

// Sub1 returns t with another text in place name.
func (t Text) Sub1(name string, sub Text) Text {
	t.Sub = put(t.Sub, name, sub)
	return t
}

// Word returns t with the text of another key in place name.
func (t Text) Word(name, key string) Text { return t.Sub1(name, Of(key)) }

// WithLines returns t with texts in place name, one a line.
func (t Text) WithLines(name string, lines ...Text) Text {
	t.Lines = put(t.Lines, name, lines)
	return t
}

// WithRow returns t with texts in place name, on one line.
func (t Text) WithRow(name string, items ...Text) Text {
	t.Row = put(t.Row, name, items)
	return t
}

// WithNumbers returns t with numbers in place name, on one line.
func (t Text) WithNumbers(name string, ns []decimal.Decimal) Text {
	items := make([]Text, len(ns))
	for i, n := range ns {
		items[i] = Of("number").With("n", n)
	}
	return t.WithRow(name, items...)
}

func put[V any](m map[string]V, name string, v V) map[string]V {
	out := make(map[string]V, len(m)+1)
	for k, old := range m {
		out[k] = old
	}
	out[name] = v
	return out
}

// AppendNumber adds a figure as decimal.String writes it.
func AppendNumber(b []byte, n decimal.Decimal) []byte {
	places := -int(n.Exponent())
	if places < 0 || places > 15 || n.NumDigits() > 15 {
		return append(b, n.String()...)
	}
	whole := n.CoefficientInt64()
	for ; places > 0 && whole%10 == 0; places-- {
		whole /= 10
	}
	if whole < 0 {
		b, whole = append(b, '-'), -whole
	}
	from := len(b)
	b = strconv.AppendInt(b, whole, 10)
	if places == 0 {
		return b
	}
	for len(b)-from <= places { // 0.05 has the coefficient 5
		b = append(b, '0')
		copy(b[from+1:], b[from:])
		b[from] = '0'
	}
	b = append(b, 0)
	copy(b[len(b)-places:], b[len(b)-places-1:])
	b[len(b)-places-1] = '.'
	return b
}
