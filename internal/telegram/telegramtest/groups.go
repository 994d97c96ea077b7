package telegramtest

import "slices"

// GroupBot is the account in whose name anonymous administrators of a group write
// (core.telegram.org/bots/api, Message, from and sender_chat; the number M).
const GroupBot = 1087968824

// Forced is a reply interface that the bot asks for (core.telegram.org/bots/api, ForceReply).
type Forced struct {
	Placeholder string `json:"input_field_placeholder"`
	Selective   bool   `json:"selective"`
	Force       bool   `json:"force_reply"`
}

// placed refuses a topic that the chat does not have and a message that is answered and is
// not there; the texts are M. s.mu is held.
func (s *Server) placed(c *Chat, p params) error {
	topic, err := p.int("message_thread_id", 0)
	if err != nil || topic != 0 && !slices.Contains(c.Topics, topic) {
		return bad("message thread not found")
	}
	var reply struct {
		ID     int64 `json:"message_id"`
		Absent bool  `json:"allow_sending_without_reply"`
	}
	if err := p.json("reply_parameters", &reply); err != nil {
		return err
	}
	if reply.ID != 0 && !reply.Absent && s.find(c.ID, reply.ID) == nil {
		return bad("message to be replied not found")
	}
	return nil
}

// place notes where in a group a message went, and to whom. What was wrong was refused.
func (m *Sent) place(p params) {
	m.Topic, _ = p.int("message_thread_id", 0)
	var reply struct {
		ID int64 `json:"message_id"`
	}
	if p.json("reply_parameters", &reply) == nil {
		m.ReplyTo = reply.ID
	}
	var force Forced
	if p.json("reply_markup", &force) == nil && force.Force {
		m.Force = &force
	}
}

// TypeInTopic writes a text as a user in a topic of a group, to the bot by its name.
func (s *Server) TypeInTopic(chat, user, topic int64, text string) int64 {
	return s.message(chat, user, map[string]any{"text": "@" + BotName + " " + text, "message_thread_id": topic, "is_topic_message": true})
}

// TypeAs writes a text in a group in the name of a chat: of the group itself, as its
// anonymous administrators do, or of a channel. forwarded: it is a post of the channel
// that the platform brought there by itself.
func (s *Server) TypeAs(chat, as int64, text string, forwarded bool) int64 {
	content := map[string]any{"text": text, "sender_chat": map[string]any{"id": as, "type": "supergroup"},
		"from": map[string]any{"id": GroupBot, "is_bot": true, "first_name": "Group"}}
	if forwarded {
		content["is_automatic_forward"] = true
		content["from"] = map[string]any{"id": 777000, "is_bot": false, "first_name": "Telegram"}
	}
	return s.message(chat, GroupBot, content)
}
