package dialog

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
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

// forget asks first, and names what goes and what others lose. Only the number of
// that question, typed or on its button, is a yes to it: what was typed before the
// question was read, or is pressed long after, asks anew.
func forget(t *turn, rest string) {
	_, code, _ := words().Match(t.lang(), "sure", rest)
	forgetIfSure(t, code)
}

// forgetIfSure takes the number that came with a yes; "": there was none.
func forgetIfSure(t *turn, code string) {
	t.quiet = true
	switch {
	case t.Sure != nil && code == strconv.Itoa(t.Sure.Code) && t.now.Sub(time.Unix(t.Sure.At, 0)) <= sureFor:
		forgetAll(t)
	case code != "":
		t.say(phrase.Of("forget.old"))
		askForget(t)
	default:
		askForget(t)
	}
}

// askForget asks whether to forget. What others lose by the chat's own jobs is
// added by Losing.
func askForget(t *turn) {
	t.Sure = &Sure{Code: 10 + t.Turn*37%90, At: t.now.Unix()}
	code := strconv.Itoa(t.Sure.Code)
	t.buttons = [][]Button{{t.button("do.forget", "do", "forget="+code)}}
	how := phrase.Of("forget.how").Saying("code", code)
	if t.group {
		t.say(phrase.Of("forget.sure.group"), how)
		return
	}
	t.say(phrase.Of("forget.sure"))
	if t.Second != nil && t.hasMeasured() {
		t.say(phrase.Of("forget.second").Saying("name", t.Second.Name).Saying("ref", t.Second.Ref))
	}
	for _, seat := range t.Seats {
		if seat.Role != "" {
			t.say(phrase.Of("forget.seat").Saying("ref", seat.Ref).Word("role", "role."+string(seat.Role)))
		}
	}
	t.say(how)
	question := t.message()
	question.Forget = &Forget{Ask: true}
	t.replies = append(t.replies, question)
}

// forgetAll deletes everything that is held about the chat, and asks the owners of
// the jobs that the chat has or had a chair in to forget the person. The chat's own
// jobs are for Forgotten.
func forgetAll(t *turn) {
	done, f := phrase.Of("forget.done"), &Forget{}
	if t.group {
		done, f.User = phrase.Of("forget.done.group"), t.user
	}
	for _, seat := range slices.Concat(t.Seats, t.Stood) {
		if seat.Owner != 0 {
			t.post(Mail{To: seat.Owner, Ref: seat.Ref, Ask: &Ask{
				Who: job.Who{Chat: t.chat, Person: t.user, Role: seat.Role}, Do: "leave", Ref: seat.Ref,
			}})
		}
	}
	if !t.group {
		for _, account := range t.Phone.others(t.chat) {
			t.post(Mail{To: account, Phone: &talk.Phone{Forgotten: true}})
		}
	}
	t.say(done)
	t.mails = append(t.mails, Reply{Forget: f})
	t.State = State{Version: schema, Lang: t.Lang}
	t.begin()
}

// Losing is the question whether to forget, with what others lose by the chat's
// jobs. A step has one job of a chat and this is for all of them, so the caller
// does it after a step that gave such a question.
func Losing(question Reply, jobs []job.Job) Reply {
	var lines []phrase.Text
	for _, j := range jobs {
		a := j.Afoot()
		if names := slices.Concat(a.Confirmed, a.Open); len(names) > 0 {
			lines = append(lines, named("forget.order", names).Saying("ref", j.Ref).Saying("revision", job.RevisionName(j.Order.Revision)))
		}
		if len(a.WithLead) > 0 {
			lines = append(lines, named("forget.check", a.WithLead).Saying("ref", j.Ref))
		}
		if a.Links > 0 {
			lines = append(lines, phrase.Of("forget.links").Saying("ref", j.Ref).WithInt("count", a.Links))
		}
	}
	said := question.Text.Lines["lines"]
	how := len(said) - 1 // how to do it stays last
	question.Text = phrase.Of("message").WithLines("lines", slices.Concat(said[:how], lines, said[how:])...)
	question.Forget = nil
	return question
}

