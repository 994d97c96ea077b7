package telegram

import (
	"errors"
	"net/http"
	"slices"
	"strings"

	"github.com/go-telegram/bot"
)

func markupAtFault(err error) bool {
	return errors.Is(err, bot.ErrorBadRequest) && strings.Contains(err.Error(), "can't parse entities")
}

// uneditable reports whether a message is no more there to be changed, or was none of
// words. The texts are the platform's, as far as they could be given from memory.
func uneditable(err error) bool {
	return said(err, "message to edit not found") || said(err, "message can't be edited") ||
		said(err, "message_id_invalid") || tooLong(err) || said(err, "no text in the message")
}

func said(err error, words string) bool {
	return errors.Is(err, bot.ErrorBadRequest) && strings.Contains(strings.ToLower(err.Error()), words)
}

// outOfReach reports whether the platform will take no message to the chat: the
// person blocked the bot or closed their account, the bot was removed from the
// group or may not write there, or there is no such chat. The texts are the
// platform's, as far as they could be given from memory.
func outOfReach(err error) bool {
	if errors.Is(err, bot.ErrorForbidden) {
		return true
	}
	if !errors.Is(err, bot.ErrorBadRequest) {
		return false
	}
	text := strings.ToLower(err.Error())
	return slices.ContainsFunc([]string{
		"chat not found", "user is deactivated", "group chat was deactivated", "have no rights to send", "not enough rights to send",
		"chat_write_forbidden", "peer_id_invalid",
	}, func(part string) bool { return strings.Contains(text, part) })
}

// tooLong is that the platform counts a text otherwise than this program.
func tooLong(err error) bool {
	return said(err, "message is too long") || said(err, "caption is too long") ||
		said(err, "message_too_long") || said(err, "caption_too_long")
}

// unfit reports whether the picture is, or may be, what was refused.
func unfit(err error) bool {
	var tr *transportError
	return errors.Is(err, errUnpainted) || errors.Is(err, bot.ErrorBadRequest) && !said(err, "message thread not found") ||
		errors.As(err, &tr) && tr.status == http.StatusRequestEntityTooLarge
}

// refused reports whether the platform takes messages to the chat, but not what is in
// this one.
func refused(err error) bool { return unfit(err) && !outOfReach(err) }
