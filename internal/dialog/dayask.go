package dialog

import (
	"slices"

	"sillbot/internal/day"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// dayKey is the question of the buttons of a part.
const dayKey = "day"

// ownsDay says whether the day of a window of the open job is on.
func (t *turn) ownsDay() bool {
	return t.Day != nil && t.Job != nil && t.Job.Ref == t.Day.Ref && t.Job.Has(t.Day.Window)
}

// onDay is the part that is being asked and its window; ok is false when none is.
func (t *turn) onDay() (p *day.Part, w *day.Window, ok bool) {
	if !t.ownsDay() || t.Second != nil {
		return nil, nil, false
	}
	o, _ := t.Job.Find(t.Day.Window)
	if p = day.Find(t.Day.Part); p == nil || !o.OnDay() {
		return nil, nil, false
	}
	return p, day.Of(o), true
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

// whyDay says by which rule the figures of the part were judged that was done with last;
// false where none was.
func (t *turn) whyDay() bool {
	if !t.ownsDay() {
		return false
	}
	o, _ := t.Job.Find(t.Day.Window)
	p := day.Find(t.Day.Done)
	if p == nil || !o.OnDay() {
		return false
	}
	lines := p.Ends(p, day.Of(o)).Paper
	if len(lines) == 0 {
		return false
	}
	t.say(phrase.Of("day.why").Saying("name", o.Name).Word("part", "day.part."+p.Name))
	t.say(lines...)
	return true
}

// helpDay says what there is to type on the fitting day.
func (t *turn) helpDay(rest string) bool {
	if _, more, ok := words().Match(t.lang(), "dayhelp", rest); !ok || more != "" || t.Job == nil {
		return false
	}
	t.say(phrase.Of("help.day"), phrase.Of("help.day.more"))
	return true
}
