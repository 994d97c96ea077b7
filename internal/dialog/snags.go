package dialog

import (
	"slices"
	"strings"
	"unicode/utf8"

	"sillbot/internal/day"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// mostSnag is the longest thing that is said of a snag, in characters.
const mostSnag = 120

// snagNumber is the number of a snag on a button.
var snagNumber field = func(a *Ask, text string) { a.Question = atoi(text) }

// ownWindow is the number of a window, or what theWindow takes where no number stands
// there.
func ownWindow(t *turn, a *Ask, text string) (string, *phrase.Text) {
	if id, _, numbered := openingNumber(text); numbered && !t.Job.Has(id) {
		return text, sorry(phrase.Of("job.nosuch").WithInt("n", id))
	}
	return theWindow(t, a, text)
}

// snagCommand writes down what is not all right at a window, or that a snag is done.
func snagCommand(t *turn, a Ask) {
	o, ok := t.Job.Find(a.Opening)
	if !ok {
		t.say(phrase.Of("job.nosuch").WithInt("n", a.Opening))
		return
	}
	code, rest, _ := words().Match(t.lang(), "snag", a.Words)
	done := code == "done" && strings.Trim(rest, " .!") == ""
	open := day.OpenSnags(day.SnagsOf(o))
	switch {
	case a.Question > 0 && (done || a.Words == ""):
		t.closeSnag(o, a.Question)
	case a.Question > 0:
		t.say(phrase.Of("day.snag.how"))
	case a.Words == "":
		listSnags(t, a)
	case done && len(open) == 1:
		t.closeSnag(o, open[0].Number)
	case done:
		listSnags(t, a)
	case utf8.RuneCountInString(a.Words) > mostSnag:
		t.say(phrase.Of("day.fail.words").WithInt("most", mostSnag))
	case t.keepOf(o.ID, day.NewSnag(strings.Join(strings.Fields(a.Words), " "))):
		o, _ = t.Job.Find(o.ID)
		all := day.SnagsOf(o)
		s := all[len(all)-1]
		t.say(phrase.Of("day.snag.noted").Saying("name", o.Name).Saying("snag", s.Ref(o.ID)).Sub1("what", s.Said()))
	}
}

// closeSnag writes down that a snag is done.
func (t *turn) closeSnag(o job.Opening, number int) {
	all := day.SnagsOf(o)
	if number > len(all) {
		t.say(phrase.Of("day.snag.none").Saying("name", o.Name).WithInt("n", o.ID).WithInt("number", number))
		return
	}
	if s := all[number-1]; !s.Done.IsZero() {
		t.say(t.snagLine(s, o.ID))
		return
	}
	if !t.keepOf(o.ID, day.SnagDone(number)) {
		return
	}
	o, _ = t.Job.Find(o.ID)
	all = day.SnagsOf(o)
	left := phrase.Of("day.snag.clear")
	if n := len(day.OpenSnags(all)); n > 0 {
		left = phrase.Of("day.snag.left").WithInt("count", n)
	}
	t.say(t.snagLine(all[number-1], o.ID), left.Saying("name", o.Name))
}

// keepOf writes entries into a window's record, and has undo take them back.
func (t *turn) keepOf(id int, entries ...opening.Entry) bool {
	j, err := t.Job.Keep(t.who(), t.now, id, entries...)
	if err != nil {
		t.say(tell.Refusal(err))
		return false
	}
	t.Job = &j
	if t.Day == nil || t.Day.Ref != t.Job.Ref {
		t.Day = &dayTask{Ref: t.Job.Ref, Window: id}
	}
	t.Day.Last, t.Day.Also = id, nil
	return true
}

// snagLine is a snag by the reader's calendar.
func (t *turn) snagLine(s day.Snag, window int) phrase.Text {
	s.At = s.At.In(t.clock())
	if !s.Done.IsZero() {
		s.Done = s.Done.In(t.clock())
	}
	return s.Line(window)
}

// mostDone is how many snags get a button.
const mostDone = 12

// listSnags lists the snags of windows: those of the one or the several that are named,
// or all.
func listSnags(t *turn, a Ask) {
	ids := a.Openings
	if a.Opening != 0 {
		ids = []int{a.Opening}
	}
	var lines []phrase.Text
	var row []Button
	open := 0
	for _, o := range t.Job.All() {
		if ids != nil && !slices.Contains(ids, o.ID) {
			continue
		}
		all := day.SnagsOf(o)
		if len(all) == 0 {
			continue
		}
		lines = append(lines, phrase.Of("day.at").Saying("name", o.Name))
		for _, s := range all {
			lines = append(lines, t.snagLine(s, o.ID))
			if s.Done.IsZero() {
				open++
				if len(row) < mostDone {
					row = append(row, t.view().Button("snag.done", s.Ref(o.ID), "snag", o.ID, s.Number))
				}
			}
		}
	}
	if len(lines) == 0 {
		t.say(phrase.Of("day.snags.none"))
		return
	}
	t.say(append(lines, phrase.Of("day.snags.open").WithInt("count", open))...)
	for chunk := range slices.Chunk(row, 3) {
		t.buttons = append(t.buttons, chunk)
	}
	t.quiet = true
}
