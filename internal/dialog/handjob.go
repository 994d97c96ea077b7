package dialog

import (
	"encoding/json"
	"slices"
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// A job goes to another chat in four commits, each with the letter that brings about the
// next: the other chat asks for it with the token of an offer; the owner's record is put
// on its way, which nobody writes from then on, and a copy sent; the other chat keeps the
// copy as its own and says so; and the owner's record becomes a note. A letter happens
// once, so wherever this stops it goes on, and at most one chat writes the job.

// handJob offers the open job to a mate: to somebody with a chair in it by name, or by a
// link.
func handJob(t *turn, name string) {
	token, ok := t.newToken()
	if !ok {
		return
	}
	t.quiet = true
	for _, s := range t.Job.Shares {
		if s.Role == job.Fitter {
			t.mails = append(t.mails, Reply{Unlink: s.Token})
		}
	}
	if !t.took2(t.Job.Offer(t.who(), t.now, token, t.now.Add(shareLasts))) {
		return
	}
	t.mails = append(t.mails, Reply{Link: &Link{Token: token, Owner: t.chat, Ref: t.Job.Ref, Role: job.Fitter}})
	_, more, mate := words().Match(t.lang(), "role", name)
	to := t.Job.Named(func(full string) bool {
		first, _, _ := strings.Cut(full, " ")
		return name != "" && (strings.EqualFold(full, name) || strings.EqualFold(first, name))
	})
	if to != 0 {
		offer := Reply{
			Text:    phrase.Of("hand.offer").Saying("ref", t.Job.Ref).Saying("windows", windowsOf(*t.Job)),
			Buttons: [][]Button{{{Label: phrase.Of("button.hand.take"), Data: talk.LinkPress + ":" + token}}},
		}
		t.post(Mail{To: to, Ref: t.Job.Ref, Show: &offer})
		t.say(phrase.Of("hand.offered").Saying("ref", t.Job.Ref).Saying("name", cut(name)))
		return
	}
	if name != "" && (!mate || more != "") {
		t.say(phrase.Of("hand.unknown").Saying("name", cut(name)))
	}
	t.say(t.linkOr("hand.link", "hand.code", token).Saying("ref", t.Job.Ref), phrase.Of("hand.stays"))
}

// took2 takes a job that was changed without anybody to tell.
func (t *turn) took2(j job.Job, err error) bool { return t.took(j, nil, err) }

// windowsOf is how many windows a job has.
func windowsOf(j job.Job) string { return job.Numbers(idsOf(j)) }

func idsOf(j job.Job) (ids []int) {
	for _, o := range j.Openings {
		ids = append(ids, o.ID)
	}
	return ids
}

// keepJob keeps a job here that is on its way, see handedOn; any other is.
func keepJob(t *turn) { t.say(phrase.Of("hand.here").Saying("ref", t.Job.Ref)) }

// takeJob asks the owner of a job for the job itself.
func takeJob(t *turn) {
	l := t.link
	t.quiet = true
	switch {
	case t.group:
		t.say(phrase.Of("job.notgroup"))
	case l.Owner == t.chat:
		t.say(phrase.Of("hand.own"))
	case t.guest():
		t.say(phrase.Of("hand.guest"))
	default:
		t.post(Mail{To: l.Owner, Ref: l.Ref, Ask: &Ask{
			Who: job.Who{Chat: t.chat, Person: t.user, Name: t.name, Role: job.Fitter}, Do: "take", Token: l.Token,
		}})
		t.say(phrase.Of("hand.asking").Saying("ref", l.Ref))
	}
}

// giveJob puts the job on its way to who asks for it with the token of an offer.
func giveJob(t *turn, a Ask) {
	j, err := t.Job.HandTo(a.Who, t.now, a.Token)
	if err != nil {
		refuseMail(t, a, err)
		return
	}
	sent := j
	sent.Handing = nil
	whole, ok := sent.Whole()
	if !ok {
		return // the step is made again with all windows
	}
	copied := talk.Whole{Head: whole.Head, Parts: map[int]json.RawMessage{}}
	for id, data := range whole.Parts {
		copied.Parts[id] = data
	}
	t.Job = &j
	t.mails = append(t.mails, Reply{Unlink: a.Token})
	t.post(Mail{To: a.Who.Chat, Ref: j.Ref, Hand: &talk.Hand{Job: &copied, Turn: t.Turn, Hands: j.Hands}})
}

// handMail takes a letter about a job that is handed over.
func (t *turn) handMail(m *Mail) {
	here := t.Job
	if here != nil && here.Ref != m.Ref {
		here = nil
	}
	switch h := m.Hand; {
	case h.Job != nil:
		t.receive(m, here)
	case h.Asked:
		answer := talk.Hand{Taken: true}
		if here == nil || here.Hands < h.Hands {
			answer = talk.Hand{Not: true}
		}
		t.post(Mail{To: m.From, Ref: m.Ref, Hand: &answer})
	case h.To != 0:
		t.ownerIs(m, here)
	case here == nil || here.Handing == nil || here.Handing.To != m.From:
		return
	case h.Gone:
		note := here.Note()
		note.Handing.To = 0
		t.Job = &note
	case h.Taken && !here.Handing.There:
		t.isThere(*here)
	case h.Not && here.Handing.Asked:
		j := *here
		j.Handing = nil
		t.Job = &j
		t.Own = append(slices.Clip(t.Own), j.Ref)
		t.leadKept(here.Handing.Kept, t.chat, j.Ref)
		t.say(phrase.Of("hand.not").Saying("ref", j.Ref))
	}
}

// receive keeps a job that comes from its owner, once: what this chat has of it already,
// or had since, is newer.
func (t *turn) receive(m *Mail, here *job.Job) {
	if here == nil || here.Hands < m.Hand.Hands {
		stored := job.Stored{Head: m.Hand.Job.Head, Parts: map[int][]byte{}}
		for id, data := range m.Hand.Job.Parts {
			stored.Parts[id] = data
		}
		j, err := stored.Decode()
		if err != nil {
			t.say(phrase.Of("error.internal"))
			t.post(Mail{To: m.From, Ref: m.Ref, Hand: &talk.Hand{Not: true}})
			return
		}
		t.keepReceived(j, m)
	}
	t.post(Mail{To: m.From, Ref: m.Ref, Hand: &talk.Hand{Taken: true}})
}

func (t *turn) keepReceived(j job.Job, m *Mail) {
	if _, sits := t.seat(j.Ref); sits {
		t.stand(j.Ref)
	}
	t.Seats = t.without(j.Ref)
	t.Stood = slices.DeleteFunc(slices.Clone(t.Stood), func(s Seat) bool { return s.Ref == j.Ref })
	t.Turn = max(t.Turn, m.Hand.Turn) // no act of before is taken for one of this conversation
	j = j.Received(job.Who{Chat: t.chat, Person: t.chat, Name: t.name})
	j.Hands = m.Hand.Hands
	t.Job = &j
	if t.Ref == "" && !t.started() {
		t.Ref = j.Ref
	}
	t.Own = append(slices.DeleteFunc(slices.Clone(t.Own), func(ref string) bool { return ref == j.Ref }), j.Ref)
	_, unused := j.Chairs()
	for _, s := range unused {
		t.mails = append(t.mails, Reply{Link: &Link{Token: s.Token, Owner: t.chat, Ref: j.Ref, Role: s.Role}})
	}
	t.say(phrase.Of("hand.yours").Saying("ref", j.Ref).WithInt("count", len(j.Openings)), phrase.Of("hand.open").Saying("ref", j.Ref))
}

// isThere makes a note of the job once the other chat has it, and says so to whoever may
// write to this one about it.
func (t *turn) isThere(j job.Job) {
	if _, ok := j.Whole(); !ok {
		return // its windows go, so all are needed
	}
	h := *j.Handing
	note := j.Note()
	t.Job = &note
	t.leadKept(h.Kept, h.To, j.Ref)
	chats, unused := j.Chairs()
	for _, chat := range chats {
		if chat != h.To {
			moved := Reply{Text: phrase.Of("hand.chair").Saying("ref", j.Ref)}
			t.post(Mail{To: chat, Ref: j.Ref, Hand: &talk.Hand{To: h.To}, Show: &moved})
		}
	}
	for _, former := range j.Former {
		if former != h.To {
			t.post(Mail{To: former, Ref: j.Ref, Hand: &talk.Hand{To: h.To}})
		}
	}
	var tokens []string
	for _, s := range unused {
		tokens = append(tokens, s.Token)
	}
	if tokens != nil {
		t.mails = append(t.mails, Reply{Unlist: tokens})
	}
	t.say(phrase.Of("hand.gone").Saying("ref", j.Ref).Sub1("when", t.view().When(h.At)))
}

// ownerIs takes notice, of who had a job, of who has it now.
func (t *turn) ownerIs(m *Mail, here *job.Job) {
	if here != nil && here.Handing != nil && here.Handing.There && here.Handing.To == m.From {
		note := here.Note()
		note.Handing.To = m.Hand.To
		t.Job = &note
	}
	t.Seats, t.Stood = slices.Clone(t.Seats), slices.Clone(t.Stood)
	known := false
	for _, list := range [][]Seat{t.Seats, t.Stood} {
		for i := range list {
			if s := &list[i]; s.Ref == m.Ref && s.Owner == m.From {
				s.Owner, s.Lost = m.Hand.To, 0
				known = true
			}
		}
	}
	if known && m.Show != nil {
		t.say(m.Show.Text)
	}
}

// written is a letter as of who wrote it: one that was led on counts only when it comes
// of a chat that the job names as one that had it.
func (t *turn) written(m *Mail) *Mail {
	if m == nil || m.For == 0 {
		return m
	}
	here := t.Job != nil && t.Job.Ref == m.Ref
	if !here {
		t.post(Mail{To: m.For, Ref: m.Ref, Left: true, Show: &Reply{Text: phrase.Of("job.gone").Saying("ref", m.Ref)}})
		return nil
	}
	if m.From != t.chat && !slices.Contains(t.Job.Former, m.From) {
		return nil
	}
	own := *m
	own.From, own.For = m.For, 0
	return &own
}

// leadOn sends a letter about a job that is elsewhere after it, or keeps it as long as
// the job is on its way.
func (t *turn) leadOn(m *Mail) {
	h := *t.Job.Handing
	switch {
	case h.There && h.To == 0:
		if m.Ask == nil || m.Ask.Do != "leave" {
			t.post(Mail{To: m.From, Ref: m.Ref, Left: true, Show: &Reply{Text: phrase.Of("job.gone").Saying("ref", m.Ref)}})
		}
	case h.There:
		t.lead(*m, m.From, h.To)
	case m.Ask != nil && m.Ask.Do == "take":
		t.post(Mail{To: m.From, Ref: m.Ref, Show: &Reply{Text: phrase.Of("job.refused").Sub1("reason", phrase.Of("job.refused.share_taken"))}})
	default:
		raw, err := json.Marshal(m)
		if err != nil {
			return // it came as JSON
		}
		h.Kept = append(slices.Clip(h.Kept), job.KeptLetter{From: m.From, Mail: string(raw)})
		j := *t.Job
		j.Handing = &h
		t.Job = &j
	}
}

func (t *turn) lead(m Mail, from, to int64) {
	m.For, m.To = from, to
	t.post(m)
}

// leadKept sends the letters on that came while a job was on its way.
func (t *turn) leadKept(kept []job.KeptLetter, to int64, ref string) {
	for _, k := range kept {
		var m Mail
		if json.Unmarshal([]byte(k.Mail), &m) == nil && m.Ref == ref {
			t.lead(m, k.From, to)
		}
	}
}

// letGo leaves a job that this chat does not write any more.
func (t *turn) letGo(ref string) {
	t.Own = slices.DeleteFunc(slices.Clone(t.Own), func(own string) bool { return own == ref })
	if t.Was != nil && t.Was.Ref == ref {
		t.Was = nil
	}
	if t.Ref == ref {
		t.Ref = ""
		if t.inJob() {
			t.begin()
		}
	}
}

// handedOn says of a job that was named, or was open, that it is elsewhere or on its way.
// Nothing is done with it.
func (t *turn) handedOn(in Input) bool {
	if t.Job == nil || t.Job.Handing == nil {
		return false
	}
	j := *t.Job
	h := j.Handing
	t.letGo(j.Ref)
	t.quiet = true
	switch {
	case h.There && h.To == 0:
		t.say(phrase.Of("job.gone").Saying("ref", j.Ref))
	case h.There:
		t.say(phrase.Of("hand.gone").Saying("ref", j.Ref).Sub1("when", t.view().When(h.At)))
	case in.Kind == Pressed && in.Text == talk.JobPress+":"+j.Ref+":keepjob" && !h.Asked:
		asked := *h
		asked.Asked = true
		j.Handing = &asked
		t.Job = &j
		t.post(Mail{To: h.To, Ref: j.Ref, Hand: &talk.Hand{Asked: true, Hands: j.Hands}})
		t.say(phrase.Of("hand.keeping").Saying("ref", j.Ref))
	case h.Asked:
		t.say(phrase.Of("hand.keeping").Saying("ref", j.Ref))
	default:
		t.say(phrase.Of("hand.going").Saying("ref", j.Ref).Sub1("when", t.view().When(h.At)))
		t.buttons = [][]Button{{t.view().Button("hand.keep", "", "keepjob")}}
	}
	t.replies = append(t.replies, t.message())
	return true
}
