package dialog

import (
	"slices"
	"strings"

	"sillbot/internal/day"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// handed are the windows whose paper is handed over, all where none is named, and
// whether snags are no matter.
func handed(t *turn, a *Ask, text string) (string, *phrase.Text) {
	before, last := cutLast(text)
	if code, rest, ok := words().Match(t.lang(), "send", last); ok && code == anyway && rest == "" {
		a.Sure, text = true, before
	}
	return windowsOrAll(t, a, text)
}

// handedAnyway is what stands on a button that hands over: nothing, or that snags are no
// matter, and of which windows.
var handedAnyway field = func(a *Ask, text string) {
	if a.Sure = text != ""; a.Sure && text != allAnyway {
		dataWindows(a, text)
	}
}

// snagsFirst shows the open snags of the windows that are about to be handed over, and
// asks whether to do so anyway; false when there are none, or that was said.
func snagsFirst(t *turn, a Ask) bool {
	if a.Sure {
		return false
	}
	ids := a.Openings
	if a.Opening != 0 {
		ids = []int{a.Opening}
	}
	var lines []phrase.Text
	for _, o := range t.Job.All() {
		if o.State != job.Sealed || ids != nil && !slices.Contains(ids, o.ID) {
			continue
		}
		for _, s := range day.OpenSnags(day.SnagsOf(o)) {
			lines = append(lines, t.snagLine(s, o.ID))
		}
	}
	if len(lines) == 0 {
		return false
	}
	which := allAnyway
	if ids != nil {
		which = strings.ReplaceAll(job.Numbers(ids), " ", "")
	}
	t.say(append(lines, phrase.Of("day.snags.first").WithInt("count", len(lines)))...)
	t.buttons, t.quiet = [][]Button{{t.view().Button("handover.anyway", "", "handover", which)}}, true
	return true
}

// handedOver says what the paper says beside what was done, and sends it.
func handedOver(t *turn, _ Ask, events []job.Event) {
	var ids []int
	for _, e := range events {
		ids = append(ids, e.Openings...)
	}
	if t.Day != nil && slices.Contains(ids, t.Day.Window) {
		t.Day.Part, t.Day.More = "", nil
	}
	var unseen []phrase.Text
	open := 0
	for _, id := range ids {
		o, _ := t.Job.Find(id)
		w := day.Of(o)
		open += len(day.OpenSnags(w.Snags()))
		if p := day.Find("lastlook"); p.Next(w) != nil {
			unseen = append(unseen, phrase.Of("job.words").Saying("words", o.Name))
		}
	}
	if len(unseen) > 0 {
		t.say(phrase.Of("day.handed.unseen").WithRow("names", unseen...))
	}
	if open > 0 {
		t.say(phrase.Of("day.handed.snags").WithInt("count", open))
	}
	if s, err := t.Job.Quotation(t.terms()); err == nil && len(s.Lines) > 0 && (t.Job.Quoted != nil || len(s.Paid) > 0) {
		t.say(s.ToPay())
	}
	t.sendFile(ids)
}
