package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"os"
	"os/exec"
	ossignal "os/signal"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

// beProgram in the environment makes the test binary be the program, so that
// tests can end it as no goroutine can be ended.
const beProgram = "SILLBOT_TEST_BE_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(beProgram) != "" {
		byTestClock(os.Getenv(testClock))
		main()
		return
	}
	// The runs of TestFaults wait more than they work.
	if err := flag.Set("test.parallel", "8"); err != nil {
		panic(err)
	}
	sessiontest.Main(m)
}

// journal is what a program writes, readable while it does.
type journal struct {
	mu   sync.Mutex
	text bytes.Buffer
	more chan struct{} // closed and replaced when something is written
}

func newJournal() *journal { return &journal{more: make(chan struct{})} }

func (j *journal) Write(p []byte) (int, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	close(j.more)
	j.more = make(chan struct{})
	return j.text.Write(p)
}

func (j *journal) String() string {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.text.String()
}

// line waits for a line of the log with a message, and gives it.
func (j *journal) line(ctx context.Context, msg string) (map[string]any, error) {
	for {
		j.mu.Lock()
		text, more := j.text.String(), j.more
		j.mu.Unlock()
		for line := range strings.Lines(text) {
			entry := map[string]any{}
			if json.Unmarshal([]byte(line), &entry) == nil && entry["msg"] == msg {
				return entry, nil
			}
		}
		select {
		case <-more:
		case <-ctx.Done():
			return nil, fmt.Errorf("no line %q in:\n%s", msg, text)
		}
	}
}

// process is the program as a process of its own.
type process struct {
	cmd   *exec.Cmd
	log   *journal
	ended chan struct{}
	err   error // once ended
}

// launch starts the program with an environment of its own. It is killed with
// the test.
func launch(t testing.TB, env map[string]string, args ...string) *process {
	t.Helper()
	self, err := os.Executable()
	require.NoError(t, err)
	p := &process{cmd: exec.Command(self, args...), log: newJournal(), ended: make(chan struct{})}
	p.cmd.Env = []string{beProgram + "=1", "PATH=" + os.Getenv("PATH"), "TMPDIR=" + t.TempDir(), "GORACE=halt_on_error=1"}
	for name, value := range env {
		p.cmd.Env = append(p.cmd.Env, name+"="+value)
	}
	p.cmd.Stderr = p.log
	sessiontest.Tie(p.cmd)
	require.NoError(t, p.cmd.Start())
	go func() {
		p.err = p.cmd.Wait()
		close(p.ended)
	}()
	t.Cleanup(p.kill)
	return p
}

// kill ends the process as a power cut would.
func (p *process) kill() {
	_ = p.cmd.Process.Kill() // it may be gone
	<-p.ended
}

// terminate asks the process to leave, which it must do by itself and with
// status 0.
func (p *process) terminate(t testing.TB) {
	t.Helper()
	require.NoError(t, p.cmd.Process.Signal(syscall.SIGTERM))
	select {
	case <-p.ended:
	case <-time.After(2 * time.Minute):
		t.Fatalf("the program did not leave:\n%s", p.log)
	}
	require.NoError(t, p.err, "exit status 0:\n%s", p.log)
}

// ready waits until the program takes updates.
func (p *process) ready(ctx context.Context) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	go func() {
		select {
		case <-p.ended:
			cancel()
		case <-ctx.Done():
		}
	}()
	_, err := p.log.line(ctx, "ready")
	return err
}

// within is a context that ends before the test does.
func within(t testing.TB, d time.Duration) context.Context {
	ctx, cancel := context.WithTimeout(context.Background(), d)
	t.Cleanup(cancel)
	return ctx
}

// withoutToken keeps the environment of whoever runs the tests out of run.
func withoutToken(t testing.TB) {
	for _, name := range []string{"TELEGRAM_TOKEN", "TELEGRAM_TOKEN_FILE", "REDIS_URL"} {
		t.Setenv(name, "")
	}
}

func open(t *testing.T, path string) *os.File {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	t.Cleanup(func() { f.Close() })
	return f
}

