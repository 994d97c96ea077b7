package dialog

import (
	"slices"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

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
// confirmed, and asks the owners of the jobs that the chat has or had a chair in
// to forget the person. The chat's own jobs are for Forgotten.
func forget(t *turn, rest string) {
	t.quiet = true
	question, done, f := phrase.Of("forget.sure"), phrase.Of("forget.done"), &Forget{}
	if t.group {
		question, done, f.User = phrase.Of("forget.sure.group"), phrase.Of("forget.done.group"), t.user
	}
	if _, _, sure := words().Match(t.lang(), "sure", rest); !sure {
		t.say(question)
		return
	}
	for _, seat := range slices.Concat(t.Seats, t.Stood) {
		if seat.Owner != 0 {
			t.post(Mail{To: seat.Owner, Ref: seat.Ref, Ask: &Ask{
				Who: job.Who{Chat: t.chat, Person: t.user, Role: seat.Role}, Do: "leave", Ref: seat.Ref,
			}})
		}
	}
	t.say(done)
	t.mails = append(t.mails, Reply{Forget: f})
	t.State = State{Version: schema, Lang: t.Lang}
	t.begin()
}

// Forgotten is what becomes of a job of the chat that f is about, and the mail
// that goes with it. A group goes on with the job without the person. A private
// chat's is deleted, and who has a chair in it is told. A step has one job of a
// chat and this is for each of them, so the caller does it after a step that
// gave f.
func Forgotten(j job.Job, f Forget) (job.Job, []Reply) {
	if f.User != 0 {
		return j.Forget(f.User), nil
	}
	var mails []Reply
	for _, s := range j.Shares {
		if s.UsedBy != 0 && !s.Revoked {
			gone := Reply{Text: phrase.Of("job.gone").Saying("ref", j.Ref)}
			mails = append(mails, Reply{Mail: &Mail{From: j.Owner.Chat, To: s.UsedBy, Ref: j.Ref, Left: true, Show: &gone}})
		}
	}
	return j, mails
}
