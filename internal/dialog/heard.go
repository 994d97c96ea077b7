package dialog

import (
	"errors"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"sillbot/internal/hear"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/reading"
	"sillbot/internal/tell"
)

// takes reports whether the text answers something.
func (t *turn) takes(text string) bool {
	if t.next(t.answers()) == nil || text == "" {
		return false
	}
	h := hear.Read(text, t.context())
	return len(h.Said) > 0 || h.Length != nil
}

// takeAll takes the answers in a message, in any order, and says what was taken.
// What could be read in several ways, or with a word that nobody knows, is asked
// about and not taken.
func (t *turn) takeAll(text string, fresh bool) {
	q := t.next(t.answers())
	if q != nil && q.Key == "cleared" {
		t.takeClearing(text)
		return
	}
	if q != nil && q.Kind == opening.Words && t.takeWords(q, text) {
		return
	}
	t.takeHeard(hear.Read(text, t.context()), text, fresh)
}

func (t *turn) takeHeard(h hear.Heard, text string, fresh bool) {
	if fresh && h.Empty() && h.Trouble == nil {
		return // a greeting
	}
	if h.Before {
		if q := t.next(t.answers()); q != nil && t.takeBefore(q) {
			t.Fails = 0
			return
		}
	}
	if h.Held == nil {
		h.Said, h.Held = t.longOver(h.Said)
	}
	if len(h.Said) > 0 {
		t.wasDone = false // the plan is another then
	}
	if !t.store(h.Said) {
		t.Fails++
		return
	}
	t.sayOver(h.Said)
	if len(h.Said)+len(h.Again) > 0 || h.Length != nil || h.Held != nil || h.Query != nil {
		t.Fails = 0
	}
	if len(h.Said) == 0 && len(h.Again) > 0 && !(len(h.Again) == 1 && t.believe(h.Again[0].Key)) {
		t.sayAgain(h.Again)
	}
	switch {
	case asksOfHouse(h.Held) != nil:
		t.say(asksOfHouse(h.Held).help())
		return
	case h.Held != nil:
		t.hold(h.Held)
	case h.Length != nil:
		t.doubtLength(h.Length)
	case h.Trouble != nil:
		t.refuse(find(h.Trouble.Key), *t.trouble(h.Trouble), h.Trouble.Rest, len(h.Said), fresh)
		return
	case h.Query != nil:
	case h.CantTell:
		t.cantTell(t.next(t.answers()))
	case h.Empty() || len(h.Unknown) > 0:
		t.refuseAll(text, h, fresh)
		return
	}
	if h.Query != nil && !(h.Held != nil && h.Query.Topic == hear.Other) { // else the proposal is the answer
		t.answerQuery(h.Query)
	}
	t.questionAll(h.Said)
}

// asksOfHouse is the field of the house that was put as a question, which is rather
// how one finds out; nil for none.
func asksOfHouse(h *hear.Held) *question {
	if h == nil || h.Why != hear.Asked || len(h.Ways) != 1 || len(h.Ways[0]) != 1 {
		return nil
	}
	if q := find(h.Ways[0][0].Key); q.ofHouse() {
		return q
	}
	return nil
}

// trouble says why a figure does not fit its field.
func (t *turn) trouble(tr *hear.Trouble) *phrase.Text {
	q := find(tr.Key)
	given := cut(tr.Given)
	if errors.Is(tr.Err, hear.ErrUnfit) {
		if said := t.unfit(t.taken(), q, figureOf(tr.Given)); said != nil {
			return said
		}
	}
	switch q.Kind {
	case opening.FloorOf:
		return t.noFloor(q, tr.Given)
	case opening.FloorArea:
		return sorry(phrase.Of("fail.area").Saying("given", given).With("least", hear.AreaLeast).With("most", hear.AreaMost))
	case opening.MakeUp:
		return sorry(phrase.Of("fail.glass").Saying("given", given))
	}
	return sorry(lengthTrouble(q, tr.Err).Saying("given", given))
}

