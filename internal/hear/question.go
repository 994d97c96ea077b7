package hear

import (
	"cmp"
	"slices"
	"strings"

	"sillbot/internal/opening"
)

// question takes a part that asks the bot something. A value that stands in it
// is not taken, but may be proposed.
func (r *reader) question(list []token) bool {
	ends := list[len(list)-1].kind == asks
	q := slices.IndexFunc(list, func(t token) bool { return t.has("query") })
	if q < 0 && list[0].has("query-maybe") && slices.ContainsFunc(list, func(t token) bool {
		return t.kind == unknown || t.marker("or") || t.marker("same") || t.marker("sameas") || t.text == "ok"
	}) {
		q = 0 // is 4 mm alright
	}
	if !ends && q != 0 {
		return false
	}
	if q == 0 && Topic(list[0].codeOf("query")) == Sides && r.glued(list[0].from) {
		r.asked = true // a box room, which one is that
	}
	topic := Other
	if q >= 0 {
		topic = Topic(cmp.Or(list[q].codeOf("query"), string(Other)))
	}
	if topic == Other && !ends && q == 0 && len(list) == 1 {
		return false
	}
	term := termOf(list, q, topic == Meaning)
	if last := list[len(list)-1]; topic == Meaning && (term == "" || r.about(list) == r.open()) && len(list) > 2 && (strings.EqualFold(last.text, "for") || ends && strings.EqualFold(list[len(list)-2].text, "for")) {
		topic = Reason // what is it for
	}
	values := r.try(r.valuesOf(list))
	read := len(values.said) > 0 || values.ways != nil || values.length != nil
	switch {
	case topic == Meaning && term == "" && slices.ContainsFunc(list, func(t token) bool { return t.kind == glass }):
		term = "make-up"
	case topic == Meaning && term == "":
		topic = Other
	case topic == Sides && term != "" && len(list)-q <= 4 && !slices.ContainsFunc(list, func(t token) bool { return t.has("pos") || t.has("light") }):
		topic = Meaning // which one is a casement
	case topic == Other && term != "" && !read && len(list) <= 3:
		topic = Meaning
	case len(list) == 1 && ends:
		topic = Method
	}
	if r.glued(list[0].from) && slices.ContainsFunc(list, func(t token) bool { return t.kind == unknown }) {
		r.asked = true // yes lad how's about you
	}
	if len(r.said) > 0 && slices.ContainsFunc(list, func(t token) bool { return t.kind == lengths }) {
		r.asked = true // none, what's an 85 then
	}
	if term == "" && (topic == Other || topic == Meaning) {
		term = r.termBefore(list[0].from)
	}
	if r.query == nil || r.query.Topic == Other || topic == Meaning && r.query.Topic != Meaning {
		r.query = &Query{Topic: topic, Term: term, Other: otherTerm(list, q, term), Key: r.about(list)}
	}
	if topic == Other && ends && read && len(values.lost) == 0 {
		r.asked = true
		r.said = append(r.said, values.said...)
		if values.ways != nil {
			r.ask(values.why, values.ways...)
		}
	}
	return true
}

// termOf is the word of the glossary that a question is about: the first after
// "what is", else the last.
func termOf(list []token, q int, first bool) string {
	term := ""
	for i, t := range list {
		code := t.codeOf("term")
		if code == "" || i == q || first && i < q && term != "" {
			continue
		}
		if first && i > q {
			return code
		}
		term = code
	}
	return term
}

// otherTerm is a second word that a question is about: the difference between a
// mullion and a transom.
func otherTerm(list []token, q int, first string) string {
	for i, t := range list {
		if code := t.codeOf("term"); i > q && code != "" && code != first && first != "" {
			return code
		}
	}
	return ""
}

// termBefore is the last word of the glossary before a place in the message.
func (r *reader) termBefore(at int) string {
	term := ""
	for _, t := range r.tokens {
		if code := t.codeOf("term"); code != "" && t.from < at {
			term = code
		}
	}
	return term
}

// valuesOf are the tokens of a question that may be values.
func (r *reader) valuesOf(list []token) []token {
	figures := slices.ContainsFunc(list, func(t token) bool { return t.kind == lengths })
	return slices.DeleteFunc(slices.Clone(list), func(t token) bool {
		return t.kind == asks || figures && (t.has("answer") || t.has("query-maybe")) || t.has("query") || t.kind == unknown || t.kind == phrase && len(t.means) == 1 && (t.marker("harmless") || t.has("term"))
	})
}

// about is the field that a question names, of a group the open one of it, else
// the open one.
func (r *reader) about(list []token) opening.Key {
	for _, t := range list {
		if keys := opening.Fellows(t.codeOf("name")); keys != nil {
			if slices.Contains(keys, r.open()) {
				return r.open()
			}
			return keys[0]
		}
	}
	return r.open()
}
