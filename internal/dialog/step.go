package dialog

import (
	"regexp"
	"strings"
	"time"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/sheet"
	"sillbot/internal/talk"
)

// away is the silence after which the bot says where the survey stands.
const away = 12 * time.Hour

// apart takes what is no turn of the conversation; nil: it is one.
func apart(s State, in Input) func(State, Input) (State, []Reply) {
	switch {
	case in.Kind == Due:
		return due
	case in.Kind == Undelivered || in.Kind == Added || in.Kind == Returned && (s.Missed == nil || in.Elsewhere):
		return undelivered
	}
	return nil
}

// Step takes one input and gives the new state and the replies. It never fails:
// what it can't use it answers with a sentence that helps, and no earlier answer
// is lost. The same state and input always give the same result.
func Step(s State, in Input) (State, []Reply) {
	if in.Group && in.ByPerson() {
		return stepInGroup(s, in)
	}
	return step(s, in)
}

// stepInGroup is Step for what a person did in a group, where each has a conversation of
// their own and everybody sees all that is said: so each reply names who it is for, and
// nobody answers another's question.
func stepInGroup(s State, in Input) (State, []Reply) {
	t := &turn{State: s, device: in.Lang}
	if in.Kind == Added {
		return s, []Reply{{Text: phrase.Of("group.added"), Lang: t.lang(), Topic: in.Topic}}
	}
	if in.Kind == Pressed && anothers(in) {
		say := forAnother(in.Asked)
		return s, []Reply{{Text: say, Toast: &say, Lang: t.lang(), Topic: in.Topic, For: addressee(in)}}
	}
	if in.Kind == Typed && in.ReplyTo != 0 && askedAnother(in) {
		if bareFigures(in.Text) {
			return s, []Reply{{Text: phrase.Of("group.theirs"), Lang: t.lang(), Topic: in.Topic, For: addressee(in)}}
		}
		in.ReplyTo, in.Asked = 0, nil
	}
	next, replies := step(s, in)
	next.Topic = in.Topic
	for i := range replies {
		address(&replies[i], in)
	}
	return next, replies
}

func step(s State, in Input) (State, []Reply) {
	if take := apart(s, in); take != nil {
		return take(s, in)
	}
	t := &turn{
		State: s, now: in.Now.In(s.clock()), device: in.Lang,
		chat: in.Chat, user: in.User, group: in.Group, name: in.Name, home: in.Home, page: in.Page, seed: in.Seed, link: in.Link, kind: in.Kind, msg: in.Msg,
		access: in.Access, under: in.Under, replyTo: in.ReplyTo, about: in.Asked, doubtWas: s.Doubt, heldWas: s.Proposed, failsWas: s.Fails, topic: in.Topic, shared: in.GroupJob,
	}
	if in.ByPerson() && t.ofPhone(in) {
		return t.State, t.out()
	}
	t.Turn++
	t.copyDay()
	t.aside, t.Aside = t.Aside, ""
	t.letGroupGo()
	t.upgrade(in)
	if in.ByPerson() && t.handedOn(in) {
		return t.State, t.out()
	}
	switch in.Kind {
	case Mailed:
		return t.deliver(in.Mail)
	case Returned:
		return t.returned()
	case Moved:
		return s, []Reply{{Text: phrase.Of("moved"), Lang: t.lang()}}
	}
	t.putAside()
	t.notePhoto()
	t.greet()
	t.joinGroup(in)
	t.before = t.answers()
	t.wasDone, t.began = t.done(), t.open()
	t.doubted = t.Doubt != nil && (strings.HasPrefix(t.Doubt.Key, "width.") || strings.HasPrefix(t.Doubt.Key, "height."))
	t.noteReturn()
	t.sayMissed()
	t.sayNewRules()
	switch in.Kind {
	case Typed:
		t.typed(in.Text)
	case Pressed:
		t.pressSaid = len(t.lines) + len(t.replies)
		t.press(in)
	case Edited:
		t.edited(in.Text)
	case File:
		t.file(in)
	case Photo, Voice:
		t.photo(in, t.typed)
	default:
		t.other(in)
	}
	t.catchUp()
	t.quiet = t.quiet || t.guest() && t.Second == nil
	return t.finished()
}

