package telegram

import (
	"context"

	"github.com/go-telegram/bot"
	"github.com/go-telegram/bot/models"
)

// strip takes the buttons off a message. Nothing depends on it: it is tried once.
func (c *Client) strip(ctx context.Context, chat, msg int64) {
	ctx, cancel := context.WithTimeout(ctx, answerTimeout)
	defer cancel()
	_, err := c.post(ctx, "editMessageReplyMarkup", &bot.EditMessageReplyMarkupParams{ChatID: chat, MessageID: int(msg)})
	if err != nil {
		c.cfg.Log.Debug("old buttons were not taken off", "error", c.plainError("editMessageReplyMarkup", err))
	}
}

// edit puts a text and buttons in the place of a message. To do so again changes nothing,
// so that it never makes a second copy.
func (c *Client) edit(ctx context.Context, chat, msg int64, text string, keyboard models.ReplyMarkup) error {
	params := &bot.EditMessageTextParams{
		ChatID: chat, MessageID: int(msg), Text: text, ParseMode: models.ParseModeHTML, ReplyMarkup: keyboard,
		LinkPreviewOptions: &models.LinkPreviewOptions{IsDisabled: new(true)},
	}
	_, err := c.post(ctx, "editMessageText", params)
	if markupAtFault(err) {
		params.Text, params.ParseMode = plain(text), ""
		_, err = c.post(ctx, "editMessageText", params)
	}
	got, _ := ctx.Value(receiptKey{}).(*receipt)
	if got.taken || said(err, "message is not modified") {
		got.edited = true
		return nil
	}
	return err
}
