package telegramtest

import (
	"encoding/json"
	"strconv"
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

// sendAlbum sends 2 to 10 files by their ids, all photos or all documents.
func (s *Server) sendAlbum(p params, answered bool) (any, error) {
	c, err := s.chat(p)
	if err != nil {
		return nil, err
	}
	var media []struct{ Type, Media, Caption string }
	if err := p.json("media", &media); err != nil {
		return nil, err
	}
	if len(media) < 2 || len(media) > 10 {
		return nil, bad("wrong number of items in the album")
	}
	for _, m := range media {
		switch {
		case together(m.Type) != together(media[0].Type) || together(m.Type) == "":
			return nil, bad("can't mix types in an album")
		case units(m.Caption) > captionLimit:
			return nil, bad("message caption is too long")
		}
		if err := s.checkShot(m.Media, m.Type); err != nil {
			return nil, err
		}
	}
	s.mu.Lock()
	album := s.lastID + 1
	s.mu.Unlock()
	var list []json.RawMessage
	for _, m := range media {
		list = append(list, s.record(c, p, Sent{Method: "sendMediaGroup", Text: m.Caption, FileID: m.Media, Album: album,
			Protect: p.values["protect_content"] == "true", Answered: answered}))
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
