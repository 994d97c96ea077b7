package telegram

import (
	"context"
	"errors"
	"fmt"
	"slices"

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
	Groups    []string // those of them that make sense in a group

	// Kept keeps in which languages there is a menu, so that those are deleted that the
	// catalogue has no longer: to ask the platform for each language that there is would
	// take hundreds of calls. nil: none is deleted.
	Kept MenuKeeper
}

// MenuKeeper keeps the languages in which menus were set, over restarts and replicas.
type MenuKeeper interface {
	Menus(ctx context.Context) (languages []string, err error)
	KeepMenus(ctx context.Context, languages []string) error
}

// Publish makes what the platform shows what the menu says, in every language: it asks
// first, and sets what differs. It continues when one part is refused and stops when the
// platform can't be reached; the error joins all failures. No conversation depends on it.
func (c *Client) Publish(ctx context.Context, m Menu) error {
	var codes, gone []string
	for i, lang := range m.Languages {
		if i > 0 { // the first is for everybody
			codes = append(codes, lang)
		}
	}
	if m.Kept != nil {
		before, err := m.Kept.Menus(ctx)
		if err == nil && !slices.Equal(before, codes) {
			all := slices.Concat(before, codes)
			slices.Sort(all)
			err = m.Kept.KeepMenus(ctx, slices.Compact(all)) // first: nothing is set that nobody knows of
		}
		if err != nil {
			return fmt.Errorf("in which languages there are menus: %w", err)
		}
		gone = slices.DeleteFunc(slices.Clone(before), func(lang string) bool { return lang == "" || slices.Contains(codes, lang) })
	}
	var failed []error
	for _, call := range slices.Concat(c.menuCalls(m), c.goneCalls(gone)) {
		err := call.do(ctx)
		if err == nil {
			continue
		}
		failed = append(failed, fmt.Errorf("%s: %w", call.lang, c.plainError(call.what, err)))
		if tr, ok := errors.AsType[*transportError](err); ok && tr.status == 0 {
			break
		}
	}
	if len(gone) > 0 && failed == nil {
		failed = append(failed, m.Kept.KeepMenus(ctx, codes))
	}
	return errors.Join(failed...)
}

// menuCall is one part of the menu in one language.
type menuCall struct {
	what, lang string
	do         func(context.Context) error
}

// set is the part of a menu that is set unless the platform has it already.
func set[G, A, P, R any](what, lang string, get func(context.Context, *G) (A, error), ask *G, has func(A) bool,
	put func(context.Context, P) (R, error), params P) menuCall {
	return menuCall{what, lang, func(ctx context.Context) error {
		now, err := get(ctx, ask)
		if tr, ok := errors.AsType[*transportError](err); err == nil && has(now) || ok && tr.status == 0 {
			return err
		}
		_, err = put(ctx, params) // what is there but can't be read is set as well
		return err
	}}
}

// scopes are where a menu is shown: everywhere, and in groups another one. One for
// administrators would say nothing else.
func (m Menu) scopes() map[models.BotCommandScope][]string {
	list := map[models.BotCommandScope][]string{nil: m.Commands}
	if len(m.Groups) > 0 {
		list[inGroups] = m.Groups
	}
	return list
}

var inGroups = &models.BotCommandScopeAllGroupChats{}

func (c *Client) menuCalls(m Menu) []menuCall {
	var calls []menuCall
	for i, lang := range m.Languages {
		words := func(key string, limit int) string { return clip(plain(m.Words.Text(lang, phrase.Of(key))), limit) }
		code := lang
		if i == 0 {
			code = "" // for everybody
		}
		for scope, names := range m.scopes() {
			var commands []models.BotCommand
			for _, name := range names {
				commands = append(commands, models.BotCommand{Command: name, Description: words("command."+name, commandLimit)})
			}
			calls = append(calls, set("setMyCommands", lang, c.api.GetMyCommands, &bot.GetMyCommandsParams{Scope: scope, LanguageCode: code},
				func(now []models.BotCommand) bool { return slices.Equal(now, commands) },
				c.api.SetMyCommands, &bot.SetMyCommandsParams{Commands: commands, Scope: scope, LanguageCode: code}))
		}
		description, about := words("bot.description", descriptionLimit), words("bot.about", aboutLimit)
		calls = append(calls,
			set("setMyDescription", lang, c.api.GetMyDescription, &bot.GetMyDescriptionParams{LanguageCode: code},
				func(now models.BotDescription) bool { return now.Description == description },
				c.api.SetMyDescription, &bot.SetMyDescriptionParams{Description: description, LanguageCode: code}),
			set("setMyShortDescription", lang, c.api.GetMyShortDescription, &bot.GetMyShortDescriptionParams{LanguageCode: code},
				func(now models.BotShortDescription) bool { return now.ShortDescription == about },
				c.api.SetMyShortDescription, &bot.SetMyShortDescriptionParams{ShortDescription: about, LanguageCode: code}))
	}
	return append(calls, set("setChatMenuButton", "every language", c.api.GetChatMenuButton, &bot.GetChatMenuButtonParams{},
		func(now models.MenuButton) bool { return now.Type == models.MenuButtonTypeCommands },
		c.api.SetChatMenuButton, &bot.SetChatMenuButtonParams{
			MenuButton: models.MenuButtonCommands{Type: models.MenuButtonTypeCommands},
		}))
}

// goneCalls take away what was set in languages that the catalogue has no longer. An empty
// description is none (core.telegram.org/bots/api, setMyDescription).
func (c *Client) goneCalls(gone []string) []menuCall {
	var calls []menuCall
	for _, lang := range gone {
		calls = append(calls,
			menuCall{"deleteMyCommands", lang, calling(c.api.DeleteMyCommands, &bot.DeleteMyCommandsParams{LanguageCode: lang})},
			menuCall{"deleteMyCommands", lang, calling(c.api.DeleteMyCommands, &bot.DeleteMyCommandsParams{Scope: inGroups, LanguageCode: lang})},
			menuCall{"setMyDescription", lang, calling(c.api.SetMyDescription, &bot.SetMyDescriptionParams{LanguageCode: lang})},
			menuCall{"setMyShortDescription", lang, calling(c.api.SetMyShortDescription, &bot.SetMyShortDescriptionParams{LanguageCode: lang})})
	}
	return calls
}
