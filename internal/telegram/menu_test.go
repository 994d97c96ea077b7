package telegram

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/telegram/telegramtest"
)

// keptMenus is a MenuKeeper.
type keptMenus struct {
	languages []string
	fails     error
}

func (k *keptMenus) Menus(context.Context) ([]string, error) { return k.languages, k.fails }
func (k *keptMenus) KeepMenus(_ context.Context, languages []string) error {
	k.languages = languages
	return nil
}

func setCalls(s *telegramtest.Server) int {
	return s.Calls("setMyCommands") + s.Calls("setMyDescription") + s.Calls("setMyShortDescription") + s.Calls("setChatMenuButton") + s.Calls("deleteMyCommands")
}

// TestTheMenuIsSetOnlyWhereItDiffers, in every language and in groups.
func TestTheMenuIsSetOnlyWhereItDiffers(t *testing.T) {
	server := telegramtest.Start(t)
	client := connect(t, config(server))
	menu := Menu{Words: words{"bot.about": "Measures windows"}, Languages: []string{"en", "de"}, Commands: []string{"new", "crew"}, Groups: []string{"new"}, Kept: &keptMenus{}}
	require.NoError(t, client.Publish(within(t), menu))
	require.Equal(t, 4+2+2+1, setCalls(server))
	require.JSONEq(t, `[{"command":"new","description":"de command.new"}]`, server.SetIn("all_group_chats", "setMyCommands", "de"))

	require.NoError(t, client.Publish(within(t), menu))
	require.Equal(t, 9, setCalls(server), "all is there")

	menu.Groups = []string{"new", "crew"}
	menu.Words = words{"bot.about": "Measures windows and doors"}
	require.NoError(t, client.Publish(within(t), menu))
	require.Equal(t, 9+2+2, setCalls(server), "what differs, each in two languages")
	require.Equal(t, "Measures windows and doors", server.Set("setMyShortDescription", "de"))
}

// TestALanguageThatIsGoneIsTakenOffTheMenu, also when it fails at first.
func TestALanguageThatIsGoneIsTakenOffTheMenu(t *testing.T) {
	server := telegramtest.Start(t)
	client, kept := connect(t, config(server)), &keptMenus{}
	menu := Menu{Words: words{}, Languages: []string{"en", "de"}, Commands: []string{"new"}, Groups: []string{"new"}, Kept: kept}
	require.NoError(t, client.Publish(within(t), menu))
	require.Equal(t, []string{"de"}, kept.languages)
	menu.Languages = []string{"en"}
	server.Fail("deleteMyCommands", telegramtest.Failing)
	require.Error(t, client.Publish(within(t), menu))
	require.Equal(t, []string{"de"}, kept.languages, "it is still to be deleted")
	require.NoError(t, client.Publish(within(t), menu))
	require.Empty(t, kept.languages)
	for _, method := range []string{"setMyCommands", "setMyDescription", "setMyShortDescription"} {
		require.Empty(t, server.Set(method, "de"), method)
		require.NotEmpty(t, server.Set(method, ""), method)
	}
	require.Empty(t, server.SetIn("all_group_chats", "setMyCommands", "de"))
	before := setCalls(server)
	require.NoError(t, client.Publish(within(t), menu))
	require.Equal(t, before, setCalls(server))

	kept.fails = errors.New("out of reach")
	require.ErrorContains(t, client.Publish(within(t), menu), "out of reach")
}
