package dialog

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/tools/txtar"

	"sillbot/internal/talk"
)

var update = flag.Bool("update", false, "rewrite the bot's lines of the transcripts")

// firstDay is when every transcript begins.
var firstDay = time.Date(2026, time.November, 25, 8, 30, 0, 0, time.UTC)

// A transcript is a txtar archive whose files are conversations. Lines that
// begin with
//
//	>  are typed by the person
//	!  press the button with that label, of the last reply that had one
//	~  press a button of an earlier survey or question: the same label, found
//	   anywhere above
//	%  change an earlier message: OLD TEXT => NEW TEXT
//	&  answer an earlier message, of the bot or one's own: PART OF IT => TEXT
//	@  change the world: "wait 72h", "restart" (the state goes through JSON),
//	   or "send photo"
//	<  are the bot's, and are what is checked; those with <| are folded
func TestTranscripts(t *testing.T) {
	paths, err := filepath.Glob("../../testdata/transcripts/*.txtar")
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	for _, path := range paths {
		raw, err := os.ReadFile(path)
		require.NoError(t, err)
		archive := txtar.Parse(raw)
		changed := false
		for i, file := range archive.Files {
			name := strings.TrimSuffix(filepath.Base(path), ".txtar") + "/" + file.Name
			t.Run(name, func(t *testing.T) {
				got := play(t, string(file.Data), "en")
				if *update {
					changed = changed || got != string(file.Data)
					archive.Files[i].Data = []byte(got)
					return
				}
				require.Equal(t, string(file.Data), got, "run with -update when the change is meant")
			})
		}
		if changed {
			require.NoError(t, os.WriteFile(path, txtar.Format(archive), 0o644))
		}
	}
}

// TestTranscriptsInEveryLanguage plays the same inputs in each language: no
// sentence may be missing, and no question may be lost.
func TestTranscriptsInEveryLanguage(t *testing.T) {
	paths, err := filepath.Glob("../../testdata/transcripts/*.txtar")
	require.NoError(t, err)
	for _, lang := range words().Languages() {
		for _, path := range paths {
			raw, err := os.ReadFile(path)
			require.NoError(t, err)
			for _, file := range txtar.Parse(raw).Files {
				t.Run(lang+"/"+filepath.Base(path)+"/"+file.Name, func(t *testing.T) {
					got := play(t, string(file.Data), lang)
					require.NotRegexp(t, `\[[a-z]+[a-z0-9.\-_]*\.[a-z0-9.\-_]+\]|<no value>`, got, "a key that the catalogue does not have")
				})
			}
		}
	}
}

// player is one conversation being played.
type player struct {
	t     *testing.T
	lang  string
	state State
	now   time.Time
	said  []Reply
	msgs  []message
	out   strings.Builder
}

// message is one of a chat; its number is its place, from 1.
type message struct {
	text string
	by   int64 // 0: the bot
	asks *Asked
}

// numbered is the last message that holds a text, or of a person is that text; 0: none.
func numbered(list []message, text string, own bool) (number int64, m message) {
	for i := len(list) - 1; i >= 0; i-- {
		if m = list[i]; own && m.by != 0 && m.text == text || !own && strings.Contains(m.text, text) {
			return int64(i + 1), m
		}
	}
	return 0, message{}
}

func play(t *testing.T, script, lang string) string {
	p := &player{t: t, lang: lang, now: firstDay}
	for _, line := range strings.Split(strings.TrimSuffix(script, "\n"), "\n") {
		if strings.HasPrefix(line, "<") {
			continue
		}
		p.out.WriteString(line + "\n")
		p.line(line)
	}
	return p.out.String()
}

