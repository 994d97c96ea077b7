package dialog

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// tokenForm is a share's token as it stands in a link or is typed.
var tokenForm = regexp.MustCompile(`[A-Za-z0-9_-]{22,64}`)

// Token is the share's token in a text, "" when there is none. The desk of
// turns looks up where it leads before Step.
func Token(in Input) string {
	if in.Kind != Typed || len(in.Text) < 22 || len(in.Text) > 400 {
		return ""
	}
	text := in.Text
	if after, ok := strings.CutPrefix(text, "/start "); ok {
		text = after
	}
	return tokenForm.FindString(text)
}

// Needs is the reference of the job that Step needs in State.Job, "" for none,
// and the window of it that Step will most likely look into, 0 for none. If it
// looks into others, job.Job.Missing says so.
func Needs(s State, in Input) (ref string, window int) {
	if in.Mail != nil && in.Mail.Ask != nil {
		return in.Mail.Ref, in.Mail.Ask.Opening
	}
	if ref, ok := otherJob(s, in); ok {
		return ref, 0
	}
	return s.Ref, s.Editing
}

// post sends a reply to another chat of a job.
func (t *turn) post(m Mail) {
	m.From = t.chat
	t.mails = append(t.mails, Reply{Lang: t.lang(), Mail: &m})
}

// mailed takes what another chat's conversation sent.
func (t *turn) mailed(m *Mail) {
	t.quiet = true
	switch {
	case m == nil:
		return
	case m.Ask != nil:
		t.asked(m)
		return
	}
	if m.Joined != nil && m.Joined.Owner == m.From {
		t.sit(*m.Joined)
	}
	if m.Glance != nil {
		t.noteGlance(m.From, *m.Glance)
	}
	if m.Tape != nil {
		t.holdTape(m.From, m.Ref, *m.Tape)
	}
	if seat, ok := t.seat(m.Ref); m.Left && ok && seat.Owner == m.From {
		t.stand(m.Ref)
	}
	if m.Show != nil {
		shown := *m.Show
		shown.Lang, shown.Open = t.lang(), t.open()
		t.replies = append(t.replies, shown)
		t.noteShown(m)
	}
}

// noteShown tells the owner which figures were shown here with a button to sign
// them. The word goes out in order with what is typed afterwards, so that
// sign typed before new figures came signs none of these.
func (t *turn) noteShown(m *Mail) {
	seat, ok := t.seat(m.Ref)
	if !ok || seat.Owner != m.From || seat.Role != job.Lead {
		return
	}
	shown := map[int]int{}
	for _, row := range m.Show.Buttons {
		for _, b := range row {
			if id, edition, ok := signs(b.Data, m.Ref); ok {
				shown[id] = edition
			}
		}
	}
	if len(shown) == 0 {
		return
	}
	a := Ask{Who: job.Who{Chat: t.chat, Role: seat.Role}, Do: "shown", Shown: shown}
	t.post(Mail{To: seat.Owner, Ref: m.Ref, Ask: &a})
}

// signs is the opening and the edition that the button of a job signs.
func signs(data, ref string) (id, edition int, ok bool) {
	args, ok := strings.CutPrefix(data, talk.JobPress+":"+ref+":sign:")
	first, second, two := strings.Cut(args, ":")
	id, errID := strconv.Atoi(first)
	edition, errEdition := strconv.Atoi(second)
	return id, edition, ok && two && errID == nil && errEdition == nil
}

// takeShown keeps which figures a lead was shown. Nobody hears of it.
func (t *turn) takeShown(a Ask) {
	for id, edition := range a.Shown {
		if j, err := t.Job.Shown(a.Who, id, edition); err == nil {
			t.Job = &j
		}
	}
}

// refuseMail tells who asked why not.
func (t *turn) refuseMail(a Ask, err error) {
	refused := t.view().Refused(err, a.Opening, t.Job.Chair(a.Who.Chat))
	t.post(Mail{To: a.Who.Chat, Ref: a.Ref, Show: &refused})
}

// admit lets somebody with a link take a chair, and shows what waits for it.
func (t *turn) admit(a Ask) {
	j, events, err := useLink(*t.Job, t.now, a)
	if err != nil {
		t.refuseMail(a, err)
		return
	}
	t.Job = &j
	t.followReadings()
	t.post(Mail{To: a.Who.Chat, Ref: j.Ref, Joined: &Seat{Ref: j.Ref, Role: j.Chair(a.Who.Chat), Owner: t.chat}})
	t.show(a)
	t.announce(events)
}

// show answers a chair that asks how the job stands.
func (t *turn) show(a Ask) {
	to := Mail{To: a.Who.Chat, Ref: t.Job.Ref}
	shown, ok := t.view().Show(t.Job.Chair(a.Who.Chat))
	if !ok {
		to.Left, shown = true, Reply{Text: phrase.Of("job.gone").Saying("ref", t.Job.Ref)}
	}
	to.Show = &shown
	t.post(to)
}

// sits says whether the chat has a chair in somebody else's job.
func (s State) sits(ref string) bool {
	return slices.ContainsFunc(s.Seats, func(seat Seat) bool { return seat.Ref == ref && seat.Role != "" })
}

// otherJob is the job that a command or a button names, if it may be one of
// the chat's own: in a group, somebody else may have begun it.
func otherJob(s State, in Input) (string, bool) {
	switch in.Kind {
	case Pressed:
		if rest, ok := strings.CutPrefix(in.Text, talk.JobPress+":"); ok {
			ref, _, _ := strings.Cut(rest, ":")
			return ref, !s.sits(ref)
		}
	case Typed:
		code, rest, ok := words().Match(s.Lang, "command", strings.TrimPrefix(in.Text, "/"))
		if !ok || code != "job" || len(rest) > 40 {
			return "", false
		}
		ref, err := job.ParseReference(rest)
		return ref, err == nil && !s.sits(ref)
	}
	return "", false
}
