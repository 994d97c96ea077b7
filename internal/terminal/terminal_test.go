package terminal

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
)

// keys speaks in catalogue keys.
type keys struct{}

func (keys) Plain(_ string, t phrase.Text) string { return t.Key }

// fakeEngine keeps what it is given and answers with what it is told to.
type fakeEngine struct {
	screen  *Chat
	taken   []engine.Update
	waiting []int64
	mail    map[int64]int64 // which chat's turn writes to which
	reply   dialog.Reply
	err     error
}

func (d *fakeEngine) Take(_ context.Context, u engine.Update) error {
	d.taken = append(d.taken, u)
	d.waiting = append(d.waiting, u.Chat)
	return d.err
}

func (d *fakeEngine) Show(context.Context, session.Key) (dialog.Shown, error) {
	return dialog.Shown{}, d.err
}

func (d *fakeEngine) Waiting() (int64, bool) {
	if len(d.waiting) == 0 {
		return 0, false
	}
	return d.waiting[0], true
}

func (d *fakeEngine) Flush(ctx context.Context, chat int64) error {
	d.waiting = slices.DeleteFunc(d.waiting, func(c int64) bool { return c == chat })
	if to := d.mail[chat]; to != 0 {
		d.waiting = append(d.waiting, to)
		delete(d.mail, chat)
	}
	return failed(d.screen.Send(ctx, engine.Message{Chat: chat, Reply: d.reply}))
}

var noon = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

// play reads input through a terminal whose every answer is reply.
func play(t *testing.T, asJSON bool, reply dialog.Reply, input string) (*fakeEngine, string) {
	t.Helper()
	var out bytes.Buffer
	screen := &Chat{
		Out: &out, JSON: asJSON, Folder: t.TempDir(), Speaker: keys{}, Now: func() time.Time { return noon },
		Painter: func(context.Context, string, dialog.Picture) ([]byte, error) { return []byte("a card"), nil },
	}
	d := &fakeEngine{screen: screen, reply: reply}
	require.NoError(t, screen.Run(context.Background(), strings.NewReader(input), d))
	return d, out.String()
}

func question() dialog.Reply {
	return dialog.Reply{
		Text: phrase.Of("ask.nation"), Open: "nation",
		Buttons: [][]dialog.Button{{{Label: phrase.Of("England"), Data: "1:nation:1:england"}, {Label: phrase.Of("Wales"), Data: "1:nation:1:wales"}}},
	}
}

func TestAPersonBeginsWithStart(t *testing.T) {
	d, out := play(t, false, question(), "1204\n")
	require.Len(t, d.taken, 2)
	require.Equal(t, "/start", d.taken[0].Input.Text)
	require.Equal(t, dialog.Input{Kind: dialog.Typed, Text: "1204", Now: noon}, d.taken[1].Input)
	require.NotEqual(t, d.taken[0].ID, d.taken[1].ID, "no line is taken for a repeated one")
	require.Equal(t, strings.Repeat("\nask.nation\n[England]  [Wales]\n", 2), out)
}

func TestAButtonIsPressedByTypingItsWords(t *testing.T) {
	d, _ := play(t, false, question(), "  wALES \nWale\n")
	require.Equal(t, dialog.Pressed, d.taken[1].Input.Kind)
	require.Equal(t, "1:nation:1:wales", d.taken[1].Input.Text)
	require.Equal(t, dialog.Typed, d.taken[2].Input.Kind)
}

