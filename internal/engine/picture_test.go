package engine

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
)

// TestASketchGoesThroughTheOutbox whole, before the question that follows it.
func TestASketchGoesThroughTheOutbox(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		p := &post{}
		e := newEngine(t, url, p, Options{Step: func(s dialog.State, _ dialog.Input) (dialog.State, []dialog.Reply) {
			s.Conv++
			return s, []dialog.Reply{
				{Text: phrase.Of("help"), Picture: &dialog.Picture{Reading: "height.left", Under: true}},
				{Text: phrase.Of("ask"), Open: "height.left"},
			}
		}})
		chat := sessiontest.Chat()
		require.NoError(t, e.Take(ctx, typed(1, chat, "help")))
		require.NoError(t, e.Flush(ctx, chat))
		got := p.sent(chat)
		require.Len(t, got, 2)
		require.Equal(t, &dialog.Picture{Reading: "height.left", Under: true}, got[0].Reply.Picture)
		require.Nil(t, got[1].Reply.Picture)
		require.Equal(t, "height.left", got[1].Reply.Open)
	})
}

// A card that waits in an outbox since before there were sketches is still a
// card.
func TestACardOfAnOlderOutboxIsACard(t *testing.T) {
	const stored = `{"chat":5,"reply":{"text":{"key":"card.caption"},"lang":"en","picture":{"opening":{"name":"kitchen",
		"nation":"england","date":"2026-11-25","finish":"bare","material":"pvcu-white","widths":["1204","1202","1203"],
		"heights":["1050","1052","1051"],"layout":{"Lights":[{"Hinge":"fixed"}]},"room":"kitchen","storey":1}}}}`
	var m Message
	require.NoError(t, json.Unmarshal([]byte(stored), &m))
	require.NotNil(t, m.Reply.Picture)
	require.Empty(t, m.Reply.Picture.Reading)
	require.Equal(t, "kitchen", m.Reply.Picture.Opening.Name)
	require.Equal(t, "1202", m.Reply.Picture.Opening.Widths[1].String())
	again, err := json.Marshal(m)
	require.NoError(t, err)
	require.NotContains(t, string(again), "reading", "and is written as it was")
	require.Contains(t, string(again), `"opening":{"name":"kitchen"`)
}

// Cards that go together wait as one reply, which a program of before takes for the first
// of them; in a group each counts.
func TestCardsThatGoTogetherWaitInTheOutbox(t *testing.T) {
	of := func(name string) dialog.Picture {
		p := dialog.Picture{Job: name}
		p.Opening.Name = name
		return p
	}
	first := of("hall")
	m := Message{Chat: -7, Reply: dialog.Reply{Text: phrase.Of("card.caption"), Lang: "en", Picture: &first,
		More: []dialog.Card{{Text: phrase.Of("card.size"), Picture: of("landing")}, {Text: phrase.Of("card.mark"), Picture: of("attic")}}}}
	data, err := json.Marshal(m)
	require.NoError(t, err)
	again, err := messageOf(session.Item{Data: data})
	require.NoError(t, err)
	require.Equal(t, jsonOf(t, m), jsonOf(t, again))
	require.Equal(t, 3, sends(again))
	var seen []string
	for _, one := range again.Reply.Apart() {
		require.Equal(t, 1, sends(Message{Reply: one}))
		seen = append(seen, one.Text.Key+" "+one.Picture.Opening.Name)
	}
	require.Equal(t, []string{"card.caption hall", "card.size landing", "card.mark attic"}, seen)
}
