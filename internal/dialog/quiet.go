package dialog

import (
	"slices"

	"sillbot/internal/phrase"
)

// sayAlready answers an input of which nothing came: it asked for what is so
// already. No input goes without an answer.
func (t *turn) sayAlready() {
	comes := func(r Reply) bool {
		return r.Mail == nil && r.Link == nil && r.Unlink == "" || r.Mail != nil && r.Mail.Ask != nil
	}
	if !t.silent && len(t.lines) == 0 && len(t.replies) == 0 && !slices.ContainsFunc(t.mails, comes) {
		t.say(phrase.Of("job.already"))
	}
}
