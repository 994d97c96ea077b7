package dialog

import (
	"strings"

	"sillbot/internal/hear"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// answerQuery answers a question to the bot, in place; the open question comes
// again after it.
func (t *turn) answerQuery(query *hear.Query) {
	q := find(query.Key)
	if q == nil {
		q = t.next(t.answers())
	}
	switch {
	case query.Topic == hear.Meaning && query.Term != "":
		t.say(phrase.Of("glossary." + query.Term))
		if query.Other != "" {
			t.say(phrase.Of("glossary." + query.Other))
		}
	case query.Topic == hear.Sides:
		t.say(phrase.Of("query.sides"))
	case q == nil:
		t.say(phrase.Of("help.done"))
		t.buttons = t.doneButtons()
	case query.Topic == hear.Reason:
		t.say(phrase.Of("reason." + q.Name))
	case query.Topic == hear.Method:
		t.say(q.help())
		t.sketch(q)
	case query.Topic == hear.Meaning:
		t.say(phrase.Of("query.meaning"), q.help())
	case query.Term != "":
		t.say(phrase.Of("glossary."+query.Term), q.help())
	default:
		t.say(phrase.Of("query.other"), q.help())
	}
}

// askedAbout is the question that words after help name, else the open one.
func (t *turn) askedAbout(rest string) *question {
	if rest != "" {
		if query := hear.Read(rest+"?", t.context()).Query; query != nil && query.Key != "" {
			return find(query.Key)
		}
	}
	return t.next(t.answers())
}

// sketch sends what was said so far under a sketch of how q is taken, if there
// is one for it. What comes after goes with the next message.
func (t *turn) sketch(q *question) {
	if !q.is(opening.Sketched) {
		return
	}
	buttons := t.buttons
	t.buttons = nil
	r := t.message()
	r.Open = "" // the question is the next message
	r.Picture = &Picture{Reading: q.Key, Under: t.answers().Value("sill") != "none"}
	t.replies, t.buttons = append(t.replies, r), buttons
}

// askedFirst answers a question that must not be taken for anything else: for a
// word of the trade over a doubt or at a chair in another's job, and "why do you
// need that", which begins with a command.
func (t *turn) askedFirst(text string) bool {
	a := t.answers()
	special := t.Doubt != nil || t.atChair()
	code, rest, ok := words().Match(t.lang(), "command", text)
	begins := ok && (code == "why" && (rest != "" || !a.CanOrder()) || code == "help" && rest != "" && !strings.HasPrefix(strings.ToLower(text), "help")) && t.next(a) != nil
	if !special && !begins {
		return false // answered with the rest of the message
	}
	h := hear.Read(text, t.context())
	if h.Query == nil || len(h.Said) > 0 || h.Held != nil || special && (h.Query.Topic != hear.Meaning || h.Query.Term == "") {
		return false
	}
	t.quiet = t.quiet || t.atChair()
	t.answerQuery(h.Query)
	return true
}
