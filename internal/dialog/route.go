package dialog

import (
	"slices"
	"strings"

	"sillbot/internal/hear"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
	"sillbot/internal/tell"
)

// typedCommand is a row with what was typed for it.
type typedCommand struct {
	row  *command
	text string // all of it
	rest string // what follows the row's words
}

// command says whether the text is a command, by its slash or by its words. A
// slash before what is no command gives a nil row.
func (t *turn) command(text string) (typedCommand, bool) {
	if after, slash := strings.CutPrefix(text, "/"); slash {
		return slashed(t, after), true
	}
	if c, ok := letFirst(text); ok {
		return c, true
	}
	if c, ok := t.remindWords(text); ok {
		return c, true
	}
	text = t.countFirst(text)
	if code, rest, known := words().Match(t.lang(), "command", text); known && !(code == "next" && rest == "" && t.Job == nil && len(t.Seats) > 0) {
		if c := t.theirWord(findCommand(code)); c != nil && c.meant(rest) && !t.answersInstead(c, text, strings.TrimSpace(rest)) {
			return typedCommand{c, text, strings.TrimSpace(rest)}, true
		}
	}
	if rest, ok := t.stepWord(text); ok {
		return typedCommand{findCommand("step"), text, rest}, true
	}
	if text != "" && t.atChair() && !t.takes(text) {
		if _, sizes := t.parseSizeLine(text); !sizes {
			return typedCommand{findCommand("start"), "", ""}, true // a fitter's questions are no help at a chair
		}
	}
	return typedCommand{}, false
}

// answersInstead says whether what begins with a command's words is rather said of
// the window: the job is in england, measure to where.
func (t *turn) answersInstead(c *command, text, rest string) bool {
	switch {
	case rest == "":
		return false
	case c.name == "job":
		_, err := job.ParseReference(rest)
		return err != nil && !isWord(t, "new", rest) && !hear.Read(text, t.context()).Empty()
	case c.name == "putout", c.name == "let": // put out by 5, let in 20 mm
		_, after, numbered := openingNumber(rest)
		_, _, known := words().Match(t.lang(), "let", after)
		return (!numbered || !known) && (c.name == "let" && !numbered || !hear.Read(text, t.context()).Empty())
	case c.name == "patch": // no other word is like it
		return false
	case c.name == "seal" && strings.HasPrefix(strings.ToLower(text), "can "): // can be drilled
		return t.Day == nil || !strings.ContainsAny(rest[:1], "-−0123456789")
	case c.isDay():
		_, more, numbered := leadingNumber(rest)
		return !numbered && t.Day == nil || c.name == "next" && more != ""
	case c.name == "broken", c.name == "fault": // broken glass in the old one
		_, _, numbered := leadingNumber(rest)
		return !numbered
	case c.name == "edit": // open fire in the room
		_, _, numbered := openingNumber(rest)
		return !numbered && !hear.Read(text, t.context()).Empty()
	case c.name == "units":
		_, _, ok := words().Match(t.lang(), "unit", rest)
		return !ok && !hear.Read(text, t.context()).Empty()
	case c.name == "measure":
		_, leads := t.lastSeat(job.Lead)
		return !leads && !strings.ContainsAny(rest[:1], "0123456789")
	}
	return false
}

// slashed reads a command after its slash: a row's name, or words of one word.
func slashed(t *turn, text string) typedCommand {
	name, rest, _ := strings.Cut(text, " ")
	name, _, _ = strings.Cut(name, "@")
	c := findCommand(name)
	if c == nil || c.untyped {
		code, more, known := words().Match(t.lang(), "command", name)
		if !known || more != "" {
			return typedCommand{}
		}
		c = findCommand(code)
	}
	return typedCommand{c, text, strings.TrimSpace(rest)}
}

// meant says whether the row's words, with that after them, ask for the row. A
// row of the survey without arguments is meant by its words alone: what begins
// with them may be an answer.
func (c *command) meant(rest string) bool {
	if c.slash {
		return false
	}
	return rest == "" || !c.alone && (c.args != nil || c.by != nil)
}

