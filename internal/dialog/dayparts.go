package dialog

import (
	"slices"
	"strings"

	"sillbot/internal/day"
	"sillbot/internal/hear"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/reading"
	"sillbot/internal/tell"
)

// dayTask is the part of the fitting day that is being asked: of which window.
type dayTask struct {
	Ref    string `json:"j"`
	Window int    `json:"e"`
	Part   string `json:"p"`
	Fails  int    `json:"f,omitempty"`
}

// dayKey is the question of the buttons of a part.
const dayKey = "day"

// onDay is the part that is being asked and its window; ok is false when none is.
func (t *turn) onDay() (p *day.Part, w *day.Window, ok bool) {
	if t.Day == nil || t.Job == nil || t.Job.Ref != t.Day.Ref || t.Second != nil {
		return nil, nil, false
	}
	o, found := t.Job.Find(t.Day.Window)
	if p = day.Find(t.Day.Part); p == nil || !found || !o.OnDay() {
		return nil, nil, false
	}
	return p, day.Of(o), true
}

// dayPart begins a part of the fitting day at a window, or takes what was typed with it.
func dayPart(name string) func(*turn, Ask) {
	return func(t *turn, a Ask) { t.beginPart(a.Opening, name, a.Words) }
}

func (t *turn) beginPart(id int, name, text string) {
	o, _ := t.Job.Find(id)
	if !o.OnDay() {
		t.say(phrase.Of("day.early").Saying("name", o.Name).Sub1("state", o.StateText()))
		return
	}
	t.Day = &dayTask{Ref: t.Job.Ref, Window: id, Part: name}
	t.say(phrase.Of("day.begin."+name).Saying("name", o.Name))
	if text != "" {
		t.takeDay(text)
		return
	}
	p, w, ok := t.onDay()
	if ok && p.Next(w) == nil {
		t.endPart(p, w)
	}
}

// takeDay takes a message as readings of the part that is asked; false when it says
// nothing of it and rather answers the survey.
func (t *turn) takeDay(text string) bool {
	p, w, ok := t.onDay()
	if !ok {
		return false
	}
	h := t.ear().Hear(p, w, text)
	if len(h.Said) == 0 {
		if !t.done() && t.takes(text) {
			return false
		}
		t.Day.Fails++
		switch {
		case h.Trouble != nil:
			t.say(*h.Trouble)
		default:
			t.say(phrase.Of("day.unread").Saying("given", cut(h.Left)))
		}
		return true
	}
	t.storeDay(p, h.Said)
	return true
}

func (t *turn) ear() day.Ear {
	return day.Ear{Words: words(), Lang: t.lang(), Length: func(text string, usual reading.Range) (reading.Length, string, error) {
		return hear.Figure(text, usual, t.Unit)
	}}
}

// storeDay keeps what was read and says it back; with the last of it, what comes of it.
func (t *turn) storeDay(p *day.Part, said []day.Value) {
	j, err := t.Job.OnDay(t.who(), t.now, t.Day.Window, p.Entries(said)...)
	if err != nil {
		t.say(tell.Refusal(err))
		return
	}
	t.Job, t.Day.Fails = &j, 0
	var row []phrase.Text
	for _, v := range said {
		row = append(row, phrase.Of("before.value").Sub1("name", p.Title(v.Field)).Sub1("value", p.Said(v.Field, v.Value)))
	}
	t.say(phrase.Of("understood").WithRow("values", row...))
	if p, w, ok := t.onDay(); ok && p.Next(w) == nil {
		t.endPart(p, w)
	}
}

// endPart says what comes of a part, and what comes next.
func (t *turn) endPart(p *day.Part, w *day.Window) {
	out := p.Ends(p, w)
	t.say(out.Lines...)
	t.Day, t.quiet = nil, true
	t.buttons = t.dayButtons(w, p, out)
}