func TestChatPlaysAWholeSurveyFromAPipe(t *testing.T) {
	withoutToken(t)
	cards := filepath.Join(t.TempDir(), "cards")
	var out, errs bytes.Buffer
	// No subcommand: without a token that is chat.
	err := run(within(t, 5*time.Minute), []string{"--cards", cards}, open(t, "../../testdata/survey-bare.txt"), &out, &errs)
	require.NoError(t, err)
	require.Empty(t, errs.String())
	said := out.String()

	first, _, _ := strings.Cut(said, "\n")
	require.Contains(t, first, "nothing is kept")
	// Gaps around windows: white PVC-U up to 1.5 m takes 5 mm a side.
	require.Contains(t, said, "Frame 1192 × 1040 mm, wide × high")
	for _, part := range []string{"Before you order", "Not measured: nothing.", "Screws:", "Packers, mm from bottom or left:", "Blocks", "from outside"} {
		require.Contains(t, said, part)
	}

	path := filepath.Join(cards, "card-1.png")
	require.Contains(t, said, path)
	card, err := png.Decode(open(t, path))
	require.NoError(t, err)
	require.Greater(t, card.Bounds().Dx(), 500)
	require.Greater(t, card.Bounds().Dy(), 500)
	colours := map[color.Color]bool{}
	for y := range card.Bounds().Dy() {
		colours[card.At(card.Bounds().Dx()/2, y)] = true
	}
	require.Greater(t, len(colours), 1, "something is drawn")
}

func TestChatLeavesWhenToldTo(t *testing.T) {
	withoutToken(t)
	ctx, stop := context.WithCancel(within(t, 5*time.Minute))
	in, typist := io.Pipe()
	defer typist.Close()
	out := newJournal()
	left := make(chan error, 1)
	go func() { left <- run(ctx, []string{"chat", "--cards", t.TempDir()}, in, out, io.Discard) }()
	_, err := typist.Write([]byte("England, today\n"))
	require.NoError(t, err)
	for !strings.Contains(out.String(), "How is the opening finished") {
		out.mu.Lock()
		more := out.more
		out.mu.Unlock()
		select {
		case <-more:
		case <-ctx.Done():
			t.Fatal(out)
		}
	}
	stop() // Ctrl-C while a line is awaited
	select {
	case err := <-left:
		require.NoError(t, err)
	case <-time.After(time.Minute):
		t.Fatal("chat did not leave")
	}
}

func TestChatLeavesOnASignalWithStatus0(t *testing.T) {
	for name, signal := range map[string]os.Signal{"Ctrl-C": os.Interrupt, "SIGTERM": syscall.SIGTERM, "window closed": syscall.SIGHUP} {
		t.Run(name, func(t *testing.T) {
			if ossignal.Ignored(signal) {
				t.Skip("whoever runs this had it ignored, as nohup does, and so will the program")
			}
			self, err := os.Executable()
			require.NoError(t, err)
			cmd := exec.CommandContext(within(t, 5*time.Minute), self, "chat", "--json")
			temporary := t.TempDir()
			cmd.Env = []string{beProgram + "=1", "PATH=" + os.Getenv("PATH"), "TMPDIR=" + temporary}
			in, err := cmd.StdinPipe() // stays open
			require.NoError(t, err)
			out, err := cmd.StdoutPipe()
			require.NoError(t, err)
			require.NoError(t, cmd.Start())
			lines := json.NewDecoder(out)
			var a answer
			for _, typed := range []string{"England, today", "bare", "none", "white", "how do I measure it?"} {
				_, err = fmt.Fprintf(in, `{"chat":1,"user":1,"text":%q}`+"\n", typed)
				require.NoError(t, err)
				a = answer{}
				require.NoError(t, lines.Decode(&a))
			}
			require.Len(t, a.Files, 1, "%v", a)
			require.FileExists(t, a.Files[0])
			require.NoError(t, cmd.Process.Signal(signal))
			go io.Copy(io.Discard, out)
			require.NoError(t, cmd.Wait())
			left, err := os.ReadDir(temporary)
			require.NoError(t, err)
			require.Empty(t, left, "nothing is kept of a trial")
		})
	}
}

