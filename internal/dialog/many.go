package dialog

import (
	"cmp"
	"slices"
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// Commands that take several windows: 2 4, 1-5, 1, 3-5, all.

// windows are the numbers of windows of the open job, at least one that it has.
func windows(t *turn, a *Ask, text string) (string, *phrase.Text) {
	n, rest := someNumbers(t, text, reads{there: t.Job.Has})
	if !n.all && n.ids == nil {
		return text, sorry(phrase.Of("job.number"))
	}
	if len(n.ids) == 1 && !t.Job.Has(n.ids[0]) {
		return text, sorry(phrase.Of("job.nosuch").WithInt("n", n.ids[0]))
	}
	n.set(a)
	return rest, nil
}

// windowsOrAll are the numbers of windows; none means all.
func windowsOrAll(t *turn, a *Ask, text string) (string, *phrase.Text) {
	if text == "" {
		return "", nil
	}
	return windows(t, a, text)
}

// lines are the numbers of windows of a job whose record may be elsewhere.
func lines(t *turn, a *Ask, text string) (string, *phrase.Text) {
	n, rest := someNumbers(t, text, reads{there: elsewhere})
	if !n.all && n.ids == nil {
		return text, unfitting
	}
	n.set(a)
	return rest, nil
}

// sure is a yes after a command that takes much away.
func sure(t *turn, a *Ask, text string) (string, *phrase.Text) {
	if code, rest, ok := words().Match(t.lang(), "answer", text); ok && code == "yes" {
		a.Sure = true
		return rest, nil
	}
	return text, nil
}

// dataWindows are the numbers of windows on a button, which was pressed after
// they were read.
var dataWindows field = func(a *Ask, text string) {
	a.Sure = true
	if text == "all" {
		a.All = true
		return
	}
	var n numbers
	for part := range strings.SplitSeq(text, ",") {
		first, last, _ := strings.Cut(part, "-")
		for id := atoi(first); id > 0 && id <= min(atoi(cmp.Or(last, first)), 9999); id++ {
			n.ids = append(n.ids, id)
		}
	}
	n.set(a)
}

// toEach does something to the window, or to each of several.
func toEach(o op, do operation) outcome {
	ids := o.Ask.Openings
	if o.Ask.All {
		ids = nil
		for _, w := range o.Job.Openings {
			ids = append(ids, w.ID)
		}
	}
	if ids == nil {
		return do(o)
	}
	var out outcome
	out.job, out.events, out.left = o.Each(ids, func(j job.Job, id int) (job.Job, []job.Event, error) {
		one := o
		one.Job, one.Opening, one.Ask.Openings, one.Ask.All = j, id, nil, false
		did := do(one)
		return did.job, did.events, did.err
	})
	return out
}

// several says whether an ask is of more than one window.
func several(a Ask) bool { return a.All || len(a.Openings) > 1 }

// mostNamed is how many windows are named one by one.
const mostNamed = 6

// namesOf are the names of windows, the first of many.
func (t *turn) namesOf(ids []int) []phrase.Text {
	var names []phrase.Text
	for _, o := range t.Job.Openings {
		if !slices.Contains(ids, o.ID) {
			continue
		}
		if len(names) == mostNamed {
			return append(names, phrase.Of("job.sure.more").WithInt("count", len(ids)-mostNamed))
		}
		names = append(names, phrase.Of("job.words").Saying("words", o.Name))
	}
	return names
}

// sayLeft says what was not done to which windows.
func (t *turn) sayLeft(left []job.Left) { t.say(tell.Left(left)...) }
