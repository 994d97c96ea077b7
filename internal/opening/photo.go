package opening

import (
	"slices"
	"strings"
	"time"
)

// MostPhotos is how many photos a window keeps. Common practice, no source.
const MostPhotos = 20

// Photo is a picture that was sent of an opening. It stays with the platform: the
// record has its file id alone.
type Photo struct {
	Number  int       // of the opening, from 1; never used again
	Part    string    // the part of the fitting day it was sent in, else where the window stood
	Caption string    // in the person's words
	Day     time.Time // when it was sent
	File    string    // the platform's file id
	// Document: it came as a file, and goes out as one.
	Document bool
	// As is what it is where it is no picture: one of Notes; "": a picture.
	As  string
	act act
}

// Notes are what is kept like a photo besides: nobody but people can make anything of it.
var Notes = []string{"voice", "video", "round", "audio"}

// asDocument stands before the file id of a picture that came as a file, and the name of
// a note and a colon before that of a note.
const asDocument = "doc:"

// Entry is the photo as it is written into a record.
func (p Photo) Entry() Entry {
	file := p.File
	if p.Document {
		file = asDocument + file
	}
	if p.As != "" {
		file = p.As + ":" + file
	}
	return Entry{Act: Pictured, Key: p.Part, Value: file, Typed: p.Caption}
}

// Photos are the photos that stand, in the order they came.
func (r Record) Photos() []Photo {
	back := r.takenBack()
	var list []Photo
	n := 0
	for i := range r.Entries {
		e := &r.Entries[i]
		if e.Act != Pictured {
			continue
		}
		n++
		if e.Value == "" || slices.Contains(back, e.act()) {
			continue
		}
		p := Photo{Number: n, Part: e.Key, Caption: e.Typed, Day: time.Unix(e.At, 0).UTC(), act: e.act()}
		p.File, p.Document = strings.CutPrefix(e.Value, asDocument)
		if as, file, ok := strings.Cut(p.File, ":"); ok && slices.Contains(Notes, as) {
			p.As, p.File = as, file
		}
		list = append(list, p)
	}
	return list
}

// Together are the numbers of the photos that came in one act with that of the given
// number, such as an album.
func (r Record) Together(number int) []int {
	photos := r.Photos()
	i := slices.IndexFunc(photos, func(p Photo) bool { return p.Number == number })
	var list []int
	for _, p := range photos {
		if i >= 0 && p.act == photos[i].act {
			list = append(list, p.Number)
		}
	}
	return list
}

// LastPhotos is how many photos the person's own last act that stands is, 0 where it says
// anything else.
func (r Record) LastPhotos(by int64) int {
	last, ok := r.lastOwn(by)
	n := 0
	for i := range r.Entries {
		e := &r.Entries[i]
		switch {
		case !ok || e.act() != last:
		case e.Act != Pictured:
			return 0
		default:
			n++
		}
	}
	return n
}

// DropPhotos takes photos out for good, with what was written under them: they may show
// somebody. Their numbers are not used again.
func (r Record) DropPhotos(numbers ...int) Record {
	r.Entries = slices.Clone(r.Entries)
	n := 0
	for i := range r.Entries {
		e := &r.Entries[i]
		if e.Act != Pictured {
			continue
		}
		if n++; slices.Contains(numbers, n) {
			e.Value, e.Typed = "", ""
		}
	}
	return r
}
