package dialog

import "strings"

// ofMessage notes which message brought up what waits to be settled, so that a change of
// that message settles it.
func (t *turn) ofMessage() {
	if t.Doubt != nil && t.Doubt != t.doubtWas && t.Doubt.Msg == 0 {
		t.Doubt.Msg = t.msg
	}
	switch {
	case t.Fails > t.failsWas:
		t.FailMsg = t.msg
	case t.Fails == 0:
		t.FailMsg = 0
	}
	if t.Proposed != nil && t.Proposed != t.heldWas && t.Proposed.Msg == 0 {
		t.Proposed.Msg = t.msg
	}
}

// inChat says of the replies how they are to stand in the chat: which question they ask,
// whether they take the place of the message whose button was pressed, and whether the
// line at that button is enough.
func (t *turn) inChat() {
	if len(t.replies) == 0 {
		return
	}
	first, last := &t.replies[0], &t.replies[len(t.replies)-1]
	if t.toast != nil && len(t.replies) == 1 && t.pressSaid == 0 {
		first.Toast = t.toast
		return
	}
	if t.began == "" && t.open() == "" && !t.inPlace {
		return
	}
	last.Asks = &Asked{Key: t.open(), Conv: t.Conv, Window: t.Editing, Ends: t.endsWith(last.Buttons)}
	if t.inPlace && t.toast == nil && t.under != 0 && wordsOnly(*first) {
		first.Over = t.under
		if first != last {
			first.Asks = &Asked{Conv: t.Conv, Window: t.Editing}
		}
	}
	if t.group {
		t.ofPerson(last.Asks)
		t.ofPerson(first.Asks)
	}
}

// ofPerson notes whose a question in a group is.
func (t *turn) ofPerson(a *Asked) {
	if a != nil {
		a.User, a.Name = t.user, cut(seenOf(t.name))
	}
}

// endsWith says whether a button is one of the open question, which means nothing once
// that is answered.
func (t *turn) endsWith(rows [][]Button) bool {
	conv := t.convMark()
	for _, row := range rows {
		for _, b := range row {
			p := strings.SplitN(b.Data, ":", 4)
			if len(p) == 4 && p[0] == pressVersion && p[1] == conv && (p[2] == t.open() || p[2] == heldKey || p[2] == dayKey) {
				return true
			}
		}
	}
	return false
}
