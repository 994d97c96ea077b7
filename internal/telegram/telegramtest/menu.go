package telegramtest

import (
	"encoding/json"
	"strings"
)

// menuPlace is where a part of the menu is kept: what it is, of which language and, of
// commands, in which chats.
func menuPlace(method string, p params) string {
	var scope struct{ Type string }
	_ = p.json("scope", &scope) // an unknown one is everywhere
	place := method + " " + p.values["language_code"]
	if scope.Type != "" && scope.Type != "default" {
		place += " " + scope.Type
	}
	return place
}

// getMy gives what a setMy… method set; of a language in which nothing was set, nothing.
func (s *Server) getMy(method string, p params) (any, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	value := s.set[menuPlace("s"+method[1:], p)]
	switch method {
	case "getmycommands":
		if value == "" {
			return []any{}, nil
		}
		return json.RawMessage(value), nil
	case "getmydescription":
		return map[string]any{"description": value}, nil
	case "getmyshortdescription":
		return map[string]any{"short_description": value}, nil
	}
	if value == "" {
		value = "default"
	}
	return map[string]any{"type": value}, nil
}

func (s *Server) deleteMyCommands(p params) (any, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.set, menuPlace("setmycommands", p))
	s.change()
	return true, nil
}

// SetIn is Set of commands in chats of a scope, such as all_group_chats.
func (s *Server) SetIn(scope, method, language string) string {
	return s.Set(strings.ToLower(method), language+" "+scope)
}
