package dialog

import (
	"slices"
	"time"

	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// press takes a button, or what was pressed on a page.
func (t *turn) press(in Input) {
	if in.Ask != nil {
		t.pressedOnPage(*in.Ask)
		return
	}
	t.pressed(in.Text)
}

// pressedOnPage takes what was pressed on a page in a browser: an ask with all that it
// holds, of a row that the chair of the page is for. It goes the way of every button.
func (t *turn) pressedOnPage(a Ask) {
	t.quiet = true
	c := findCommand(a.Do)
	seat, ok := t.lastSeat("")
	if c == nil || !c.mail || !ok || !slices.Contains(c.by, seat.Role) {
		t.say(phrase.Of("page.not"))
		return
	}
	if a.Do == "query" && a.Revision == "" { // the page says which one was read
		t.say(phrase.Of("page.wrong.revision"))
		return
	}
	if a.Value != nil && a.Value.GreaterThan(mostPrice) {
		t.say(phrase.Of("job.price.most").With("most", mostPrice))
		return
	}
	if day, err := time.Parse(opening.DateForm, a.Due); err == nil {
		if trouble := t.dayToCome(day); trouble != nil {
			t.say(*trouble)
			return
		}
	}
	a.Ref = seat.Ref
	t.askOwner(a)
}
