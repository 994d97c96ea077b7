package dialog

import (
	"errors"
	"slices"
	"strings"
	"time"

	"sillbot/internal/day"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
	"sillbot/internal/tell"
)

// start greets. A first message is greeted by itself.
func start(t *turn) {
	if t.guest() || t.atChair() {
		greetChair(t)
		return
	}
	if t.fresh {
		return
	}
	t.say(phrase.Of("intro"))
	if t.started() {
		t.say(phrase.Of("resume").WithInt("count", t.answers().Answered()))
	}
}

// renew begins the next window. undo brings the one before back.
func renew(t *turn) {
	kept := t.inJob()
	t.leave()
	if !kept || t.started() {
		t.begin()
	}
	t.wasDone = false
	if kept {
		t.say(phrase.Of("new.injob"))
	} else {
		t.say(phrase.Of("new"))
	}
	t.sayKept()
}

// sayKept says which nation and day are taken for a new window.
func (t *turn) sayKept() {
	a := t.answers()
	if a.Given("nation", "date") {
		t.say(phrase.Of("new.kept").Word("nation", "button.nation."+a.Value("nation")).Sub1("date", tell.StoredDay(a.Value("date"))))
	}
}

func cancel(t *turn) {
	if _, w, ok := t.onDay(); ok {
		t.leaveDay(w)
		return
	}
	if t.Second != nil && !t.hasMeasured() { // what is at hand holds no answer of the lead's
		leaveSecond(t)
		return
	}
	if !t.started() && t.Doubt == nil {
		t.say(phrase.Of("cancel.nothing"))
		return
	}
	if t.Second != nil {
		t.endSecond()
		t.say(phrase.Of("job.measure.left"))
		return
	}
	t.cancelWindow()
	t.wasDone = false
	t.say(phrase.Of("cancel.done"))
}

// cancelWindow drops what is at hand. In a job a window that was never complete
// is deleted, and one that was loses what was changed since.
func (t *turn) cancelWindow() {
	o, ok := t.window()
	switch {
	case !ok:
		t.leave()
		t.begin()
	case o.Said.LastAct(opening.Reviewed, "") == nil:
		if t.took(t.Job.Delete(t.who(), t.now, o.ID)) {
			t.begin()
			t.Gone = true
		}
	default:
		for o.Changed() {
			if _, err := t.takeBack(); err != nil {
				break
			}
			o, _ = t.window()
		}
		t.Was, t.New, t.Gone = &place{Ref: t.Ref, Window: t.Editing}, true, false
		t.begin()
	}
}

// undo takes the person's own last act back: what was said last of the window
// at hand, else a new window or another one that was turned to, or else the
// deleting of a window.
func undo(t *turn) {
	if keys, done := t.undoPhoto(); done {
		if t.photosBack > 0 || len(keys) > 0 {
			sayTakenBack(t, keys)
		}
		return
	}
	if t.Proposed != nil { // nothing was stored of it
		t.dropProposal()
		return
	}
	if t.leaveClearing() || t.undoPaid() {
		return
	}
	if t.Gone && t.Job != nil && t.Job.JustDeleted() {
		restoreWindow(t)
		return
	}
	if t.New && t.goBack() {
		sayBack(t)
		return
	}
	if t.undoDay() {
		return
	}
	doubted := t.Doubt != nil
	keys, err := t.takeBack()
	switch {
	case errors.Is(err, opening.ErrTold):
		t.say(phrase.Of("undo.told"))
	case err == nil:
		sayTakenBack(t, keys)
		t.sayMoved()
		if doubted {
			t.questionAgain()
		}
	case t.goBack():
		sayBack(t)
	case t.Job != nil && t.Job.JustDeleted():
		restoreWindow(t)
	default:
		t.say(phrase.Of("undo.nothing"))
	}
}

// sayBack says that the window before is at hand again.
func sayBack(t *turn) {
	t.questionAgain()
	done := phrase.Of("undo.done").WithInt("count", t.answers().Answered())
	if o, ok := t.window(); ok {
		done = phrase.Of("undo.back").WithInt("count", t.answers().Answered()).WithInt("n", o.ID).Saying("name", o.Name)
	}
	t.say(done)
	t.wasDone = false
}

// restoreWindow brings the window back that was deleted last, to go on with it where
// no other is at hand.
func restoreWindow(t *turn) {
	back := t.Job.Bin[len(t.Job.Bin)-1].Opening.ID
	if !t.took(t.Job.Restore(t.who(), t.now)) {
		return
	}
	if o, ok := t.window(); ok && o.ID != back { // at hand when the other was deleted
		t.Gone = false
		return
	}
	t.begin()
	t.Editing, t.Hand = back, opening.Record{}
	t.wasDone = t.done()
}

