package terminal

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
)

// A line that is too long is answered, and the chats beside it go on.
func TestALineTooLongEndsNoOtherChat(t *testing.T) {
	long := `{"chat":1,"user":1,"text":"` + strings.Repeat("1", 3*mostLine) + `"}`
	d, out := play(t, true, question(), `{"chat":1,"user":1,"text":"a"}`+"\n"+long+"\n"+`{"chat":2,"user":2,"text":"b"}`+"\r\n"+long)
	require.Len(t, d.taken, 2)
	require.Equal(t, "b", d.taken[1].Input.Text)
	require.Equal(t, int64(2), d.taken[1].Chat)
	require.Equal(t, 2, strings.Count(out, `"error":"not understood: a line of more than 1048576 bytes"`), out)
	require.Less(t, len(out), 1000, "nothing of the line is repeated")
}

// A line of just under 1 MB is taken, in messages as the platform has them.
func TestALongTextComesInMessages(t *testing.T) {
	d, _ := play(t, true, question(), `{"chat":1,"user":1,"text":"`+strings.Repeat("1204 ", 200_000)+`"}`+"\n"+`{"chat":2,"user":1,"text":"b"}`)
	require.Greater(t, len(d.taken), 200)
	joined := ""
	for _, u := range d.taken[:len(d.taken)-1] {
		require.LessOrEqual(t, len(u.Input.Text), mostText)
		joined += u.Input.Text + " "
	}
	require.Equal(t, strings.Repeat("1204 ", 200_000), joined, "no reading is cut in two")
	require.Equal(t, "b", d.taken[len(d.taken)-1].Input.Text)
	require.NotEqual(t, d.taken[0].ID, d.taken[1].ID)

	d, _ = play(t, false, question(), strings.Repeat("1", mostLine+1)+"\n1204\n")
	require.Equal(t, "1204", d.taken[len(d.taken)-1].Input.Text, "a terminal goes on as well")
}

// The platform counts UTF-16 code units (core.telegram.org/bots/api, sendMessage:
// "1-4096 characters after entities parsing"; its entities count so).
func TestPieces(t *testing.T) {
	at := func(n int) string { return strings.Repeat("x", n) }
	for name, tc := range map[string]struct {
		text string
		want []string
	}{
		"empty":                 {"", []string{""}},
		"as it is":              {" a\n", []string{" a\n"}},
		"fits":                  {at(4096), []string{at(4096)}},
		"one too many":          {at(4097), []string{at(4096), "x"}},
		"after a line":          {at(10) + "\n" + at(10) + " " + at(4090), []string{at(10), at(10), at(4090)}},
		"after a space":         {at(10) + " " + at(4090), []string{at(10), at(4090)}},
		"two units a character": {strings.Repeat("🪟", 2049), []string{strings.Repeat("🪟", 2048), "🪟"}},
		"not through a pair":    {"x" + strings.Repeat("🪟", 2048), []string{"x" + strings.Repeat("🪟", 2047), "🪟"}},
		"blanks":                {strings.Repeat(" ", 9000), []string{""}},
	} {
		t.Run(name, func(t *testing.T) {
			got := pieces(tc.text)
			require.Equal(t, tc.want, got)
			for _, part := range got {
				require.LessOrEqual(t, len(utf16.Encode([]rune(part))), 4096)
			}
		})
	}
}

// A long reply comes in as many messages as the platform would make of it: the
// files with the first, the question and its buttons under the last.
func TestALongReplyComesInMessages(t *testing.T) {
	var out bytes.Buffer
	reply := question()
	reply.Text = phrase.Of(strings.Repeat("word ", 1000))
	reply.Picture = &dialog.Picture{}
	c := &Chat{Out: &out, JSON: true, Folder: t.TempDir(), Speaker: keys{}, Now: time.Now,
		Painter: func(context.Context, string, dialog.Picture) ([]byte, error) { return []byte("a card"), nil }}
	require.NoError(t, failed(c.Send(context.Background(), engine.Message{Chat: 1, Reply: reply})))
	var got []said
	for d := json.NewDecoder(&out); d.More(); {
		var s said
		require.NoError(t, d.Decode(&s))
		got = append(got, s)
	}
	require.Len(t, got, 2)
	require.Equal(t, strings.TrimSpace(strings.Repeat("word ", 1000)), got[0].Text+" "+strings.TrimSpace(got[1].Text))
	require.Len(t, got[0].Files, 1)
	require.Empty(t, got[0].Buttons)
	require.Empty(t, got[0].Open)
	require.Empty(t, got[1].Files)
	require.Len(t, got[1].Buttons, 1)
	require.Equal(t, "nation", got[1].Open)
}

func TestAnInputThatFailsIsAnError(t *testing.T) {
	gone := errors.New("the pipe is gone")
	screen := &Chat{Out: io.Discard, JSON: true, Speaker: keys{}, Now: time.Now}
	d := &fakeEngine{screen: screen}
	in := io.MultiReader(strings.NewReader(`{"chat":1,"text":"1"}`+"\n"), iotest.ErrReader(gone))
	require.ErrorIs(t, screen.Run(context.Background(), in, d), gone)
	require.Len(t, d.taken, 1, "what came before is taken")
}
