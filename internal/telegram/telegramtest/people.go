package telegramtest

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf16"
)

// Chat is where people and the bot write.
type Chat struct {
	ID      int64
	Type    string // private, group, supergroup or channel
	Title   string
	Blocked bool  // the person blocked the bot, or the group removed it
	MovedTo int64 // the group became a supergroup with this id
	Topics  []int64
}

func (c *Chat) json() map[string]any {
	if c.Type == "private" {
		return map[string]any{"id": c.ID, "type": c.Type, "first_name": "Person"}
	}
	return map[string]any{"id": c.ID, "type": c.Type, "title": c.Title}
}

// Join makes or changes a chat. A private chat is also made by Type.
func (s *Server) Join(c Chat) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.chats[c.ID] = &c
}

// Speak sets the language that a person's device names; "en" until then.
func (s *Server) Speak(user int64, language string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.langs[user] = language
}

// Call sets the first name of a person; "Person" until then.
func (s *Server) Call(user int64, name string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.names[user] = name
}

// person is a user as the bot sees it. s.mu is held.
func (s *Server) person(id int64) map[string]any {
	language, ok := s.langs[id]
	if !ok {
		language = "en"
	}
	return map[string]any{"id": id, "is_bot": false, "first_name": cmp.Or(s.names[id], "Person"), "language_code": language}
}

// Type writes a text in the private chat of a person, whose id is the chat's,
// and gives the id of the update.
func (s *Server) Type(user int64, text string) int64 { return s.TypeIn(user, user, text) }

// TypeIn writes a text as a user of any chat.
func (s *Server) TypeIn(chat, user int64, text string) int64 {
	return s.message(chat, user, map[string]any{"text": text, "entities": entities(text)})
}

// ReplyIn writes a text as an answer to the last message of the bot there.
func (s *Server) ReplyIn(chat, user int64, text string) int64 {
	s.mu.Lock()
	var last map[string]any
	for _, m := range s.messages[chat] {
		if m.from == BotID {
			last = m.raw
		}
	}
	s.mu.Unlock()
	return s.message(chat, user, map[string]any{"text": text, "reply_to_message": last})
}

// Attach sends something that is not text: photo, voice, video_note, sticker,
// document, contact, location, dice.
func (s *Server) Attach(chat, user int64, kind, caption string) int64 {
	file := map[string]any{"file_id": "f1", "file_unique_id": "u1", "width": 90, "height": 90, "duration": 1}
	content := map[string]any{kind: file}
	switch kind {
	case "photo":
		content[kind] = []any{file}
	case "dice":
		content[kind] = map[string]any{"emoji": "🎲", "value": 3}
	case "contact":
		content[kind] = map[string]any{"phone_number": "1", "first_name": "Person"}
	case "location":
		content[kind] = map[string]any{"latitude": 1.5, "longitude": 1.5}
	}
	if caption != "" {
		content["caption"] = caption
	}
	return s.message(chat, user, content)
}

// message writes one message of a person.
func (s *Server) message(chat, user int64, content map[string]any) int64 {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.chats[chat] == nil && chat == user {
		s.chats[chat] = &Chat{ID: chat, Type: "private"}
	}
	c := s.chats[chat]
	if c == nil {
		panic(fmt.Sprintf("telegramtest: nobody joined chat %d", chat))
	}
	s.lastID++
	raw := map[string]any{"message_id": s.lastID, "date": s.Clock().Unix(), "chat": c.json(), "from": s.person(user)}
	for name, value := range content {
		raw[name] = value
	}
	text, _ := content["text"].(string)
	s.messages[chat] = append(s.messages[chat], &stored{id: s.lastID, from: user, date: s.Clock().Unix(), text: text, raw: raw})
	return s.push(chat, "message", raw)
}

// Migrate makes a group a supergroup under another id, and tells of it in both
// chats: in the old one first, or, reversed, in the new one.
func (s *Server) Migrate(from, to, user int64, reversed bool) {
	s.Join(Chat{ID: to, Type: "supergroup"})
	tell := []func(){
		func() { s.message(from, user, map[string]any{"migrate_to_chat_id": to}) },
		func() { s.message(to, user, map[string]any{"migrate_from_chat_id": from}) },
	}
	if reversed {
		slices.Reverse(tell)
	}
	for _, say := range tell {
		say()
	}
	s.Join(Chat{ID: from, Type: "group", MovedTo: to})
}

