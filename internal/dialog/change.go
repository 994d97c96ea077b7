package dialog

import (
	"cmp"
	"slices"
	"strings"

	"sillbot/internal/hear"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// change opens the answer that the text names, in words or by its key, and takes
// a new answer if one follows.
func change(t *turn, name string) {
	name = strings.TrimPrefix(strings.TrimSpace(name), "the ")
	if t.changeTo(name) {
		return
	}
	code, rest, ok := words().Match(t.lang(), "name", name)
	if !ok {
		code, rest = name, ""
	}
	if keys := opening.Fellows(code); rest != "" && code != "readings" && t.answers().Has(cmp.Or(slices.Concat(keys, []string{""})[0], "-")) { // a failed correction wipes nothing
		t.say(phrase.Of("change.unread").Saying("rest", cut(rest)).Sub1("name", tell.Name(keys[0])).Sub1("value", find(keys[0]).stored(t.answers().Value(keys[0]))))
		return
	}
	t.changeKey(code, rest)
}

// mostNear is how many names are offered for one that is not known.
const mostNear = 4

// sayNear offers the answers whose names are near what was typed, or else all.
func (t *turn) sayNear(name string) {
	near := t.context().Words.Near(name)
	all := t.answers().Changeable(t.Second != nil)
	near = slices.DeleteFunc(near, func(code string) bool { return !slices.Contains(all, code) })
	if name == "" || len(near) == 0 {
		t.say(phrase.Of("change.which"))
		t.buttons = t.changeButtons()
		return
	}
	t.say(phrase.Of("change.near").Saying("given", cut(name)))
	var rows [][]Button
	for _, code := range near[:min(len(near), mostNear)] {
		rows = append(rows, []Button{t.button("change."+code, "do", "change="+code)})
	}
	t.buttons = rows
}

// changeTo takes "change top width to 1214": the new answers, where the text says
// them all. What can't be read leaves every answer as it is.
func (t *turn) changeTo(text string) bool {
	c := t.context()
	c.Correct = true
	h := hear.Read(text, c)
	switch {
	case t.elsewhere() || len(h.Said)+len(h.Again) == 0 && h.Held == nil && h.Length == nil && h.Trouble == nil:
		return false
	case t.Second != nil && slices.ContainsFunc(h.Said, func(v hear.Value) bool { return !isReading(v.Key) }):
		return false
	}
	var said []opening.Key
	for _, v := range h.Said {
		said = append(said, v.Key)
	}
	t.begins(said)
	if t.Proposed != nil && touches(h, t.Proposed, nil) {
		t.Proposed = nil
	}
	t.wasDone = false
	t.takeHeard(h, text, false)
	return true
}

// begins starts the change of fields: a doubt about one of them, or about a unit,
// is gone with what it was about.
func (t *turn) begins(keys []opening.Key) {
	if d := t.Doubt; d != nil && (d.Why == "unit" || slices.Contains(keys, d.Key)) {
		t.Doubt = nil
	}
	t.Fails, t.Asking = 0, ""
}

// changeKey opens an answer again and says which answers fall with it.
func (t *turn) changeKey(code, rest string) {
	keys := opening.Fellows(code)
	if keys == nil || !t.answers().MayChange(opening.Find(keys[0]), t.Second != nil) {
		t.sayNear(code)
		return
	}
	if t.elsewhere() {
		return
	}
	t.begins(keys)
	t.dropProposal()
	t.Change = keys[0]
	var dependent []string
	for _, key := range keys {
		dependent = append(dependent, find(key).Voids...)
	}
	gone := t.drop(keys...)
	lost := t.drop(dependent...)
	if t.refused {
		t.Change = ""
		return
	}
	t.wasDone = false
	if q := find(keys[0]); q.is(opening.OnRequest) || q.Asked != nil && !q.Asked(t.answers()) || t.beside(q) != nil {
		t.Asking = q.Key
	}
	sayLost(t, lost)
	sayLater(t, keys, gone)
	if rest != "" {
		t.takeAll(rest, false)
	}
}

// sayLater says so if another question comes before the one that was named.
func sayLater(t *turn, keys, gone []string) {
	if slices.Contains(keys, t.open()) {
		return
	}
	key := "change.later"
	if len(gone) == 0 {
		key = "change.notyet"
	}
	t.say(phrase.Of(key).Sub1("name", tell.Name(keys[0])))
}
