package job

import (
	"errors"
	"maps"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
)

// Refusal is something that may not be done. The sentence is "job.refused." +
// Reason and says what to do instead.
type Refusal struct {
	Reason  string
	Figures map[string]decimal.Decimal
	Words   map[string]string   // catalogue keys
	Say     map[string]string   // people's own words
	Rows    map[string][]string // several catalogue keys
	// Points are what stands against an opening and nobody took on.
	Points []Point
	// Cause is why no plan can be made of an opening. Nil in any other case.
	Cause error
}

func (r *Refusal) Error() string { return "job: refused: " + r.Reason }

// Unwrap gives the cause.
func (r *Refusal) Unwrap() error { return r.Cause }

// Text is the refusal in words.
func (r *Refusal) Text() phrase.Text {
	t := phrase.Filled("job.refused."+r.Reason, r.Figures, r.Words)
	t.Say = r.Say
	for name, keys := range r.Rows {
		var row []phrase.Text
		for _, key := range keys {
			row = append(row, phrase.Of(key))
		}
		t = t.WithRow(name, row...)
	}
	var because *calc.RefusalError
	if errors.As(r.Cause, &because) {
		return t.Sub1("why", plan.ReasonText(because.Reason))
	}
	return t.Word("why", "")
}

func refuse(reason string) *Refusal { return &Refusal{Reason: reason} }

func (r *Refusal) num(name string, n int) *Refusal {
	r.Figures = with(r.Figures, name, decimal.NewFromInt(int64(n)))
	return r
}

func (r *Refusal) word(name, key string) *Refusal {
	r.Words = with(r.Words, name, key)
	return r
}

func (r *Refusal) say(name, words string) *Refusal {
	r.Say = with(r.Say, name, words)
	return r
}

func (r *Refusal) row(name string, keys []string) *Refusal {
	r.Rows = with(r.Rows, name, keys)
	return r
}

func with[K comparable, V any](m map[K]V, name K, v V) map[K]V {
	m = maps.Clone(m)
	if m == nil {
		m = map[K]V{}
	}
	m[name] = v
	return m
}
