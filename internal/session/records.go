package session

import (
	"regexp"
	"strconv"
	"strings"

	"sillbot/internal/session/rdb"
)

// Record is one stored record, as Backup and Examine find it.
type Record struct {
	Kind string // conversation, head, window, reply, update or aside
	Chat int64
	// Field is the person of a group's conversation and the field of a job's part.
	Field string
	Data  []byte // nil where Err is not
	Err   error  // ErrNewer or ErrBroken
	raw   string
}

// Check opens the data of a record, which this package does not know; the error is
// ErrNewer, or any other for one that is damaged.
type Check func(r Record) error

// chatKey is the key of a chat: the bucket, the kind, the chat and of a group's
// conversation the person.
var chatKey = regexp.MustCompile(`^sb:\{(\d+)\}:([a-z]):(-?\d+)(?::(-?\d+))?$`)

// kindsOfKeys name what keys hold, for counting.
var kindsOfKeys = map[string]string{
	"c": "conversations", "j": "chats with jobs", "o": "outboxes", "i": "queues of updates put off",
	"s": "seen marks", "x": "lists of what was set aside", "m": "lists of members", "t": "lists of links", "w": "pages",
	"v": "lists of what is shown",
}

// kindOfKey is what a key holds.
func kindOfKey(name string) string {
	if m := chatKey.FindStringSubmatch(name); m != nil && kindsOfKeys[m[2]] != "" {
		return kindsOfKeys[m[2]]
	}
	switch {
	case strings.HasPrefix(name, "sb:link:"):
		return "links"
	case strings.HasPrefix(name, "sb:web:"), strings.HasPrefix(name, "sb:page:"):
		return "browsers with pages, and links that were opened there"
	case strings.HasPrefix(name, "sb:{crew}:"), name == crewKey, name == guestKey:
		return "lists of people"
	case indexOf.MatchString(name):
		return "indexes"
	}
	return "other keys"
}

// indexOf is the key of a bucket's index.
var indexOf = regexp.MustCompile(`^sb:\{(\d+)\}:p$`)

// records are those of a key, each opened.
func (s *Store) records(name string, v rdb.Value, check Check) (list []Record) {
	m := chatKey.FindStringSubmatch(name)
	if m == nil {
		return nil
	}
	chat, err := strconv.ParseInt(m[3], 10, 64)
	if err != nil {
		return nil
	}
	add := func(kind, field, raw string, data []byte, err error) {
		r := Record{kind, chat, field, data, err, raw}
		if err == nil {
			r.Err = check(r)
		}
		if r.Err != nil {
			r.Data = nil
		}
		list = append(list, r)
	}
	switch kind := m[2]; {
	case kind == "c" && v.Kind == rdb.String:
		_, _, data, err := s.states.openNamed([]byte(v.Items[0]))
		add("conversation", m[4], v.Items[0], data, err)
	case kind == "j" && v.Kind == rdb.Hash:
		for i := 0; i+1 < len(v.Items); i += 2 {
			part := "head"
			if strings.Contains(v.Items[i], "/") {
				part = "window"
			}
			_, data, err := s.jobs.open([]byte(v.Items[i+1]))
			add(part, v.Items[i], v.Items[i+1], data, err)
		}
	case v.Kind != rdb.List:
	case kind == "o" || kind == "i":
		l, what := s.replies, "reply"
		if kind == "i" {
			l, what = s.updates, "update"
		}
		for _, raw := range v.Items {
			_, id, data, err := l.openNamed([]byte(raw))
			add(what, id, raw, data, err)
		}
	case kind == "x":
		for _, raw := range v.Items {
			list = append(list, Record{Kind: "aside", Chat: chat, raw: raw})
		}
	}
	return list
}
