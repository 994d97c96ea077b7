// Package browsertest gives tests a real browser: Debian's Chromium without a window,
// where the machine has it and SILLBOT_REAL_BROWSER=1 is set. Everything that a page
// writes to its console as an error, a broken content security policy among it, fails
// the test.
package browsertest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto"
	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// patience is how long a page may take for one thing, on a machine that does others.
const patience = 20 * time.Second

// Browser is one browser of one test. Its profile goes with the test.
type Browser struct {
	t   testing.TB
	ctx context.Context
}

// Start starts a browser that ends with the test, and skips the test where none is
// wanted.
func Start(t testing.TB) *Browser {
	t.Helper()
	if os.Getenv("SILLBOT_REAL_BROWSER") == "" {
		t.Skip("SILLBOT_REAL_BROWSER=1 starts a browser")
	}
	path, err := exec.LookPath("chromium")
	if err != nil {
		t.Fatalf("SILLBOT_REAL_BROWSER is set, and there is no chromium: %v", err)
	}
	profile := t.TempDir()
	options := append(slices.Clone(chromedp.DefaultExecAllocatorOptions[:]),
		chromedp.ExecPath(path), chromedp.UserDataDir(profile), chromedp.DisableGPU,
		chromedp.Env("HOME="+profile, "XDG_CONFIG_HOME="+profile, "XDG_CACHE_HOME="+profile))
	if os.Geteuid() == 0 {
		options = append(options, chromedp.NoSandbox) // it refuses to run as root with one
	}
	allocator, end := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, cancel := chromedp.NewContext(allocator)
	t.Cleanup(func() {
		leaving, over := context.WithTimeout(ctx, patience)
		defer over()
		_ = chromedp.Cancel(leaving) // what is left is killed
		cancel()
		end()
		gone(profile)
	})
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("starting %s: %v", path, err)
	}
	return &Browser{t, ctx}
}

// gone empties the profile: a process of the browser may still write into it when the
// first of them has ended.
func gone(profile string) {
	for range 20 {
		if os.RemoveAll(profile) == nil {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
}

// Look is how a page is looked at.
type Look struct {
	Width, Height int // in CSS pixels; 0: 1280 × 900. A narrow one is a phone.
	Dark          bool
	NoScript      bool // the page's own scripts do not run
}

// Phone is a small one, upright.
var Phone = Look{Width: 360, Height: 740}

// Page is one tab with cookies of its own, as of a person of its own.
type Page struct {
	t    testing.TB
	look Look
	ctx  context.Context

	mu       sync.Mutex
	troubles []string
}

// Open opens an address and waits until it is loaded.
func (b *Browser) Open(address string, look Look) *Page {
	b.t.Helper()
	if look.Width == 0 {
		look.Width, look.Height = 1280, 900
	}
	ctx, cancel := chromedp.NewContext(b.ctx, chromedp.WithNewBrowserContext())
	b.t.Cleanup(cancel)
	p := &Page{t: b.t, look: look, ctx: ctx}
	p.do("opening a tab")
	console, stop := context.WithCancel(ctx)
	var reading sync.WaitGroup
	messages := chromedp.Console(console)
	reading.Go(func() { p.listen(messages) })
	b.t.Cleanup(func() { // before the tab is closed
		stop()
		reading.Wait()
		for _, trouble := range p.Troubles() {
			b.t.Errorf("the page's console: %s", trouble)
		}
	})
	p.do("setting the look", p.set(look)...)
	p.Go(address)
	return p
}

func (p *Page) listen(messages func(func(chromedp.ConsoleMessage, error) bool)) {
	for m, err := range messages {
		if err != nil {
			return
		}
		if m.Type != chromedp.ConsoleError && m.Type != chromedp.ConsoleException && m.Type != "assert" {
			continue
		}
		p.mu.Lock()
		p.troubles = append(p.troubles, strings.TrimSpace(m.Text+" "+m.URL))
		p.mu.Unlock()
	}
}

// set gives the actions that make a look.
func (p *Page) set(look Look) []chromedp.Action[chromedp.Void] {
	var narrow []chromedp.EmulateViewportOption
	if look.Width < 600 {
		narrow = append(narrow, chromedp.EmulateMobile, chromedp.EmulateTouch)
	}
	scheme := "light"
	if look.Dark {
		scheme = "dark"
	}
	return []chromedp.Action[chromedp.Void]{
		chromedp.EmulateViewport(int64(look.Width), int64(look.Height), narrow...),
		chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
			_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
				{Name: "prefers-color-scheme", Value: scheme},
				{Name: "prefers-reduced-motion", Value: "reduce"},
			}})
			return err
		}),
		chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
			_, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: look.NoScript})
			return err
		}),
	}
}

// do runs actions within patience, or ends the test.
func (p *Page) do(what string, actions ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	if len(actions) == 0 {
		ctx = p.ctx // the first use of a tab makes it, and would end it with its time
	}
	if err := chromedp.Do(ctx, actions...); err != nil {
		p.t.Fatalf("%s: %v; %s", what, err, strings.Join(p.Troubles(), "; "))
	}
}

