package dialog

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/talk"
)

// joinAll makes as few replies of those to several messages as Join does, each
// as read from an outbox.
func joinAll(t *testing.T, replies []Reply) (out []Reply) {
	t.Helper()
	for _, r := range replies {
		data, err := json.Marshal(r)
		require.NoError(t, err)
		var stored Reply
		require.NoError(t, json.Unmarshal(data, &stored))
		if n := len(out); n > 0 {
			if both, ok := Join(out[n-1], stored); ok {
				out[n-1] = both
				continue
			}
		}
		out = append(out, stored)
	}
	return out
}

func lineKeys(r Reply) (keys []string) {
	for _, line := range r.Text.Lines["lines"] {
		keys = append(keys, line.Key)
	}
	return keys
}

// said is a reply without its question.
func said(r Reply) []string { return lineKeys(r)[:len(lineKeys(r))-r.Burst.Asks] }

func TestFiveAnswersAtOnceGetOneReply(t *testing.T) {
	s, _ := playAll(State{}, script[:5]...)
	_, replies := playAll(s, script[5:10]...)
	require.Len(t, replies, 5)
	joined := joinAll(t, replies)
	require.Len(t, joined, 1)
	last := replies[4]
	var want []string
	for _, r := range replies {
		require.NotEmpty(t, said(r), "each answer is repeated")
		want = append(want, said(r)...)
	}
	want = append(want, lineKeys(last)[len(said(last)):]...)
	require.Equal(t, want, lineKeys(joined[0]))
	require.Equal(t, last.Open, joined[0].Open)
	require.True(t, same(last.Buttons, joined[0].Buttons))
}

// A doubt is about what was typed. One that the next message settles is still to
// be read; one that stays open is asked once.
func TestADoubtIsNotLostInABurst(t *testing.T) {
	s, _ := playAll(State{}, script[:5]...)
	_, replies := playAll(s, "1204", "120", "1203")
	joined := joinAll(t, replies)
	require.Len(t, joined, 1)
	require.Equal(t, []string{"echo", "doubt.unit.several", "echo", "ask.width.bottom"}, lineKeys(joined[0]))
	require.Equal(t, "width.bottom", joined[0].Open)

	_, replies = playAll(s, "1204", "1202", "1402", "what", "hm hm")
	joined = joinAll(t, replies)
	doubts := 0
	for _, r := range joined {
		for _, key := range lineKeys(r) {
			if key == "doubt.outlier" {
				doubts++
			}
		}
	}
	require.Equal(t, "confirm", replies[4].Open)
	require.Len(t, joined, 1)
	require.Equal(t, 1, doubts)
	require.Equal(t, "doubt.outlier", lineKeys(joined[0])[len(lineKeys(joined[0]))-1])
	require.True(t, same(replies[4].Buttons, joined[0].Buttons))
}

func TestWhatIsNotJoined(t *testing.T) {
	s, _ := playAll(State{}, script[:5]...)
	_, answers := playAll(s, "1204", "1202")
	first, second := answers[0], answers[1]
	_, ok := Join(first, second)
	require.True(t, ok)

	pressed, press := Step(s, Input{Kind: Pressed, Text: "1:0:do:back", Now: firstDay})
	require.Nil(t, press[0].Burst, "a press")
	_, edited := Step(pressed, Input{Kind: Edited, Text: "1", Now: firstDay})
	require.Nil(t, edited[0].Burst, "an edit")
	_, several := playAll(State{}, script...)
	for _, r := range several[len(several)-3:] {
		require.Nil(t, r.Burst, "a summary of several messages")
	}

	changed := func(change func(*Reply)) Reply {
		r := second
		burst := *second.Burst
		r.Burst = &burst
		change(&r)
		return r
	}
	for what, next := range map[string]Reply{
		"another language":               changed(func(r *Reply) { r.Lang = "de" }),
		"a picture":                      changed(func(r *Reply) { r.Picture = &Picture{} }),
		"a paper":                        changed(func(r *Reply) { r.Document = &Document{} }),
		"mail":                           changed(func(r *Reply) { r.Mail = &Mail{} }),
		"of before, without the mark":    changed(func(r *Reply) { r.Burst = nil }),
		"the open question not repeated": changed(func(r *Reply) { r.Burst.Asks = 0 }),
	} {
		_, ok := Join(first, next)
		require.False(t, ok, what)
	}
	own := first
	own.Burst = &talk.Burst{}
	own.Buttons = [][]Button{{{Data: "1:0:do:undo"}}}
	_, ok = Join(own, second)
	require.False(t, ok, "buttons that are not the question's")
}
