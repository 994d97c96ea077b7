package telegram

import (
	"context"
	"encoding/json"
	"fmt"
	"html"
	"strings"

	"github.com/go-telegram/bot/models"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// topic is the topic of a group that a message was written in; 0: none. Only there is the
// thread of a message one that can be written to.
func (m *message) topic() int64 {
	if !m.InTopic {
		return 0
	}
	return m.Thread
}

// nameless hands over that somebody wrote to the bot in a group in the name of a chat, so
// that nobody knows who it is. A post of the linked channel, which the platform brings by
// itself, is to nobody.
func (r *Receiver) nameless(ctx context.Context, raw json.RawMessage, id int64, m *message, edited bool) error {
	_, text, ok := m.content(raw)
	if !ok || edited || m.Forwarded {
		return nil
	}
	_, forUs, err := r.forUs(ctx, m, text)
	if err != nil || !forUs {
		return err
	}
	return r.taker.Take(ctx, engine.Update{ID: id, Chat: m.Chat.ID, Group: true, Input: dialog.Input{
		Kind: talk.Nameless, Now: when(m.Date, r.client.cfg.Clock()), Msg: m.ID, Topic: m.topic(), Lang: m.From.language(),
	}})
}

// inGroup makes the parts of a reply one to a person of a group: an answer to what they
// wrote, or else with their name as a mention, so that they hear of it, as nobody else
// does. Where the bot sees only what is for it, a question that is answered by typing opens
// the answer for that person (core.telegram.org/bots/api, ForceReply); one with buttons
// can't, and what is changed in place can't either.
func (s *Sender) inGroup(r dialog.Reply, parts []part) {
	who := r.For
	if who == nil {
		return
	}
	if who.Msg != 0 {
		parts[0].reply = &models.ReplyParameters{MessageID: int(who.Msg), AllowSendingWithoutReply: true}
	} else if name := s.words.Text(r.Lang, phrase.Of("group.for").Saying("name", who.Name)); who.Name != "" && strings.HasPrefix(parts[0].text, name) {
		parts[0].text = fmt.Sprintf(`<a href="tg://user?id=%d">%s</a>:`, who.User, html.EscapeString(who.Name)) + parts[0].text[len(name):]
	}
	last := 0
	for i, p := range parts {
		if p.album == nil {
			last = i
		}
	}
	if r.Open == "" || who.User == 0 || parts[last].keyboard != nil || !s.client.seesLittle() {
		return
	}
	parts[last].keyboard = &models.ForceReply{ForceReply: true, Selective: true,
		InputFieldPlaceholder: plain(s.words.Text(r.Lang, phrase.Of("group.placeholder")))}
	parts[last].over = 0
}

// seesLittle reports whether the bot is known to see only what is for it in a group, as
// bots do unless their owner has switched privacy mode off. It makes no call.
func (c *Client) seesLittle() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.me != nil && !c.me.CanReadAllGroupMessages
}
