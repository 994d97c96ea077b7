package dialog

import (
	"strings"

	"sillbot/internal/opening"
)

// cleared begins to enter it with what was typed.
func cleared(t *turn, text string) {
	if t.elsewhere() {
		return
	}
	t.begins([]opening.Key{"cleared"})
	t.dropProposal()
	t.Clearing, t.Asking, t.Change = &opening.Cleared{}, "cleared", ""
	if text = strings.TrimLeft(text, " :,-"); text != "" {
		t.takeClearing(text)
	}
}
