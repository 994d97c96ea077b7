package tryit

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

// presses the last button with a label, or what looks like one.
func (s sitting) presses(chair, label string) {
	find := `[...document.querySelectorAll("#log-` + chair + ` :is(button, a.press)")].filter(b => b.innerText === ` + quoted(label) + `).at(-1)`
	s.Until(find)
	browsertest.Eval[bool](s.Page, find+`.id = "press-now", true`)
	s.Click("#press-now")
	browsertest.Eval[bool](s.Page, `(document.getElementById("press-now") ?? {}).id = "", true`)
}

func quoted(text string) string { return "\"" + strings.ReplaceAll(text, `"`, `\"`) + "\"" }

// TestASurveyInABrowser from the first word to the card, and the page as people of all
// kinds need it. The figures are those of testdata/transcripts/bare.txtar.
func TestASurveyInABrowser(t *testing.T) {
	browser := browsertest.Start(t)
	address, leave := program(t)
	s := sitting{browser.Open(address, browsertest.Look{Width: 1440, Height: 900, Dark: true})}
	s.hears("fitter", "Nation and day of the work?")
	s.presses("fitter", "England, today")
	s.hears("fitter", "finished round the old frame?")
	require.True(t, browsertest.Eval[bool](s.Page, `document.activeElement.matches("#log-fitter article.bot")`), "the focus is on the answer")
	s.types("fitter", "bare, no sill, white upvc, 1204 1202 1203 x 1050 1052 1051")
	s.hears("fitter", "1192 wide × 1040 high")
	s.types("fitter", "1596 1597 level left")
	s.types("fitter", "arch bedroom first 900 4-20-4 no")
	s.hears("fitter", "Order size 1192 × 1040 mm")
	s.hears("fitter", "Left, right: 5 at 250, 790")
	s.Until(`[...document.querySelectorAll("#log-fitter img")].some(i => i.naturalWidth > 400 && i.alt.startsWith("Summary card") && i.alt.includes("order size 1192 mm wide, 1040 mm high"))`)
	s.Picture("survey")
	s.Sound()

	// After a reload everything is there, and by the keyboard alone it goes on.
	s.Reload()
	s.hears("fitter", "Order size 1192 × 1040 mm")
	require.Equal(t, 1, browsertest.Eval[int](s.Page, `[...document.querySelectorAll("#log-fitter .own")].filter(m => m.innerText.includes("arch bedroom")).length`))
	s.Until(`document.querySelectorAll("#log-fitter img").length === 1`)
	s.Press("\t\r") // the skip link
	s.Until(`document.activeElement.id === "chairs"`)
	s.Press("\t\r") // to the field
	s.Until(`document.activeElement.id === "text-fitter"`)
	s.Press("summary\r")
	s.Until(`document.querySelectorAll("#log-fitter img").length === 2`) // the card once more

	// A photo goes in by the field for files, and is seen.
	photo := filepath.Join(t.TempDir(), "corner.png")
	picture, err := os.ReadFile("../../testdata/card.png") // any picture
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(photo, picture, 0o600))
	s.Choose("#fitter [name=photo]", photo)
	s.types("fitter", "cracked corner")
	s.hears("fitter", "Photo 1 of this window is kept")
	s.types("fitter", "photos")
	s.Until(`[...document.querySelectorAll("#log-fitter .own img")].at(-1).naturalWidth > 100`)
	s.Until(`document.querySelector("#fitter [name=photo]").value === ""`)
	require.Empty(t, s.Text("#fitter .note"))

	phone := sitting{browser.Open(address, browsertest.Look{Width: 360, Height: 740, Dark: true})}
	phone.hears("fitter", "Photos of this window")
	require.Equal(t, 1, browsertest.Eval[int](phone.Page, `[...document.querySelectorAll(".chair")].filter(c => c.offsetParent).length`), "one chair at a time")
	s.types("lead", "hello")
	phone.Says(`nav [data-chair="lead"]`, "new") // what is new at the others is said
	phone.Picture("phone-dark")
	phone.Sound()
	phone.Click(`nav [data-chair="lead"]`)
	phone.hears("lead", "Nation and day")
	phone.Sound()
	phone.Picture("phone-lead")
	// A message is answered and one is corrected, by what stands at it.
	phone.Click("#log-lead .bot [data-reply]")
	phone.Says("#lead .about", "You answer one message")
	phone.Sound()
	phone.Click("#lead [data-neither]")
	phone.Click("#log-lead .own [data-edit]")
	phone.Says("#lead .about", "You correct one message")
	phone.types("lead", ", everybody")
	phone.Says("#log-lead .own", "hello, everybody")
	phone.Until(`document.querySelectorAll("#log-lead .own").length === 1`)
	require.GreaterOrEqual(t, browsertest.Eval[float64](phone.Page, `Math.min(...[...document.querySelectorAll("button, nav a, textarea, summary, [type=file]")].filter(e => e.offsetParent).map(e => e.getBoundingClientRect().height))`), 44.0, "a thumb in a glove")
	leave()
	s.Says("#line", "No connection") // and tries again
	for _, p := range []sitting{s, phone} {
		p.Go("about:blank")
		p.Troubles()
	}
}

