package engine

import (
	"sync"

	"sillbot/internal/session"
)

// strips knows of the private chats where this process sent last whether the message
// there has buttons that mean nothing once its question is answered by typing. Where the
// answer to a push can take them off, that saves a call for each such answer; what strips
// does not know the courier takes off.
type strips struct {
	mu   sync.Mutex
	last map[int64]lastSent
}

// lastSent is the message that was sent last in a chat.
type lastSent struct {
	msg int64
	off bool // its buttons are off
}

// stripsMost is how many chats it knows: each takes some 40 bytes.
const stripsMost = 8192

// note notes what was sent last; nothing of a message without buttons that end.
func (s *strips) note(msg int64, m Message) {
	if msg == 0 || m.Chat <= 0 || m.To != 0 && m.To != m.Chat {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.last == nil || len(s.last) >= stripsMost {
		s.last = map[int64]lastSent{}
	}
	s.last[m.Chat] = lastSent{msg, !m.Reply.Asks.Ends}
}

// offBy takes the buttons off by the answer to a push, if the turn says something in a new
// message that asks a question.
func (s *strips) offBy(u Update, t session.Turn) {
	if u.Strip == nil || u.Group || u.Input.Account != u.Chat {
		return
	}
	for _, v := range t.Values {
		if m, ok := v.(Message); ok && m.Reply.Asks != nil && m.Reply.Over == 0 {
			s.mu.Lock()
			was := s.last[u.Chat]
			if was.msg != 0 && !was.off {
				s.last[u.Chat] = lastSent{was.msg, true}
			}
			s.mu.Unlock()
			if was.msg != 0 && !was.off {
				u.Strip(was.msg)
			}
			return
		}
	}
}

// off is whether the buttons of a message are off.
func (s *strips) off(chat, msg int64) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.last[chat] == lastSent{msg, true}
}
