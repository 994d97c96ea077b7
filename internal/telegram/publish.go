package telegram

import (
	"context"
	"errors"
	"fmt"

	"github.com/go-telegram/bot"
	"github.com/go-telegram/bot/models"

	"sillbot/internal/phrase"
)

// Limits of what the platform shows of a bot, in characters.
const (
	commandLimit     = 256
	descriptionLimit = 512
	aboutLimit       = 120
)

// Menu is what the platform shows of the bot by itself: its commands in
// order, what it says before the first message, and the line in its profile.
// The words are the catalogue's "command.NAME", "bot.description" and
// "bot.about".
type Menu struct {
	Words     Renderer
	Languages []string // the first also serves everybody whose language is not among them
	Commands  []string // names, without the slash
}

// Publish sets the menu in every language. It continues when one part is
// refused and stops when the platform can't be reached; the error joins all
// failures. No conversation depends on it.
func (c *Client) Publish(ctx context.Context, m Menu) error {
	var failed []error
	for _, call := range c.menuCalls(m) {
		err := call.do(ctx)
		if err == nil {
			continue
		}
		failed = append(failed, fmt.Errorf("%s: %w", call.lang, c.plainError(call.method, err)))
		if tr, ok := errors.AsType[*transportError](err); ok && tr.status == 0 {
			break
		}
	}
	return errors.Join(failed...)
}

// menuCall is one part of the menu in one language.
type menuCall struct {
	method, lang string
	do           func(context.Context) error
}

func (c *Client) menuCalls(m Menu) []menuCall {
	var calls []menuCall
	for i, lang := range m.Languages {
		words := func(key string, limit int) string { return clip(plain(m.Words.Text(lang, phrase.Of(key))), limit) }
		code := lang
		if i == 0 {
			code = "" // for everybody
		}
		var commands []models.BotCommand
		for _, name := range m.Commands {
			commands = append(commands, models.BotCommand{Command: name, Description: words("command."+name, commandLimit)})
		}
		calls = append(calls,
			menuCall{"setMyCommands", lang, calling(c.api.SetMyCommands, &bot.SetMyCommandsParams{
				Commands: commands, LanguageCode: code,
			})},
			menuCall{"setMyDescription", lang, calling(c.api.SetMyDescription, &bot.SetMyDescriptionParams{
				Description: words("bot.description", descriptionLimit), LanguageCode: code,
			})},
			menuCall{"setMyShortDescription", lang, calling(c.api.SetMyShortDescription, &bot.SetMyShortDescriptionParams{
				ShortDescription: words("bot.about", aboutLimit), LanguageCode: code,
			})})
	}
	return append(calls, menuCall{"setChatMenuButton", "every language", calling(c.api.SetChatMenuButton, &bot.SetChatMenuButtonParams{
		MenuButton: models.MenuButtonCommands{Type: models.MenuButtonTypeCommands},
	})})
}
