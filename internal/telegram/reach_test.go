package telegram

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/telegram/telegramtest"
)

func TestReachSaysWhatThePlatformMakesOfTheWebhook(t *testing.T) {
	server := telegramtest.Start(t)
	client := connect(t, hooked(server, "http://127.0.0.1:1/in"))
	r, err := client.Reach(within(t))
	require.NoError(t, err)
	require.Equal(t, Reach{Elsewhere: true}, r, "none is set")

	require.NoError(t, client.Connect(within(t)))
	r, err = client.Reach(within(t))
	require.NoError(t, err)
	require.Equal(t, Reach{}, r)

	server.Type(1, "1204") // nobody listens at port 1
	require.NoError(t, server.Wait(within(t), func() bool { return len(server.Pushes()) > 0 }))
	r, err = client.Reach(within(t))
	require.NoError(t, err)
	require.Equal(t, 1, r.Pending)
	require.Equal(t, ConnectionFailed, r.Kind)
	require.WithinDuration(t, time.Now(), r.Failed, 2*time.Second)

	require.NoError(t, connect(t, hooked(server, "http://127.0.0.1:1/other")).Connect(within(t)))
	r, err = client.Reach(within(t))
	require.NoError(t, err)
	require.True(t, r.Elsewhere)

	server.Fail("getWebhookInfo", telegramtest.Failing)
	_, err = client.Reach(within(t))
	require.Error(t, err)
}

func TestFailures(t *testing.T) {
	for message, kind := range map[string]Failure{
		"":                                  NoFailure,
		"Connection refused":                ConnectionFailed,
		"Connection reset by peer":          ConnectionFailed,
		"Host is unreachable":               ConnectionFailed,
		"No route to host":                  ConnectionFailed,
		"Connection timed out":              TimedOut,
		"Read timeout expired":              TimedOut,
		"Write timeout expired":             TimedOut,
		"SSL error {error:0A000086}":        CertificateBad,
		"Failed to resolve host: not known": NameUnknown,
		"IP address 10.0.0.1 is reserved":   OtherFailure,
		"Wrong response from the webhook: 503 Service Unavailable": ServerFailed,
		"Wrong response from the webhook: 401 Unauthorized":        Refused,
		"Wrong response from the webhook: 301 Moved Permanently":   Refused,
	} {
		got := failureOf(message)
		require.Equal(t, kind, got, message)
		if kind != NoFailure {
			require.Contains(t, Failures, got)
		}
	}
}

// A receiver knows when it was last reached, in either way.
func TestAReceiverKnowsWhenItWasReached(t *testing.T) {
	server := telegramtest.Start(t)
	var d fakeEngine
	r := connect(t, config(server)).Receiver(&d, &graves{})
	require.True(t, r.Polled().IsZero())
	ctx, stop := context.WithCancel(within(t))
	left := make(chan struct{})
	go func() { defer close(left); r.Poll(ctx) }()
	server.Type(1, "1")
	require.NoError(t, server.WaitTaken(within(t)))
	require.False(t, r.Polled().IsZero())
	require.True(t, r.Pushed().IsZero())
	stop()
	<-left
}

func TestTheWebhookIsComparedByWhereItLeads(t *testing.T) {
	ours := "https://Bot.example/in%20side?a=1"
	for _, same := range []string{ours, "https://bot.example:443/in side?a=1", "https://bot.example/in%20side?a=1"} {
		require.True(t, sameAddress(same, ours), same)
	}
	for _, other := range []string{"", "https://bot.example:8443/in%20side?a=1", "https://bot.example/in%20side",
		"https://bot.example/?a=1", "https://other.example/in%20side?a=1", "http://bot.example/in%20side?a=1", "%"} {
		require.False(t, sameAddress(other, ours), other)
	}
}