// A program says what it presses; words that happen to be a button's stay
// words.
func TestAProgramPressesByData(t *testing.T) {
	d, _ := play(t, true, question(), `{"chat":7,"user":8,"text":"/start"}
{"chat":7,"user":8,"text":"Wales"}

{"chat":7,"user":8,"press":"1:nation:1:wales"}
{"chat":-9,"user":8,"group":true,"kind":"photo","now":"2026-12-01T08:00:00Z"}
`)
	require.Len(t, d.taken, 4, "an empty line is none")
	require.Equal(t, dialog.Typed, d.taken[1].Input.Kind)
	require.Equal(t, dialog.Pressed, d.taken[2].Input.Kind)
	require.Equal(t, "1:nation:1:wales", d.taken[2].Input.Text)
	last := d.taken[3]
	require.Equal(t, []int64{-9, 8}, []int64{last.Chat, last.User})
	require.True(t, last.Group)
	require.Equal(t, dialog.Photo, last.Input.Kind)
	require.Equal(t, time.Date(2026, 12, 1, 8, 0, 0, 0, time.UTC), last.Input.Now.UTC())
}

// A program sends a photo by the file id that it is to have, and gets those back that are
// shown again.
func TestAProgramSendsPhotos(t *testing.T) {
	reply := question()
	reply.Shots, reply.Protected = []dialog.Shot{{File: "A1"}, {File: "A2"}}, true
	d, out := play(t, true, reply, `{"chat":7,"user":8,"photo":"A1","caption":"left jamb","album":"G"}`)
	require.Equal(t, dialog.Photo, d.taken[0].Input.Kind)
	require.Equal(t, "left jamb", d.taken[0].Input.Text)
	require.Equal(t, &dialog.Shot{File: "A1", Album: "G"}, d.taken[0].Input.Shot)
	var got said
	require.NoError(t, json.Unmarshal([]byte(out), &got))
	require.Equal(t, []string{"A1", "A2"}, got.Photos)
	require.True(t, got.Protected)
	d, out = play(t, true, question(), `{"chat":7,"user":8,"text":"1204","caption":"left jamb"}
{"chat":7,"user":8,"photo":"`+strings.Repeat("x", mostFileID+1)+`"}`)
	require.Empty(t, d.taken)
	require.Contains(t, out, "caption and album go with photo or note")
	require.Contains(t, out, "longer than 200 bytes")
}

// A program sends notes of sound and moving pictures, and places, as people do.
func TestAProgramSendsNotesAndPlaces(t *testing.T) {
	d, _ := play(t, true, question(), `{"chat":7,"user":8,"note":"V1","as":"video","caption":"crack","album":"G"}
{"chat":7,"user":8,"place":"51.5, -0.1246781"}
{"chat":7,"user":8,"place":"51.5,0","address":"3 Weir Lane"}`)
	require.Equal(t, dialog.Voice, d.taken[0].Input.Kind)
	require.Equal(t, "crack", d.taken[0].Input.Text)
	require.Equal(t, &dialog.Shot{File: "V1", As: "video", Album: "G"}, d.taken[0].Input.Shot)
	require.Equal(t, dialog.Place, d.taken[1].Input.Kind)
	require.Equal(t, &dialog.Spot{Figures: "51.50000, -0.12468"}, d.taken[1].Input.Spot)
	require.Equal(t, &dialog.Spot{Figures: "51.50000, 0.00000", Address: "3 Weir Lane"}, d.taken[2].Input.Spot)
	for line, says := range map[string]string{
		`"note":"V1"`:                           "as is none of [voice video round audio]",
		`"note":"V1","as":"film"`:               "as is none of",
		`"photo":"A1","as":"voice"`:             "as goes with note",
		`"place":"91, 0"`:                       "place is none like",
		`"place":"the mill"`:                    "place is none like",
		`"text":"1204","address":"1 Weir Lane"`: "address goes with place",
		`"note":"V1","as":"voice","photo":"A"`:  "give one of",
	} {
		d, out := play(t, true, question(), `{"chat":7,"user":8,`+line+`}`)
		require.Empty(t, d.taken, line)
		require.Contains(t, out, says, line)
	}
}

