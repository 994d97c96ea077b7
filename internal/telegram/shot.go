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

// shot is the photo in a message, in its largest size, the picture that was sent as a
// file, or a note; nil when there is none that could be sent again.
func (m *message) shot() *dialog.Shot {
	var s dialog.Shot
	notes := map[string]json.RawMessage{"voice": m.Voice, "audio": m.Audio, "round": m.VideoNote, "video": m.Video}
	for as, raw := range notes {
		var note size
		if present(raw) && json.Unmarshal(raw, &note) == nil {
			s = dialog.Shot{File: note.ID, As: as}
		}
	}
	if m.Document != nil && s.File == "" && !present(m.Photo) {
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
	s.Album = m.album()
	return &s
}

// album is what the messages of one album have in common; "": it came by itself.
func (m *message) album() string {
	if !fileForm.MatchString(m.Album) {
		return ""
	}
	return m.Album
}

// media is how the platform sends what a person sent again.
type media struct {
	method, field string
	album         string // what it can be in one album with; "": nothing
	mute          bool   // nothing can stand under it
}

// mediaOf is by what a shot is (core.telegram.org/bots/api, sendMediaGroup: photos and
// videos go together, documents and audio files each with their like).
func mediaOf(s dialog.Shot) media {
	switch {
	case s.As == "voice":
		return media{method: "sendVoice", field: "voice"}
	case s.As == "round":
		return media{method: "sendVideoNote", field: "video_note", mute: true}
	case s.As == "video":
		return media{method: "sendVideo", field: "video", album: "seen"}
	case s.As == "audio":
		return media{method: "sendAudio", field: "audio", album: "heard"}
	case s.Document:
		return media{method: "sendDocument", field: "document", album: "files"}
	}
	return media{method: "sendPhoto", field: "photo", album: "seen"}
}

// albumMost is how many photos go together.
const albumMost = 10

// albums are a reply's photos as messages: those that go together and follow on each
// other go as one album.
func albums(shots []dialog.Shot) [][]dialog.Shot {
	var list [][]dialog.Shot
	for _, shot := range shots {
		last := len(list) - 1
		with := mediaOf(shot).album
		if last < 0 || with == "" || len(list[last]) == albumMost || mediaOf(list[last][0]).album != with {
			list = append(list, nil)
			last++
		}
		list[last] = append(list[last], shot)
	}
	return list
}

// again is the call that sends one photo, or several as an album, by their file ids.
func again(shots []dialog.Shot, caption func(dialog.Shot) string) (method string, params map[string]any) {
	if len(shots) == 1 {
		m := mediaOf(shots[0])
		params = map[string]any{m.field: shots[0].File}
		if !m.mute {
			params["caption"] = caption(shots[0])
		}
		return m.method, params
	}
	var list []map[string]string
	for _, shot := range shots {
		list = append(list, map[string]string{"type": mediaOf(shot).field, "media": shot.File, "caption": caption(shot)})
	}
	return "sendMediaGroup", map[string]any{"media": list}
}
