package engine

import (
	"slices"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
)

// toasts are what is shown at a pressed button in place of a message, once the turn is
// written.
type toasts struct {
	show  func(lang string, line phrase.Text)
	lines []dialog.Reply
}

// toastsOn is where the toasts of a turn go; nil where there are none.
func toastsOn(show func(lang string, line phrase.Text)) *toasts {
	if show == nil {
		return nil
	}
	return &toasts{show: show}
}

// take takes the replies that are toasts out.
func (t *toasts) take(replies []dialog.Reply) []dialog.Reply {
	if t == nil {
		return replies
	}
	t.lines = nil
	return slices.DeleteFunc(slices.Clone(replies), func(r dialog.Reply) bool {
		if r.Toast != nil {
			t.lines = append(t.lines, r)
		}
		return r.Toast != nil
	})
}

// done shows the toasts: the turn stands.
func (t *toasts) done() {
	if t == nil {
		return
	}
	for _, r := range t.lines {
		t.show(r.Lang, *r.Toast)
	}
}