// Go opens another address in the tab.
func (p *Page) Go(address string) {
	p.t.Helper()
	p.do("opening "+address, chromedp.Navigate(address))
}

// Reload loads the page again.
func (p *Page) Reload() {
	p.t.Helper()
	p.do("loading the page again", chromedp.Reload())
}

// Click clicks what a CSS selector finds first. A page that moves under the pointer is
// clicked again, as a person does: the click of the browser is at a place.
func (p *Page) Click(selector string) {
	p.t.Helper()
	click := still(chromedp.Click(chromedp.CSS(selector), chromedp.NodeVisible))
	if p.look.NoScript {
		p.do("clicking "+selector, click)
		return
	}
	for range 5 {
		Eval[bool](p, fmt.Sprintf(`(at => {
			window.wasHit = false;
			document.addEventListener("click", e => { window.wasHit ||= !!e.target.closest(at) }, {capture: true, once: true});
			return true;
		})(%q)`, selector))
		p.do("clicking "+selector, click)
		if Eval[bool](p, "window.wasHit !== false") { // undefined: it led to another page
			return
		}
	}
	p.t.Fatalf("clicking %s: something else is there", selector)
}

// Type types into what a CSS selector finds first. "\r" presses Enter.
func (p *Page) Type(selector, text string) {
	p.t.Helper()
	p.do("typing into "+selector, still(chromedp.SendKeys(chromedp.CSS(selector), text, chromedp.NodeVisible)))
}

// still does to an element of a page that shows new things by itself what a person does:
// where the element was replaced between being found and being touched, it looks again.
// The browser answers so before it is touched, so that nothing is done twice.
func still(action chromedp.Action[chromedp.Void]) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		for {
			done, err := action(ctx, t)
			if !replaced(err) || ctx.Err() != nil {
				return done, err
			}
		}
	}
}

// replaced says whether the browser no longer knows the element that was found.
func replaced(err error) bool {
	var answer *cdproto.Error
	return errors.As(err, &answer) && strings.Contains(answer.Message, "node with given id")
}

// Press presses keys where the focus is: "\t", "\r", " ".
func (p *Page) Press(keys string) {
	p.t.Helper()
	p.do("pressing keys", chromedp.KeyEvent(keys))
}

// Choose puts files into a field for files.
func (p *Page) Choose(selector string, files ...string) {
	p.t.Helper()
	p.do("choosing files", chromedp.SetUploadFiles(chromedp.CSS(selector), files))
}

// Text is what a person reads in what a CSS selector finds first.
func (p *Page) Text(selector string) string {
	p.t.Helper()
	return Eval[string](p, fmt.Sprintf("document.querySelector(%q)?.innerText ?? ''", selector))
}

// Until waits for an expression of JavaScript to hold.
func (p *Page) Until(expression string) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	for {
		ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("!!("+expression+")"))
		if ok && err == nil {
			return
		}
		if ctx.Err() != nil {
			p.t.Fatalf("never so: %s (%v)\n%s", expression, err, p.last())
		}
		time.Sleep(100 * time.Millisecond) // and look again: the page may just be loaded anew
	}
}

// last is the end of what the page says, for a test that failed.
func (p *Page) last() string {
	text, err := chromedp.Run(p.ctx, chromedp.Evaluate[string]("document.body.innerText"))
	if err != nil {
		return err.Error()
	}
	return text[max(0, len(text)-1500):]
}

// Says waits until what a CSS selector finds first has a text in it.
func (p *Page) Says(selector, text string) {
	p.t.Helper()
	p.Until(fmt.Sprintf("(document.querySelector(%q)?.innerText ?? '').includes(%q)", selector, text))
}

// Eval is the value of an expression of JavaScript; of a promise, what it gives.
func Eval[T any](p *Page, expression string) T {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	value, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		var thrown *chromedp.ExceptionError
		if errors.As(err, &thrown) {
			p.t.Fatalf("in the page: %v", thrown)
		}
		p.t.Fatalf("asking the page for %.200s: %v", expression, err)
	}
	return value
}

// Picture writes what the tab shows to a file NAME.png in the folder that
// SILLBOT_SCREENSHOTS names, if it names one.
func (p *Page) Picture(name string) {
	p.t.Helper()
	folder := os.Getenv("SILLBOT_SCREENSHOTS")
	if folder == "" {
		return
	}
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	png, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	if err == nil {
		err = os.WriteFile(filepath.Join(folder, name+".png"), png, 0o600)
	}
	if err != nil {
		p.t.Errorf("taking a picture: %v", err)
	}
}

// Copying lets the pages of the tab use the clipboard, or forbids it.
func (p *Page) Copying(may bool) {
	p.t.Helper()
	setting := browser.PermissionSettingDenied
	if may {
		setting = browser.PermissionSettingGranted
	}
	for _, name := range []string{"clipboard-read", "clipboard-write"} {
		_, err := chromedp.CallBrowser(p.ctx, browser.SetPermission, browser.SetPermissionParams{
			Permission: &browser.PermissionDescriptor{Name: name}, Setting: setting, BrowserContextID: chromedp.FromContext(p.ctx).BrowserContextID,
		})
		if err != nil {
			p.t.Fatalf("setting %s: %v", name, err)
		}
	}
}
