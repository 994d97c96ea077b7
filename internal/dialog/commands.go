package dialog

import (
	"slices"
	"time"

	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// start greets. A first message is greeted by itself.
func start(t *turn) {
	if t.atChair() {
		greetChair(t)
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

// renew begins the next window. undo brings the one before back.
func renew(t *turn) {
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

func cancel(t *turn) {
	if t.Second != nil && !t.hasMeasured() { // what is at hand holds no answer of the lead's
		leaveSecond(t)
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
func undo(t *turn) {
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

// restore returns to the survey that remember kept.
func (t *turn) restore() {
	t.Answers, t.Undo = t.Undo, nil
	t.Doubt, t.Asking, t.Change, t.Fails = nil, "", "", 0
	t.Editing, t.Set, t.byKey = 0, slices.Clone(t.Crew), nil
	if t.UndoRef == t.Ref && t.Job != nil {
		if o, ok := t.Job.Find(t.UndoOf); ok {
			t.Editing, t.Set = o.ID, settingsOf(o.Record().Plan.Settings)
		}
	}
	t.UndoOf, t.UndoRef = 0, ""
}

// back takes back the last answer, or the question about it.
func back(t *turn) {
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

func skipOpen(t *turn) {
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
func help(t *turn, rest string) {
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

// language changes the language that the bot speaks in this chat.
func language(t *turn, rest string) {
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
func units(t *turn, code string) {
	t.Unit = code
	if code == "mm" {
		t.Unit = ""
	}
	t.say(phrase.Of("units.now").Word("unit", "unit."+code))
}

// setZone changes the zone in which times are said.
func setZone(t *turn, name string) {
	zone, err := time.LoadLocation(name)
	if err != nil || name == "" || name == "Local" {
		t.say(phrase.Of("zone.which"))
		return
	}
	t.Zone = name
	t.say(phrase.Of("zone.now").Saying("zone", name).Saying("time", t.now.In(zone).Format("15:04")))
}
