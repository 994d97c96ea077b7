package hear

import (
	"slices"
	"strings"

	"sillbot/internal/opening"
)

// guess is what a message may mean of which nothing was made: the one figure that
// fits, or the one word that answers, for the field that is named alone or for
// the open question. It is only ever proposed. Nil where a word turns a meaning
// round, or where two would fit.
func (r *reader) guess(h *Heard) *Held {
	if r.asked || h.Query != nil || h.CantTell || h.Before || h.Again != nil || slices.ContainsFunc(r.tokens, turnsRound) {
		return nil
	}
	key := r.guessedField()
	if key == "" {
		return nil
	}
	var found []Value
	var words []string
	for i := range r.tokens {
		t := &r.tokens[i]
		c := r.clone()
		switch {
		case t.kind == lengths && !numeric(opening.Find(key)):
			return nil
		case t.kind == lengths:
			if rest := (&walk{reader: c}).one(key, t.text, t, certain); strings.TrimSpace(rest) != "" {
				return nil // several figures
			}
		case t.kind == phrase && key == r.ctx.Open && !isName(*t):
			c = r.try([]token{*t})
		}
		if len(c.said) != 1 || c.said[0].Key != key || len(c.lost) > 0 || c.length != nil {
			if t.kind == unknown {
				words = append(words, t.text)
			}
			continue
		}
		if found != nil && found[0].Value != c.said[0].Value {
			return nil
		}
		found = c.said
	}
	if found == nil {
		return nil
	}
	held := &Held{Why: Either, Ways: [][]Value{found}}
	if words != nil {
		held.Why, held.Words = Unknown, strings.Join(words, ", ")
	}
	return held
}

// rename gives the only figure of a message to the field that is named apart from
// it, where something holds the message back anyway: measured the top again, its
// 1206.
func (r *reader) rename() {
	if len(r.lost) == 0 || len(r.said) != 1 || r.ways != nil {
		return
	}
	n := slices.IndexFunc(r.tokens, func(t token) bool { return t.kind == lengths })
	if n < 0 || !slices.ContainsFunc(r.tokens, isName) || slices.ContainsFunc(r.tokens[n+1:], func(t token) bool { return t.kind == lengths }) {
		return
	}
	key := r.guessedField()
	if key == "" || key == r.ctx.Open || key == r.said[0].Key || !numeric(opening.Find(key)) || opening.Find(r.said[0].Key).Kind != opening.Length {
		return
	}
	c := r.clone()
	if rest := (&walk{reader: c}).one(key, r.tokens[n].text, &r.tokens[n], certain); strings.TrimSpace(rest) == "" && len(c.said) == 1 {
		r.said = c.said
	}
}

// turnsRound says whether the word may turn what is said into something else.
func turnsRound(t token) bool {
	return slices.ContainsFunc([]string{"not", "no", "or", "minus", "lower", "higher", "same", "sameas", "all", "inside"}, t.marker) ||
		t.kind == asks || t.kind == phrase && t.codeOf("answer") == "no" && !t.marker("harmless")
}

// guessedField is the one field that the names of the message stand for, or the
// open question where it is one of them or nothing is named; "" for none.
func (r *reader) guessedField() opening.Key {
	var names []token
	for _, t := range r.tokens {
		if isName(t) {
			names = append(names, t)
		}
	}
	if names == nil {
		return r.ctx.Open
	}
	fields := slices.CompactFunc((&walk{reader: r.clone()}).fields(names), func(a, b named1) bool { // bottom bottom 1203
		return slices.Equal(a.keys, b.keys)
	})
	if len(fields) == 1 && len(fields[0].keys) == 1 {
		return fields[0].keys[0]
	}
	if slices.ContainsFunc(fields, func(f named1) bool { return slices.Contains(f.keys, r.ctx.Open) }) {
		return r.ctx.Open
	}
	return ""
}
