package dialog

import (
	"bytes"
	"encoding/json"
	"slices"

	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// burst is how the one message of a turn goes together with its neighbours; nil
// when it doesn't. asked counts its last lines that are the open question; own:
// the buttons are not the question's.
func (t *turn) burst(asked int, own bool) *talk.Burst {
	if t.kind != Typed || len(t.replies) > 0 {
		return nil
	}
	if own {
		asked = 0
	}
	return &talk.Burst{Asks: asked, Stays: asked > 0 && (t.Doubt != nil || t.Proposed != nil)}
}

// Join makes one reply of first and of next, which waits right behind it: what
// was said of each, then the question and the buttons of next. ok is false when
// something would be lost by that: they then go out one after the other.
func Join(first, next Reply) (joined Reply, ok bool) {
	if first.Burst == nil || next.Burst == nil || first.Lang != next.Lang || !wordsOnly(first) || !wordsOnly(next) {
		return Reply{}, false
	}
	if first.Topic != next.Topic {
		return Reply{}, false
	}
	if readerOf(first) != readerOf(next) {
		return joinOthers(first, next) // each has a question of their own, which stays
	}
	lines, asks := first.Text.Lines["lines"], first.Burst.Asks
	told := withoutName(next.Text.Lines["lines"])
	switch {
	case asks > len(lines) || next.Burst.Asks > len(told):
		return Reply{}, false
	case asks > 0 && next.Burst.Asks == 0:
		return Reply{}, false // the question is still open, and next doesn't repeat it
	case asks == 0 && len(first.Buttons) > 0 && !same(first.Buttons, next.Buttons):
		return Reply{}, false
	}
	said, asked := lines[:len(lines)-asks], lines[len(lines)-asks:]
	if first.Burst.Stays && !same(asked, told[len(told)-next.Burst.Asks:]) {
		said = lines
	}
	joined = next
	joined.Text = phrase.Of("message").WithLines("lines", slices.Concat(said, told)...)
	if forSeveral(first) {
		joined.Asks = &Asked{Name: next.For.Name} // next alone is to one of them
	}
	return joined, true
}

// wordsOnly: nothing but lines and buttons.
func wordsOnly(r Reply) bool {
	return r.Text.Key == "message" && r.Picture == nil && r.Document == nil && len(r.Shots) == 0 &&
		r.Mail == nil && r.Link == nil && r.Unlink == "" && r.Forget == nil
}

// same compares as stored: one of the two may come from an outbox.
func same(a, b any) bool {
	x, err1 := json.Marshal(a)
	y, err2 := json.Marshal(b)
	return err1 == nil && err2 == nil && bytes.Equal(x, y)
}
