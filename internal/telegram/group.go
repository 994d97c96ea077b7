package telegram

import (
	"fmt"
	"html"
	"strings"

	"github.com/go-telegram/bot/models"
	"github.com/shopspring/decimal"

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
		text = mention(decimal.NewFromInt(who.User), html.EscapeString(who.Name)) + ":" + rest
	}
	return nil, text
}

// mentions says whether a line names one of several that a message is to, who are all to
// hear of it: it answers one of them at the most.
func mentions(line phrase.Text) bool {
	_, numbered := line.Num["user"]
	return numbered && line.Key == "group.for"
}

// mention makes a link of words, as HTML, by which the platform tells a person that they are
// named (core.telegram.org/bots/api, HTML style).
func mention(user decimal.Decimal, words string) string {
	return fmt.Sprintf(`<a href="tg://user?id=%s">%s</a>`, user.StringFixed(0), words)
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
