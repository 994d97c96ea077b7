package telegram

import (
	"net/url"
	"unicode/utf8"

	"github.com/go-telegram/bot/models"

	"sillbot/internal/dialog"
)

const (
	copyLimit = 256 // characters that a button copies (core.telegram.org/bots/api, CopyTextButton)
	// passOnPage opens the choice of chats, with a link to be sent there
	// (core.telegram.org/api/links, share links). A switch_inline_query button does the
	// like for bots alone that are asked from any chat, which this one is not.
	passOnPage = "https://t.me/share/url?url="
)

// keyboard is the buttons under a message; left is told of those that are left out.
func keyboard(list [][]dialog.Button, label func(dialog.Button) string, left func(dialog.Button)) models.ReplyMarkup {
	var rows [][]models.InlineKeyboardButton
	for _, row := range list {
		var buttons []models.InlineKeyboardButton
		for _, b := range row {
			button, ok := inline(label(b), b)
			if !ok {
				left(b)
				continue
			}
			buttons = append(buttons, button)
		}
		if len(buttons) > 0 {
			rows = append(rows, buttons)
		}
	}
	if len(rows) == 0 {
		return nil
	}
	return &models.InlineKeyboardMarkup{InlineKeyboard: rows}
}

// inline is a button as the platform has it; ok is false for one that it would refuse,
// and with it the whole message.
func inline(label string, b dialog.Button) (_ models.InlineKeyboardButton, ok bool) {
	button := models.InlineKeyboardButton{Text: label}
	switch {
	case b.PassOn != "":
		button.URL = passOnPage + url.QueryEscape(b.PassOn)
		ok = true
	case b.Copy != "":
		button.CopyText = &models.CopyTextButton{Text: b.Copy}
		ok = utf8.RuneCountInString(b.Copy) <= copyLimit
	default:
		button.CallbackData = b.Data
		ok = b.Data != "" && len(b.Data) <= dataLimit
	}
	return button, ok && label != ""
}
