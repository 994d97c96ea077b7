package dialog

import (
	"errors"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/reading"
	"sillbot/internal/tell"
)

// settle takes the answer to the open doubt: yes, no, keep, or a value.
func (t *turn) settle(text string) {
	d := *t.Doubt
	q := find(d.Key)
	code, rest, ok := words().Match(t.lang(), "answer", text)
	switch {
	case ok && code == "no":
		t.Doubt = nil
		t.drop(d.Key)
		t.say(phrase.Of("doubt.again").Sub1("name", tell.Name(q.Key)))
		return
	case ok && code == "yes" && len(d.Others) == 1:
		t.confirm(q, d, d.Others[0])
	case ok && code == "yes" && d.Why == "unit":
		t.say(phrase.Of("doubt.which"))
		return
	case ok && d.Why == "impossible":
		t.say(phrase.Of("doubt.unread"))
		return
	case ok && d.Why != "unit":
		t.keep(q, d)
	default:
		var taken bool
		if rest, taken = t.settleWithValue(q, d, text); !taken {
			return
		}
	}
	t.goOn(d, rest)
}

// goOn reads the rest of the message in which the doubt came up.
func (t *turn) goOn(d Doubt, rest string) {
	rest = strings.TrimSpace(strings.TrimSpace(d.restAfter(t.answers().Value(d.Key))) + " " + strings.TrimSpace(rest))
	if rest == "" {
		return
	}
	if t.Doubt != nil {
		t.Doubt.interrupt(rest)
		return
	}
	t.takeAll(rest, false)
}

// keep marks the questioned answer as sure.
func (t *turn) keep(q *question, d Doubt) {
	t.Doubt, t.ordered, t.measured = nil, true, true
	if d.Why == "figure" {
		t.FigureKept = true
		t.say(phrase.Of("doubt.figure.kept"))
		return
	}
	t.write(opening.Entry{Act: opening.Sure, Key: q.Key})
	if q.is(opening.Reading) {
		t.FigureKept = false
	}
	t.say(phrase.Of("doubt.kept").With("mm", t.answers().Number(q.Key)))
	t.question(q.Key)
}

// confirm records the value that the person confirmed.
func (t *turn) confirm(q *question, d Doubt, value string) {
	n, err := decimal.NewFromString(value)
	if err != nil {
		return
	}
	same := t.answers().Value(q.Key) == n.String()
	t.Doubt = nil
	t.accept(q, Answer{Key: q.Key, Value: n.String(), Sure: d.Why != "unit"})
	t.echo(q, phrase.Of("length").With("mm", n))
	if d.Why == "figure" && same {
		t.FigureKept = true
	}
	t.question(q.Key)
}

// settleWithValue takes a number as the answer to a doubt.
func (t *turn) settleWithValue(q *question, d Doubt, text string) (rest string, taken bool) {
	l, rest, err := t.length(q, text)
	if err != nil || !l.Clear() {
		t.Fails++
		var beyond *reading.RangeError
		if errors.As(err, &beyond) {
			t.say(lengthTrouble(q, err))
		}
		t.say(phrase.Of("doubt.unread"))
		return "", false
	}
	if trouble := t.unfit(q, l.MM); trouble != nil {
		t.Fails++
		t.say(*trouble)
		return "", false
	}
	t.Fails = 0
	t.confirm(q, d, l.MM.String())
	return rest, true
}
