package telegramtest

// Block has a person block the bot: nothing reaches their private chat, and the bot is
// told so. Unblock takes it back.
func (s *Server) Block(user int64) int64 {
	return s.member(Chat{ID: user, Type: "private", Blocked: true}, user)
}
func (s *Server) Unblock(user int64) int64 { return s.member(Chat{ID: user, Type: "private"}, user) }

// Add has a person add the bot to a group, and Remove put it out.
func (s *Server) Add(c Chat, user int64) int64 { return s.member(c, user) }
func (s *Server) Remove(c Chat, user int64) int64 {
	c.Blocked = true
	return s.member(c, user)
}

// member changes a chat and tells the bot what it is there now.
func (s *Server) member(c Chat, user int64) int64 {
	s.Join(c)
	s.mu.Lock()
	defer s.mu.Unlock()
	is := func(status string) map[string]any { return map[string]any{"status": status, "user": botUser()} }
	was, now := is("left"), is("member")
	switch {
	case c.Blocked:
		was, now = now, is("kicked")
	case c.Type == "private":
		was = is("kicked")
	}
	return s.push(c.ID, "my_chat_member", map[string]any{
		"chat": c.json(), "from": s.person(user), "date": s.Clock().Unix(), "old_chat_member": was, "new_chat_member": now,
	})
}
