package tell

import (
	"slices"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// Photos are photos to be shown again under a list of them.
func (v View) Photos(title phrase.Text, photos []opening.Photo) talk.Reply {
	lines := []phrase.Text{title}
	var r talk.Reply
	for _, p := range photos {
		line := phrase.Of("photo.row")
		switch {
		case p.As != "" && p.Caption != "":
			line = phrase.Of("note.row.caption").Saying("caption", p.Caption).Sub1("what", NoteWhat(p.As))
		case p.As != "":
			line = phrase.Of("note.row").Sub1("what", NoteWhat(p.As))
		case p.Caption != "":
			line = phrase.Of("photo.row.caption").Saying("caption", p.Caption)
		}
		lines = append(lines, line.WithInt("number", p.Number).Sub1("at", PhotoAt(p.Part)).Sub1("when", v.When(p.Day)))
		r.Shots = append(r.Shots, shot(p))
	}
	r.Text = phrase.Of("message").WithLines("lines", lines...)
	return r
}

// shot is a photo as it is shown again, under its number.
func shot(p opening.Photo) talk.Shot {
	label := phrase.Of("photo.label").WithInt("number", p.Number)
	if p.Caption != "" {
		label = phrase.Of("photo.label.caption").WithInt("number", p.Number).Saying("caption", p.Caption)
	}
	return talk.Shot{File: p.File, Document: p.Document, As: p.As, Label: &label}
}

// photosOf says to a chair how to see the photos of a frame that is wrong, where they are
// shared.
func (v View) photosOf(e job.Event, role job.Role) []phrase.Text {
	if role == job.Fitter || !v.Job.SharePhotos || e.Kind != job.FrameRejected && e.Kind != job.FaultFound {
		return nil
	}
	for _, id := range e.Openings {
		if o, ok := v.Job.Find(id); ok && len(o.Photos()) > 0 {
			return []phrase.Text{phrase.Of("photo.see").WithInt("count", len(o.Photos())).WithInt("n", id)}
		}
	}
	return nil
}

// PhotoCounts says how many photos each window has that a chair may see.
func (v View) PhotoCounts(who job.Who) talk.Reply {
	lines := []phrase.Text{phrase.Of("photo.counts")}
	for _, o := range v.Job.All() {
		if n := len(o.Photos()); n > 0 && v.Job.ShowsPhotos(who, o) {
			lines = append(lines, phrase.Of("photo.count").WithInt("n", o.ID).Saying("name", o.Name).WithInt("count", n))
		}
	}
	if len(lines) == 1 {
		return talk.Reply{Text: phrase.Of("photo.none.job")}
	}
	return talk.Reply{Text: phrase.Of("message").WithLines("lines", lines...)}
}

// NoteWhat is what a note is, in words.
func NoteWhat(as string) phrase.Text { return phrase.Of("note.what." + as) }

// PhotoAt is a part of the day or a state in words.
func PhotoAt(part string) phrase.Text {
	if slices.Contains(job.States, job.State(part)) {
		return job.State(part).Text()
	}
	if slices.Contains(photoParts, part) {
		return phrase.Of("photo.at." + part)
	}
	return phrase.Of("photo.at.day")
}

// photoParts are the parts of the day that have a name for a list of photos.
var photoParts = []string{"frame", "structure", "takeout", "sillpiece", "setting", "fixing", "bow", "glazing", "sash", "patch", "seal", "lastlook"}