// copyDay: it is changed in place, and the step may be made again.
func (t *turn) copyDay() {
	if t.Day != nil {
		d := *t.Day
		t.Day = &d
	}
}

// greet begins the conversation of somebody new.
func (t *turn) greet() {
	if t.fresh = t.Version == 0; !t.fresh {
		return
	}
	t.Version = schema
	t.begin()
	if t.link == nil && !t.guest() {
		t.say(phrase.Of("intro"))
		if t.group {
			t.say(phrase.Of("group.how"))
		}
	}
}

// upgrade lets go of an open job that is no more, and brings a conversation of
// the first schema up to the present one.
func (t *turn) upgrade(in Input) {
	if t.Job == nil && t.Ref != "" {
		if ref, _ := Needs(t.State, in); ref == t.Ref {
			t.Ref, t.Editing = "", 0
		}
	}
	t.confirmKept()
	if !t.Old || t.elsewhere() {
		return
	}
	t.Old = false
	answers := t.Hand.Known()
	t.Hand = opening.Record{}
	var list []opening.Entry
	for f := range opening.Fields {
		switch had := answers.Has(f.Key); {
		case had && answers.Value(f.Key) != t.answers().Value(f.Key):
			list = append(list, opening.Entry{Act: opening.Set, Key: f.Key, Value: answers.Value(f.Key)})
		case !had && !f.Is(opening.ByCommand):
			list = append(list, t.clears(f.Key)...)
		}
	}
	if len(list) > 0 {
		t.write(list...)
	}
}

// deliver takes mail. The open question and the open job stay as they are.
func (t *turn) deliver(m *Mail) (State, []Reply) {
	open := t.Ref
	if t.Version == 0 {
		t.Version = schema
		t.begin()
	}
	if m = t.written(m); m == nil {
		return t.State, t.out()
	}
	t.mailed(m)
	if open != "" || m.Hand == nil {
		t.Ref = open
	}
	if t.Job != nil && t.Job.Handing != nil {
		t.letGo(t.Job.Ref)
	}
	if len(t.lines) > 0 {
		t.replies = append(t.replies, t.message())
	}
	if len(t.replies) == 0 {
		t.Aside = t.aside // nothing came between it and the answer
	}
	for i := range t.replies {
		if t.Job != nil {
			t.replies[i].Topic = t.Job.Topic
		}
		t.replies[i].Of = &Letter{From: m.From, Ref: m.Ref, Order: m.Order}
	}
	return t.State, t.out()
}

// noteReturn says where the survey stands after a long silence.
func (t *turn) noteReturn() {
	before := time.Unix(t.Seen, 0)
	t.Seen = t.now.Unix()
	if t.fresh || t.now.Sub(before) < away || !t.answered() || t.wasDone {
		return
	}
	t.say(phrase.Of("resume").WithInt("count", t.answers().Answered()))
}

// finished is finish with what a platform needs to know of the replies: which message
// they are an answer to, and what they ask.
func (t *turn) finished() (State, []Reply) {
	t.ofMessage()
	t.finish()
	t.inChat()
	return t.State, t.out()
}

