package main

import (
	"context"
	"log/slog"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
)

// mostBytes is what a conversation may take up in Redis after the survey.
const mostBytes = 2048

// overhead is what Redis needs for a key besides its name and value: the entry
// of the key table, the value's object, the expiry. BenchmarkBytes of session
// and go run ./bench measure the whole.
const overhead = 150

type discard struct{}

func (discard) Send(context.Context, engine.Message) (engine.Sent, error) { return engine.Sent{}, nil }

// TestAConversationStaysSmall plays the survey of the benchmark and adds up
// what is stored of it: keys, values and what Redis needs for them.
func TestAConversationStaysSmall(t *testing.T) {
	ctx, chat := context.Background(), int64(5_000_000_001)
	mini, url := sessiontest.Mini(t)
	store, err := session.Open(ctx, url)
	require.NoError(t, err)
	defer store.Close()
	e := engine.New(store, discard{}, engine.Options{Rate: -1, Log: slog.New(slog.DiscardHandler)})
	for i, line := range lines {
		require.NoError(t, e.Take(ctx, engine.Update{ID: 800_000_000 + int64(i), Chat: chat, User: chat, Input: dialog.Input{
			Kind: dialog.Typed, Text: line, Name: "Ana Invented", Now: time.Unix(1_764_061_200+int64(20*i), 0),
		}}))
		require.NoError(t, e.Flush(ctx, chat))
	}
	sum := 0
	for _, key := range mini.Keys() {
		size := len(key)
		switch kind := mini.Type(key); kind {
		case "string":
			value, err := mini.Get(key)
			require.NoError(t, err)
			size += len(value)
		case "zset":
			marks, err := mini.SortedSet(key)
			require.NoError(t, err)
			require.Len(t, marks, len(lines), "every line was a turn")
			size += 16 * len(marks) // see the package comment of session
		case "hash":
			fields, err := mini.HKeys(key)
			require.NoError(t, err)
			for _, field := range fields {
				size += len(field) + len(mini.HGet(key, field)) + overhead/2
			}
		default:
			t.Fatalf("%s is a %s", key, kind)
		}
		t.Logf("%5d bytes %s", size, key)
		sum += size + overhead
	}
	require.Less(t, 800, sum, "a survey was stored")
	require.LessOrEqual(t, sum, mostBytes)
	t.Logf("%5d bytes in all", sum)
}
