package telegramtest

import (
	"cmp"
	"encoding/json"
	"strconv"
	"strings"
)

// SendPhoto sends a photo from a person's private chat, in two sizes of which the larger
// has the id. Album joins those of one album; "": it comes by itself.
func (s *Server) SendPhoto(user int64, id, caption, album string) int64 {
	s.known(id, "photo")
	content := map[string]any{"photo": []any{
		map[string]any{"file_id": id + "-small", "file_unique_id": "s" + id, "width": 90, "height": 60},
		map[string]any{"file_id": id, "file_unique_id": "u" + id, "width": 1280, "height": 853},
	}}
	return s.sendShot(user, content, caption, album)
}

// SendPicture sends a picture as a file, from a person's private chat.
func (s *Server) SendPicture(user int64, id, caption string) int64 {
	s.known(id, "document")
	return s.sendShot(user, map[string]any{"document": map[string]any{
		"file_id": id, "file_unique_id": "u" + id, "file_name": "jamb.png", "mime_type": "image/png",
	}}, caption, "")
}

func (s *Server) sendShot(user int64, content map[string]any, caption, album string) int64 {
	if caption != "" {
		content["caption"] = caption
	}
	if album != "" {
		content["media_group_id"] = album
	}
	return s.message(user, user, content)
}

// known makes a file id one that the bot may send again, as what it was sent as.
func (s *Server) known(id, kind string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.shots == nil {
		s.shots = map[string]string{}
	}
	s.shots[id] = kind
}

// Lose makes the platform forget a file id.
func (s *Server) Lose(id string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.shots, id)
}

// checkShot refuses a file id that is not known, or that is of another kind: the platform
// does not make a document of a photo.
func (s *Server) checkShot(id, kind string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	switch was := s.shots[id]; {
	case was == "":
		return bad("wrong file identifier/HTTP URL specified")
	case was != kind:
		return bad("type of file mismatch")
	}
	return nil
}

// sendAgain sends a file by its id.
func (s *Server) sendAgain(c *Chat, name, kind, id string, p params, answered bool) (any, error) {
	if err := s.checkShot(id, kind); err != nil {
		return nil, err
	}
	shown, markup, err := words(p, "caption", captionLimit)
	if err != nil {
		return nil, err
	}
	buttons, err := keyboard(p)
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	was := s.uploads[id]
	s.mu.Unlock()
	return s.record(c, p, Sent{Method: name, Text: shown, HTML: markup, Buttons: buttons, Photo: was.data, File: was.name, FileID: id, Protect: p.values["protect_content"] == "true", Answered: answered}), nil
}

// item is one of an album: by its file id, or attach:// and the name of a part of the call.
type item struct {
	Type, Media, Caption string
	Mode                 string `json:"parse_mode"`
}

// albumItem reads and checks one of an album.
func (s *Server) albumItem(m item, p params) (Sent, error) {
	shown, markup, err := words(params{values: map[string]string{"caption": m.Caption, "parse_mode": m.Mode}}, "caption", cmp.Or(s.CaptionMost, captionLimit))
	if err != nil {
		return Sent{}, err
	}
	out := Sent{Method: "sendMediaGroup", Text: shown, HTML: markup, Protect: p.values["protect_content"] == "true"}
	name, uploads := strings.CutPrefix(m.Media, "attach://")
	if !uploads {
		s.mu.Lock()
		was := s.uploads[m.Media]
		s.mu.Unlock()
		out.FileID, out.Photo, out.File = m.Media, was.data, was.name
		return out, s.checkShot(m.Media, m.Type)
	}
	file := p.files[name]
	if file == nil {
		return Sent{}, bad("there is no %s in the request", name)
	}
	out.Photo, out.File = file.data, file.name
	return out, checkFile(m.Type, file)
}

// sendAlbum sends 2 to 10 files, uploaded or by their ids, all photos or all documents.
// It takes all or none.
func (s *Server) sendAlbum(p params, answered bool) (any, error) {
	c, err := s.chat(p)
	if err != nil {
		return nil, err
	}
	var media []item
	if err := p.json("media", &media); err != nil {
		return nil, err
	}
	if len(media) < 2 || len(media) > 10 {
		return nil, bad("wrong number of items in the album")
	}
	var all []Sent
	for _, m := range media {
		if together(m.Type) != together(media[0].Type) || together(m.Type) == "" {
			return nil, bad("can't mix types in an album")
		}
		one, err := s.albumItem(m, p)
		if err != nil {
			return nil, err
		}
		all = append(all, one)
	}
	s.mu.Lock()
	album := s.lastID + 1
	s.mu.Unlock()
	var list []json.RawMessage
	for _, one := range all {
		one.Album, one.Answered = album, answered
		list = append(list, s.record(c, p, one))
	}
	return list, nil
}

// together is what goes into one album: photos and videos, documents, audio files
// (sendMediaGroup).
func together(kind string) string {
	return map[string]string{"photo": "seen", "video": "seen", "document": "document", "audio": "audio"}[kind]
}

// SendNote sends sound or moving pictures of a kind, such as voice or video_note, from a
// person's private chat.
func (s *Server) SendNote(user int64, kind, id, caption, album string) int64 {
	s.known(id, kind)
	return s.sendShot(user, map[string]any{kind: map[string]any{"file_id": id, "file_unique_id": "u" + id, "duration": 3}}, caption, album)
}

// Shots are the file ids that the bot sent to a chat, in order, each with what stood
// under it.
func (s *Server) Shots(chat int64) (ids []string) {
	for _, m := range s.Sent(chat) {
		if m.FileID != "" {
			ids = append(ids, m.FileID+" "+strconv.Quote(m.Text))
		}
	}
	return ids
}
