package dialog

import (
	"slices"
	"strings"
	"time"

	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/locales"
)

// away is how long a silence makes the bot say where the survey stands.
const away = 12 * time.Hour

// turn is the working state of one Step: the state as it becomes and what is
// said.
type turn struct {
	State
	now      time.Time
	device   string // language of the person's device
	lines    []phrase.Text
	replies  []Reply
	buttons  [][]Button // instead of the open question's
	quiet    bool       // the open question is not shown again
	fresh    bool       // the chat's first message
	ordered  bool       // something that sizes the order was answered
	wasDone  bool       // the survey was complete before this turn
	measured bool       // a reading was answered in this turn

	chat, user int64
	group      bool
	name, home string // what the person calls themself; where links begin
	seed       []byte
	link       *Link
	mails      []Reply // what goes after the messages of this turn: mail, links, papers

	before *opening.Known // when the turn began
	byKey  *opening.Known // of the answers in from
	from   *Answer
}

// answers is what is known. It is sorted out again only when the list has
// changed, which always means a new list.
func (t *turn) answers() *opening.Known {
	if len(t.Answers) == 0 {
		return &opening.Known{}
	}
	if t.from != &t.Answers[0] || t.byKey == nil {
		t.byKey, t.from = t.State.answers(), &t.Answers[0]
	}
	return t.byKey
}

// Step takes one input into account. It never fails: whatever it can't use
// it answers with a sentence that helps, and nothing given before is lost.
// The same state and input always give the same result.
func Step(s State, in Input) (State, []Reply) {
	t := &turn{
		State: s, now: in.Now, device: in.Lang,
		chat: in.Chat, user: in.User, group: in.Group, name: in.Name, home: in.Home, seed: in.Seed, link: in.Link,
	}
	if in.Kind == Mailed {
		return t.deliver(in.Mail)
	}
	t.fresh = t.Version == 0
	if t.fresh {
		t.Version = schema
		t.begin()
		if t.link == nil {
			t.say(phrase.Of("intro"))
		}
	}
	t.before = t.answers()
	t.wasDone = t.done()
	t.noteReturn()
	switch in.Kind {
	case Typed:
		t.typed(in.Text)
	case Pressed:
		t.pressed(in.Text)
	case Edited:
		t.say(phrase.Of("kind.edited"))
	case Photo, File, Voice, Sticker:
		t.say(phrase.Of("kind." + string(in.Kind)))
	default:
		t.say(phrase.Of("kind.unknown"))
	}
	return t.finish()
}

// deliver takes mail. It touches nothing that the person of this chat is in
// the middle of.
func (t *turn) deliver(m *Mail) (State, []Reply) {
	open := t.Ref
	if t.Version == 0 {
		t.Version = schema
		t.begin()
	}
	t.mailed(m)
	t.Ref = open
	if len(t.lines) > 0 {
		t.replies = append(t.replies, t.message())
	}
	return t.State, append(t.replies, t.mails...)
}

// lang is the language to speak: the chosen one, else the device's.
func (t *turn) lang() string {
	if t.Lang != "" {
		return t.Lang
	}
	if tag, ok := words().Known(t.device); ok {
		return tag
	}
	return locales.Default
}

func (t *turn) say(lines ...phrase.Text) { t.lines = append(t.lines, lines...) }

func (t *turn) done() bool { return t.next(t.answers()) == nil && t.Doubt == nil }

// noteReturn says where the survey stands to somebody who was away for long.
func (t *turn) noteReturn() {
	before := time.Unix(t.Seen, 0)
	t.Seen = t.now.Unix()
	if t.fresh || t.now.Sub(before) < away || len(t.Answers) <= len(t.Kept) || t.wasDone {
		return
	}
	t.say(phrase.Of("resume").WithInt("count", len(t.Answers)))
}

// finish puts the order size and the open question, or the summary, under
// what was said.
func (t *turn) finish() (State, []Reply) {
	// A size from a reading in doubt would only mislead.
	if t.ordered && t.Doubt == nil {
		t.sayNewOrder()
	}
	switch {
	case t.Second != nil && t.done() && !t.wasDone && t.measured:
		t.sendSecond()
	case t.Second == nil && t.done() && !t.wasDone:
		t.summarise(false)
		return t.State, append(t.replies, t.mails...)
	}
	if !t.quiet {
		t.ask()
	}
	if len(t.lines) > 0 {
		t.replies = append(t.replies, t.message())
	}
	return t.State, append(t.replies, t.mails...)
}

// message is the lines said so far as one reply.
func (t *turn) message() Reply {
	r := Reply{Text: phrase.Of("message").WithLines("lines", t.lines...), Lang: t.lang(), Buttons: t.buttons, Open: t.open()}
	t.lines, t.buttons = nil, nil
	return r
}

// open is the key of the open question.
func (t *turn) open() string {
	if t.Doubt != nil {
		return confirmKey
	}
	if q := t.next(t.answers()); q != nil {
		return q.Key
	}
	return ""
}

// typed takes a text message: a command, a one-line size, or answers.
func (t *turn) typed(text string) {
	text = strings.TrimSpace(text)
	if t.link != nil && t.link.Role == Crew {
		t.say(phrase.Of("crew.admitted"))
		return
	}
	if t.link != nil {
		t.join()
		return
	}
	if after, ok := strings.CutPrefix(text, "/start "); ok && tokenForm.MatchString(after) {
		t.say(phrase.Of("job.refused.share_unknown"))
		return
	}
	// Measure again is an answer to a doubt, and else the lead's command.
	if t.Doubt != nil {
		if _, _, ok := words().Match(t.lang(), "answer", text); ok {
			t.settle(text)
			return
		}
	}
	if c, ok := t.command(text); ok {
		t.obey(c)
		return
	}
	if t.Doubt != nil {
		t.settle(text)
		return
	}
	if t.sizeLine(text) {
		return
	}
	if text == "" {
		t.say(phrase.Of("empty"))
		return
	}
	if t.next(t.answers()) == nil {
		t.say(phrase.Of("done.hint"))
		t.buttons = t.doneButtons()
		return
	}
	t.takeAll(text, t.fresh)
}

