package engine

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
	"sillbot/internal/talk"
)

// A reply of photos reads in the outbox as what it was, and goes out by itself: joined
// with another, its photos would be lost.
func TestPhotosWaitInTheOutbox(t *testing.T) {
	label := phrase.Of("photo.label.caption").WithInt("number", 3).Saying("caption", "crack at the head")
	m := Message{Chat: 7, Reply: dialog.Reply{
		Text: phrase.Of("message").WithLines("lines", phrase.Of("photo.none.job")), Lang: "en", Burst: &talk.Burst{}, Protected: true,
		Shots: []dialog.Shot{{File: "AgAC1", Label: &label}, {File: "BQAC2", Document: true}},
	}}
	data, err := json.Marshal(m)
	require.NoError(t, err)
	again, err := messageOf(session.Item{Data: data})
	require.NoError(t, err)
	require.True(t, again.Reply.Text.Same(m.Reply.Text))
	require.Equal(t, jsonOf(t, m.Reply.Shots), jsonOf(t, again.Reply.Shots))
	require.True(t, again.Reply.Protected)
	plain := again.Reply
	plain.Shots = nil
	_, ok := dialog.Join(plain, plain)
	require.True(t, ok)
	_, ok = dialog.Join(plain, again.Reply)
	require.False(t, ok)
	_, ok = dialog.Join(again.Reply, plain)
	require.False(t, ok)
}

func jsonOf(t *testing.T, v any) string {
	raw, err := json.Marshal(v)
	require.NoError(t, err)
	return string(raw)
}