// TestAJobWithThreeChairsInABrowser to a confirmed revision B. The figures of A are those
// of testdata/people/chairs.txtar; B's width is 2 mm less, as its smallest reading is.
func TestAJobWithThreeChairsInABrowser(t *testing.T) {
	browser := browsertest.Start(t)
	address, _ := program(t)
	s := sitting{browser.Open(address, browsertest.Look{Width: 1280, Height: 900})}
	s.types("fitter", "job")
	s.hears("fitter", "is begun")
	s.types("fitter", "England today bare none white 1204 1202 1203 1050 1052 1051 1596 1597 level left arch bedroom first 900 4-20-4 no")
	s.hears("fitter", "Order size 1192 × 1040 mm")
	s.Until(`[...document.querySelectorAll("#log-fitter img")].at(-1).alt.startsWith("Summary card: Window 1, Bedroom, order size 1192 mm wide, 1040 mm high")`)
	s.types("fitter", "the desk decides the rest")
	s.types("fitter", "ask check")
	s.opens("fitter", "lead", "crew lead")
	s.hears("lead", "to be measured again")
	s.presses("lead", "See Window 1")
	s.hears("lead", "1192 wide × 1040 high")
	s.presses("lead", "Sign Window 1")
	s.hears("fitter", "signed by the crew lead")
	s.types("fitter", "send")
	s.opens("fitter", "desk", "supplier desk")
	s.hears("desk", "revision A")
	s.hears("desk", "1192 wide × 1040 high")
	s.Until(`document.querySelector('#log-desk .paper[download="order.pdf"]')`)
	require.Equal(t, "%PDF", browsertest.Eval[string](s.Page, `fetch(document.querySelector("#log-desk .paper").href).then(r => r.text()).then(t => t.slice(0, 4))`))
	s.presses("desk", "Confirm all lines")
	s.hears("fitter", "revision A is confirmed")
	s.types("fitter", "change middle width 1200")
	s.hears("desk", "make nothing by it")
	s.types("fitter", "ask check 1")
	s.hears("lead", "waiting for the crew lead's check")
	s.presses("lead", "See Window 1")
	s.hears("lead", "1190 wide × 1040 high")
	s.presses("lead", "Sign Window 1")
	s.hears("fitter", "signed by the crew lead")
	s.types("fitter", "send")
	s.hears("desk", "takes the place of A")
	s.hears("desk", "1190 wide × 1040 high")
	s.presses("desk", "Confirm all lines")
	s.hears("fitter", "revision B is confirmed")
	s.Click("h1")    // the mouse out of the way
	s.Picture("web") // as in the README
	s.Sound()
}

// opens the link for somebody that a chair was given, as another chair.
func (s sitting) opens(from, as, somebody string) {
	link := `[...document.querySelectorAll("#log-` + from + ` a")].filter(a => a.href.includes("/open/") && a.closest("article").innerText.includes(` + quoted(somebody) + `)).at(-1)`
	s.Until(link)
	s.Go(browsertest.Eval[string](s.Page, link+".href"))
	s.Sound()
	s.Click(`form:has([value="` + as + `"]) button`)
	s.Until(`document.getElementById("log-` + as + `")`)
}

// TestTheStreamGoesOnWhereItBroke, and each message is there once; and without the
// script the page is loaded again.
func TestTheStreamGoesOnWhereItBroke(t *testing.T) {
	browser := browsertest.Start(t)
	tr := begin(t)
	s := sitting{browser.Open(tr.door.address(), browsertest.Look{})}
	s.types("fitter", "first")
	s.hears("fitter", "Nation and day")
	tr.server.CloseClientConnections()
	tr.typed(chairs[0], chairs[0].who[0], "en", "while it was away")
	s.Says("#log-fitter", "while it was away")
	s.types("fitter", "third")
	s.Says("#log-fitter", "third")
	require.Equal(t, "first, while it was away, third", browsertest.Eval[string](s.Page, `[...document.querySelectorAll("#log-fitter .own .text")].map(m => m.innerText).join(", ")`))
	s.Troubles() // that it broke

	quiet := sitting{browser.Open(tr.door.address()+"?chair=desk", browsertest.Look{Width: 360, Height: 740, NoScript: true})}
	quiet.Type("#text-desk", "by a form")
	quiet.Click("#desk .send")
	quiet.hears("desk", "Nation and day")
	require.Equal(t, "by a form", tr.engine.last().Input.Text)
	quiet.presses("desk", "England")
	quiet.Until(`document.querySelectorAll("#log-desk .bot").length === 2`)
	require.Equal(t, "c1:1:nation:england", tr.engine.last().Input.Text)
	require.Empty(t, quiet.Sideways())
}
