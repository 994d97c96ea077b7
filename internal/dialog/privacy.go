package dialog

import "sillbot/internal/phrase"

// mydata sends everything that is held about the chat.
func mydata(t *turn) {
	d := &Document{Paper: Held, At: t.now}
	if t.group {
		d.User = t.user
	}
	t.mails = append(t.mails, Reply{Text: phrase.Of("mydata"), Lang: t.lang(), Open: t.open(), Document: d})
	t.quiet = true
}

// forget deletes everything that is held about the chat, once that was
// confirmed. Who has a chair in the open job is told that it is gone.
func forget(t *turn, rest string) {
	t.quiet = true
	if _, _, sure := words().Match(t.lang(), "sure", rest); !sure {
		t.say(phrase.Of("forget.sure"))
		return
	}
	if t.Job != nil && !t.group {
		for _, s := range t.Job.Shares {
			if s.UsedBy != 0 && !s.Revoked {
				t.post(Mail{To: s.UsedBy, Ref: t.Job.Ref, Left: true, Show: &Reply{Text: phrase.Of("job.gone").Saying("ref", t.Job.Ref)}})
			}
		}
	}
	for _, seat := range t.Seats {
		t.askOwner(Ask{Do: "leave", Ref: seat.Ref})
	}
	f := &Forget{}
	if t.group {
		f.User = t.user
	}
	t.say(phrase.Of("forget.done"))
	t.mails = append(t.mails, Reply{Forget: f})
	lang, open := t.Lang, t.Job
	t.State = State{Version: schema, Lang: lang}
	t.begin()
	if open != nil && t.group { // the others of the group go on with it
		left := open.Forget(t.user)
		t.Job = &left
	}
}
