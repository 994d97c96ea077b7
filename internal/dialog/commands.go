package dialog

import (
	"slices"
	"strings"

	"sillbot/internal/phrase"
)

// Commands are the commands of the bot's menu, in the order they are shown.
var Commands = []string{"new", "back", "skip", "change", "summary", "card", "why", "help", "cancel", "undo", "units", "language", "zone", "crew", "toe", "job", "mydata", "forget"}

// jobCommands are those that need a job; they are typed, and said where they
// are of use.
var jobCommands = []string{
	"edit", "copy", "name", "alike", "colour", "hardware", "cards", "delete", "restore", "label", "address", "share", "check", "withdraw", "send", "sheet", "invite", "revoke", "step",
	"handover", "answer", "figure", "measure", "sign", "glance", "confirm", "query", "price", "due",
}

// takingMore are the other commands that something may follow.
var takingMore = []string{"change", "units", "language", "zone", "crew", "toe", "help", "job", "forget"}

func isCommand(code string) bool {
	return code == "start" || slices.Contains(Commands, code) || slices.Contains(jobCommands, code)
}

// command says whether the text is a command, by its slash or by its words.
func (t *turn) command(text string) (name, rest string, ok bool) {
	if after, slash := strings.CutPrefix(text, "/"); slash {
		name, rest, _ = strings.Cut(after, " ")
		name, _, _ = strings.Cut(name, "@")
		if isCommand(name) {
			return name, strings.TrimSpace(rest), true
		}
		if code, more, known := words().Match(t.lang(), "command", name); known && more == "" {
			return code, strings.TrimSpace(rest), true
		}
		return "unknown", "", true
	}
	code, rest, known := words().Match(t.lang(), "command", text)
	takesMore := slices.Contains(takingMore, code) || slices.Contains(jobCommands, code)
	if known && code != "skip" && (rest == "" || takesMore) {
		return code, strings.TrimSpace(rest), true
	}
	if rest, ok := t.stepWord(text); ok {
		return "step", rest, true
	}
	if text != "" && t.atChair() && !t.takes(text) {
		if _, sizes := t.parseSizeLine(text); !sizes {
			return "start", "", true // a fitter's questions are no help at a chair
		}
	}
	return "", "", false
}

// surveying are the commands after which the open question is shown even to
// somebody who has only a chair in somebody's job.
var surveying = []string{"new", "undo", "back", "skip", "change"}

// notMeanwhile are the commands that would put other answers in the place of
// a second measure's.
var notMeanwhile = []string{"new", "undo", "edit", "copy", "delete", "restore", "forget"}

// obey carries a command out. None of them loses the place.
func (t *turn) obey(name, rest string, fresh bool) {
	if t.Second != nil && slices.Contains(notMeanwhile, name) {
		t.say(phrase.Of("job.measure.first").Saying("name", t.Second.Name))
		return
	}
	if t.Second != nil && !t.hasMeasured() {
		switch name { // what is at hand holds no answer of the lead's
		case "back":
			t.say(phrase.Of("back.nothing"))
			return
		case "cancel":
			t.leaveSecond()
			return
		}
	}
	t.quiet = t.quiet || t.atChair() && !slices.Contains(surveying, name)
	switch name {
	case "start":
		if t.atChair() {
			t.greetChair()
			return
		}
		t.start(fresh)
	case "new":
		t.renew()
	case "back":
		t.back()
	case "skip":
		t.skipOpen()
	case "cancel":
		t.cancel()
	case "undo":
		if len(t.Undo) == 0 && t.Job != nil && t.Job.JustDeleted() {
			t.obeyJob("restore", "")
			return
		}
		t.undo()
	case "help":
		t.help(rest)
	case "change":
		t.change(rest)
	case "summary":
		t.summary()
	case "card":
		t.card()
	case "why":
		t.why()
	case "language":
		t.language(rest)
	case "units":
		t.units(rest)
	case "zone":
		t.setZone(rest)
	case "crew":
		t.crewCommand(rest)
	case "toe":
		t.toe(rest)
	case "job":
		t.jobCommand(rest)
	case "mydata":
		t.mydata()
	case "forget":
		t.forget(rest)
	case "invite":
		t.inviteAgain(rest)
	case "glance":
		t.glance()
	case "figure":
		t.figure(rest)
	case "measure":
		t.measureTyped(rest)
	case "sign":
		t.signTyped(rest)
	case "confirm", "query", "price", "due":
		t.deskCommand(name, rest)
	default:
		if !slices.Contains(jobCommands, name) {
			t.say(phrase.Of("command.unknown"))
			return
		}
		if t.ownJob() {
			t.obeyJob(name, rest)
		}
	}
}

