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

// anywayOf takes nothing, 2 3 anyway, 1-3 anyway, or all anyway.
func anywayOf(t *turn, a *Ask, text string) (rest string, trouble *phrase.Text) {
	if text == "" {
		return "", nil
	}
	n, rest := someNumbers(t, text, reads{there: t.Job.Has})
	code, after, ok := words().Match(t.lang(), "send", rest)
	switch {
	case !n.all && n.ids == nil, !ok, code != anyway, after != "":
		return text, unfitting
	case n.all:
		a.Words = allAnyway
		return "", nil
	}
	a.Words, a.Openings = anyway, n.ids
	return "", t.noSuch(n.ids)
}

// sendUnfit sends the order, and takes on what stands against the windows that are
// named: on a button what it showed, and nothing else. Of several those that only
// points stand against are taken on; why the others stay is said.
func sendUnfit(o op) outcome {
	s, ids := calc.DefaultSettings(), o.Ask.Openings
	if o.Ask.Version != "" && o.Ask.Version != o.OpenVersion(s, ids...) {
		return refused(&job.Refusal{Reason: "points_changed"})
	}
	if o.Words == allAnyway || len(ids) > 1 {
		_, not := o.Ready(s)
		var unfit []int
		for _, n := range not {
			if n.Unfit() && !n.Stopped() && (o.Words == allAnyway || slices.Contains(ids, n.ID)) {
				unfit = append(unfit, n.ID)
			}
		}
		ids = unfit
	}
	return of(o.Send(o.Who, o.at, s, ids...))
}

// sent says what the order left out, what was taken on and who has not signed, and
// invites the desk.
func sent(t *turn, a Ask, events []job.Event) {
	_, not := t.Job.Ready(calc.DefaultSettings())
	t.say(t.view().LeftOut(not)...)
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
	if more := len(names) - mostNamed; more > 0 {
		names = append(names[:mostNamed], phrase.Of("job.sure.more").WithInt("count", more))
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
