package telegram

import (
	"fmt"
	"html"
	"strings"

	"github.com/go-telegram/bot/models"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
)

// toPerson makes the beginning of a reply one to a person of a group: an answer to what
// they wrote, or else with their name as a mention, so that they hear of it, as nobody else
// does. Both are nil and the text itself where it is to everybody.
func toPerson(words Renderer, r dialog.Reply, text string) (*models.ReplyParameters, string) {
	who := r.For
	switch {
	case who == nil:
		return nil, text
	case who.Msg != 0:
		return &models.ReplyParameters{MessageID: int(who.Msg), AllowSendingWithoutReply: true}, text
	}
	name := words.Text(r.Lang, phrase.Of("group.for").Saying("name", who.Name))
	if rest, ok := strings.CutPrefix(text, name); ok && who.Name != "" {
		text = fmt.Sprintf(`<a href="tg://user?id=%d">%s</a>:`, who.User, html.EscapeString(who.Name)) + rest
	}
	return nil, text
}

// typedAnswer opens the answer to a question for the person of a group who is asked; nil
// where there is nothing to be typed, or anybody's text is seen. A message with buttons can't
// do that, and what is changed in place can't either (core.telegram.org/bots/api,
// ForceReply).
func (c *Client) typedAnswer(words Renderer, r dialog.Reply) models.ReplyMarkup {
	if r.For == nil || r.For.User == 0 || r.Open == "" || !c.seesLittle() {
		return nil
	}
	return &models.ForceReply{ForceReply: true, Selective: true, InputFieldPlaceholder: plain(words.Text(r.Lang, phrase.Of("group.placeholder")))}
}

// seesLittle reports whether the bot is known to see only what is for it in a group, as
// bots do unless their owner has switched privacy mode off. It makes no call.
func (c *Client) seesLittle() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.me != nil && !c.me.CanReadAllGroupMessages
}
