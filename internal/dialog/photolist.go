package dialog

import (
	"slices"
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// photoList shows the photos of a window, or how many each window has.
func photoList(t *turn, a Ask) {
	t.quiet = true
	seat, sits := t.lastSeat("")
	if named, ok := t.seat(a.Ref); ok {
		seat = named
	}
	switch {
	case t.Job == nil && sits && (t.Second != nil || !t.answered()):
		t.askOwner(Ask{Do: "sendphotos", Ref: seat.Ref, Opening: a.Opening})
		return
	case a.Opening == 0 && t.Second == nil && !t.inJob() && len(t.Hand.Photos()) > 0:
		v := tell.View{Job: &job.Job{}, Now: t.now, Zone: t.zone()}
		t.replies = append(t.replies, t.withPhotos(v.Photos(phrase.Of("photo.list.hand"), t.Hand.Photos())))
		return
	case t.Job == nil:
		t.say(phrase.Of("photo.none.hand"))
		return
	}
	if o, ok := t.Job.Find(t.photoWindowNow()); a.Opening == 0 && ok && (len(o.Photos()) > 0 || len(t.Job.Openings) == 1) {
		a.Opening = o.ID
	}
	r := t.photosOf(a.Opening, job.Who{Chat: t.chat, Role: job.Fitter})
	t.replies = append(t.replies, t.withPhotos(r))
	if len(t.Shots) > 0 {
		t.say(phrase.Of("photo.waiting").WithInt("count", len(t.Shots)))
		t.buttons = t.photoButtons()
	}
}

// withPhotos is a reply of this chat.
func (t *turn) withPhotos(r Reply) Reply {
	r.Lang, r.Open = t.lang(), t.open()
	return r
}

// photosOf are the photos of a window for a chair, or of window 0 how many each has.
func (t *turn) photosOf(id int, who job.Who) Reply {
	v := t.view()
	if id == 0 {
		return v.PhotoCounts(who)
	}
	o, ok := t.Job.Find(id)
	switch {
	case !ok:
		return Reply{Text: phrase.Of("job.nosuch").WithInt("n", id)}
	case !t.Job.ShowsPhotos(who, o):
		return Reply{Text: phrase.Of("photo.blind").Saying("name", o.Name)}
	case len(o.Photos()) == 0 && who.Role != job.Fitter:
		return Reply{Text: phrase.Of("photo.none.chair").Saying("name", o.Name)}
	case len(o.Photos()) == 0:
		return Reply{Text: phrase.Of("photo.none").Saying("name", o.Name)}
	}
	r := v.Photos(phrase.Of("photo.list").Saying("name", o.Name).WithInt("count", len(o.Photos())), o.PhotosFor(who.Role))
	if r.Protected = who.Role != job.Fitter; !r.Protected {
		lines := append(r.Text.Lines["lines"], phrase.Of("photo.list.delete").WithInt("number", o.Photos()[0].Number).WithInt("n", id))
		r.Text = phrase.Of("message").WithLines("lines", lines...)
	}
	return r
}

// sendPhotos sends the photos of a window to a chair that asks for them.
func sendPhotos(t *turn, a Ask) {
	a.Who.Role = t.Job.Chair(a.Who.Chat)
	if err := t.Job.MaySeePhotos(a.Who); err != nil {
		refuseMail(t, a, err)
		return
	}
	r := t.photosOf(a.Opening, a.Who)
	t.post(Mail{To: a.Who.Chat, Ref: a.Ref, Show: &r})
}

// deletePhotos deletes photos for good.
func deletePhotos(t *turn, a Ask) {
	before, _ := t.Job.Find(a.Opening)
	j, gone, err := t.Job.DropPhotos(t.who(), t.now, a.Opening, a.Lines...)
	if err != nil {
		t.say(tell.Refusal(err))
		return
	}
	t.Job = &j
	photos := slices.DeleteFunc(before.Photos(), func(p opening.Photo) bool { return !slices.Contains(gone, p.Number) })
	for len(photos) > 0 { // those of one kind in one sentence
		kind := deletedAs(photos[0])
		var alike []int
		photos = slices.DeleteFunc(photos, func(p opening.Photo) bool {
			is := deletedAs(p) == kind
			if is {
				alike = append(alike, p.Number)
			}
			return is
		})
		t.say(phrase.Of(kind).WithInt("count", len(alike)).Saying("numbers", job.Numbers(alike)).Saying("name", before.Name))
	}
}

// deletedAs is the sentence that something of its kind is deleted.
func deletedAs(p opening.Photo) string {
	switch {
	case p.As != "":
		return "note.deleted." + p.As
	case p.Document:
		return "photo.deleted.file"
	}
	return "photo.deleted"
}

// photoWindow is the number of a window, or none.
func photoWindow(t *turn, a *Ask, text string) (string, *phrase.Text) {
	if first, rest, _ := strings.Cut(text, " "); t.Job == nil && t.sits(strings.ToUpper(first)) { // of one of several jobs
		a.Ref, text = strings.ToUpper(first), strings.TrimSpace(rest)
	}
	if code, rest, ok := words().Match(t.lang(), "photoof", text); ok && code == "of" {
		text = rest
	}
	if id, rest, ok := openingNumber(text); ok {
		a.Opening = id
		return rest, nil
	}
	return text, nil
}

// photoWindowNow is the window that photos are of when none is named, 0 for none.
func (t *turn) photoWindowNow() int {
	switch {
	case len(t.Job.Openings) == 1:
		return t.Job.Openings[0].ID
	case t.Day != nil && t.Day.Ref == t.Job.Ref:
		return t.Day.Window
	case t.Job.Ref == t.Ref:
		return t.Editing
	}
	return 0
}

// photoNumbers are numbers of photos and the window that they are of, as in 3 of 2.
func photoNumbers(t *turn, a *Ask, text string) (string, *phrase.Text) {
	n, rest := someNumbers(t, text, reads{there: func(int) bool { return true }})
	if n.all || len(n.ids) == 0 || len(n.ids) > opening.MostPhotos {
		return text, unfitting
	}
	a.Lines = n.ids
	if code, after, ok := words().Match(t.lang(), "photoof", rest); ok && code == "of" {
		return window(t, a, after)
	}
	if len(t.Job.Openings) != 1 { // it is for good: no window is taken to be meant
		return text, unfitting
	}
	a.Opening = t.Job.Openings[0].ID
	return rest, nil
}