// answer is one line of chat --json.
type answer struct {
	Chat    int64
	Text    string
	Buttons [][]struct{ Label, Data string }
	Open    string
	Files   []string
	Error   string
}

// stream holds a conversation with chat --json.
type stream struct {
	t   testing.TB
	in  io.Writer
	out *json.Decoder
}

func startStream(t testing.TB) *stream {
	withoutToken(t)
	in, typist := io.Pipe()
	reader, out := io.Pipe()
	left := make(chan error, 1)
	ctx := within(t, 2*time.Minute)
	go func() {
		left <- run(ctx, []string{"chat", "--json", "--cards", t.TempDir()}, in, out, io.Discard)
		out.Close()
	}()
	t.Cleanup(func() {
		typist.Close()
		go io.Copy(io.Discard, reader)
		require.NoError(t, <-left, "the end of input is no error")
	})
	decoder := json.NewDecoder(reader)
	decoder.DisallowUnknownFields()
	return &stream{t, typist, decoder}
}

// send writes one line and reads the answers up to the one with an open
// question, or an error.
func (s *stream) send(line string) []answer {
	s.t.Helper()
	go fmt.Fprintln(s.in, line)
	var list []answer
	for {
		var a answer
		require.NoError(s.t, s.out.Decode(&a))
		list = append(list, a)
		if a.Open != "" || a.Error != "" {
			return list
		}
	}
}

func (s *stream) last(line string) answer {
	s.t.Helper()
	list := s.send(line)
	return list[len(list)-1]
}

func TestChatJSONKeepsSeveralPeopleApart(t *testing.T) {
	s := startStream(t)
	first := s.last(`{"chat":1,"user":1,"text":"/start"}`)
	require.Equal(t, "nation", first.Open)
	second := s.last(`{"chat":2,"user":2,"text":"/start"}`)
	require.Equal(t, "nation", second.Open)

	// A press by its data, in one chat only.
	data := ""
	for _, b := range slices.Concat(first.Buttons...) {
		if b.Label == "England, today" {
			data = b.Data
		}
	}
	require.NotEmpty(t, data)
	require.LessOrEqual(t, len(data), 64)
	pressed := s.last(fmt.Sprintf(`{"chat":1,"user":1,"press":%q}`, data))
	require.EqualValues(t, 1, pressed.Chat)
	require.Equal(t, "finish", pressed.Open)

	// The same press again is stale, and the open question stands.
	stale := s.send(fmt.Sprintf(`{"chat":1,"user":1,"press":%q}`, data))
	require.Equal(t, "finish", stale[len(stale)-1].Open)

	other := s.last(`{"chat":2,"user":2,"text":"Wales, today"}`)
	require.EqualValues(t, 2, other.Chat)
	require.Equal(t, "finish", other.Open)
	require.Equal(t, "sill", s.last(`{"chat":1,"user":1,"text":"bare"}`).Open)
	require.Equal(t, "sill", s.last(`{"chat":1,"user":1,"kind":"photo"}`).Open, "a photo moves nothing")
	for kind, says := range map[string]string{"photo": "Photo 1 of this window is kept", "file": "I can't read files"} {
		got := s.last(fmt.Sprintf(`{"chat":1,"user":1,%q:"main_test.go"}`, kind))
		require.Equal(t, "sill", got.Open)
		require.Contains(t, got.Text, says)
	}
}

// A CSV is read as an answer file, and of one that is too large no more than shows it.
func TestChatJSONReadsAnAnswerFile(t *testing.T) {
	s := startStream(t)
	s.send(`{"chat":1,"user":1,"text":"/start"}`)
	send := func(content string) string {
		path := filepath.Join(t.TempDir(), "answers.CSV")
		require.NoError(t, os.WriteFile(path, []byte(content), 0o600))
		return s.last(fmt.Sprintf(`{"chat":1,"user":1,"file":%q}`, path)).Text
	}
	const head = "ref,revision,window,confirm\n"
	require.Contains(t, send(head+"Q3ATR7,A,1,yes\n"), "I know no job Q3ATR7 here")
	require.Contains(t, send("room,width\n"), "This is no answer file")
	require.Contains(t, send(head+strings.Repeat("Q3ATR7,A,1,yes\n", 1<<16)), "at most 256 kB")
}

