package telegram

import (
	"encoding/json"
	"regexp"

	"sillbot/internal/dialog"
)

// size is one of the sizes in which the platform has a photo.
type size struct {
	ID     string `json:"file_id"`
	Width  int64  `json:"width"`
	Height int64  `json:"height"`
}

// fileForm is a file id or the id of an album, as far as one is kept.
var fileForm = regexp.MustCompile(`^[A-Za-z0-9_-]{1,200}$`)

// shot is the photo in a message, in its largest size, or the picture that was sent as a
// file; nil when there is none that could be sent again.
func (m *message) shot() *dialog.Shot {
	var s dialog.Shot
	if m.Document != nil && !present(m.Photo) {
		s = dialog.Shot{File: m.Document.ID, Document: true}
	}
	var sizes []size
	if json.Unmarshal(m.Photo, &sizes) != nil {
		sizes = nil // of a kind that is not known: there is nothing to send again
	}
	var most int64 = -1
	for _, one := range sizes {
		if area := min(one.Width, 1<<20) * min(one.Height, 1<<20); area > most {
			s.File, most = one.ID, area
		}
	}
	if !fileForm.MatchString(s.File) {
		return nil
	}
	if fileForm.MatchString(m.Album) {
		s.Album = m.Album
	}
	return &s
}

// albumMost is how many photos go together.
const albumMost = 10

// albums are a reply's photos as messages: those of one kind that follow on each other
// go as one album.
func albums(shots []dialog.Shot) [][]dialog.Shot {
	var list [][]dialog.Shot
	for _, shot := range shots {
		last := len(list) - 1
		if last < 0 || len(list[last]) == albumMost || list[last][0].Document != shot.Document {
			list = append(list, nil)
			last++
		}
		list[last] = append(list[last], shot)
	}
	return list
}
