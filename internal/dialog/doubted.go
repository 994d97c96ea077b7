package dialog

import (
	"strings"

	"sillbot/internal/hear"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/reading"
)

// A doubt that was not answered stays in what is known: it is named with the answer,
// and can be ended later by saying that the figure is right.

// confirmKept confirms the readings that a conversation of before had kept.
func (t *turn) confirmKept() {
	if !t.FigureKept || t.elsewhere() {
		return
	}
	t.FigureKept = false
	for _, d := range t.doubts() {
		if d.Why == opening.FigureDoubt {
			t.write(opening.Entry{Act: opening.Sure, Key: d.Key})
		}
	}
}

// pressRight takes the button of a doubt. What was measured anew since is not meant.
func (t *turn) pressRight(data string) {
	key, value, _ := strings.Cut(data, "@")
	if opening.Find(key) == nil || t.answers().Value(key) != value || t.elsewhere() {
		t.stale()
		return
	}
	if !t.believe(key) {
		t.stale()
	}
}

// believe notes that a reading in doubt is right; false when it is in none.
func (t *turn) believe(key opening.Key) bool {
	for _, d := range t.doubts() {
		if d.Key != key && d.With != key {
			continue
		}
		entries := []opening.Entry{{Act: opening.Sure, Key: d.Key}}
		if d.With != "" { // one is as long as it is because the other is
			entries = append(entries, opening.Entry{Act: opening.Sure, Key: d.With})
		}
		if t.write(entries...) {
			if t.Doubt != nil && t.Doubt.Key == key {
				t.Doubt = nil
			}
			t.say(phrase.Of("doubt.kept").With("mm", t.answers().Number(key)))
			t.say(t.openDoubts()...)
		}
		return true
	}
	return false
}

// saysRight takes "1214 is right", "top width is right" and, when nothing is asked, the
// figure typed again the same. It reports whether the text was about a reading in doubt.
func (t *turn) saysRight(text string) bool {
	if t.elsewhere() {
		return false
	}
	named, rest, _ := words().Match(t.lang(), "name", text)
	if !isReading(named) && opening.Find(named) == nil {
		named, rest = "", text
	}
	figure := ""
	if l, more, err := reading.Next(rest, opening.SideRange); err == nil && l.Clear() {
		figure, rest = l.MM.String(), more
	}
	_, more, right := words().Match(t.lang(), "right", strings.TrimSpace(rest))
	if more = strings.TrimSpace(more); right && more != "" || !right && strings.TrimSpace(rest) != "" {
		return false
	}
	asked := t.next(t.answers()) != nil // what is typed may be its answer
	if figure == "" && !right || named == "" && asked && (figure == "" || !right) {
		return false
	}
	doubts := opening.InDoubt(t.doubts())
	if figure == "" && named == "" && len(doubts) != 1 {
		return false
	}
	for _, key := range doubts {
		if (named == "" || named == key) && (figure == "" || figure == t.answers().Value(key)) {
			return t.believe(key)
		}
	}
	return right && figure != "" && t.isSo(named, figure)
}

// isSo answers that a figure is right which nobody doubts: it is no new reading.
func (t *turn) isSo(named opening.Key, figure string) bool {
	for _, key := range opening.ReadingKeys {
		if (named == "" || named == key) && t.own().Value(key) == figure {
			t.sayAgain([]hear.Value{{Key: key, Value: figure}})
			return true
		}
	}
	return false
}
