package main

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/telegram/telegramtest"
)

// guided is a survey as the buttons lead through it: 13 presses, and 7 figures off the
// tape.
var guided = []struct{ press, typed string }{
	{press: "England, today"}, {press: "Bare brick or stone"}, {press: "150 mm"}, {press: "PVC-U, white"},
	{typed: "1204"}, {typed: "1202"}, {typed: "1203"}, {typed: "1050"}, {typed: "1052"}, {typed: "1051"},
	{press: "Skip"}, {press: "Level"}, {press: "Hinges left"}, {press: "Lintel: steel or concrete"}, {press: "Bedroom"},
	{typed: "900"}, {press: "Ground floor, height not known"}, {press: "No"}, {press: "4-20-4"}, {press: "No"},
}

// What a survey costs at the platform: the calls by method, as they stand in
// docs/performance.md.
func TestTheCallsOfASurvey(t *testing.T) {
	both(t, func(t *testing.T, webhook bool) {
		ctx := within(t, time.Minute)
		r := newRig(t, webhook)
		r.start(ctx)
		const person = 5
		r.server.Type(person, "/start")
		_, err := r.server.WaitText(ctx, person, 0, "England")
		require.NoError(t, err)
		methods := []string{"sendMessage", "sendPhoto", "editMessageText", "editMessageReplyMarkup", "answerCallbackQuery"}
		before := map[string]int{}
		for _, m := range methods {
			before[m] = r.server.Calls(m)
		}
		for _, act := range guided {
			seen := len(r.server.Sent(person))
			if act.press == "" {
				r.server.Type(person, act.typed)
			} else {
				_, err := r.server.PressLast(person, person, act.press)
				require.NoError(t, err)
			}
			require.NoError(t, r.server.Wait(ctx, func() bool { // old buttons come off at any time
				return slices.ContainsFunc(r.server.Sent(person)[seen:], func(m telegramtest.Sent) bool { return m.Method != "editMessageReplyMarkup" })
			}), "%v", act)
			require.NoError(t, r.server.WaitTaken(ctx))
		}
		r.p.terminate(t) // what is on its way is finished
		calls := map[string]int{}
		all := 0
		for _, m := range methods {
			calls[m] = r.server.Calls(m) - before[m]
			all += calls[m]
		}
		want := map[string]int{"sendMessage": 7, "sendPhoto": 1, "editMessageText": 13, "editMessageReplyMarkup": 1, "answerCallbackQuery": 13}
		if webhook {
			want["answerCallbackQuery"] = 0
			// It rides along unless the answer comes before the program has noted what it sent.
			require.Contains(t, []int{1, 2}, calls["editMessageReplyMarkup"]+r.server.Rode("editMessageReplyMarkup"))
			want["editMessageReplyMarkup"] = calls["editMessageReplyMarkup"]
			require.Equal(t, 13, r.server.Rode("answerCallbackQuery"))
			require.LessOrEqual(t, all, 24)
		}
		require.Equal(t, want, calls, "the table in docs/performance.md")
		require.LessOrEqual(t, all-calls["sendPhoto"], 34, "but for the card itself")
		require.Equal(t, 13, r.server.Answers())
		sent := r.server.Sent(person)
		last := sent[len(sent)-2]
		require.Equal(t, "editMessageText", last.Method, "the first call of the last answer")
		require.Contains(t, last.Text, "Frame 1192 × 1010 mm")
		require.Nil(t, sent[len(sent)-3].Photo)
		require.NotNil(t, sent[len(sent)-1].Photo, "the card")
	})
}