// nameOf is the name of a field for people, a setting of the crew among them.
func nameOf(key string) phrase.Text {
	if setting, ok := strings.CutPrefix(key, opening.CrewPrefix); ok {
		return phrase.Of("setting." + setting)
	}
	return tell.Name(key)
}

// mostEchoed is how many answers that come back are said one by one.
const mostEchoed = 4

// sayTakenBack says which answers are gone and which are there again.
func sayTakenBack(t *turn, keys []string) {
	if t.photosBack > 0 {
		t.say(phrase.Of("photo.undone").WithInt("count", t.photosBack))
	}
	if len(keys) == 0 && t.photosBack > 0 {
		return
	}
	if len(keys) == 0 { // it was that a value is sure
		sayBack(t)
		return
	}
	a := t.taken()
	var gone []phrase.Text
	var back []phrase.Text
	for _, key := range keys {
		name := nameOf(key)
		t.wasDone = t.wasDone && opening.Find(key).Is(opening.ByCommand) // the plan is another now
		if !a.Has(key) {
			gone = append(gone, name)
			continue
		}
		back = append(back, phrase.Of("echo").Sub1("name", name).Sub1("value", find(key).stored(a.Value(key))))
	}
	if len(gone) > 0 {
		t.say(phrase.Of("undo.gone").WithRow("names", gone...))
	}
	if len(back) > mostEchoed {
		t.say(phrase.Of("undo.done").WithInt("count", len(back)))
		return
	}
	t.say(back...)
}

// back takes back the last answer, or the question about it.
func back(t *turn) {
	if t.Second != nil && !t.hasMeasured() { // what is at hand holds no answer of the lead's
		t.say(phrase.Of("back.nothing"))
		return
	}
	if p, w, ok := t.onDay(); ok && t.Doubt == nil && t.Proposed == nil {
		t.backOnDay(p, w)
		return
	}
	t.Fails = 0
	if t.leaveClearing() {
		return
	}
	if last, ok := t.answers().Newest(); ok && t.Items && t.Doubt == nil && find(last).is(opening.Maker) {
		undo(t) // in all windows
		return
	}
	if t.Change != "" && t.Doubt == nil {
		if _, err := t.takeBack(); err != nil {
			t.say(phrase.Of("undo.told"))
			return
		}
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
	last, ok := t.taken().Newest()
	if !ok || t.taken().Entry(last).How == opening.Copied {
		t.say(phrase.Of("back.nothing"))
		return
	}
	if t.drop(last) == nil {
		return
	}
	t.say(phrase.Of("back.done").Sub1("name", tell.Name(last)))
}

func skipOpen(t *turn) {
	if p, w, ok := t.onDay(); ok && t.Doubt == nil && p.Next(w) != nil {
		t.storeDay(p, []day.Value{{Field: p.Next(w), Value: opening.Skipped}}, false)
		return
	}
	q := t.next(t.answers())
	switch {
	case t.leaveClearing():
	case t.Doubt != nil:
		t.leaveDoubt()
	case q == nil:
		t.say(phrase.Of("done.hint"))
	case !q.skips():
		t.say(phrase.Of("skip.needed").Sub1("name", tell.Name(q.Key)))
	default:
		t.Fails = 0
		t.skip(q)
	}
}

// help explains a job, or the question that rest names, or else the open one.
func help(t *turn, rest string) {
	code, _, _ := words().Match(t.lang(), "command", rest)
	switch {
	case t.guest() && t.Second == nil:
		helpGuest(t)
		return
	case slices.Contains(aboutPeople, code):
		t.say(phrase.Of("crew.list.how"))
		return
	case code == "job":
		t.say(phrase.Of("help.job"), phrase.Of("help.job.lead"), phrase.Of("help.job.desk"))
		return
	}
	if helpSetting(t, rest) || t.helpDay(rest) || howOnDay(t, rest) {
		return
	}
	q := t.askedAbout(rest)
	if len(t.Seats) > 0 && !t.started() && t.Second == nil {
		t.say(phrase.Of("help.job.lead"), phrase.Of("help.job.desk"), phrase.Of("help.commands"))
		t.quiet = true
		return
	}
	switch {
	case t.Doubt != nil:
		t.say(phrase.Of("help.doubt"))
	case q != nil:
		t.say(q.help(), phrase.Of("help.commands"))
		t.sketch(q)
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
	if t.group {
		t.post(Mail{To: t.chat, Set: &talk.RemindSet{Do: talk.RemindZone, Zone: name}})
	}
	t.say(phrase.Of("zone.now").Saying("zone", name).Saying("time", t.now.In(zone).Format("15:04")))
}