// EditLast changes the last text of a person in a chat.
func (s *Server) EditLast(chat, user int64, text string) (int64, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, m := range slices.Backward(s.messages[chat]) {
		if m.from == user && m.text != "" {
			m.text, m.raw["text"], m.raw["edit_date"] = text, text, s.Clock().Unix()
			return s.push(chat, "edited_message", m.raw), nil
		}
	}
	return 0, fmt.Errorf("user %d wrote nothing in chat %d", user, chat)
}

// PressLast presses the button with a label, or with that data, under the
// last message in a chat that has buttons. In a private chat the user is the
// chat.
func (s *Server) PressLast(chat, user int64, button string) (int64, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, m := range slices.Backward(s.messages[chat]) {
		if len(m.buttons) == 0 {
			continue
		}
		for _, row := range m.buttons {
			for _, b := range row {
				if b.Label == button || b.Data == button {
					return s.press(chat, user, m, b.Data), nil
				}
			}
		}
		return 0, fmt.Errorf("no button %q under %q, which has %v", button, m.text, m.buttons)
	}
	return 0, fmt.Errorf("no message with buttons in chat %d", chat)
}

// Press presses with any data under any message of the bot, as a changed
// client could.
func (s *Server) Press(chat, user, message int64, data string) (int64, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	m := s.find(chat, message)
	if m == nil {
		return 0, fmt.Errorf("no message %d in chat %d", message, chat)
	}
	return s.press(chat, user, m, data), nil
}

// press makes the update of a press. s.mu is held.
func (s *Server) press(chat, user int64, m *stored, data string) int64 {
	query := "q" + strconv.Itoa(len(s.queries)+1)
	s.queries[query] = 0
	return s.push(chat, "callback_query", map[string]any{
		"id": query, "from": s.person(user), "message": m.raw, "chat_instance": "1", "data": data,
	})
}

// Answers is how many presses were answered.
func (s *Server) Answers() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := 0
	for _, times := range s.queries {
		if times > 0 {
			n++
		}
	}
	return n
}

// Toasts are the lines that were shown at pressed buttons.
func (s *Server) Toasts() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.toasts)
}

// Buttons are the numbers of the messages in a chat that have buttons.
func (s *Server) Buttons(chat int64) (list []int64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, m := range s.messages[chat] {
		if len(m.buttons) > 0 {
			list = append(list, m.id)
		}
	}
	return list
}

// Sent is everything that the bot sent to a chat, in order.
func (s *Server) Sent(chat int64) []Sent {
	s.mu.Lock()
	defer s.mu.Unlock()
	var list []Sent
	for _, m := range s.sent {
		if m.Chat == chat {
			list = append(list, m)
		}
	}
	return list
}

// AllSent is everything that the bot sent, in order.
func (s *Server) AllSent() []Sent {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.sent)
}

// WaitSent waits until the bot has sent at least n messages to a chat, and
// gives all of them.
func (s *Server) WaitSent(ctx context.Context, chat int64, n int) ([]Sent, error) {
	err := s.Wait(ctx, func() bool { return len(s.Sent(chat)) >= n })
	list := s.Sent(chat)
	if err != nil {
		return list, fmt.Errorf("%d of %d messages in chat %d: %w", len(list), n, chat, err)
	}
	return list, nil
}

// WaitText waits until the bot has sent a message to a chat, after the first
// `after` ones, that contains some text.
func (s *Server) WaitText(ctx context.Context, chat int64, after int, text string) (Sent, error) {
	var found Sent
	err := s.Wait(ctx, func() bool {
		list := s.Sent(chat)
		for _, m := range list[min(after, len(list)):] {
			if strings.Contains(m.Text, text) {
				found = m
				return true
			}
		}
		return false
	})
	if err != nil {
		return found, fmt.Errorf("no message with %q in chat %d: %w", text, chat, err)
	}
	return found, nil
}

// entities marks the command at the start of a text, as the platform does.
func entities(text string) []any {
	if !strings.HasPrefix(text, "/") {
		return nil
	}
	word, _, _ := strings.Cut(text, " ")
	return []any{map[string]any{"type": "bot_command", "offset": 0, "length": len(utf16.Encode([]rune(word)))}}
}