// obey carries out what was typed or, of a row without arguments, pressed.
// None of it loses the place.
func (t *turn) obey(typed typedCommand) {
	c := typed.row
	if c == nil {
		t.say(phrase.Of("command.unknown"))
		return
	}
	if t.barred(c) {
		t.refuseGuest()
		return
	}
	if t.Second != nil && c.clears {
		t.say(phrase.Of("job.measure.first").Saying("name", t.Second.Name))
		return
	}
	t.quiet = t.quiet || t.atChair() && !c.asks
	ref, rest, ok := jobOf(t, c, typed.rest)
	if !ok {
		return
	}
	a := Ask{Do: c.name, Ref: ref}
	for _, take := range c.args {
		var trouble *phrase.Text
		if rest, trouble = take(t, &a, rest); trouble != nil {
			misfit(t, c, *trouble)
			return
		}
	}
	if rest != "" {
		read := strings.TrimSpace(strings.TrimSuffix(typed.text, rest))
		t.say(phrase.Of("command.rest").Saying("read", cut(read)).Saying("rest", cut(rest)))
		return
	}
	if c.takes != "" && several(a) && !a.Sure {
		t.askSure(c, a)
		return
	}
	t.carryOut(findCommand(a.Do), a)
}

// misfit says why an argument was not taken.
func misfit(t *turn, c *command, trouble phrase.Text) {
	if trouble.Key == unfitting.Key {
		trouble = phrase.Of(c.how)
	}
	t.say(trouble)
}

// jobOf says which job a typed command is about: the open one of the chat's
// own, or one with a chair of the row's role, whose reference may come first.
func jobOf(t *turn, c *command, text string) (ref, rest string, ok bool) {
	switch {
	case c.by == nil:
		return "", text, true
	case c.own():
		if !t.ownJob() {
			return "", "", false
		}
		return t.Job.Ref, text, true
	case slices.Contains(c.by, job.Fitter) && t.Job != nil:
		if _, leads := t.lastSeat(job.Lead); !leads {
			return t.Job.Ref, text, true
		}
		if first, after, _ := strings.Cut(text, " "); strings.EqualFold(first, t.Job.Ref) {
			return t.Job.Ref, after, true
		}
	}
	seat, rest, ok := t.seatFor(c.by[len(c.by)-1], text)
	return seat.Ref, rest, ok
}

// pressedJob takes a button of a job, in the owner's chat or in that of
// somebody with a chair.
func (t *turn) pressedJob(data string) {
	parts := strings.Split(data, ":")
	if len(data) > talk.MostData || len(parts) < 3 {
		t.say(phrase.Of("press.unknown"))
		return
	}
	c := findCommand(parts[2])
	if c == nil || c.press == nil {
		t.say(phrase.Of("press.unknown"))
		return
	}
	if t.barred(c) {
		t.refuseGuest()
		return
	}
	if t.Second != nil && c.clears {
		t.say(phrase.Of("job.measure.first").Saying("name", t.Second.Name))
		return
	}
	a, args := Ask{Do: c.name, Ref: parts[1]}, parts[3:]
	for i, set := range c.press {
		if i < len(args) {
			set(&a, args[i])
		}
	}
	t.carryOut(c, a)
}

// carryOut is the one way on of what was typed and what was pressed: to the
// row's own handler, to the chat's own job, or by mail to the job's owner.
func (t *turn) carryOut(c *command, a Ask) {
	own := t.Job != nil && t.Job.Ref == a.Ref
	switch {
	case c.own() && !own:
		t.say(phrase.Of("job.unknown").Saying("ref", a.Ref))
	case c.run != nil:
		c.run(t, a)
	case !own:
		t.askOwner(a)
	default:
		t.do(c, a)
	}
}

// do carries out an operation on the chat's own job.
func (t *turn) do(c *command, a Ask) {
	a.Who = t.who()
	if c.name == "send" && t.Proposed != nil && t.inJob() {
		t.say(phrase.Of("job.send.asked")) // what is at hand may become another window by the answer
		return
	}
	if c.first != nil && c.first(t, a) {
		return
	}
	out := c.perform(op{*t.Job, a, t.now})
	if out.err != nil {
		refused := t.view().Refused(out.err, a, job.Recipient{Chat: a.Who.Chat, Role: a.Who.Role})
		t.say(refused.Text)
		t.buttons = refused.Buttons
		if job.WaitsForItems(out.err) {
			t.buttons = append(t.buttons, t.itemButtons()...)
		}
		return
	}
	if t.took(out.job, out.events, nil) && c.then != nil && (len(out.events) > 0 || out.left == nil) {
		c.then(t, a, out.events)
	}
	t.sayLeft(out.left)
	silent := len(t.lines) == 0 && len(t.replies) == 0
	if len(out.events) == 0 && (silent || c.already != "" && out.left == nil) {
		t.say(c.nothingNew())
	}
}