// dayButtons offer the part again where something is to be put right, else what comes
// next.
func (t *turn) dayButtons(w *day.Window, p *day.Part, out day.Outcome) [][]Button {
	again := []Button{t.jobButton("day.again."+p.Name, w.Name, p.Name, w.ID)}
	if out.Again || out.Wrong {
		return [][]Button{again}
	}
	if next := day.Due(w, p); next != nil {
		return [][]Button{{t.jobButton("day.part."+next.Name, w.Name, next.Name, w.ID)}}
	}
	t.say(phrase.Of("job.step." + string(w.State.Waits()))) // what to mind in the step to come
	return t.view().StepButtons(w.ID)
}

// askDay shows what is asked of the part.
func (t *turn) askDay(p *day.Part, w *day.Window) {
	f := p.Next(w)
	if f == nil {
		return
	}
	t.say(p.Prompt(f))
	if t.buttons != nil {
		return
	}
	var row []Button
	for _, code := range f.Offered() {
		row = append(row, t.button("day."+code, dayKey, p.Key(f)+"="+code))
	}
	t.buttons = [][]Button{row, {t.button("day.skip", dayKey, p.Key(f)+"="+opening.Skipped), t.button("day.later", dayKey, "later")}}
	t.buttons = slices.DeleteFunc(t.buttons, func(row []Button) bool { return len(row) == 0 })
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
	t.storeDay(p, []day.Value{{Field: f, Value: value}})
}

// leaveDay leaves a part half read: it waits in the job.
func (t *turn) leaveDay(w *day.Window) {
	t.say(phrase.Of("day.left").Saying("name", w.Name).WithInt("n", w.ID))
	t.Day, t.quiet = nil, true
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

// undoDay takes back what was said last of the day at the window; false when that was
// nothing.
func (t *turn) undoDay(w *day.Window) bool {
	j, _, err := t.Job.TakeBack(t.who(), t.now, w.ID)
	if err != nil {
		return false
	}
	t.Job = &j
	t.say(phrase.Of("day.undone").Saying("name", w.Name))
	return true
}

// nextOnDay says what is to be done now at a window, and begins it.
func nextOnDay(t *turn, a Ask) {
	o, _ := t.Job.Find(a.Opening)
	w := day.Of(o)
	if p := day.Due(w, nil); p != nil && o.OnDay() {
		t.beginPart(o.ID, p.Name, "")
		return
	}
	t.say(phrase.Of("day.next").Saying("name", o.Name).Sub1("state", o.StateText()))
	if to := o.State.Waits(); to != "" {
		t.say(phrase.Of("job.step." + string(to)))
	}
	t.buttons, t.quiet = t.view().StepButtons(o.ID), true
}

// jobButton is a button on the open job.
func (t *turn) jobButton(label, name, do string, id int) Button {
	return t.view().Button(label, name, do, id)
}

// dayRows are the parts of the fitting day.
func dayRows() []command {
	rows := []command{
		{name: "next", by: fitter, args: []slot{theWindow}, how: "day.which", press: []field{dataWindow}, run: nextOnDay},
	}
	for _, p := range day.All {
		rows = append(rows, command{name: p.Name, by: fitter, args: []slot{theWindow, anything}, how: "day.which", press: []field{dataWindow}, run: dayPart(p.Name)})
	}
	return rows
}

// theWindow is the number of a window, or the only one of the job, or the one whose day
// is being asked.
func theWindow(t *turn, a *Ask, text string) (string, *phrase.Text) {
	if id, rest, ok := openingNumber(text); ok && t.Job.Has(id) {
		a.Opening = id
		return rest, nil
	}
	switch {
	case t.Day != nil && t.Day.Ref == t.Job.Ref && t.Job.Has(t.Day.Window):
		a.Opening = t.Day.Window
	case len(t.Job.Openings) == 1:
		a.Opening = t.Job.Openings[0].ID
	default:
		return window(t, a, text)
	}
	return text, nil
}

// isDay says whether the command is of the fitting day.
func (c *command) isDay() bool { return c.name == "next" || day.Find(c.name) != nil }

// stepsOn begins what is due after a step of the fitting day.
func (t *turn) stepsOn(id int) bool {
	o, ok := t.Job.Find(id)
	if !ok || !o.OnDay() || o.State == job.Confirmed {
		return false
	}
	p := day.Due(day.Of(o), nil)
	if p == nil {
		return false
	}
	t.beginPart(id, p.Name, "")
	return true
}
