package telegram

import (
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/telegram/telegramtest"
)

// TestTheWebhookIsAskedForWhatIsRead: the memberships are not among what the platform
// brings unless they are asked for together with the rest.
func TestTheWebhookIsAskedForWhatIsRead(t *testing.T) {
	server := telegramtest.Start(t)
	cfg := config(server)
	cfg.WebhookURL, cfg.WebhookSecret, cfg.Connections = "http://127.0.0.1:1/in", "s3cret", 7
	client := connect(t, cfg)
	require.NoError(t, client.Connect(within(t)))
	info, err := client.api.GetWebhookInfo(within(t))
	require.NoError(t, err)
	require.Equal(t, 7, info.MaxConnections)
	require.ElementsMatch(t, []string{"message", "edited_message", "callback_query", "my_chat_member"}, info.AllowedUpdates)
	cfg.Connections = 101
	_, err = New(cfg)
	require.ErrorContains(t, err, "1 to 100")
}

// TestMembershipsArePolled in the order of their chat.
func TestMembershipsArePolled(t *testing.T) {
	server := telegramtest.Start(t)
	var d fakeEngine
	startPoll(t, config(server), &d, &graves{})
	crew := telegramtest.Chat{ID: -9, Type: "supergroup"}
	server.Type(7, "hello")
	server.Block(7)
	server.Unblock(7)
	server.Add(crew, 7)
	server.Remove(crew, 7)
	require.NoError(t, server.WaitTaken(within(t)))
	var kinds []dialog.Kind
	for _, u := range d.taken {
		kinds = append(kinds, u.Input.Kind)
	}
	require.ElementsMatch(t, []dialog.Kind{dialog.Typed, dialog.Undelivered, dialog.Returned, dialog.Added, dialog.Undelivered}, kinds)
}