// asked carries out what another chat asks of a job that this chat owns. What
// is refused goes back to who asked, and nobody else hears of it.
func (t *turn) asked(m *Mail) {
	if t.Job == nil || t.Job.Ref != m.Ref {
		if m.Ask.Do == "leave" {
			return // who asked keeps nothing that could be told them
		}
		gone := phrase.Of("job.gone").Saying("ref", m.Ref)
		if m.Ask.Do == "read" && m.Ask.Readings != nil {
			gone = tell.WithReadings(gone, *m.Ask.Readings)
		}
		t.post(Mail{To: m.From, Ref: m.Ref, Left: true, Show: &Reply{Text: gone}})
		return
	}
	t.reachedAgain(m)
	a := *m.Ask
	a.Ref, a.Who.Chat, a.Who.Turn = m.Ref, m.From, t.Turn
	c := findCommand(a.Do)
	switch {
	case c == nil || !c.mail:
		refuseMail(t, a, errUnknownAsk)
		return
	case c.mailed != nil:
		c.mailed(t, a)
		return
	}
	out := c.perform(op{*t.Job, a, t.now})
	if out.err != nil {
		refuseMail(t, a, out.err)
		return
	}
	t.Job = &out.job
	t.announce(out.events)
	if len(out.events) > 0 && a.Do == "leave" {
		t.sayForgotten(a.Who.Role)
	}
	lines := tell.Left(out.left)
	switch {
	case lines != nil:
		t.post(Mail{To: m.From, Ref: m.Ref, Show: &Reply{Text: phrase.Of("message").WithLines("lines", lines...)}})
	case len(out.events) == 0 && a.Do != "leave":
		t.post(Mail{To: m.From, Ref: m.Ref, Show: &Reply{Text: c.nothingNew()}})
	}
}

// theirWord is the row that a chat means by its word for confirming: a desk
// confirms itself, the others say what they were told.
func (t *turn) theirWord(c *command) *command {
	_, desk := t.lastSeat(job.Desk)
	_, leads := t.lastSeat(job.Lead)
	switch {
	case c == nil:
	case c.name == "told" && desk && t.Job == nil && !leads:
		return findCommand("confirm")
	case c.name == "confirm" && !desk && t.Job != nil:
		return findCommand("told")
	}
	return c
}

// remindWords is a row by words that say what is to be switched: no delivery reminders.
func (t *turn) remindWords(text string) (typedCommand, bool) {
	what, rest, ok := words().Match(t.lang(), "remindoff", text)
	do := talk.RemindOff
	if !ok {
		what, rest, ok = words().Match(t.lang(), "remindon", text)
		do = talk.RemindOn
	}
	return typedCommand{findCommand("reminders"), text, string(do) + " " + what}, ok && rest == ""
}

// letFirst is a row about a person whose number comes first.
func letFirst(text string) (typedCommand, bool) {
	m := numberFirst.FindStringSubmatch(text)
	if m == nil {
		return typedCommand{}, false
	}
	return typedCommand{findCommand("let"), text, m[1] + " " + m[2]}, true
}

// barred says whether a row is none for a guest.
func (t *turn) barred(c *command) bool {
	if !t.guest() {
		return false
	}
	if c.guest == always || c.guest == measuring && t.Second != nil {
		return false
	}
	for _, role := range c.by {
		if _, ok := t.lastSeat(role); ok && role != job.Fitter {
			return false
		}
	}
	return true
}

// guestTyped takes what a guest typed, if it is no answer of a second measure: a command of
// theirs, or else they are told what they can do.
func (t *turn) guestTyped(text string) (done bool) {
	if !t.guest() {
		return false
	}
	c, is := t.command(text)
	switch {
	case t.Second != nil && (!is || c.row == nil || !t.barred(c.row)):
		return false
	case !is:
		t.refuseGuest()
	default:
		t.obey(c)
	}
	return true
}
