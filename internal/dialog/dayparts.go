package dialog

import (
	"cmp"
	"strings"

	"sillbot/internal/day"
	"sillbot/internal/hear"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/reading"
	"sillbot/internal/tell"
)

// dayWindows are the windows of the job whose day may have begun.
func (t *turn) dayWindows() []int {
	var ids []int
	for _, o := range t.Job.Openings {
		if o.OnDay() {
			ids = append(ids, o.ID)
		}
	}
	return ids
}

// beginPart begins a part at a window, or takes what was typed of it. One that was read
// already is said again.
func (t *turn) beginPart(id int, name, text string) {
	o, _ := t.Job.Find(id)
	if name == "lastlook" && o.OnDay() && o.State != job.Sealed && o.State != job.Handed {
		t.say(phrase.Of("day.lastlook.early").Saying("name", o.Name).Sub1("state", o.StateText()))
		return
	}
	if !o.OnDay() {
		t.say(phrase.Of("day.early").Saying("name", o.Name).Sub1("state", o.StateText()))
		return
	}
	done := ""
	if t.Day != nil && t.Day.Window == id {
		done = t.Day.Done
	}
	t.Day = &dayTask{Ref: t.Job.Ref, Window: id, Part: name, Done: done}
	p, w, _ := t.onDay()
	_, rest, again := words().Match(t.lang(), "dayagain", text)
	switch {
	case again && rest == "":
		j, err := t.Job.OnDay(t.who(), t.now, id, p.Again(w)...)
		if t.took(j, nil, err) {
			t.say(phrase.Of("day.begin."+name).Saying("name", o.Name))
		}
	case text != "":
		t.Day.Told = p.Loop && p.Begun(w) && p.Next(w) == nil
		t.say(phrase.Of("day.at").Saying("name", o.Name))
		t.takeDay(text)
	case name == "takeout" && w.KeptIn() != nil: // in place of how it comes out
		p = w.KeptIn()
		t.Day.Part = p.Name
		t.say(phrase.Of("day.at").Saying("name", o.Name))
		t.endPart(p, w)
	case p.Next(w) == nil:
		t.say(phrase.Of("day.at").Saying("name", o.Name))
		if p.Tells != nil {
			t.say(p.Told(w)...)
			t.Day.Part, t.buttons, t.quiet = "", t.view().StepButtons(id), true
			return
		}
		t.endPart(p, w)
	default:
		t.say(phrase.Of("day.begin."+name).Saying("name", o.Name))
		t.tell(p, w)
	}
}

// takeDay takes a message as readings of the part that is asked; false when it says
// nothing of it and rather answers the survey.
func (t *turn) takeDay(text string) bool {
	p, w, ok := t.onDay()
	if !ok {
		return false
	}
	if _, rest, later := words().Match(t.lang(), "daylater", text); later && rest == "" {
		t.leaveDay(w)
		return true
	}
	next := p.Loop && t.Day.Told // read again without a word
	if next {
		w = w.Fresh(p)
	}
	h := t.ear().Hear(p, w, text)
	if len(h.Said) == 0 && h.Trouble == nil {
		if later, said := t.ear().Later(p, w, text); later != nil { // what is asked is passed over
			p, h.Said, next, t.Day.Part = later, said, false, later.Name
		}
	}
	if len(h.Said) == 0 {
		if !t.done() && t.takes(text) {
			return false
		}
		t.Day.Fails++
		switch {
		case h.Trouble == nil && p.Next(w) == nil && !p.Loop: // nothing is asked: how it stands
			if h.Left != "" {
				t.say(phrase.Of("day.unread.done").Saying("given", cut(h.Left)))
			}
			t.endPart(p, w)
		case h.Trouble != nil:
			t.say(*h.Trouble)
		default:
			t.say(phrase.Of("day.unread").Saying("given", cut(h.Left)))
		}
		return true
	}
	t.storeDay(p, h.Said, next)
	return true
}

func (t *turn) ear() day.Ear {
	return day.Ear{Words: words(), Lang: t.lang(), Length: func(text string, usual reading.Range) (reading.Length, string, error) {
		return hear.Figure(text, usual, t.Unit)
	}}
}

// storeDay keeps what was read and says it back; with the last of it, what comes of it.
// next says that it is of a further round.
func (t *turn) storeDay(p *day.Part, said []day.Value, next bool) {
	entries := p.Entries(said)
	if next {
		entries = append([]opening.Entry{p.NextRound()}, entries...)
	}
	j, err := t.Job.OnDay(t.who(), t.now, t.Day.Window, entries...)
	if err != nil {
		t.say(tell.Refusal(err))
		return
	}
	t.Job, t.Day.Fails, t.Day.Told, t.Day.Last, t.Day.Also = &j, 0, false, 0, nil
	var row []phrase.Text
	for _, v := range said {
		row = append(row, phrase.Of("before.value").Sub1("name", p.Title(v.Field)).Sub1("value", p.Said(v.Field, v.Value)))
	}
	t.say(phrase.Of("understood").WithRow("values", row...))
	if p, w, ok := t.onDay(); ok && (p.Next(w) == nil || day.AtOnce(said)) {
		t.endPart(p, w)
	}
}