// finish puts the order size and the open question, or the summary, under
// what was said.
func (t *turn) finish() {
	t.goOnItems()
	// A size from a reading in doubt would only mislead.
	ends := t.Second == nil && t.done() && !t.wasDone // with the size among the rest
	if t.ordered && t.Doubt == nil && !ends {
		t.sayNewOrder()
	}
	if t.Asking != "cleared" {
		t.Clearing = nil
	}
	t.sayHouse()
	aside := t.asideHigh()
	switch {
	case t.Second != nil && t.done() && !t.wasDone && t.measured:
		t.sendSecond()
	case ends:
		if aside != nil {
			t.buttons = aside
			t.replies = append(t.replies, t.message())
		}
		t.summarise(false)
		return
	}
	silent := len(t.lines) == 0 && len(t.replies) == 0
	t.passOn()
	said, own := len(t.lines), t.buttons != nil
	if !t.quiet && !t.elsewhere() && (!t.Gone || silent) {
		t.ask()
	}
	t.sayAlready()
	t.buttons = append(aside, t.buttons...)
	if asked := len(t.lines) - said; len(t.lines) > 0 {
		burst := t.burst(asked, own)
		t.replies = append(t.replies, t.message())
		t.replies[len(t.replies)-1].Burst = burst
	}
}

// typed takes a text message: a command, a one-line size, or answers.
func (t *turn) typed(text string) {
	text = strings.TrimSpace(text)
	if t.link != nil {
		followLink(t)
		return
	}
	if after, ok := strings.CutPrefix(text, "/start "); ok && tokenForm.MatchString(after) {
		t.say(phrase.Of("job.refused.share_unknown"))
		return
	}
	if t.guestTyped(text) {
		return
	}
	if t.atChair() {
		if c, ok := t.command(text); ok && c.row != nil && c.row.by != nil {
			t.obey(c) // a question to the fitter may hold a word of the trade
			return
		}
	}
	if t.askedFirst(text) || t.placesPhotos(text) || t.answersPlace(text) || t.itemOf(text) {
		return
	}
	// Measure again is an answer to a doubt, and else the lead's command.
	if t.Doubt != nil {
		if _, _, ok := words().Match(t.lang(), "answer", text); ok {
			t.settle(text)
			return
		}
	}
	if t.alike(text) {
		return
	}
	if c, ok := t.command(text); ok {
		t.obey(c)
		return
	}
	t.answer(text)
}

// answer takes what is no command.
func (t *turn) answer(text string) {
	if t.answersMessage(text) {
		return
	}
	if t.Doubt != nil {
		t.settle(text)
		return
	}
	if t.takeDay(text) || t.saysRight(text) {
		return
	}
	if t.aside != "" && t.answersAside(t.aside, text) {
		return
	}
	if t.Proposed != nil && t.settleHeld(text) {
		return
	}
	switch {
	case t.sizeLine(text):
		return
	case text == "":
		t.say(phrase.Of("empty"))
		return
	}
	if t.Same && t.next(t.answers()) == nil && measures(t, text) { // after all
		t.Same = false
	}
	t.takeLines(text)
}

// tokenForm is a share's token as it stands in a link or is typed.
var tokenForm = regexp.MustCompile(`[A-Za-z0-9_-]{22,64}`)

// Token is the share's token in a text, "" when there is none. The engine looks
// up where it leads before Step.
func Token(in Input) string {
	if after, ok := strings.CutPrefix(in.Text, talk.LinkPress+":"); ok && in.Kind == Pressed && tokenForm.FindString(after) == after {
		return after
	}
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
	switch m := in.Mail; {
	case m != nil && m.Ask != nil:
		return m.Ref, m.Ask.Opening
	case m != nil && (m.Got != 0 || m.Lost != "" || m.Hand != nil):
		return m.Ref, 0
	}
	if ref, ok := otherJob(s, in); ok {
		return ref, 0
	}
	if s.Ref == "" && in.ByPerson() {
		return in.GroupJob, 0
	}
	return s.Ref, s.Editing
}

// otherJob is the job that a command or a button names, when it may be the
// chat's own: in a group another person may have begun it.
func otherJob(s State, in Input) (string, bool) {
	switch in.Kind {
	case Pressed:
		if rest, ok := strings.CutPrefix(in.Text, talk.JobPress+":"); ok {
			ref, _, _ := strings.Cut(rest, ":")
			return ref, !s.sits(ref)
		}
	case File:
		ref := sheet.AnswersRef(in.Table)
		return ref, ref != "" && !s.sits(ref)
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
