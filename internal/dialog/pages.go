package dialog

import (
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// pageNumber is the number of a page of the list; none means the whole list.
func pageNumber(_ *turn, a *Ask, text string) (string, *phrase.Text) {
	if text == "" {
		return "", nil
	}
	n, rest, ok := leadingNumber(text)
	if !ok {
		return text, nil
	}
	a.Page = n
	return rest, nil
}

// dataPage is the number of a page on a button.
var dataPage field = func(a *Ask, text string) { a.Page = max(1, atoi(text)) }

// listOrPage lists the job that there is, or shows a page of it.
func listOrPage(t *turn, a Ask) {
	if a.Page == 0 {
		list(t)
		return
	}
	seat, sits := t.lastSeat("")
	switch {
	case t.Job != nil:
		a.Ref = t.Job.Ref
	case sits:
		a.Ref = seat.Ref
	default:
		t.ownJob()
		return
	}
	showPage(t, a)
}

// showPage shows a page of the windows of a job, or asks its owner for it.
func showPage(t *turn, a Ask) {
	t.quiet = true
	if t.Job == nil || t.Job.Ref != a.Ref {
		t.Listed = &listed{a.Ref, a.Page}
		t.askOwner(Ask{Do: "page", Ref: a.Ref, Page: a.Page})
		return
	}
	r, page := t.view().Page(a.Page, job.Fitter)
	t.Listed = &listed{a.Ref, page}
	t.say(r.Text)
	t.buttons = r.Buttons
}

// more shows the page after the one that was shown last, or the first.
func more(t *turn) {
	a := Ask{Page: 1}
	if t.Listed == nil {
		listOrPage(t, a)
		return
	}
	a.Ref, a.Page = t.Listed.Ref, t.Listed.Page+1
	if t.Job != nil && t.Job.Ref == a.Ref && a.Page > tell.Pages(len(t.Job.Openings)) {
		t.say(phrase.Of("job.page.last"))
		return
	}
	showPage(t, a)
}

// sendPage sends a page to a chair that asks for it.
func sendPage(t *turn, a Ask) {
	if t.Job.Chair(a.Who.Chat) == "" { // the page would be the fitter's
		showChair(t, a)
		return
	}
	r, _ := t.view().Page(a.Page, t.Job.Chair(a.Who.Chat))
	t.post(Mail{To: a.Who.Chat, Ref: t.Job.Ref, Show: &r})
}
