package job

import (
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"sillbot/internal/opening"
)

// longestCaption is how much of a photo's caption is kept, in characters.
const longestCaption = longestWords

// Photos are the photos of the opening that are kept, each with its number, the part of
// the day or the state it was sent in, its caption and its day.
func (o Opening) Photos() []opening.Photo { return o.Said.Photos() }

// PhotosFor are the photos as a chair sees them. The desk makes by the order and gets no
// reading of the survey: a caption from before the delivery in which a figure stands is
// left out there.
func (o Opening) PhotosFor(role Role) []opening.Photo {
	photos := o.Photos()
	for i := range photos {
		p := &photos[i]
		before := slices.Contains(States, State(p.Part)) && !State(p.Part).made()
		if role == Desk && before && strings.ContainsFunc(p.Caption, unicode.IsDigit) {
			p.Caption = ""
		}
	}
	return photos
}

// KeepPhotos keeps photos under an opening, whatever its state. Refused: more than
// opening.MostPhotos.
func (j Job) KeepPhotos(who Who, at time.Time, id int, photos ...opening.Photo) (Job, error) {
	i, err := j.admitTo(id, who, Fitter)
	if err != nil {
		return Job{}, err
	}
	o := j.Openings[i]
	if len(o.Photos())+len(photos) > opening.MostPhotos {
		return Job{}, refuse("photos_full").say("name", o.Name).num("most", opening.MostPhotos).num("n", o.ID)
	}
	var entries []opening.Entry
	for _, p := range photos {
		p.Caption = Caption(p.Caption)
		entries = append(entries, p.Entry())
	}
	j.write(who, at, i, entries...)
	return j, nil
}

// Caption is what is kept of what was written under a photo.
func Caption(text string) string {
	if runes := []rune(text); len(runes) > longestCaption {
		text = string(runes[:longestCaption-1]) + "…"
	}
	text, err := words(text, longestCaption)
	if err != nil || !utf8.ValidString(text) {
		return ""
	}
	return text
}

// DropPhotos deletes photos of an opening for good and gives the numbers of those that
// it had.
func (j Job) DropPhotos(who Who, at time.Time, id int, numbers ...int) (Job, []int, error) {
	i, err := j.admitTo(id, who, Fitter)
	if err != nil {
		return Job{}, nil, err
	}
	o := j.Openings[i]
	var gone []int
	for _, p := range o.Photos() {
		if slices.Contains(numbers, p.Number) {
			gone = append(gone, p.Number)
		}
	}
	if gone == nil {
		return Job{}, nil, refuse("photo_none").say("name", o.Name).num("n", o.ID)
	}
	o.Said = o.Said.DropPhotos(gone...)
	j.put(i, o)
	return j, gone, nil
}

// SetSharePhotos says whether the lead and the desk may see the photos.
func (j Job) SetSharePhotos(who Who, at time.Time, share bool) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	if share == j.SharePhotos {
		return j, nil, nil
	}
	kind := PhotosHidden
	if share {
		kind = PhotosShared
	}
	j.SharePhotos = share
	return j.done(who, at, Event{Kind: kind})
}

// MaySeePhotos refuses who has no chair in the job, and a chair that photos are not shared
// with.
func (j Job) MaySeePhotos(who Who) error {
	if err := j.admit(who, Fitter, Lead, Desk); err != nil {
		return err
	}
	if who.Role != Fitter && !j.SharePhotos {
		return refuse("photos_hidden").say("ref", j.Ref)
	}
	return nil
}

// ShowsPhotos says whether the photos of an opening may reach a chat that may see those of
// the job: a lead who measures without knowing the figures would read them off a photo of
// the tape. From the delivery on nobody measures again.
func (j Job) ShowsPhotos(who Who, o Opening) bool {
	return who.Role != Lead || o.State.made() || j.Sees(who.Chat, o.ID)
}
