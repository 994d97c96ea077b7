package telegramtest

import (
	"fmt"
	"net/http"
)

// SendFile sends a document from a person's private chat, with what it holds.
func (s *Server) SendFile(user int64, name, kind string, data []byte) int64 {
	s.mu.Lock()
	id := fmt.Sprintf("file%d", len(s.files)+1)
	if s.files == nil {
		s.files = map[string][]byte{}
	}
	s.files[id] = data
	s.mu.Unlock()
	return s.message(user, user, map[string]any{"document": map[string]any{
		"file_id": id, "file_unique_id": "u" + id, "file_name": name, "mime_type": kind, "file_size": len(data),
	}})
}

// getFile says where a file is. The platform gives none of more than 20 MB.
func (s *Server) getFile(p params) (any, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	data, ok := s.files[p.values["file_id"]]
	switch {
	case !ok:
		return nil, bad("invalid file_id")
	case len(data) > 20<<20:
		return nil, bad("file is too big")
	}
	return map[string]any{"file_id": p.values["file_id"], "file_unique_id": "u", "file_size": len(data), "file_path": "documents/" + p.values["file_id"]}, nil
}

// serveFile gives what a file holds, or its fault, which goes by the name of file.
func (s *Server) serveFile(w http.ResponseWriter, req *http.Request, id string) {
	if f := s.fault("file", params{}); f != nil {
		if pause(req.Context(), f.Delay) {
			fail(w, f)
		}
		return
	}
	s.mu.Lock()
	data, ok := s.files[id]
	s.mu.Unlock()
	if !ok {
		http.NotFound(w, req)
		return
	}
	_, _ = w.Write(data)
}
