package dialog

import (
	"sync"

	"github.com/shopspring/decimal"

	"sillbot/internal/hear"
	"sillbot/internal/opening"
)

// heardWords are the words of each language, made once.
var heardWords sync.Map

func wordsOf(lang string) *hear.Words {
	made, ok := heardWords.Load(lang)
	if !ok { // many people write at once when the program begins
		made, _ = heardWords.LoadOrStore(lang, sync.OnceValue(func() *hear.Words {
			return hear.NewWords(func(do func(group, code, phrase string)) { words().Phrases(lang, do) })
		}))
	}
	return made.(func() *hear.Words)()
}

// context is what a message is read against.
func (t *turn) context() hear.Context {
	a := t.taken()
	last, _ := a.Newest()
	c := hear.Context{
		Words: wordsOf(t.lang()), Now: t.now, Unit: t.Unit, Known: a, Last: last, Over: t.likening,
		Next: func(k *opening.Known) opening.Key {
			if q := t.State.next(k); q != nil && (t.Asking == "" || !k.Has(q.Key) || a.Has(q.Key)) {
				return q.Key
			}
			if fellow := t.fellowOf(k, t.Asking); fellow != "" {
				return fellow
			}
			if f := k.Next(t.Second != nil, ""); f != nil {
				return f.Key
			}
			return ""
		},
		Fits: func(k *opening.Known, key opening.Key, mm decimal.Decimal) bool {
			return t.unfit(k, find(key), mm) == nil
		},
		Frame: func() (width, height decimal.Decimal, ok bool) {
			order, err := t.order(a)
			return order.Size.Width, order.Size.Height, err == nil && a.CanOrder()
		},
	}
	if q := t.next(t.answers()); q != nil {
		c.Open = q.Key
	}
	return c
}
