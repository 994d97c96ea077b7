package dialog

import (
	"slices"
	"strings"

	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// start greets. A first message is greeted by itself.
func (t *turn) start() {
	if t.atChair() {
		t.greetChair()
		return
	}
	if t.fresh {
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
	if a.Given("nation", "date") {
		t.say(phrase.Of("new.kept").Word("nation", "button.nation."+a.Value("nation")).Sub1("date", tell.StoredDay(a.Value("date"))))
	}
}

func (t *turn) cancel() {
	if t.Second != nil && !t.hasMeasured() { // what is at hand holds no answer of the lead's
		t.leaveSecond()
		return
	}
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
// change, or else the window that was deleted last.
func (t *turn) undo() {
	if len(t.Undo) == 0 && t.Job != nil && t.Job.JustDeleted() {
		t.took(t.Job.Undo(t.who(), t.now))
		return
	}
	if len(t.Undo) == 0 {
		t.say(phrase.Of("undo.nothing"))
		return
	}
	before := t.answers()
	t.restore()
	t.wasDone = false
	t.say(phrase.Of("undo.done").WithInt("count", len(t.Answers)))
	for _, ans := range t.Answers {
		if before.Has(ans.Key) && before.Value(ans.Key) != ans.Value {
			q := find(ans.Key)
			t.say(phrase.Of("echo").Sub1("name", tell.Name(q.Key)).Sub1("value", q.stored(ans.Value)))
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
	if t.Second != nil && !t.hasMeasured() { // what is at hand holds no answer of the lead's
		t.say(phrase.Of("back.nothing"))
		return
	}
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
		t.say(phrase.Of("back.done").Sub1("name", tell.Name(d.Key)))
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
	t.say(phrase.Of("back.done").Sub1("name", tell.Name(last.Key)))
}

func (t *turn) skipOpen() {
	q := t.next(t.answers())
	switch {
	case t.Doubt != nil:
		t.say(phrase.Of("doubt.unread"))
	case q == nil:
		t.say(phrase.Of("done.hint"))
	case !q.skips():
		t.say(phrase.Of("skip.needed").Sub1("name", tell.Name(q.Key)))
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
	keys := opening.Fellows(code)
	if keys == nil || !t.mayOpen(find(keys[0])) {
		t.say(phrase.Of("change.which"))
		t.buttons = t.changeButtons()
		return
	}
	t.remember()
	t.Doubt, t.Fails, t.Asking, t.FigureKept = nil, 0, "", false
	t.Change = keys[0]
	var dependent []string
	for _, key := range keys {
		dependent = append(dependent, find(key).Voids...)
	}
	gone := t.drop(keys...)
	lost := t.drop(dependent...)
	t.wasDone = false
	if q := find(keys[0]); q.is(opening.OnRequest) || q.Asked != nil && !q.Asked(t.answers()) {
		t.Asking = q.Key
	}
	t.sayLost(lost)
	t.sayLater(keys, gone)
	if rest != "" {
		t.takeAll(rest, false)
	}
}

// mayOpen says whether a question makes sense here at all. A second measure is
// of readings alone.
func (t *turn) mayOpen(q *question) bool {
	if t.Second != nil {
		return q.is(opening.Reading)
	}
	return t.answers().MayChange((*opening.Field)(q))
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
	t.say(phrase.Of(key).Sub1("name", tell.Name(keys[0])))
}

func (t *turn) sayLost(lost []string) {
	if len(lost) == 0 {
		return
	}
	var names []phrase.Text
	for _, key := range lost {
		names = append(names, tell.Name(key))
	}
	t.say(phrase.Of("change.dropped").WithRow("names", names...))
}

// changeButtons offer the answers there are, the window's before the house's.
func (t *turn) changeButtons() [][]Button {
	var rows [][]Button
	for i, name := range t.answers().Changeable() {
		b := t.button("change."+name, "do", "change="+name)
		if i%2 == 0 {
			rows = append(rows, nil)
		}
		rows[i/2] = append(rows[i/2], b)
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
func (t *turn) units(code string) {
	t.Unit = code
	if code == "mm" {
		t.Unit = ""
	}
	t.say(phrase.Of("units.now").Word("unit", "unit."+code))
}
