package tryit_test

import (
	"bufio"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/browsertest"
)

// program starts the built program and gives the address that it prints.
func program(t *testing.T) (address string, leave func()) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "bot")
	built, err := exec.Command("go", "build", "-o", path, "sillbot/cmd/bot").CombinedOutput()
	require.NoError(t, err, string(built))
	cmd := exec.Command(path, "web")
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	ended := make(chan error, 1)
	t.Cleanup(func() { _ = cmd.Process.Kill() })
	line, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	go func() { ended <- cmd.Wait() }()
	return strings.TrimSpace(line), func() {
		t.Helper()
		require.NoError(t, cmd.Process.Signal(syscall.SIGTERM))
		select {
		case err := <-ended:
			require.NoError(t, err, "leaves with status 0")
		case <-time.After(5 * time.Second):
			t.Fatal("it does not leave")
		}
	}
}

// sitting is the page with what a person does in it.
type sitting struct{ *browsertest.Page }

// types writes a message as a chair.
func (s sitting) types(chair, text string) {
	s.Type("#text-"+chair, text+"\r")
	s.Until(`document.getElementById("text-` + chair + `").value === ""`)
}

// hears waits until the last message of the bot in a chair has a text.
func (s sitting) hears(chair, text string) {
	s.Until(`[...document.querySelectorAll("#log-` + chair + ` .bot")].slice(-3).some(m => m.innerText.includes(` + quoted(text) + `))`)
}

// presses the last button with a label.
func (s sitting) presses(chair, label string) {
	find := `[...document.querySelectorAll("#log-` + chair + ` button")].filter(b => b.innerText === ` + quoted(label) + `).at(-1)`
	s.Until(find)
	browsertest.Eval[bool](s.Page, find+`.id = "press-now", true`)
	s.Click("#press-now")
	browsertest.Eval[bool](s.Page, `(document.getElementById("press-now") ?? {}).id = "", true`)
}

func quoted(text string) string { return "\"" + strings.ReplaceAll(text, `"`, `\"`) + "\"" }

// TestASurveyInABrowser from the first word to the card. The figures are those of
// testdata/transcripts/bare.txtar.
func TestASurveyInABrowser(t *testing.T) {
	browser := browsertest.Start(t)
	address, leave := program(t)
	s := sitting{browser.Open(address, browsertest.Look{Width: 1440, Height: 900})}
	s.hears("fitter", "Nation and day of the work?")
	s.presses("fitter", "England, today")
	s.hears("fitter", "finished round the old frame?")
	s.Picture("survey-1")
	s.Sound()
	s.types("fitter", "bare, no sill, white upvc, 1204 1202 1203 x 1050 1052 1051")
	s.hears("fitter", "1192 wide × 1040 high")
	s.Picture("survey-2")
	leave()
	s.Troubles()
}
