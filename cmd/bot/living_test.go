package main

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// A survey by buttons and typing is one message that changes: an answer to a press takes
// the place of the message it stands under, after a typed answer the question stands anew
// and the old buttons go, and a press of what is answered gets a line at the button.
func TestTheSurveyIsALivingMessage(t *testing.T) {
	for _, webhook := range []bool{true, false} {
		ctx := within(t, 5*time.Minute)
		r := newRig(t, webhook)
		p := r.start(ctx)
		const chat = 71
		s := r.server
		s.Type(chat, "/start")
		first, err := s.WaitText(ctx, chat, 0, "Nation and day of the work?")
		require.NoError(t, err)
		require.NotEmpty(t, first.Buttons)
		stale := first.Buttons[0][0].Data
		press := func(label, next string) {
			t.Helper()
			n := len(s.Sent(chat))
			_, err := s.PressLast(chat, chat, label)
			require.NoError(t, err)
			m, err := s.WaitText(ctx, chat, n, next)
			require.NoError(t, err)
			require.Equal(t, "editMessageText", m.Method)
			require.Equal(t, first.ID, m.ID)
		}
		press("England, today", "finished round the old frame")
		press("Bare brick or stone", "new sill piece")
		press("No sill piece", "What is the new frame made of?")
		press("PVC-U, white", "Widths: top, middle, bottom")
		require.Empty(t, s.Buttons(chat))

		for _, text := range []string{"1204 1202 1203", "1050 1052 1051"} {
			n := len(s.Sent(chat))
			s.Type(chat, text)
			_, err := s.WaitSent(ctx, chat, n+1)
			require.NoError(t, err)
		}
		diagonals, err := s.WaitText(ctx, chat, 0, "Diagonals")
		require.NoError(t, err)
		require.Equal(t, []int64{diagonals.ID}, s.Buttons(chat))
		s.Type(chat, "1596 1597")
		level, err := s.WaitText(ctx, chat, 0, "Is the sill level?")
		require.NoError(t, err)
		require.NoError(t, s.Wait(ctx, func() bool { b := s.Buttons(chat); return len(b) == 1 && b[0] == level.ID }), "the old buttons go")

		n := len(s.Sent(chat))
		_, err = s.Press(chat, chat, first.ID, stale)
		require.NoError(t, err)
		require.NoError(t, s.Wait(ctx, func() bool { return len(s.Toasts()) == 1 }))
		require.Contains(t, s.Toasts()[0], "That question is answered")
		require.Len(t, s.Sent(chat), n)

		_, err = s.EditLast(chat, chat, "1596 1598")
		require.NoError(t, err)
		_, err = s.WaitText(ctx, chat, n, "1598 mm")
		require.NoError(t, err)
		p.terminate(t)
	}
}