// Who asks how to measure gets the sketch as a file, and then the question.
func TestChatJSONSavesASketch(t *testing.T) {
	s := startStream(t)
	s.send(`{"chat":1,"user":1,"text":"England, today"}`)
	s.send(`{"chat":1,"user":1,"text":"bare"}`)
	s.send(`{"chat":1,"user":1,"text":"none"}`)
	require.Equal(t, "width.top", s.last(`{"chat":1,"user":1,"text":"white PVC-U"}`).Open)
	list := s.send(`{"chat":1,"user":1,"text":"how do I measure it?"}`)
	require.Len(t, list, 2)
	require.Len(t, list[0].Files, 1)
	require.Equal(t, "sketch-1.png", filepath.Base(list[0].Files[0]))
	sketch, err := png.Decode(open(t, list[0].Files[0]))
	require.NoError(t, err)
	require.Equal(t, image.Pt(480, 360), sketch.Bounds().Size())
	require.Equal(t, "width.top", list[1].Open)
	require.Empty(t, list[1].Files)
}

func TestChatJSONRefusesWhatItDoesNotKnow(t *testing.T) {
	s := startStream(t)
	folder := t.TempDir()
	for line, word := range map[string]string{
		`{"chat":1,"user":1,"txt":"1204"}`:                   "txt",
		`{"chat":"one"}`:                                     "chat",
		`{"user":1,"text":"1204"}`:                           "chat is missing",
		`no JSON`:                                            "invalid character",
		`{"chat":1,"text":"1"} {"chat":1,"text":"2"}`:        "more than one object",
		`{"chat":1,"user":1}`:                                "one of text, press, photo, note, place, file",
		`{"chat":1,"user":1,"text":"1204","press":"1:1:x"}`:  "one of text, press, photo, note, place, file",
		`{"chat":1,"user":1,"text":"1204","photo":"a.jpg"}`:  "one of text, press, photo, note, place, file",
		`{"chat":1,"user":1,"text":"1204","now":"today"}`:    "now",
		`{"chat":1,"user":1,"kind":"mailed"}`:                "mailed",
		`{"chat":1,"user":1,"file":"/no/such.jpg"}`:          "/no/such.jpg",
		`{"chat":1,"user":1,"text":"1204","album":"G"}`:      "caption and album go with photo",
		fmt.Sprintf(`{"chat":1,"user":1,"file":%q}`, folder): folder + " is no file",
	} {
		a := s.last(line)
		require.Contains(t, a.Error, word)
		require.Empty(t, a.Open)
	}
	require.Equal(t, "nation", s.last(`{"chat":1,"user":1,"text":"/start"}`).Open, "the stream goes on")
}

