package dialog

import (
	"slices"
	"strconv"
	"strings"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// What stands in Ask.Words of send: that of which windows what stands against them is
// taken on.
const (
	anyway    = "anyway" // of those in Ask.Openings
	allAnyway = "all"
)

// anywayWindows are the numbers of the windows on a button of send.
var anywayWindows field = func(a *Ask, text string) {
	a.Words = anyway
	for _, n := range strings.Fields(text) {
		a.Openings = append(a.Openings, atoi(n))
	}
}

// anywayOf takes nothing, 2 3 anyway, or all anyway.
func anywayOf(t *turn, a *Ask, text string) (rest string, trouble *phrase.Text) {
	if text == "" {
		return "", nil
	}
	for {
		code, after, ok := words().Match(t.lang(), "send", text)
		switch {
		case ok && code == anyway && after == "" && (a.Words == allAnyway || len(a.Openings) > 0):
			if a.Words == "" {
				a.Words = anyway
			}
			return "", nil
		case ok && code == allAnyway && a.Words == "" && len(a.Openings) == 0:
			a.Words, text = allAnyway, after
			continue
		case a.Words != "" || text == "" || text[0] < '0' || text[0] > '9':
			return text, unfitting
		}
		var one Ask
		if text, trouble = window(t, &one, text); trouble != nil {
			return text, trouble
		}
		if !slices.Contains(a.Openings, one.Opening) {
			a.Openings = append(a.Openings, one.Opening)
		}
		text = strings.TrimLeft(strings.TrimPrefix(text, "and "), ", ")
	}
}

// sendUnfit sends the order, and takes on what stands against the windows that are
// named: on a button what it showed, and nothing else.
func sendUnfit(o op) outcome {
	s, ids := calc.DefaultSettings(), o.Ask.Openings
	if o.Words == allAnyway {
		_, not := o.Ready(s)
		for _, n := range not {
			if n.Unfit() && !n.Stopped() {
				ids = append(ids, n.ID)
			}
		}
	}
	if o.Ask.Version != "" && o.Ask.Version != o.OpenVersion(s, ids...) {
		return refused(&job.Refusal{Reason: "points_changed"})
	}
	return of(o.Send(o.Who, o.at, s, ids...))
}

// sent says what the order left out, what was taken on and who has not signed, and
// invites the desk.
func sent(t *turn, a Ask, events []job.Event) {
	_, not := t.Job.Ready(calc.DefaultSettings())
	unfit := 0
	for _, n := range not {
		if n.Unfit() {
			unfit++
		}
	}
	if left := len(not) - unfit; left > 0 {
		t.say(phrase.Of("job.left_out").WithInt("count", left))
	}
	if a.Words != "" {
		t.sayTakenOn(events)
	}
	lines, buttons := t.view().Unfit(not)
	t.say(lines...)
	t.buttons = append(t.buttons, buttons...)
	sayUnsigned(t)
	t.say(t.view().OutOfReach(job.Desk)...)
	invite(t, job.Desk)
	if !slices.ContainsFunc(t.Job.Shares, func(s job.Share) bool { return s.Role == job.Desk && s.UsedBy != 0 && !s.Revoked }) {
		t.say(phrase.Of("told.possible"))
	}
	t.sayUnsaid("items.before.make")
}

// sayTakenOn says that the order names who took on what stood against its windows.
func (t *turn) sayTakenOn(events []job.Event) {
	var names []phrase.Text
	for _, l := range t.Job.Lines() {
		if len(l.Against) > 0 && slices.ContainsFunc(events, func(e job.Event) bool { return slices.Contains(e.Openings, l.Opening) }) {
			names = append(names, phrase.Of("job.words").Saying("words", strconv.Itoa(l.Opening)+" "+l.Name))
		}
	}
	if len(names) > 0 {
		t.say(phrase.Of("job.taken_on").WithRow("names", names...))
	}
}

// sayUnsigned names the windows that were ordered without the lead's signature.
func sayUnsigned(t *turn) {
	unsigned := t.Job.Unsigned()
	if len(unsigned) == 0 {
		return
	}
	var names []phrase.Text
	for _, o := range unsigned {
		names = append(names, phrase.Of("job.words").Saying("words", o.Name))
	}
	t.say(phrase.Of("job.unsigned").WithRow("names", names...).WithInt("n", unsigned[0].ID))
}

// against says what stands against the windows that are named, or against any that
// something stands against.
func against(t *turn, a Ask) {
	lines := t.view().Against(a.Openings...)
	if len(lines) == 0 {
		lines = []phrase.Text{phrase.Of("job.against.all")}
	}
	t.say(lines...)
}