// obeyJob carries out a command on the open job.
func (t *turn) obeyJob(name, rest string) {
	t.quiet = t.done()
	switch name {
	case "edit":
		t.edit(rest)
	case "copy":
		t.copyOpening(rest)
	case "name":
		t.rename(rest)
	case "alike":
		t.alike(rest)
	case "colour", "hardware":
		t.describe(name, rest)
	case "cards":
		t.cards()
	case "delete":
		t.deleteOpening(rest)
	case "restore":
		t.took(t.Job.Undo(t.who(), t.now))
	case "label":
		t.took(t.Job.SetLabel(t.who(), t.now, rest))
	case "address":
		t.took(t.Job.SetAddress(t.who(), t.now, rest, t.Job.ShareAddress))
	case "share":
		t.share(rest)
	case "check":
		t.askCheck(rest)
	case "withdraw":
		t.withdraw(rest)
	case "send":
		t.send()
	case "sheet":
		t.sheet()
	case "revoke":
		t.revoke(rest)
	case "step":
		t.advance(rest)
	case "handover":
		t.took(t.Job.HandOver(t.who(), t.now))
	case "answer":
		t.answerQuery(rest)
	}
}

func (t *turn) start(fresh bool) {
	if fresh {
		return
	}
	t.say(phrase.Of("intro"))
	if len(t.Answers) > len(t.Kept) {
		t.say(phrase.Of("resume").WithInt("count", len(t.Answers)))
	}
}

// renew begins the next window. The one before can be brought back.
func (t *turn) renew() {
	if len(t.Answers) > len(t.Kept) {
		t.remember()
	}
	kept := t.Job != nil && t.Editing != 0
	t.begin()
	t.wasDone = false
	if kept {
		t.say(phrase.Of("new.injob"))
	} else {
		t.say(phrase.Of("new"))
	}
	a := t.answers()
	if a.given("nation", "date") {
		t.say(phrase.Of("new.kept").Word("nation", "button.nation."+a["nation"]).Sub1("date", storedDate(a["date"])))
	}
}

func (t *turn) cancel() {
	if len(t.Answers) <= len(t.Kept) && t.Doubt == nil {
		t.say(phrase.Of("cancel.nothing"))
		return
	}
	if t.Second != nil {
		t.endSecond()
		t.say(phrase.Of("job.measure.left"))
		return
	}
	t.remember()
	t.begin()
	t.wasDone = false
	t.say(phrase.Of("cancel.done"))
}

// undo brings back the answers as they were before the last cancel, new or
// change.
func (t *turn) undo() {
	if len(t.Undo) == 0 {
		t.say(phrase.Of("undo.nothing"))
		return
	}
	before := t.answers()
	t.restore()
	t.wasDone = false
	t.say(phrase.Of("undo.done").WithInt("count", len(t.Answers)))
	for _, ans := range t.Answers {
		if old, ok := before[ans.Key]; ok && old != ans.Value {
			q := find(ans.Key)
			t.say(phrase.Of("echo").Sub1("name", q.named()).Sub1("value", q.stored(ans.Value)))
		}
	}
}

