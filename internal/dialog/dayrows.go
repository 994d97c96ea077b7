package dialog

import (
	"slices"

	"sillbot/internal/day"
	"sillbot/internal/phrase"
)

// dayPart begins a part of the fitting day at a window, or takes what was typed with it.
// Of several windows one comes after the other, unless what was typed is of all.
func dayPart(name string) func(*turn, Ask) {
	return func(t *turn, a Ask) {
		ids := a.Openings
		if !several(a) {
			ids = []int{a.Opening}
		} else if a.All {
			ids = t.dayWindows()
		}
		for i, id := range ids {
			if a.Words == "" {
				t.beginPart(id, name, "")
				if t.Day != nil {
					t.Day.More = ids[i+1:]
				}
				return
			}
			t.beginPart(id, name, a.Words)
		}
	}
}

// nextOnDay says what is to be done now at a window, and begins it.
func nextOnDay(t *turn, a Ask) {
	if a.Opening == 0 {
		t.sayDue()
		return
	}
	o, _ := t.Job.Find(a.Opening)
	w := day.Of(o)
	if p := day.Due(w, nil); p != nil && o.OnDay() {
		if !p.Begun(w) { // what comes before it was not told of several windows at once
			t.tellInPassing(w, nil, p)
		}
		t.beginPart(o.ID, p.Name, "")
		return
	}
	t.say(phrase.Of("day.next").Saying("name", o.Name).Sub1("state", o.StateText()))
	if to := o.State.Waits(); to != "" && !(o.OnDay() && t.tellInPassing(w, nil, nil)) {
		t.say(phrase.Of("job.step." + string(to)))
	}
	t.buttons, t.quiet = t.view().StepButtons(o.ID), true
}

// mostDue is how many windows are named with what is due at each.
const mostDue = 12

// sayDue says what is due at each window of the job whose day has begun.
func (t *turn) sayDue() {
	t.quiet = t.done()
	ids := t.dayWindows()
	if len(ids) == 0 {
		t.say(phrase.Of("day.none"))
		return
	}
	for i, id := range ids {
		o, _ := t.Job.Find(id)
		if i == mostDue {
			t.say(phrase.Of("day.due.more").WithInt("count", len(ids)-i))
			break
		}
		line := phrase.Of("day.due").WithInt("n", id).Saying("name", o.Name).Sub1("state", o.StateText())
		if p := day.Due(day.Of(o), nil); p != nil {
			line = phrase.Of("day.due.part").WithInt("n", id).Saying("name", o.Name).Sub1("state", o.StateText()).Word("part", "day.part."+p.Name)
		}
		t.say(line)
		t.buttons = append(t.buttons, []Button{t.view().Button("day.next", o.Name, "next", id)})
	}
}

// anyWindow is what theWindow takes, or none of several.
func anyWindow(t *turn, a *Ask, text string) (string, *phrase.Text) {
	if text == "" && len(t.Job.Openings) != 1 && (t.Day == nil || t.Day.Ref != t.Job.Ref) {
		return "", nil
	}
	return theWindow(t, a, text)
}

// theWindow is the number of a window, or the only one of the job, or the one whose day
// is being asked.
func theWindow(t *turn, a *Ask, text string) (string, *phrase.Text) {
	if id, rest, ok := openingNumber(text); ok && t.Job.Has(id) {
		a.Opening = id
		return rest, nil
	}
	switch {
	case t.ownsDay():
		a.Opening = t.Day.Window
	case len(t.Job.Openings) == 1:
		a.Opening = t.Job.Openings[0].ID
	default:
		return window(t, a, text)
	}
	return text, nil
}

// theWindows are the numbers of windows, or what theWindow takes where none stands
// there.
func theWindows(t *turn, a *Ask, text string) (string, *phrase.Text) {
	n, rest := someNumbers(t, text, reads{there: t.Job.Has, sentence: true})
	if n.all || len(n.ids) > 1 && !slices.ContainsFunc(n.ids, func(id int) bool { return !t.Job.Has(id) }) {
		n.set(a)
		return rest, nil
	}
	return theWindow(t, a, text)
}