func (p *player) line(line string) {
	rest := strings.TrimSpace(strings.TrimLeft(line, ">!~@%&"))
	from, to, _ := strings.Cut(rest, " => ")
	switch {
	case strings.HasPrefix(line, ">"):
		p.step(Input{Kind: Typed, Text: strings.ReplaceAll(rest, `\n`, "\n")})
	case strings.HasPrefix(line, "%"):
		number, _ := numbered(p.msgs, from, true)
		require.NotZero(p.t, number, line)
		p.msgs[number-1].text = to
		p.step(Input{Kind: Edited, Text: to, Msg: number})
	case strings.HasPrefix(line, "&"):
		number, m := numbered(p.msgs, from, false)
		require.NotZero(p.t, number, line)
		p.step(Input{Kind: Typed, Text: to, ReplyTo: number, Asked: m.asks})
	case strings.HasPrefix(line, "!"):
		p.step(Input{Kind: Pressed, Text: p.find(rest, 1)})
	case strings.HasPrefix(line, "~"):
		p.step(Input{Kind: Pressed, Text: p.find(rest, len(p.said))})
	case strings.HasPrefix(line, "@ wait "):
		d, err := time.ParseDuration(strings.TrimPrefix(line, "@ wait "))
		require.NoError(p.t, err)
		p.now = p.now.Add(d)
	case line == "@ restart":
		raw, err := json.Marshal(p.state)
		require.NoError(p.t, err)
		p.state = State{}
		require.NoError(p.t, json.Unmarshal(raw, &p.state))
	case strings.HasPrefix(line, "@ send "):
		p.step(Input{Kind: Kind(strings.TrimPrefix(line, "@ send "))})
	case line == "" || strings.HasPrefix(line, "#"):
	default:
		p.t.Fatalf("a transcript line begins with > ! ~ @ < or #: %q", line)
	}
}

func (p *player) step(in Input) {
	in.Now, in.Lang, in.User = p.now, p.lang, 1
	if in.Kind != Pressed && in.Msg == 0 {
		p.msgs = append(p.msgs, message{text: in.Text, by: 1})
		in.Msg = int64(len(p.msgs))
	}
	if in.Kind == Pressed {
		in.Under = int64(len(p.msgs))
	}
	before, err := json.Marshal(p.state)
	require.NoError(p.t, err)
	next, replies := Step(p.state, in)
	after, err := json.Marshal(p.state)
	require.NoError(p.t, err)
	require.Equal(p.t, string(before), string(after), "Step changed the state it was given")
	require.NotEmpty(p.t, replies, "nobody is left without an answer")
	p.state = next
	p.now = p.now.Add(20 * time.Second)
	for _, r := range replies {
		p.print(r)
		p.msgs = append(p.msgs, message{text: words().Plain(r.Lang, r.Text), asks: r.Asks})
	}
	p.said = append(p.said, replies...)
}

func (p *player) print(r Reply) {
	for i, one := range r.Apart() {
		p.printOne(one, inAlbum(i, len(r.More)))
	}
}

// inAlbum says of a picture of an album which it is.
func inAlbum(i, more int) string {
	if more == 0 {
		return ""
	}
	return fmt.Sprintf(" %d of %d", i+1, more+1)
}

func (p *player) printOne(r Reply, which string) {
	if r.Text.Key != "" {
		for _, line := range strings.Split(words().Text(r.Lang, r.Text), "\n") {
			fmt.Fprintf(&p.out, "< %s\n", line)
		}
	}
	for _, folded := range r.Folded {
		fmt.Fprintf(&p.out, "<| %s\n", words().Text(r.Lang, folded))
	}
	if r.Picture != nil {
		fmt.Fprintf(&p.out, "< (picture%s)\n", which)
	}
	for _, row := range r.Buttons {
		var labels []string
		for _, b := range row {
			require.LessOrEqual(p.t, len(b.Data), talk.MostData)
			labels = append(labels, "["+words().Plain(r.Lang, b.Label)+"]")
		}
		fmt.Fprintf(&p.out, "< %s\n", strings.Join(labels, " "))
	}
}

// find gives the data of the button with the English label, in the last n
// replies that have buttons.
func (p *player) find(label string, n int) string {
	for i := len(p.said) - 1; i >= 0 && n > 0; i-- {
		if len(p.said[i].Buttons) == 0 {
			continue
		}
		n--
		for _, row := range p.said[i].Buttons {
			for _, b := range row {
				if words().Plain("en", b.Label) == label {
					return b.Data
				}
			}
		}
	}
	p.t.Fatalf("no button %q", label)
	return ""
}