// restore puts the survey back that was remembered.
func (t *turn) restore() {
	t.Answers, t.Undo = t.Undo, nil
	t.Doubt, t.Asking, t.Change, t.Fails = nil, "", "", 0
	t.Editing, t.Set, t.byKey = 0, slices.Clone(t.Crew), nil
	if t.UndoRef == t.Ref && t.Job != nil {
		if o, ok := t.Job.Find(t.UndoOf); ok {
			t.Editing, t.Set = o.ID, settingsOf(o.Record.Plan.Settings)
		}
	}
	t.UndoOf, t.UndoRef = 0, ""
}

// back drops the last answer, or the doubt over it.
func (t *turn) back() {
	t.Fails = 0
	if t.Change != "" && t.Doubt == nil {
		t.restore()
		t.say(phrase.Of("back.closed"))
		if t.wasDone = t.done(); t.wasDone {
			t.buttons = t.doneButtons()
		}
		return
	}
	d := t.Doubt
	t.Doubt = nil
	if d != nil && d.Why == "unit" {
		t.drop(d.Key)
		t.say(phrase.Of("back.done").Sub1("name", find(d.Key).named()))
		return
	}
	if len(t.Answers) == 0 {
		t.say(phrase.Of("back.nothing"))
		return
	}
	last := t.Answers[len(t.Answers)-1]
	t.drop(last.Key)
	if isReading(last.Key) {
		t.FigureKept = false
	}
	t.say(phrase.Of("back.done").Sub1("name", find(last.Key).named()))
}

func (t *turn) skipOpen() {
	q := t.next(t.answers())
	switch {
	case t.Doubt != nil:
		t.say(phrase.Of("doubt.unread"))
	case q == nil:
		t.say(phrase.Of("done.hint"))
	case !q.skip:
		t.say(phrase.Of("skip.needed").Sub1("name", q.named()))
	default:
		t.Fails = 0
		t.skip(q)
	}
}

// help explains the open question, or a job.
func (t *turn) help(rest string) {
	if code, _, ok := words().Match(t.lang(), "command", rest); ok && code == "job" {
		t.say(phrase.Of("help.job"), phrase.Of("help.job.lead"), phrase.Of("help.job.desk"))
		return
	}
	q := t.next(t.answers())
	if len(t.Seats) > 0 && len(t.Answers) <= len(t.Kept) && t.Second == nil {
		t.say(phrase.Of("help.job.lead"), phrase.Of("help.job.desk"), phrase.Of("help.commands"))
		t.quiet = true
		return
	}
	switch {
	case t.Doubt != nil:
		t.say(phrase.Of("help.doubt"))
	case q != nil:
		t.say(q.help(), phrase.Of("help.commands"))
	default:
		t.say(phrase.Of("help.done"), phrase.Of("help.commands"))
		t.buttons = t.doneButtons()
	}
}

// targets are the names that change takes beside those of the questions.
var targets = map[string][]string{
	"widths":    widthKeys[:],
	"heights":   heightKeys[:],
	"inner":     {"inner.width", "inner.height"},
	"diagonals": {"diagonal.rising", "diagonal.falling"},
	"mullions":  {"mullion.1", "mullion.2", "mullion.3"},
	"lights":    lightKeys(),
}

func lightKeys() []string {
	var keys []string
	for n := 1; n <= mostLights; n++ {
		keys = append(keys, numbered("light", n))
	}
	return keys
}

// change opens the answer that the person names in words, or else by the key
// of its question. A new answer may follow.
func (t *turn) change(name string) {
	name = strings.TrimPrefix(strings.TrimSpace(name), "the ")
	code, rest, ok := words().Match(t.lang(), "name", name)
	if !ok {
		code = name
	}
	t.changeKey(code, rest)
}

