package main

import (
	"context"
	"encoding/json"
	"log/slog"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
	"sillbot/locales"
)

// inbox keeps the documents that chats are sent.
type inbox []dialog.Document

func (in *inbox) Send(_ context.Context, m engine.Message) (engine.Sent, error) {
	if m.Reply.Document != nil {
		*in = append(*in, *m.Reply.Document)
	}
	return engine.Sent{}, nil
}

// Who asks in a group for what is held gets what is held about them, and
// nothing that the others wrote.
func TestHeldInAGroupIsOnePersons(t *testing.T) {
	ctx := within(t, 5*time.Minute)
	_, url := sessiontest.Mini(t)
	store, err := session.Open(ctx, url)
	require.NoError(t, err)
	defer store.Close()
	words, err := locales.Load()
	require.NoError(t, err)
	var got inbox
	taker := engine.New(store, &got, engine.Options{Rate: -1, Log: slog.New(slog.DiscardHandler)})
	const group = -50
	for i, said := range []struct {
		user int64
		text string
	}{{7, "England today bare none white"}, {8, "Scotland"}, {8, "/mydata"}} {
		require.NoError(t, taker.Take(ctx, engine.Update{ID: int64(i + 1), Chat: group, User: said.user, Group: true,
			Input: dialog.Input{Kind: dialog.Typed, Text: said.text, Now: time.Now()}}))
	}
	require.NoError(t, taker.Flush(ctx, group))
	require.Len(t, got, 1)
	_, data, err := papers(words, store)(ctx, "en", group, got[0])
	require.NoError(t, err)
	var held session.Holding
	require.NoError(t, json.Unmarshal(data, &held))
	require.Len(t, held.Conversations, 1)
	require.EqualValues(t, 8, held.Conversations[0].User)
	require.Contains(t, string(held.Conversations[0].State), "scotland")
	require.NotContains(t, string(data), "england")
	require.Empty(t, held.Unsent)
	require.Empty(t, held.Waiting)
}
