package dialog

import (
	"slices"

	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// A window that was made from another has its choices, and asks for its own readings.
// Those of the other stand beside the question, so that a slip shows.

// beside is what the window that this one was copied from has for the question and its
// fellows; nil where it was not copied, or that has nothing.
func (t *turn) beside(q *question) []phrase.Text {
	a, own := t.answers(), t.own()
	var row []phrase.Text
	of := 0
	for _, key := range opening.Fellows(q.Change) {
		e := a.Source(key)
		if e == nil || e.Value == skipped || own.Has(key) || !opening.OfTheTape(key) {
			continue
		}
		row, of = append(row, find(key).stored(e.Value)), e.Of
	}
	if row == nil {
		return nil
	}
	return []phrase.Text{phrase.Of("copy.beside").Sub1("source", sourceName(of)).WithRow("values", row...)}
}

// stillCopied names the readings that nobody took here.
func (t *turn) stillCopied() []phrase.Text {
	keys, of := t.answers().StillCopied()
	if len(keys) == 0 {
		return nil
	}
	return []phrase.Text{phrase.Of("copy.still").Sub1("source", copiedFrom(of)).WithRow("names", groupNames(keys)...)}
}

// copiedFrom names the window that another was copied from, within a sentence.
func copiedFrom(of int) phrase.Text {
	if of == 0 {
		return phrase.Of("copy.from.last")
	}
	return phrase.Of("copy.from").WithInt("n", of)
}

// groupNames are the names of readings, those of one side together where all are meant.
func groupNames(keys []opening.Key) []phrase.Text {
	var names []phrase.Text
	var said []string
	for _, key := range keys {
		change := opening.Find(key).Change
		fellows := opening.Fellows(change)
		all := !slices.ContainsFunc(fellows, func(f opening.Key) bool { return !slices.Contains(keys, f) })
		switch {
		case !all || len(fellows) == 1:
			names = append(names, tell.Name(key))
		case !slices.Contains(said, change):
			said = append(said, change)
			names = append(names, phrase.Of("button.change."+change))
		}
	}
	return names
}

// sameReadings keeps the readings of the window that this one was copied from. It
// counts as not measured.
func sameReadings(t *turn) {
	if len(t.stillCopied()) == 0 {
		t.say(phrase.Of("copy.none"))
		return
	}
	if !t.Same {
		t.wasDone = false
	}
	t.Same = true
	t.Doubt, t.Fails = nil, 0
	t.say(phrase.Of("copy.kept"))
	if t.wasDone {
		t.say(t.stillCopied()...)
	}
}

// measures says whether the text begins with a reading.
func measures(t *turn, text string) bool {
	_, _, err := t.length(find(opening.Widths[0]), text)
	return err == nil
}