// The record at hand is shown as it is stored, and of the lead's chat only what
// the lead measured.
func TestChatJSONShowsTheRecord(t *testing.T) {
	s := startStream(t)
	show := func(chat int) map[string]any {
		var got map[string]any
		go fmt.Fprintf(s.in, `{"chat":%d,"user":%[1]d,"show":"record"}`+"\n", chat)
		require.NoError(t, s.out.Decode(&got))
		return got
	}
	says := func(chat int, text string) (list []answer) {
		go fmt.Fprintf(s.in, `{"chat":%d,"user":%[1]d,"text":%q}`+"\nno JSON\n", chat, text)
		for {
			var a answer
			require.NoError(t, s.out.Decode(&a))
			if a.Error != "" { // the line after
				return list
			}
			list = append(list, a)
		}
	}
	require.Equal(t, map[string]any{"chat": 1.0, "record": map[string]any{}}, show(1), "nothing was said")
	says(1, "England, today bare none white 120.4 cm 1202 1203 1050 1052 1051 skip level left")
	got := show(1)["record"].(map[string]any)
	require.Equal(t, map[string]any{"value": 1204.0, "how": "measured", "by": "fitter"}, got["width.top"])
	require.Equal(t, map[string]any{"value": "side-left", "how": "measured", "by": "fitter"}, got["light.1"])
	require.Equal(t, "-", got["diagonal.rising"].(map[string]any)["value"], "passed over")
	require.Equal(t, "none", got["sill"].(map[string]any)["value"])
	require.NotContains(t, got, "room")

	says(1, "job")
	says(1, "brick bedroom first 900 4-20-4 no")
	inJob := show(1)
	require.Empty(t, inJob["fit"], "nothing stands against it")
	require.Contains(t, inJob, "fit")
	require.Equal(t, []any{"over_ask", "diagonal.rising", "items"}, inJob["against"], "and does not stop it")
	require.NotContains(t, inJob, "stops")
	require.NotContains(t, inJob, "taken_on")
	invited, err := json.Marshal(says(1, "ask check"))
	require.NoError(t, err)
	token := regexp.MustCompile(`start ([A-Za-z0-9_-]{22})`).FindSubmatch(invited)
	require.NotNil(t, token, "%s", invited)
	says(2, "/start "+string(token[1]))
	says(2, "measure 1")
	says(2, "1304 1302")
	lead := show(2)["record"].(map[string]any)
	require.Equal(t, map[string]any{"value": 1304.0, "how": "measured", "by": "lead"}, lead["width.top"])
	require.NotContains(t, lead, "width.bottom", "no figure of the first measure")
	require.NotContains(t, show(2), "fit")
	require.NotContains(t, show(2), "against")

	says(1, "change widths")
	require.Equal(t, []any{"width.top", "width.middle", "width.bottom"}, show(1)["fit"])
	require.Equal(t, show(1), show(1), "it is no turn")
}

// Mail reaches the other chat with the line that sets it off, also where many
// others have written.
func TestChatJSONBringsMailAtOnce(t *testing.T) {
	s := startStream(t)
	for chat := range 20 {
		s.last(fmt.Sprintf(`{"chat":%d,"user":%[1]d,"text":"/start"}`, chat+100))
	}
	s.last(`{"chat":1,"user":1,"text":"/start"}`)
	s.last(`{"chat":1,"user":1,"text":"job"}`)
	invited, err := json.Marshal(s.send(`{"chat":1,"user":1,"text":"invite lead"}`))
	require.NoError(t, err)
	token := regexp.MustCompile(`[A-Za-z0-9_-]{20,}`).FindString(string(invited))
	require.NotEmpty(t, token, "%s", invited)
	go fmt.Fprintf(s.in, `{"chat":2,"user":2,"text":"/start %s"}`+"\nno JSON\n", token)
	told := map[int64]string{}
	for {
		var a answer
		require.NoError(t, s.out.Decode(&a))
		if a.Error != "" { // the line after
			break
		}
		told[a.Chat] += a.Text
	}
	require.Contains(t, told[1], "crew lead")
	require.NotEmpty(t, told[2])
	require.Len(t, told, 2)
}

// BenchmarkChatLine is one line of one chat, by the number of chats that have
// written.
func BenchmarkChatLine(b *testing.B) {
	for _, chats := range []int{1, 15, 150} {
		b.Run(fmt.Sprint(chats), func(b *testing.B) {
			s := startStream(b)
			for chat := range chats {
				s.last(fmt.Sprintf(`{"chat":%d,"user":%[1]d,"text":"England today"}`, chat+1))
			}
			for i := 0; b.Loop(); i++ {
				s.last([]string{`{"chat":1,"user":1,"text":"bare"}`, `{"chat":1,"user":1,"text":"back"}`}[i%2])
			}
		})
	}
}

func TestUnknownSubcommandIsRefused(t *testing.T) {
	var errs bytes.Buffer
	err := run(within(t, 5*time.Minute), []string{"dance"}, strings.NewReader(""), io.Discard, &errs)
	require.ErrorContains(t, err, "dance")
	require.Contains(t, errs.String(), "usage: bot")
}