// refuseAll says that nothing was made of a message.
func (t *turn) refuseAll(text string, h hear.Heard, fresh bool) {
	q := t.next(t.answers())
	if q == nil {
		t.say(phrase.Of("rest.done").Saying("rest", cut(text)), phrase.Of("done.hint"))
		t.buttons = t.doneButtons()
		return
	}
	given := text
	if len(h.Unknown) > 0 && len(text) > 40 {
		given = strings.Join(h.Unknown, " ")
	}
	t.refuse(q, t.unread(q, given, text), "", 0, fresh)
}

// unread says how the open question is answered.
func (t *turn) unread(q *question, given, text string) phrase.Text {
	switch q.Kind {
	case opening.Length:
		return phrase.Of("fail.number").Sub1("name", tell.Name(q.Key)).Saying("given", cut(given))
	case opening.Day:
		_, _, err := reading.NextDate(text, t.now)
		return dateTrouble(err).Saying("given", cut(given))
	case opening.FloorOf:
		return *t.noFloor(q, given)
	case opening.Lights:
		return phrase.Of("fail.layout").Saying("given", cut(given)).WithInt("most", opening.MostColumns)
	case opening.MakeUp:
		return phrase.Of("fail.glass").Saying("given", cut(given))
	case opening.FloorArea:
		return phrase.Of("fail.area").Saying("given", cut(given)).With("least", hear.AreaLeast).With("most", hear.AreaMost)
	}
	return phrase.Of("fail.choice").Saying("given", cut(given))
}

// refuse says why the answer could not be read. The second failure in a row adds
// an example and the range, the third buttons to leave the question.
func (t *turn) refuse(q *question, trouble phrase.Text, text string, taken int, fresh bool) {
	if fresh && taken == 0 {
		return
	}
	if taken > 0 && text != "" {
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

func lengthTrouble(q *question, err error) phrase.Text {
	var beyond *reading.RangeError
	switch {
	case errors.As(err, &beyond):
		return phrase.Of("fail.range").With("mm", beyond.MM).With("least", q.Usual.Least).With("most", q.Usual.Most)
	case errors.Is(err, reading.ErrNegative):
		return phrase.Of("fail.negative")
	}
	return phrase.Of("fail.number").Sub1("name", tell.Name(q.Key))
}

// takeWords takes all that was typed as the person's own words, without what
// can't be seen and the marks around it.
func (t *turn) takeWords(q *question, text string) bool {
	h := hear.Read(text, t.context())
	whole := h.Held == nil && len(h.Unknown) == 0 && h.Trouble == nil
	if whole && slices.ContainsFunc(h.Said, func(v hear.Value) bool {
		return v.Key == q.Key || q.is(opening.Maker) && find(v.Key).Scope == opening.OfJob
	}) {
		return false
	}
	if q.Key == opening.ByLight && whole {
		return false // it has a form of its own
	}
	seen := seenOf(text)
	if _, formed := opening.PanesOf(seen); q.Key == opening.ByLight && !formed {
		t.refuse(q, phrase.Of("fail.panes").WithInt("lights", len(t.answers().Layout().Lights)), "", 0, false)
		return true
	}
	if _, rest, all := words().Match(t.lang(), "dayall", seen); all && rest == "" { // said of the fitting day, and no name of anything
		t.refuse(q, phrase.Of("fail.choice").Saying("given", cut(text)), "", 0, false)
		return true
	}
	if n := utf8.RuneCountInString(seen); !strings.ContainsFunc(seen, unicode.IsLetter) || int64(n) > q.Most {
		t.refuse(q, phrase.Of("fail.words").Sub1("name", tell.Name(q.Key)).WithInt("most", int(q.Most)), "", 0, false)
		return true
	}
	t.accept(q, Answer{Key: q.Key, Value: seen})
	t.echo(q, q.stored(seen))
	return true
}

// give takes a code from a button.
func (t *turn) give(q *question, code string) {
	list := []hear.Value{{Key: q.Key, Value: code}}
	switch {
	case q.Kind == opening.Day:
		d, _, err := reading.NextDate(code, t.now)
		if err != nil {
			t.say(phrase.Of("press.unknown"))
			return
		}
		list[0].Value = d.Format(opening.DateForm)
	case q.Kind == opening.Lights && isHinge(code):
		list = []hear.Value{{Key: q.Key, Value: "1"}, {Key: opening.Nth("light", 1), Value: code}}
	}
	if t.store(list) {
		t.questionAll(list)
	}
}
