package engine

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/session/sessiontest"
)

// wall is a Sender whose messages have numbers and buttons.
type wall struct {
	last     int64
	stripped []int64
}

func (w *wall) Send(_ context.Context, m Message) (Sent, error) {
	if m.Reply.Over != 0 {
		return Sent{Msg: m.Reply.Over}, nil
	}
	w.last++
	return Sent{Msg: w.last}, nil
}

func (w *wall) Strip(_ context.Context, _ Message, msg int64) { w.stripped = append(w.stripped, msg) }

// Buttons of a question that was answered by typing come off once: by the answer to the
// push where one is at hand and this process sent the question, else by a call.
func TestOldButtonsComeOffOnce(t *testing.T) {
	_, url := sessiontest.Mini(t)
	w := &wall{}
	ask := func(s dialog.State, in dialog.Input) (dialog.State, []dialog.Reply) {
		s.Turn++
		r := dialog.Reply{Text: phrase.Of("q"), Asks: &dialog.Asked{Key: "k", Ends: in.Text != "free"}}
		if in.Text == "over" {
			r.Over = w.last
		}
		return s, []dialog.Reply{r}
	}
	e := newEngine(t, url, w, Options{Step: ask})
	chat := sessiontest.Chat()
	n := int64(0)
	say := func(e *Engine, text string, push bool) (rode []int64) {
		t.Helper()
		n++
		u := Update{ID: n, Chat: chat, User: chat, Input: dialog.Input{Kind: dialog.Typed, Text: text}}
		if push {
			u.Strip = func(msg int64) { rode = append(rode, msg) }
		}
		require.NoError(t, e.Take(ctx, u))
		require.NoError(t, e.Flush(ctx, chat))
		return rode
	}
	other := newEngine(t, url, w, Options{Step: ask})
	for i, c := range []struct {
		by      *Engine
		text    string
		push    bool
		rode    []int64
		calls   []int64
		because string
	}{
		{e, "a", true, nil, nil, "nothing stands yet"},
		{e, "b", true, []int64{1}, nil, "1 came off by the push"},
		{e, "c", false, nil, []int64{2}, "polled: a call"},
		{e, "free", true, []int64{3}, nil, "the new one has no buttons that end"},
		{e, "d", true, nil, nil, "nothing to take off"},
		{other, "e", true, nil, []int64{5}, "another process did not send it: a call"},
		{e, "f", true, []int64{5}, []int64{6}, "what this one knows is old, and does no harm"},
		{e, "over", true, nil, nil, "it stays where it is"},
	} {
		w.stripped = nil
		what := fmt.Sprint(i, " ", c.text, ": ", c.because)
		require.Equal(t, c.rode, say(c.by, c.text, c.push), what)
		require.Equal(t, c.calls, w.stripped, what)
	}
}