// named is a sentence about windows.
func named(key string, names []string) phrase.Text {
	var row []phrase.Text
	for _, name := range names {
		row = append(row, phrase.Of("job.words").Saying("words", name))
	}
	return phrase.Of(key).WithRow("names", row...)
}

// Forgotten is what becomes of a job of the chat that f is about, and the mail
// that goes with it. A group goes on with the job without the person. A private
// chat's is deleted, and who has a chair in it is told whether to go on. A step has
// one job of a chat and this is for each of them, so the caller does it after a step
// that gave f.
func Forgotten(j job.Job, f Forget) (job.Job, []Reply) {
	var mails []Reply
	if h := j.Handing; h != nil && h.To != 0 { // what the person said is there
		mails = append(mails, Reply{Mail: &Mail{From: j.Owner.Chat, To: h.To, Ref: j.Ref, Ask: &Ask{
			Who: job.Who{Chat: j.Owner.Chat, Person: cmp.Or(f.User, j.Owner.Chat), Role: job.Fitter}, Do: "leave",
		}}})
	}
	if f.User != 0 {
		return j.Forget(f.User), mails
	}
	for _, former := range j.Former {
		mails = append(mails, Reply{Mail: &Mail{From: j.Owner.Chat, To: former, Ref: j.Ref, Hand: &talk.Hand{Gone: true}}})
	}
	for _, s := range j.Shares {
		if s.UsedBy != 0 && !s.Revoked {
			left := Mail{From: j.Owner.Chat, To: s.UsedBy, Ref: j.Ref, Left: true}
			if s.Role != job.Customer { // whose page is gone
				left.Show = &Reply{Text: phrase.Of("message").WithLines("lines", goOn(j, s.Role)...)}
			}
			mails = append(mails, Reply{Mail: &left})
		}
	}
	return j, mails
}

// goOn says to a chair of a job whose record is gone what still holds: what was
// confirmed was confirmed.
func goOn(j job.Job, role job.Role) []phrase.Text {
	if role == job.Lead {
		return []phrase.Text{phrase.Of("gone.lead").Saying("ref", j.Ref)}
	}
	lines, a := []phrase.Text{phrase.Of("gone.desk").Saying("ref", j.Ref)}, j.Afoot()
	if len(a.Confirmed) > 0 {
		lines = append(lines, named("gone.desk.confirmed", a.Confirmed))
	}
	if len(a.Open) > 0 {
		lines = append(lines, named("gone.desk.open", a.Open))
	}
	return append(lines, phrase.Of("gone.nobody"))
}

// sayForgotten says in the owner's chat what stands and what is open after a chair had
// everything deleted.
func (t *turn) sayForgotten(role job.Role) {
	a := t.Job.Afoot()
	switch role {
	case job.Lead:
		t.say(phrase.Of("left.lead"))
		if len(a.WithLead) > 0 {
			t.say(named("left.lead.open", a.WithLead).WithInt("n", a.Checked))
		}
	case job.Desk:
		t.say(phrase.Of("left.desk"))
		if len(a.Confirmed) > 0 {
			t.say(named("left.desk.confirmed", a.Confirmed))
		}
		if len(a.Open) > 0 {
			t.say(named("left.desk.open", a.Open))
		}
	}
}

// nameReadings says the readings of a second measure that can't be sent any more.
func (t *turn) nameReadings(ref string) {
	if t.Second == nil || t.Second.Ref != ref || !t.hasMeasured() {
		return
	}
	known := t.Hand.Known()
	var readings []phrase.Text
	for _, key := range known.InOrder() {
		if isReading(key) {
			readings = append(readings, phrase.Of("echo").Sub1("name", nameOf(key)).Sub1("value", find(key).stored(known.Value(key))))
		}
	}
	t.say(phrase.Of("gone.readings").Saying("name", t.Second.Name).WithRow("readings", readings...))
}
