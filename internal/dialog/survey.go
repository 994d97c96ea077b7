package dialog

import "sillbot/internal/phrase"

// takes reports whether the text answers the open question.
func (t *turn) takes(text string) bool {
	q := t.next(t.answers())
	if q == nil || text == "" {
		return false
	}
	probe := *t
	_, trouble := probe.take(q, text)
	return trouble == nil
}

// takeAll takes the answers in text in order, each for the question that is
// then open, and says what was taken.
func (t *turn) takeAll(text string, fresh bool) {
	taken := 0
	for text != "" && t.Doubt == nil {
		q := t.next(t.answers())
		if q == nil {
			t.say(phrase.Of("rest.done").Saying("rest", cut(text)))
			break
		}
		rest, trouble := t.take(q, text)
		if trouble != nil {
			t.refuse(q, *trouble, text, taken, fresh)
			return
		}
		taken++
		t.Fails = 0
		text = rest
	}
	if t.Doubt != nil {
		t.Doubt.interrupt(text)
	}
}

// refuse says why the answer could not be read. The second failure in a row adds
// an example and the range, the third buttons to leave the question. A first
// message that answers nothing is taken as a greeting.
func (t *turn) refuse(q *question, trouble phrase.Text, text string, taken int, fresh bool) {
	if fresh && taken == 0 {
		return
	}
	if taken > 0 {
		t.say(phrase.Of("rest.unread").Saying("rest", cut(text)))
	}
	t.Fails++
	t.say(trouble)
	if t.Fails >= 2 {
		t.say(q.example())
	}
	if t.Fails >= 3 {
		t.say(phrase.Of("fail.wayout"))
		t.buttons = append(t.choices(q), []Button{t.button("back", "do", "back"), t.button("cancel", "do", "cancel")})
	}
}
