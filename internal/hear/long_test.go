package hear

import (
	"strings"
	"testing"
	"time"

	"sillbot/internal/opening"
	"sillbot/locales"

	"github.com/shopspring/decimal"
)

// context is that of a conversation in which nothing was said.
func context(t testing.TB) Context {
	c, err := locales.Load()
	if err != nil {
		t.Fatal(err)
	}
	return Context{
		Words: NewWords(func(do func(group, code, phrase string)) { c.Phrases("en", do) }),
		Now:   time.Date(2026, time.November, 25, 9, 0, 0, 0, time.UTC), Known: &opening.Known{}, Open: opening.Widths[0],
		Next: func(k *opening.Known) opening.Key {
			if f := k.Next(false, ""); f != nil {
				return f.Key
			}
			return ""
		},
		Fits:  func(*opening.Known, opening.Key, decimal.Decimal) bool { return true },
		Frame: func() (w, h decimal.Decimal, ok bool) { return w, h, false },
	}
}

// BenchmarkLong reads messages of the platform's longest length, and of a tenth
// of it: ten times the text should take about ten times the time.
func BenchmarkLong(b *testing.B) {
	c := context(b)
	for name, word := range map[string]string{
		"figures": "1204 ", "names": "top 1204 ", "choices": "brick ", "unknown": "zorb ", "hinges": "left fixed ", "not": "not 1204 but ", "commas": "1204, ",
		"or": "brick or ", "no": "no ", "questions": "whats a mullion ", "digits": "1", "letters": "a", "lines": "1204\n", "spoken": "twelve oh four ", "slips": "brikc ",
	} {
		for _, n := range []int{400, 4000} {
			text := strings.Repeat(word, n/len(word)+1)[:n]
			b.Run(name+map[int]string{400: "/400", 4000: "/4000"}[n], func(b *testing.B) {
				for b.Loop() {
					Read(text, c)
				}
			})
		}
	}
}