func TestJSONHoldsEverythingOfAReply(t *testing.T) {
	reply := question()
	reply.Picture = &dialog.Picture{}
	_, out := play(t, true, reply, `{"chat":7,"user":8,"text":"<b>"}`)
	var got said
	require.NoError(t, json.Unmarshal([]byte(out), &got))
	require.Equal(t, 1, strings.Count(out, "\n"), "one object a line")
	require.EqualValues(t, 7, got.Chat)
	require.Equal(t, "ask.nation", got.Text)
	require.Equal(t, "nation", got.Open)
	require.Equal(t, [][]pressable{{{"England", "1:nation:1:england"}, {"Wales", "1:nation:1:wales"}}}, got.Buttons)
	require.Len(t, got.Files, 1)
	picture, err := os.ReadFile(got.Files[0])
	require.NoError(t, err)
	require.Equal(t, "a card", string(picture))
}

// What a line sets off in other chats is printed before the next line is
// taken, however often it goes to and fro; chats without news are left alone.
func TestMailIsPrintedBeforeTheNextLine(t *testing.T) {
	var out bytes.Buffer
	screen := &Chat{Out: &out, JSON: true, Speaker: keys{}, Now: time.Now}
	d := &fakeEngine{screen: screen, mail: map[int64]int64{3: 2, 2: 5}}
	lines := `{"chat":1,"text":"a"}
{"chat":3,"text":"b"}
{"chat":2,"text":"c"}
`
	require.NoError(t, screen.Run(context.Background(), strings.NewReader(lines), d))
	require.Equal(t, []int64{1, 3, 2, 5, 2}, chatsOf(t, out.String()))

	out.Reset()
	d.mail = map[int64]int64{1: 2, 2: 1}
	require.NoError(t, screen.Run(context.Background(), strings.NewReader(`{"chat":1,"text":"d"}`), d))
	require.Equal(t, []int64{1, 2, 1}, chatsOf(t, out.String()))
}

// chatsOf is which chat each line of JSON is for.
func chatsOf(t *testing.T, out string) (chats []int64) {
	t.Helper()
	for line := range strings.Lines(out) {
		var got said
		require.NoError(t, json.Unmarshal([]byte(line), &got))
		chats = append(chats, got.Chat)
	}
	return chats
}

// A sketch is saved like a card, under its own name, and the painter hears for
// which reading.
func TestASketchIsSaved(t *testing.T) {
	var out bytes.Buffer
	folder := t.TempDir()
	screen := &Chat{Out: &out, Folder: folder, Speaker: keys{}, Now: time.Now,
		Painter: func(_ context.Context, _ string, p dialog.Picture) ([]byte, error) {
			return []byte("sketch of " + p.Reading), nil
		}}
	r := dialog.Reply{Text: phrase.Of("help.width.middle"), Picture: &dialog.Picture{Reading: "width.middle"}}
	require.NoError(t, failed(screen.Send(context.Background(), engine.Message{Chat: 1, Reply: r})))
	path := filepath.Join(folder, "sketch-1.png")
	require.Equal(t, "\nhelp.width.middle\n→ "+path+"\n", out.String())
	raw, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "sketch of width.middle", string(raw))
}

// A file may hold an address: nobody else on the machine can read it.
func TestFilesAreForTheirOwnerAlone(t *testing.T) {
	screen := &Chat{Out: io.Discard, Folder: filepath.Join(t.TempDir(), "new", "folder"), Speaker: keys{}, Now: time.Now}
	path, err := screen.write("held.json", []byte("{}"))
	require.NoError(t, err)
	file, err := os.Stat(path)
	require.NoError(t, err)
	require.Zero(t, file.Mode().Perm()&0o077)
	folder, err := os.Stat(screen.Folder)
	require.NoError(t, err)
	require.Zero(t, folder.Mode().Perm()&0o077)
}

