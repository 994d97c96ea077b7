package dialog

import (
	"slices"
	"strings"
	"time"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

func (w waitingPhoto) photo(part string) opening.Photo {
	return opening.Photo{Part: part, File: w.File, Document: w.Document, As: w.As, Caption: w.Caption}
}

// photoSpot is where a photo is kept: the window, 0 for what is at hand in no job, and
// the part of the day or the state that it is in.
type photoSpot struct {
	window int
	part   string
}

// partNow is the part of the day that is open at a window, else the state it is in.
func (t *turn) partNow(o job.Opening) string {
	if p, w, ok := t.onDay(); ok && w.ID == o.ID {
		return p.Name
	}
	return string(o.State)
}

// keepPhotos keeps photos of one act and says so.
func (t *turn) keepPhotos(spot photoSpot, shots ...waitingPhoto) {
	if spot.window == 0 && t.Job != nil && t.Job.Ref == t.Ref {
		spot.window = t.Editing // it came into the job just now
	}
	last := *t.Shot
	last.Ref, last.Window, last.Part, last.Waits = t.Ref, spot.window, spot.part, false
	if t.Job != nil {
		last.Ref = t.Job.Ref // a button may be of another job than is open
	}
	number := t.writePhotos(spot, last.Turn, shots...)
	if number == 0 {
		last.Over = true
		t.Shot = &last
		return
	}
	last.Number = number
	t.Shot = &last
	text, hand := keptWords(shots[0], last.Album != "" || len(shots) > 1)
	if spot.window == 0 {
		t.say(hand.WithInt("number", number))
		return
	}
	o, _ := t.Job.Find(spot.window)
	t.say(text.WithInt("number", number).Saying("name", o.Name).Sub1("at", tell.PhotoAt(spot.part)))
}

// keptWords say that a photo or a note is kept, in a window and at hand; many: or the
// first of several.
func keptWords(w waitingPhoto, many bool) (text, hand phrase.Text) {
	switch {
	case w.As != "" && many:
		return phrase.Of("note.kept.album"), phrase.Of("note.kept.hand.album")
	case w.As != "":
		what := tell.NoteWhat(w.As)
		return phrase.Of("note.kept.one").Sub1("what", what), phrase.Of("note.kept.hand").Sub1("what", what)
	case many:
		return phrase.Of("photo.kept.album"), phrase.Of("photo.kept.hand.album")
	}
	return phrase.Of("photo.kept.one"), phrase.Of("photo.kept.hand")
}

// writePhotos writes photos into a record as one act with what that turn wrote there, and
// gives the number of the first; 0 when they were refused, which it says.
func (t *turn) writePhotos(spot photoSpot, turn int, shots ...waitingPhoto) int {
	var photos []opening.Photo
	for _, shot := range shots {
		photos = append(photos, shot.photo(spot.part))
	}
	if spot.window == 0 {
		if len(t.Hand.Photos())+len(photos) > opening.MostPhotos {
			t.say(phrase.Of("photo.full.hand").WithInt("most", opening.MostPhotos))
			return 0
		}
		stamp := t.stamp()
		stamp.Turn = turn
		for _, p := range photos {
			t.Hand = t.Hand.Put(stamp, p.Entry())
		}
		return firstOf(t.Hand.Photos(), len(photos))
	}
	who := t.who()
	who.Turn = turn
	j, err := t.Job.KeepPhotos(who, time.Unix(shots[0].At, 0), spot.window, photos...)
	if err != nil {
		t.say(tell.Refusal(err))
		return 0
	}
	t.Job = &j
	o, _ := j.Find(spot.window)
	return firstOf(o.Photos(), len(photos))
}

// firstOf is the number of the first of the last n photos; 0 for none.
func firstOf(photos []opening.Photo, n int) int {
	if len(photos) < n {
		return 0
	}
	return photos[len(photos)-n].Number
}

// waits asks of which window a photo is, and keeps it until that is said.
func (t *turn) waits(shot waitingPhoto) {
	if t.keepWaiting(shot) {
		t.askPhotos()
		return
	}
	last := *t.Shot
	last.Over, last.Waits = true, false
	t.Shot = &last
}

// keepWaiting keeps a photo of which nobody said yet of which window it is.
func (t *turn) keepWaiting(shot waitingPhoto) bool {
	if len(t.Shots) >= opening.MostPhotos {
		t.say(phrase.Of("photo.full.waiting").WithInt("most", opening.MostPhotos))
		t.quiet = true
		t.buttons = t.photoButtons()
		return false
	}
	t.Shots = append(slices.Clip(t.Shots), shot)
	return true
}

// mostPhotoButtons is how many windows get a button when it is asked of which a photo is.
const mostPhotoButtons = 8

// askPhotos asks of which window the photos are that wait.
func (t *turn) askPhotos() {
	which := phrase.Of("photo.which")
	if w := t.Shots[len(t.Shots)-1]; w.As != "" {
		which = phrase.Of("note.which").Sub1("what", tell.NoteWhat(w.As))
	}
	t.say(which.WithInt("n", t.Job.Openings[0].ID))
	t.buttons, t.quiet = t.photoButtons(), true
}

func (t *turn) photoButtons() [][]Button {
	if t.Job == nil {
		return nil
	}
	list := t.Job.Openings
	list = list[max(0, len(list)-mostPhotoButtons):]
	var row []Button
	for _, o := range list {
		row = append(row, t.view().Button("photo.of", o.Name, "photofor", o.ID))
	}
	return append(slices.Collect(slices.Chunk(row, 2)), []Button{t.view().Button("photo.new", "", "photofor", 0)})
}

// photosFor says of which window the photos are that wait, else the one that came last.
// Window 0 is a new one.
func photosFor(t *turn, a Ask) {
	if len(t.Shots) == 0 {
		t.movePhotos(a.Opening)
		return
	}
	spot := photoSpot{window: a.Opening}
	if o, ok := t.Job.Find(a.Opening); ok {
		spot.part = t.partNow(o)
	} else if spot, ok = t.newForPhotos(); !ok {
		return
	}
	shots, last := t.Shots, t.Shot
	t.Shot = &lastPhoto{Turn: t.Turn}
	if last != nil && last.Waits {
		t.Shot.Album = last.Album
	}
	t.keepPhotos(spot, shots...)
	if t.Shot.Over { // they wait on
		t.Shot = last
		t.buttons, t.quiet = t.photoButtons(), true
		return
	}
	t.Shots = nil
}

// newForPhotos begins a window for photos that wait.
func (t *turn) newForPhotos() (photoSpot, bool) {
	if t.Job.Ref != t.Ref {
		t.stale()
		return photoSpot{}, false
	}
	if t.Editing != 0 {
		t.leave()
		t.begin()
	}
	if !t.enter() {
		return photoSpot{}, false
	}
	return photoSpot{t.Editing, string(job.Survey)}, true
}

// movePhotos moves the photo or the album that came last to another window.
func (t *turn) movePhotos(to int) {
	last := t.Shot
	if last == nil || last.Waits || last.Number == 0 || last.Window == 0 || last.Ref != t.Job.Ref || !t.Job.Has(to) || !t.Job.Has(last.Window) {
		t.say(phrase.Of("photo.nothing"))
		return
	}
	from, _ := t.Job.Find(last.Window)
	o, _ := t.Job.Find(to)
	numbers := from.Said.Together(last.Number)
	if len(numbers) == 0 || to == last.Window {
		t.say(phrase.Of("photo.nothing"))
		return
	}
	var shots []waitingPhoto
	for _, p := range from.Photos() {
		if slices.Contains(numbers, p.Number) {
			shots = append(shots, waitingPhoto{File: p.File, Document: p.Document, As: p.As, Caption: p.Caption, At: p.Day.Unix()})
		}
	}
	moved := *last
	moved.Turn, t.Shot = t.Turn, &moved
	t.keepPhotos(photoSpot{to, t.partNow(o)}, shots...)
	if t.Shot.Over {
		t.Shot = last
		return
	}
	if j, _, err := t.Job.DropPhotos(t.who(), t.now, last.Window, numbers...); err == nil {
		t.Job = &j
	}
}

// placesPhotos takes the number or the name of a window, typed right after it was asked of
// which the photos are.
func (t *turn) placesPhotos(text string) bool {
	if len(t.Shots) == 0 || !t.justPhoto || t.Job == nil {
		return false
	}
	for _, o := range t.Job.Openings {
		if id, rest, ok := openingNumber(text); ok && rest == "" && id == o.ID || strings.EqualFold(text, o.Name) {
			photosFor(t, Ask{Opening: o.ID})
			return true
		}
	}
	return false
}

// undoPhoto takes back the photo or the album that was just sent, with what its caption
// said, and gives the fields at hand that are another now. What waits for an answer since before waits on.
func (t *turn) undoPhoto() (keys []string, done bool) {
	last := t.Shot
	if !t.justPhoto || last.Number == 0 && !last.Waits {
		return nil, false
	}
	if t.Proposed != nil && t.Proposed.Turn == last.Turn {
		t.Proposed = nil // of its caption
	}
	if last.Waits {
		keep := min(last.Before, len(t.Shots))
		t.say(phrase.Of("photo.undone").WithInt("count", len(t.Shots)-keep))
		t.Shots, t.Shot = t.Shots[:keep], nil
		return nil, true
	}
	var err error
	before := t.photosAt(last.Window)
	if last.Window == 0 {
		t.Hand, keys, err = t.Hand.Undo(t.stamp())
	} else if t.Job != nil && t.Job.Ref == last.Ref {
		var j job.Job
		if j, keys, err = t.Job.TakeBack(t.who(), t.now, last.Window); err == nil {
			t.Job = &j
		}
	}
	switch {
	case err != nil:
		t.say(phrase.Of("undo.told"))
		return nil, true
	case len(keys) > 0:
		t.Doubt, t.Fails = nil, 0
	}
	if t.photosBack = before - t.photosAt(last.Window); t.photosBack > 0 { // else what a later caption of the album said
		t.Shot = nil
	}
	if last.Window != t.Editing {
		keys = nil // they are of another window than is at hand
	}
	return keys, true
}

// photosAt is how many photos a window has; 0 is what is at hand in no job.
func (t *turn) photosAt(window int) int {
	if window == 0 || t.Job == nil {
		return len(t.Hand.Photos())
	}
	o, _ := t.Job.Find(window)
	return len(o.Photos())
}

// notePhoto notes whether a photo was the last thing that the person sent, which
// something else follows now.
func (t *turn) notePhoto() {
	if t.justPhoto = t.Shot != nil && t.Shot.Just; t.justPhoto {
		last := *t.Shot
		last.Just = false
		t.Shot = &last
	}
}
