package dialog

import (
	"slices"
	"strings"

	"sillbot/internal/day"
	"sillbot/internal/hear"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// photo keeps a photo under the window and the part that it is of, and reads its caption
// as a message, which read takes.
func (t *turn) photo(in Input, read func(text string)) {
	caption := strings.TrimSpace(in.Text)
	switch {
	case in.Shot == nil || in.Shot.File == "":
		t.sayKind(in, phrase.Of("kind."+string(in.Kind)))
		return
	case t.Second != nil || t.atChair() || t.guest():
		t.quiet = t.atChair() || t.guest()
		t.sayKind(in, phrase.Of("photo.fitter"))
		t.readCaption(caption, read)
		return
	}
	shot := waitingPhoto{File: in.Shot.File, Document: in.Shot.Document, As: in.Shot.As, Caption: job.Caption(caption), At: t.now.Unix()}
	if last := t.Shot; last != nil && last.Album != "" && last.Album == in.Shot.Album {
		t.restOfAlbum(shot)
		t.readCaption(caption, read)
		return
	}
	spot, ok := t.photoSpot(caption)
	begun := false
	if !ok && t.captionSays(caption) { // it may begin a window
		read(caption)
		begun = true
		spot, ok = t.photoSpot("")
	}
	t.Shot = &lastPhoto{Album: in.Shot.Album, Just: true, Waits: !ok, Turn: t.Turn, Before: len(t.Shots)}
	if !ok {
		t.waits(shot)
		return
	}
	t.keepPhotos(spot, shot)
	if _, named := t.captionCommands(caption); !named {
		t.sayOther()
	}
	if !begun {
		t.readCaption(caption, read)
	}
}

// sayKind says once an album that what comes can't be kept or read.
func (t *turn) sayKind(in Input, text phrase.Text) {
	if in.Album != "" && in.Album == t.Album {
		t.quiet, t.silent = true, true
		return
	}
	t.Album = in.Album
	t.say(text)
}

// restOfAlbum keeps a further picture of the album that came last where its first one is;
// nothing is said of it again.
func (t *turn) restOfAlbum(shot waitingPhoto) {
	last := *t.Shot
	last.Just = true
	t.quiet, t.silent = true, true
	switch {
	case last.Over:
	case last.Waits:
		last.Over = !t.keepWaiting(shot)
	default:
		last.Over = t.writePhotos(photoSpot{last.Window, last.Part}, last.Turn, shot) == 0
	}
	t.Shot = &last
}

// photoSpot is where a photo with that caption belongs: the window that a command in it
// names, else the one whose part of the day is open or was last, else the one at hand.
// ok is false when none is.
func (t *turn) photoSpot(caption string) (s photoSpot, ok bool) {
	window := t.Editing
	if t.ownsDay() {
		window = t.Day.Window
	}
	if id, names := t.captionCommands(caption); names && t.Job != nil && t.Job.Has(id) {
		window = id
	}
	switch {
	case t.Job == nil || t.Job.Ref != t.Ref:
		return photoSpot{part: string(job.Survey)}, t.Editing == 0
	case window == 0 && len(t.Job.Openings) > 0:
		return s, false
	case window == 0:
		return photoSpot{part: string(job.Survey)}, t.enter()
	}
	o, ok := t.Job.Find(window)
	return photoSpot{window, t.partNow(o)}, ok
}

// sayOther says how a photo comes to another window, where one was taken to be meant that
// nobody named.
func (t *turn) sayOther() {
	if t.Shot.Window != 0 && !t.Shot.Over && len(t.Job.Openings) > 1 && t.Day == nil {
		t.say(phrase.Of("photo.other").WithInt("n", otherThan(t.Job, t.Shot.Window)))
	}
}

// otherThan is the number of a window to give as an example.
func otherThan(j *job.Job, id int) int {
	for _, o := range j.Openings {
		if o.ID != id {
			return o.ID
		}
	}
	return id
}

// readCaption takes a photo's caption as a message, as far as it says something: it may
// just as well be a name for the photo.
func (t *turn) readCaption(text string, read func(string)) {
	if t.captionSays(text) {
		t.quiet = t.atChair()
		read(text)
	}
}

// captionSays says whether a caption is a command or an answer. Words that nobody knows
// make it a mere name, unless a figure stands among them.
func (t *turn) captionSays(text string) bool {
	if text == "" {
		return false
	}
	if _, is := t.command(text); is && !t.atChair() {
		_, commands := t.captionCommands(text)
		return commands
	}
	figure := strings.ContainsAny(text, "0123456789")
	if t.Doubt != nil {
		_, _, answers := words().Match(t.lang(), "answer", text)
		return answers || figure
	}
	if p, w, ok := t.onDay(); ok && t.captionOnDay(p, w, text) {
		return true
	}
	if _, ok := t.parseSizeLine(text); ok {
		return true
	}
	h := hear.Read(text, t.context())
	return (len(h.Said) > 0 || h.Length != nil || h.Held != nil) && (len(h.Unknown) == 0 && h.Held == nil || figure)
}

// captionCommands says whether a caption is a command of the fitting day with the number
// of a window: a step, a fault, a snag or a part. Other commands begin as a caption may: new frame,
// label on the crate.
func (t *turn) captionCommands(text string) (window int, ok bool) {
	c, is := t.command(text)
	if text == "" || !is || c.row == nil || !c.row.isDay() && !slices.Contains([]string{"step", "broken", "fault", "snag"}, c.row.name) {
		return 0, false
	}
	id, rest, numbered := openingNumber(c.rest)
	if !numbered {
		return 0, false
	}
	code, after, _ := words().Match(t.lang(), "windows", rest)
	if code == "of" { // 1 of 3 at 4
		_, rest, _ = leadingNumber(after)
		code, after, _ = words().Match(t.lang(), "windows", rest)
	}
	if at, _, named := openingNumber(after); code == "at" && named {
		id = at
	}
	return id, true
}

// captionOnDay says whether a caption is a reading of the part that is open: a sentence
// that could be anything's is none.
func (t *turn) captionOnDay(p *day.Part, w *day.Window, text string) bool {
	h := t.ear().Hear(p, w, text)
	if _, _, named := words().Match(t.lang(), "day"+p.Name, text); named {
		return len(h.Said) > 0
	}
	loose := func(v day.Value) bool {
		return v.Field.Kind == day.Words || v.Field.Kind == day.Tick && v.Value != day.OK
	}
	return len(h.Said) > 0 && !slices.ContainsFunc(h.Said, loose)
}
