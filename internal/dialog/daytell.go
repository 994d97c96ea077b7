package dialog

import (
	"sillbot/internal/day"
	"sillbot/internal/job"
	"sillbot/internal/opening"
)

// tell says what a part tells of the work as its turn comes.
func (t *turn) tell(p *day.Part, w *day.Window) {
	if p.Tells != nil {
		t.say(p.Tells(w)...)
	}
}

// tellInPassing says what the parts between two tell that ask nothing, and whether that
// was anything.
func (t *turn) tellInPassing(w *day.Window, after, until *day.Part) bool {
	told := false
	for _, p := range day.InPassing(w, after, until) {
		lines := p.Told(w)
		t.say(lines...)
		told = told || len(lines) > 0
	}
	return told
}

// ofHouse takes over to a window what one answer says of the whole house, from the
// window where it was given: one of the few that were worked at first.
func (t *turn) ofHouse(o job.Opening) {
	var entries []opening.Entry
	w := day.Of(o)
	for _, key := range day.Houses {
		if w.Read(key) != "" {
			continue
		}
		for _, id := range t.worked() {
			other, _ := t.Job.Find(id)
			if value := day.Of(other).Read(key); value != "" {
				entries = append(entries, opening.Entry{Act: opening.Set, Key: key, Value: value, How: opening.Assumed})
				break
			}
		}
	}
	if len(entries) == 0 {
		return
	}
	if j, err := t.Job.OnDay(t.who(), t.now, o.ID, entries...); err == nil {
		t.Job = &j
	}
}

// worked are the windows that are asked what holds for the house: the first few whose day
// may have begun.
func (t *turn) worked() []int {
	var ids []int
	for _, o := range t.Job.Openings {
		if o.OnDay() && len(ids) < 5 {
			ids = append(ids, o.ID)
		}
	}
	return ids
}

// withHouse is a window whose frame is being set with what is known of the whole house.
func (t *turn) withHouse(w *day.Window) *day.Window {
	if w.State != job.Out {
		return w
	}
	t.ofHouse(w.Opening)
	o, _ := t.Job.Find(w.ID)
	return day.Of(o)
}
