package dialog

import (
	"sillbot/internal/phrase"
)

// ask shows the open question and its buttons.
func (t *turn) ask() {
	if t.Doubt != nil {
		t.askDoubt()
		return
	}
	if t.Proposed != nil {
		t.askHeld()
		return
	}
	if p, w, ok := t.onDay(); ok {
		t.askDay(p, w)
		return
	}
	a := t.answers()
	q := t.next(a)
	if q == nil {
		return
	}
	t.say(t.prompt(q, a))
	beside := t.beside(q)
	t.say(beside...)
	if list := t.asBefore(q); list != nil {
		var values []phrase.Text
		for _, ans := range list {
			value := phrase.Of("before.unknown")
			if ans.Value != skipped {
				value = find(ans.Key).stored(ans.Value)
			}
			values = append(values, nameAndValue(ans.Key, value))
		}
		t.say(phrase.Of("before").WithRow("values", values...))
	}
	if t.buttons == nil {
		t.buttons = t.choices(q)
		if beside != nil {
			t.buttons = append(t.buttons, []Button{t.button("do.samereadings", "do", "samereadings")})
		}
	}
}
