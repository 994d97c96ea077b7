package dialog

import (
	"slices"
	"strconv"
	"strings"

	"sillbot/internal/day"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// howOnDay says how the work at a window is done where it stands: how 2.
func howOnDay(t *turn, text string) bool {
	if t.Job == nil || t.Job.Ref != t.Ref || t.Second != nil {
		return false
	}
	id, rest, ok := openingNumber(text)
	if !ok || rest != "" || !t.Job.Has(id) {
		return false
	}
	o, _ := t.Job.Find(id)
	if !o.OnDay() {
		return false
	}
	w := day.Of(o)
	parts := day.OfWork(w)
	if len(parts) == 0 {
		return false
	}
	t.say(phrase.Of("day.at").Saying("name", o.Name))
	for _, p := range parts {
		t.say(p.Told(w)...)
	}
	t.buttons, t.quiet = t.view().StepButtons(id), true
	return true
}

// patchWindow is the window of a patch: 2 of 1 gone is of window 1, and 2 gone and
// 1200 x 150, 22 deep name none.
func patchWindow(t *turn, a *Ask, text string) (string, *phrase.Text) {
	number, after, ok := leadingNumber(text)
	after = strings.TrimSpace(after)
	if _, more, of := words().Match(t.lang(), "dayof", after); ok && of {
		id, rest, ok := openingNumber(more)
		if !ok || !t.Job.Has(id) {
			return text, sorry(phrase.Of("job.nosuch").WithInt("n", id))
		}
		a.Opening = id
		return strconv.Itoa(number) + " " + rest, nil
	}
	_, rest, gone := words().Match(t.lang(), "daygone", after)
	_, _, by := words().Match(t.lang(), "dayfill", after)
	if gone && rest == "" || by || strings.HasPrefix(after, "×") {
		_, trouble := theWindow(t, a, "")
		return text, trouble
	}
	return theWindow(t, a, text)
}

// sealWindow is the window of what is sealed: can 3 degrees names none.
func sealWindow(t *turn, a *Ask, text string) (string, *phrase.Text) {
	figure := strings.TrimLeft(text, "-−0123456789.")
	if _, rest, ok := words().Match(t.lang(), "daydegree", strings.TrimLeft(figure, " °")); ok && rest == "" && figure != text {
		_, trouble := theWindow(t, a, "")
		return text, trouble
	}
	return theWindows(t, a, text)
}

// patch adds places to make good at a window, takes one off, or says what they take.
func patch(t *turn, a Ask) {
	number, after, ok := leadingNumber(a.Words)
	if _, rest, gone := words().Match(t.lang(), "daygone", strings.TrimSpace(after)); ok && gone && rest == "" {
		t.patchGone(a.Opening, number)
		return
	}
	if o, _ := t.Job.Find(a.Opening); !several(a) && o.OnDay() {
		t.ofHouse(o)
	}
	dayPart("patch")(t, a)
}

// patchGone takes a place off.
func (t *turn) patchGone(id, number int) {
	o, _ := t.Job.Find(id)
	e, ok := day.Of(o).Gone(number)
	if !ok {
		t.say(phrase.Of("patch.nosuch").WithInt("n", number).Saying("name", o.Name))
		return
	}
	j, err := t.Job.OnDay(t.who(), t.now, id, e)
	if !t.took(j, nil, err) {
		return
	}
	t.Day = &dayTask{Ref: t.Job.Ref, Window: id, Part: "patch"}
	t.say(phrase.Of("patch.gone").WithInt("n", number).Saying("name", o.Name))
	if p, w, ok := t.onDay(); ok && p.Next(w) == nil {
		t.endPart(p, w)
		return
	}
	t.Day.Part, t.quiet = "", true
}

// toeOnDay takes what is typed after toe as how a sash of the window stands whose day is
// on: drags at the top right 3. Its diagonals alone are worked out by themselves.
func (t *turn) toeOnDay(text string) bool {
	if !t.ownsDay() || t.Job.Ref != t.Ref || t.Second != nil {
		return false
	}
	id := t.Day.Window
	if n, rest, ok := openingNumber(text); ok && t.Job.Has(n) {
		if o, _ := t.Job.Find(n); o.OnDay() {
			id, text = n, rest
		}
	}
	o, found := t.Job.Find(id)
	p := day.Find("sash")
	if !found || !o.OnDay() || text != "" && len(t.ear().Hear(p, day.Of(o).Fresh(p), text).Said) == 0 {
		return false
	}
	if text == "" && !slices.Contains([]job.State{job.Fitted, job.Glazed, job.Sealed}, o.State) {
		return false
	}
	t.beginPart(id, "sash", text)
	return true
}