func TestAPictureThatCannotBeMadeIsDropped(t *testing.T) {
	screen := &Chat{Out: io.Discard, Folder: t.TempDir(), Speaker: keys{}, Now: time.Now,
		Painter: func(context.Context, string, dialog.Picture) ([]byte, error) { return nil, errors.New("no ink") }}
	err := failed(screen.Send(context.Background(), engine.Message{Chat: 1, Reply: dialog.Reply{Picture: &dialog.Picture{}}}))
	var drop *engine.DropError
	require.ErrorAs(t, err, &drop, "trying again would not help")
}

func TestAnErrorOfTheEngineEndsTheConversation(t *testing.T) {
	broken := errors.New("the store is gone")
	screen := &Chat{Out: io.Discard, JSON: true, Speaker: keys{}, Now: time.Now}
	d := &fakeEngine{screen: screen, err: broken}
	require.ErrorIs(t, screen.Run(context.Background(), strings.NewReader(`{"chat":1,"text":"1"}`), d), broken)
}

func TestCtrlCDuringATurnIsNoError(t *testing.T) {
	for _, asJSON := range []bool{true, false} {
		ctx, stop := context.WithCancel(context.Background())
		stop()
		screen := &Chat{Out: io.Discard, JSON: asJSON, Speaker: keys{}, Now: time.Now}
		d := &fakeEngine{screen: screen, err: context.Canceled}
		require.NoError(t, screen.Run(ctx, strings.NewReader(`{"chat":1,"text":"1"}`), d))
	}
}

// TestAChatIsPlayedOutOfReach: what is sent there is refused as the platform
// refuses it, until it can be reached again.
func TestAChatIsPlayedOutOfReach(t *testing.T) {
	var out bytes.Buffer
	c := &Chat{Out: &out, JSON: true, Speaker: keys{}}
	m := engine.Message{Chat: 3, Reply: dialog.Reply{Text: phrase.Of("q")}}
	require.NoError(t, c.line(context.Background(), nil, line{text: `{"chat":3,"reach":false}`}))
	var dropped *engine.DropError
	require.ErrorAs(t, failed(c.Send(context.Background(), m)), &dropped)
	require.True(t, dropped.Gone)
	require.NoError(t, failed(c.Send(context.Background(), engine.Message{Chat: 4, Reply: m.Reply})))
	require.NoError(t, c.line(context.Background(), nil, line{text: `{"chat":3,"reach":true}`}))
	require.NoError(t, failed(c.Send(context.Background(), m)))
	require.Equal(t, 4, strings.Count(out.String(), "\n"), "both lines are answered: %s", out.String())
}

// failed is the error of a send.
func failed(_ engine.Sent, err error) error { return err }

// Cards that the messenger shows together come one by one, each with its caption; one that
// can't be drawn doesn't take the others with it.
func TestCardsThatGoTogetherAreAllSaved(t *testing.T) {
	var out bytes.Buffer
	screen := &Chat{Out: &out, JSON: true, Folder: t.TempDir(), Speaker: keys{}, Now: time.Now,
		Painter: func(_ context.Context, _ string, p dialog.Picture) ([]byte, error) {
			if p.Job == "bad" {
				return nil, errors.New("no ink")
			}
			return []byte("card of " + p.Job), nil
		}}
	r := dialog.Reply{Text: phrase.Of("first"), Open: "nation", Picture: &dialog.Picture{Job: "1"}, More: []dialog.Card{
		{Text: phrase.Of("second"), Picture: dialog.Picture{Job: "bad"}}, {Text: phrase.Of("third"), Picture: dialog.Picture{Job: "3"}}}}
	var drop *engine.DropError
	require.ErrorAs(t, failed(screen.Send(context.Background(), engine.Message{Chat: 1, Reply: r})), &drop)
	var got []string
	for d := json.NewDecoder(&out); d.More(); {
		var s said
		require.NoError(t, d.Decode(&s))
		raw, err := os.ReadFile(s.Files[0])
		require.NoError(t, err)
		got = append(got, s.Text+": "+string(raw)+" "+s.Open)
	}
	require.Equal(t, []string{"first: card of 1 ", "third: card of 3 nation"}, got)
}