// takeAll takes the answers in text in order, each for the question that is
// then open, and says what was taken.
func (t *turn) takeAll(text string, fresh bool) {
	taken := 0
	for text != "" && t.Doubt == nil {
		q := t.next(t.answers())
		if q == nil {
			t.say(phrase.Of("rest.done").Saying("rest", cut(text)))
			break
		}
		rest, trouble := t.take(q, text)
		if trouble != nil {
			t.refuse(q, *trouble, text, taken, fresh)
			return
		}
		taken++
		t.Fails = 0
		text = rest
	}
	if t.Doubt != nil {
		t.Doubt.interrupt(text)
	}
}

// refuse says why the answer could not be taken. The first failure says what
// is wrong, the second shows an example and the range, the third offers ways
// out. A first message that answers nothing is taken as a greeting.
func (t *turn) refuse(q *question, trouble phrase.Text, text string, taken int, fresh bool) {
	if fresh && taken == 0 {
		return
	}
	if taken > 0 {
		t.say(phrase.Of("rest.unread").Saying("rest", cut(text)))
	}
	t.Fails++
	t.say(trouble)
	if t.Fails >= 2 {
		t.say(q.example())
	}
	if t.Fails >= 3 {
		t.say(phrase.Of("fail.wayout"))
		t.buttons = append(t.choices(q), []Button{t.button("back", "do", "back"), t.button("cancel", "do", "cancel")})
	}
}

// cut shortens a person's words for repeating them.
func cut(text string) string {
	const most = 40
	text = strings.Join(strings.Fields(text[:min(len(text), 400)]), " ")
	runes := []rune(strings.ToValidUTF8(text, ""))
	if len(runes) <= most {
		return string(runes)
	}
	return string(runes[:most]) + "…"
}

// ask shows the open question and its buttons.
func (t *turn) ask() {
	if t.Doubt != nil {
		t.askDoubt()
		return
	}
	a := t.answers()
	q := t.next(a)
	if q == nil {
		return
	}
	t.say(t.prompt(q, a))
	if t.buttons == nil {
		t.buttons = t.choices(q)
	}
}

// prompt is the question in words. The first reading of a group says how the
// whole group is taken.
func (t *turn) prompt(q *question, a *opening.Known) phrase.Text {
	name, n := q.Name, q.N
	key := "ask." + name
	switch name {
	case "height.left", "height.middle", "height.right":
		if a.Value("sill") != "none" && q.Key == opening.Heights[0] {
			key = "ask.height.left.sill"
		}
	case "nation":
		if a.Has("date") {
			key = "ask.nation.only"
		}
	case "storey":
		if a.Has("outside") {
			key = "ask.storey.only"
		}
	case "light":
		return phrase.Of("ask.light").WithInt("n", n).WithInt("count", len(a.Layout().Lights)).Sub1("place", lightPlace(a, n))
	}
	p := phrase.Of(key)
	if n > 0 {
		p = p.WithInt("n", n)
	}
	return p
}

// lightPlace says where light n is, seen from outside.
func lightPlace(a *opening.Known, n int) phrase.Text {
	columns := a.Columns()
	column := (n-1)%columns + 1
	row := ""
	switch {
	case a.TopRow() && n > columns:
		row = ".upper"
	case a.TopRow():
		row = ".lower"
	}
	switch {
	case columns == 1:
		return phrase.Of("place.only" + row)
	case column == 1:
		return phrase.Of("place.left" + row)
	case column == columns:
		return phrase.Of("place.right" + row)
	}
	return phrase.Of("place.between"+row).WithInt("n", column)
}

// example shows how an answer looks and what range it may have.
func (q *question) example() phrase.Text {
	name := q.Name
	ex := phrase.Of("example." + name)
	if q.Kind == opening.Length {
		return phrase.Of("example.range").Sub1("example", ex).With("least", q.Usual.Least).With("most", q.Usual.Most)
	}
	return ex
}

// help is how to take the reading.
func (q *question) help() phrase.Text {
	name, n := q.Name, q.N
	if n > 0 {
		return phrase.Of("help."+name).WithInt("n", n)
	}
	return phrase.Of("help." + name)
}

// choices are the buttons of a question, with skip where it may be passed
// over.
func (t *turn) choices(q *question) [][]Button {
	var rows [][]Button
	for _, row := range t.answers().Offered((*opening.Field)(q)) {
		var line []Button
		for _, code := range row {
			line = append(line, t.button(q.label(code), q.Key, code))
		}
		rows = append(rows, line)
	}
	if q.skips() {
		rows = append(rows, []Button{t.button(q.label(skipped), q.Key, skipped)})
	}
	return rows
}

// label is the key of the words on a choice's button.
func (q *question) label(code string) string {
	name := q.Name
	if code == skipped {
		if slices.Contains([]string{"mullion", "transom"}, name) {
			return "skip." + name
		}
		return "skip"
	}
	switch {
	case opening.Together(code) != nil:
		return "shortcut." + code
	case q.Kind == opening.Day:
		return "date." + code
	case q.Kind == opening.SillPiece && code != "none":
		return "sill.depth." + code
	case q.Kind == opening.MakeUp:
		return "glass." + code
	case q.Kind == opening.Lights && !isHinge(code):
		return "layout." + code
	}
	return q.Group + "." + code
}
