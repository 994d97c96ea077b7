package dialog

import (
	"slices"
	"strings"

	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// change opens the answer that the text names, in words or by its key, and takes
// a new answer if one follows.
func change(t *turn, name string) {
	name = strings.TrimPrefix(strings.TrimSpace(name), "the ")
	code, rest, ok := words().Match(t.lang(), "name", name)
	if !ok {
		code = name
	}
	t.changeKey(code, rest)
}

// changeKey opens an answer again and says which answers fall with it.
func (t *turn) changeKey(code, rest string) {
	keys := opening.Fellows(code)
	if keys == nil || !t.answers().MayChange(opening.Find(keys[0]), t.Second != nil) {
		t.say(phrase.Of("change.which"))
		t.buttons = t.changeButtons()
		return
	}
	if t.elsewhere() {
		return
	}
	t.Doubt, t.Fails, t.Asking, t.FigureKept = nil, 0, "", false
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
	if q := find(keys[0]); q.is(opening.OnRequest) || q.Asked != nil && !q.Asked(t.answers()) {
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

func sayLost(t *turn, lost []string) {
	if len(lost) == 0 {
		return
	}
	var names []phrase.Text
	for _, key := range lost {
		names = append(names, tell.Name(key))
	}
	t.say(phrase.Of("change.dropped").WithRow("names", names...))
}

// measuresCopy says whether the text begins with a reading of a window whose
// readings are still another's.
func measuresCopy(t *turn, text string) bool {
	if t.Job == nil || t.Second != nil {
		return false
	}
	o, ok := t.Job.Find(t.Editing)
	if !ok || o.CopiedFrom == 0 {
		return false
	}
	_, _, err := t.length(find(opening.Widths[0]), text)
	return err == nil
}