// changeKey opens an answer again and drops what hung on it, saying what.
func (t *turn) changeKey(code, rest string) {
	keys := targets[code]
	if keys == nil {
		keys = []string{code}
	}
	if find(keys[0]) == nil || !t.mayOpen(keys[0]) {
		t.say(phrase.Of("change.which"))
		t.buttons = t.changeButtons()
		return
	}
	t.remember()
	t.Doubt, t.Fails, t.Asking, t.FigureKept = nil, 0, "", false
	t.Change = keys[0]
	var dependent []string
	for _, key := range keys {
		dependent = append(dependent, find(key).drops...)
	}
	gone := t.drop(keys...)
	lost := t.drop(dependent...)
	t.wasDone = false
	if q := find(keys[0]); q.onRequest || q.asked != nil && !q.asked(t.answers()) {
		t.Asking = q.key
	}
	t.sayLost(lost)
	t.sayLater(keys, gone)
	if rest != "" {
		t.takeAll(rest, false)
	}
}

// mayOpen says whether a question makes sense here at all. Numbered ones need
// their layout, and a second measure is of readings alone.
func (t *turn) mayOpen(key string) bool {
	a := t.answers()
	if t.Second != nil {
		return isReading(key)
	}
	name, n := family(key)
	if key == "release" && !a.given("restrictor") {
		return false
	}
	return n == 0 || name == "mullion" && n < a.columns() || name == "light" && n <= len(a.layout().Lights)
}

// sayLater says when what was named is not the question that comes next.
func (t *turn) sayLater(keys, gone []string) {
	if slices.Contains(keys, t.open()) {
		return
	}
	key := "change.later"
	if len(gone) == 0 {
		key = "change.notyet"
	}
	t.say(phrase.Of(key).Sub1("name", find(keys[0]).named()))
}

func (t *turn) sayLost(lost []string) {
	if len(lost) == 0 {
		return
	}
	var names []phrase.Text
	for _, key := range lost {
		names = append(names, find(key).named())
	}
	t.say(phrase.Of("change.dropped").WithRow("names", names...))
}

// changeButtons offer the answers there are.
func (t *turn) changeButtons() [][]Button {
	a := t.answers()
	var rows [][]Button
	var row []Button
	add := func(label, target string) {
		row = append(row, t.button("change."+label, "do", "change="+target))
		if len(row) == 2 {
			rows, row = append(rows, row), nil
		}
	}
	for _, group := range []string{"widths", "heights", "diagonals", "mullions", "lights"} {
		if _, ok := a[targets[group][0]]; ok {
			add(group, group)
		}
	}
	for _, key := range []string{"finish", "sill", "material", "layout", "transom", "over", "room", "storey", "floor", "outside", "glass", "vents", "nation", "date", "restrictor", "area", "tight"} {
		if _, ok := a[key]; ok {
			add(key, key)
		}
	}
	if len(row) > 0 {
		rows = append(rows, row)
	}
	return rows
}

// language changes the language that the bot speaks in this chat.
func (t *turn) language(rest string) {
	if tag, ok := words().Known(rest); ok && rest != "" {
		t.Lang = tag
		t.say(phrase.Of("language.now"))
		return
	}
	if code, _, ok := words().Match(t.lang(), "language", rest); ok {
		t.Lang = code
		t.say(phrase.Of("language.now"))
		return
	}
	var names []phrase.Text
	for _, tag := range words().Languages() {
		names = append(names, phrase.Of("language.name."+tag))
	}
	t.say(phrase.Of("language.which").WithRow("names", names...))
}

// units says how a bare number is read. Answers are always in millimetres.
func (t *turn) units(rest string) {
	code, _, ok := words().Match(t.lang(), "unit", rest)
	if !ok {
		t.say(phrase.Of("units.which"))
		return
	}
	t.Unit = code
	if code == "mm" {
		t.Unit = ""
	}
	t.say(phrase.Of("units.now").Word("unit", "unit."+code))
}