// endPart says what comes of a part, and begins what is due next: the same at the next
// window that was named, else the next part here.
func (t *turn) endPart(p *day.Part, w *day.Window) {
	out := p.Ends(p, w)
	t.say(out.Lines...)
	more := t.Day.More
	t.Day.Told, t.Day.Done = out.Again || out.Wrong, p.Name
	if t.Day.More = nil; !out.Again && !out.Wrong { // else it waits for what is put right
		t.Day.Part = ""
	}
	w = t.withHouse(w)
	next := day.Due(w, p)
	told := !out.Again && !out.Wrong && len(more) == 0 && !p.ByWord && t.tellInPassing(w, p, next)
	switch {
	case out.Again || out.Wrong:
		t.buttons, t.quiet = t.againButton(p, w), true
	case len(more) > 0:
		t.beginPart(more[0], p.Name, "")
		if t.Day != nil {
			t.Day.More = more[1:]
		}
	case next != nil:
		t.beginPart(w.ID, next.Name, "")
	default:
		if !told && !p.ByWord && len(day.OfWork(w)) == 0 { // else it was told before
			t.say(phrase.Of("job.step." + string(w.State.Waits()))) // what to mind in the step to come
		}
		t.buttons, t.quiet = t.view().StepButtons(w.ID), true
	}
}

// againButton has the part read again.
func (t *turn) againButton(p *day.Part, w *day.Window) [][]Button {
	return [][]Button{{t.view().Button("day.again."+p.Name, w.Name, p.Name, w.ID, "again")}}
}

// pressDay takes a button of a part.
func (t *turn) pressDay(code string) {
	p, w, ok := t.onDay()
	switch {
	case !ok:
		t.stale()
		return
	case code == "later":
		t.leaveDay(w)
		return
	}
	key, value, _ := strings.Cut(code, "=")
	f := p.Next(w)
	if f == nil || p.Key(f) != key {
		t.stale()
		return
	}
	t.storeDay(p, []day.Value{{Field: f, Value: value}}, false)
}

// leaveDay leaves a part half read: it waits in the job.
func (t *turn) leaveDay(w *day.Window) {
	t.say(phrase.Of("day.left").Saying("name", w.Name).WithInt("n", w.ID))
	t.Day.Part, t.Day.More, t.quiet = "", nil, true
	t.buttons = t.view().StepButtons(w.ID)
}

// backOnDay takes the last reading of the part back.
func (t *turn) backOnDay(p *day.Part, w *day.Window) {
	last := p.Last(w)
	if last == nil {
		t.leaveDay(w)
		return
	}
	j, err := t.Job.OnDay(t.who(), t.now, w.ID, opening.Entry{Act: opening.Clear, Key: p.Key(last)})
	if err != nil {
		t.say(tell.Refusal(err))
		return
	}
	t.Job = &j
	t.say(phrase.Of("back.done").Sub1("name", p.Title(last)))
}

// undoDay takes back what was said last of the day at the window that it is asked of, or
// was last; false when that was nothing.
func (t *turn) undoDay() bool {
	if t.Day == nil || t.Job == nil || t.Job.Ref != t.Day.Ref || t.Doubt != nil {
		return false
	}
	id := cmp.Or(t.Day.Last, t.Day.Window)
	was, _ := t.Job.Find(id)
	j, _, err := t.Job.TakeBack(t.who(), t.now, id)
	if err != nil {
		return false
	}
	t.Job = &j
	also := t.Day.Also
	t.Day.Last, t.Day.Also = 0, nil
	for _, other := range also {
		if j, _, err := t.Job.TakeBack(t.who(), t.now, other); err == nil {
			o, _ := j.Find(other)
			t.Job = &j
			t.say(phrase.Of("day.undone").Saying("name", o.Name))
		}
	}
	if n := was.Said.LastPhotos(t.user); n > 0 {
		t.say(phrase.Of("photo.undone").WithInt("count", n))
		return true
	}
	o, _ := t.Job.Find(id)
	t.say(phrase.Of("day.undone").Saying("name", o.Name))
	if p := day.Due(day.Of(o), nil); p != nil && id == t.Day.Window {
		t.beginPart(o.ID, p.Name, "")
	}
	return true
}

// standsStopped says why the old window can't come out: somebody looked, and nobody is
// sure what carries the wall.
func (t *turn) standsStopped(o job.Opening, do job.Action) bool {
	if do != job.DoTakeOut || o.State != job.Delivered {
		return false
	}
	w := day.Of(o)
	p := day.Find("structure")
	if !p.Begun(w) || p.Next(w) != nil {
		return false
	}
	out := p.Ends(p, w)
	if !out.Wrong {
		return false
	}
	t.say(phrase.Of("day.at").Saying("name", o.Name))
	t.say(out.Lines...)
	t.buttons, t.quiet = t.againButton(p, w), true
	return true
}

// sayUntrue says that a frame is fitted that did not stand true when it was last read.
func (t *turn) sayUntrue(a Ask) {
	if a.Step != job.DoFit {
		return
	}
	o, _ := t.Job.Find(a.Opening)
	w := day.Of(o)
	for _, name := range []string{"setting", "bow"} {
		if p := day.Find(name); p.Begun(w) && p.Ends(p, w).Again {
			t.say(phrase.Of("day.untrue").WithInt("n", o.ID))
			return
		}
	}
	if !day.Find("setting").Begun(w) {
		t.say(phrase.Of("day.notread").WithInt("n", o.ID))
	}
}

// stepsOn begins what is due after a step of the fitting day.
func (t *turn) stepsOn(id int) bool {
	o, ok := t.Job.Find(id)
	if !ok || !o.OnDay() || o.State == job.Confirmed {
		return false
	}
	w := t.withHouse(day.Of(o))
	p := day.Due(w, nil)
	told := t.tellInPassing(w, nil, p)
	switch {
	case p != nil:
		if o.State == job.Out && !told {
			t.say(phrase.Of("job.step." + string(o.State.Waits())))
		}
		t.beginPart(id, p.Name, "")
	case told:
		t.buttons = t.view().StepButtons(id)
	}
	return told || p != nil
}
