package tryit

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"io"
	"log/slog"
	"mime/multipart"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
	"sillbot/internal/sheet"
	"sillbot/locales"
)

// fake is an engine that notes what it takes and answers with one reply.
type fake struct {
	trial    *Trial
	taken    []engine.Update
	reminded []time.Time
	reply    dialog.Reply
	wait     []int64
	err      error
	panic    bool
}

func (f *fake) Take(_ context.Context, u engine.Update) error {
	if f.panic {
		panic("a turn")
	}
	f.taken = append(f.taken, u)
	f.wait = append(f.wait, u.Chat)
	if u.Toast != nil && f.reply.Toast != nil {
		u.Toast("en", *f.reply.Toast)
	}
	return f.err
}

func (f *fake) Waiting() (int64, bool) {
	if len(f.wait) == 0 {
		return 0, false
	}
	return f.wait[0], true
}

func (f *fake) Flush(ctx context.Context, chat int64) error {
	f.wait = f.wait[1:]
	_, err := f.trial.Send(ctx, engine.Message{Chat: chat, Reply: f.reply})
	return err
}

func (f *fake) Remind(_ context.Context, now time.Time) error {
	f.reminded = append(f.reminded, now)
	return nil
}

func (f *fake) last() engine.Update { return f.taken[len(f.taken)-1] }

// trial is a trial on a fake engine, served in this process.
type trial struct {
	*Trial
	t      *testing.T
	engine *fake
	server *httptest.Server
}

func begin(t *testing.T) *trial {
	t.Helper()
	words, err := locales.Load()
	require.NoError(t, err)
	at, err := Listen(0)
	require.NoError(t, err)
	tr := &Trial{Speaker: words, Now: func() time.Time { return time.Date(2026, 11, 26, 9, 5, 0, 0, time.UTC) },
		Painter: func(context.Context, string, dialog.Picture) ([]byte, error) { return []byte("\x89PNG\r\n\x1a\n"), nil },
		Papers: func(context.Context, string, int64, dialog.Document) (string, []byte, error) {
			return "order.csv", []byte("a,b"), nil
		}}
	address, err := tr.Open(at)
	require.NoError(t, err)
	require.Regexp(t, `^http://127\.0\.0\.1:\d+/[a-z0-9]{26}/$`, address, "26 letters of 5 bits are 130")
	f := &fake{trial: tr, reply: dialog.Reply{Lang: "en", Text: phrase.Of("ask.nation"), Buttons: [][]dialog.Button{{{Label: phrase.Of("button.nation.england"), Data: "c1:1:nation:england"}}}}}
	server := &httptest.Server{Listener: at, Config: &http.Server{Handler: tr.Handler(f, slog.New(slog.DiscardHandler))}}
	server.Start()
	t.Cleanup(server.Close)
	return &trial{tr, t, f, server}
}

// call makes a request; change alters it before it goes.
func (tr *trial) call(method, path string, body io.Reader, change func(*http.Request)) (*http.Response, string) {
	tr.t.Helper()
	r, err := http.NewRequestWithContext(tr.t.Context(), method, tr.door.address()+path, body)
	require.NoError(tr.t, err)
	if change != nil {
		change(r)
	}
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	answer, err := client.Do(r)
	require.NoError(tr.t, err)
	defer answer.Body.Close()
	said, err := io.ReadAll(answer.Body)
	require.NoError(tr.t, err)
	return answer, string(said)
}

// post sends a form with the token of the page, and with a file where data is given.
func (tr *trial) post(path string, fields map[string]string, name string, data []byte) (*http.Response, string) {
	tr.t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	if _, own := fields["csrf"]; !own {
		require.NoError(tr.t, form.WriteField("csrf", tr.door.csrf))
	}
	for field, value := range fields {
		require.NoError(tr.t, form.WriteField(field, value))
	}
	if data != nil {
		part, err := form.CreateFormFile("photo", name)
		require.NoError(tr.t, err)
		_, err = part.Write(data)
		require.NoError(tr.t, err)
	}
	require.NoError(tr.t, form.Close())
	return tr.call("POST", path, &body, func(r *http.Request) { r.Header.Set("Content-Type", form.FormDataContentType()) })
}

func TestOnlyThisMachineIsListenedTo(t *testing.T) {
	at, err := Listen(0)
	require.NoError(t, err)
	defer at.Close()
	require.True(t, at.Addr().(*net.TCPAddr).IP.IsLoopback())
	for _, other := range []net.Addr{&net.TCPAddr{IP: net.IPv4zero, Port: 80}, &net.TCPAddr{IP: net.IPv6unspecified, Port: 80}, &net.TCPAddr{IP: net.IPv4(192, 0, 2, 1), Port: 80}, &net.UnixAddr{Name: "x"}} {
		_, err := newDoor(other)
		require.Error(t, err, "%s is no loopback", other)
	}
}

// TestNobodyElseIsLetIn: a name that was made to lead here (DNS rebinding), a path that
// is not known, and a page of another site.
func TestNobodyElseIsLetIn(t *testing.T) {
	tr := begin(t)
	port := tr.door.port
	for host, status := range map[string]int{
		"127.0.0.1:" + port: 200, "localhost:" + port: 200,
		"evil.example:" + port: 421, "127.0.0.1": 421, "localhost": 421, "127.0.0.1:1": 421, "[::1]:" + port: 421, "127.0.0.1." + ":" + port: 421,
	} {
		answer, said := tr.call("GET", "", nil, func(r *http.Request) { r.Host = host })
		require.Equal(t, status, answer.StatusCode, host)
		if status != 200 {
			require.NotContains(t, said, "sillbot")
		}
	}
	var words []string
	for _, path := range []string{"/", "/favicon.ico", "/" + strings.Repeat("a", 26) + "/", tr.door.path[:len(tr.door.path)-2] + "/", strings.ToUpper(tr.door.path)} {
		answer, said := tr.call("GET", "", nil, func(r *http.Request) { r.URL.Path = path })
		require.Equal(t, 404, answer.StatusCode, path)
		words = append(words, said)
	}
	for _, said := range words {
		require.Equal(t, words[0], said, "one answer for all")
	}

	fields := map[string]string{"chair": "fitter", "text": "hello"}
	for _, csrf := range []string{"", "x", strings.ToLower(tr.door.csrf)} {
		fields["csrf"] = csrf
		answer, _ := tr.post("say", fields, "", nil)
		require.Equal(t, 403, answer.StatusCode)
	}
	for header, value := range map[string]string{"Sec-Fetch-Site": "cross-site", "Origin": "https://evil.example"} {
		body := strings.NewReader(url.Values{"csrf": {tr.door.csrf}, "chair": {"fitter"}, "text": {"hello"}}.Encode())
		answer, _ := tr.call("POST", "say", body, func(r *http.Request) {
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			r.Header.Set(header, value)
		})
		require.Equal(t, 403, answer.StatusCode, header)
	}
	answer, _ := tr.call("GET", "say?chair=fitter&text=hello&csrf="+tr.door.csrf, nil, nil)
	require.Equal(t, 405, answer.StatusCode)
	require.Empty(t, tr.engine.taken)
}

func TestABrowserMayDoNextToNothingWithAnAnswer(t *testing.T) {
	tr := begin(t)
	nonce := regexp.MustCompile(`'nonce-([A-Z0-9]{26})'`)
	seen := map[string]bool{}
	for _, path := range []string{"", "", "open/abc", "page.js", "file/none", "none"} {
		answer, said := tr.call("GET", path, nil, nil)
		h := answer.Header
		policy := h.Get("Content-Security-Policy")
		require.True(t, strings.HasPrefix(policy, "default-src 'none'; "), path)
		require.NotContains(t, policy, "unsafe")
		for _, part := range []string{"base-uri 'none'", "frame-ancestors 'none'", "form-action 'self'"} {
			require.Contains(t, policy, part)
		}
		n := nonce.FindStringSubmatch(policy)[1]
		require.False(t, seen[n], "a nonce is used once")
		seen[n] = true
		if path == "" {
			require.Equal(t, 2, strings.Count(said, `nonce="`+n+`"`), "of the script and of the style")
		}
		require.Equal(t, "nosniff", h.Get("X-Content-Type-Options"))
		require.Equal(t, "no-store", h.Get("Cache-Control"))
		require.Equal(t, "no-referrer", h.Get("Referrer-Policy"))
	}
	// One that a client brings is not used.
	_, said := tr.call("GET", "", nil, func(r *http.Request) { r.Header.Set(nonceHeader, "mine") })
	require.NotContains(t, said, `nonce="mine"`)
}

func TestSizesAreBounded(t *testing.T) {
	tr := begin(t)
	answer, said := tr.post("say", map[string]string{"chair": "fitter", "text": strings.Repeat("𝄞", 2049), "script": "1"}, "", nil)
	require.Equal(t, 413, answer.StatusCode, "2049 characters of two UTF-16 units")
	require.Equal(t, "A message has at most 4096 characters. Send it in two.", said)
	photo := append([]byte("\xff\xd8\xff\xe0"), make([]byte, mostPhoto-4)...)
	for _, size := range []int{1, 1 << 20} { // over the photo's bound, and over the form's
		answer, said = tr.post("say", map[string]string{"chair": "fitter", "script": "1"}, "a.jpg", append(bytes.Clone(photo), make([]byte, size)...))
		require.Equal(t, 413, answer.StatusCode)
		require.Contains(t, said, "10 MB")
	}
	answer, said = tr.post("say", map[string]string{"chair": "fitter"}, "a.jpg", append(bytes.Clone(photo), 0))
	require.Equal(t, 413, answer.StatusCode)
	require.Contains(t, said, "10 MB", "in a page, without its script")
	answer, _ = tr.post("say", map[string]string{"chair": "fitter", "press": "1 " + strings.Repeat("x", 65)}, "", nil)
	require.Equal(t, 400, answer.StatusCode)
	require.Empty(t, tr.engine.taken)

	answer, _ = tr.post("say", map[string]string{"chair": "fitter", "text": strings.Repeat("𝄞", 2048)}, "", nil)
	require.Equal(t, 303, answer.StatusCode)
	answer, _ = tr.post("say", map[string]string{"chair": "fitter"}, "a.jpg", photo)
	require.Equal(t, 303, answer.StatusCode)
	require.Len(t, tr.engine.taken, 2)
}

// TestFormsDoWithoutTheScript what the script does, and say what they can't.
func TestFormsDoWithoutTheScript(t *testing.T) {
	tr := begin(t)
	answer, _ := tr.post("say", map[string]string{"chair": "lead", "text": "first\r\n1204 <b>"}, "", nil)
	require.Equal(t, 303, answer.StatusCode)
	require.Equal(t, tr.door.path+"?chair=lead#end-lead", answer.Header.Get("Location"))
	u := tr.engine.last()
	require.Equal(t, "first\n1204 <b>", u.Input.Text)
	require.Equal(t, []int64{2, 2}, []int64{u.Chat, u.User})
	require.Equal(t, "Crew lead", u.Input.Name)
	_, page := tr.call("GET", "", nil, nil)
	require.Contains(t, page, "first\n1204 &lt;b&gt;")
	require.Contains(t, page, `<button name="press" value="2 c1:1:nation:england" form="form-lead" formnovalidate>England</button>`)
	require.Contains(t, page, "09:05")

	answer, _ = tr.post("say", map[string]string{"chair": "lead", "text": "half typed", "press": "2 c1:1:nation:england"}, "", nil)
	require.Equal(t, 303, answer.StatusCode)
	in := tr.engine.last().Input
	require.Equal(t, dialog.Pressed, in.Kind)
	require.Equal(t, "c1:1:nation:england", in.Text)
	require.Equal(t, int64(2), in.Under)
	_, page = tr.call("GET", "", nil, nil)
	require.Contains(t, page, "half typed</textarea>", "what was typed and not sent is still there")

	for _, as := range []struct {
		key  string
		user int64
	}{{"", 1}, {"lead", 2}} {
		_, _ = tr.post("say", map[string]string{"chair": "group", "as": as.key, "text": "hello"}, "", nil)
		u = tr.engine.last()
		require.True(t, u.Group)
		require.Equal(t, []int64{-4, as.user}, []int64{u.Chat, u.User})
	}
	// By the number of a message it is answered, or corrected by who typed it.
	_, _ = tr.post("say", map[string]string{"chair": "lead", "text": "1214", "reply": "2"}, "", nil)
	require.Equal(t, int64(2), tr.engine.last().Input.ReplyTo)
	_, page = tr.call("GET", "?chair=lead&correct=1", nil, nil)
	require.Contains(t, page, "first\n1204 &lt;b&gt;</textarea>")
	require.Contains(t, page, `name="edit" value="1"`)
	_, _ = tr.post("say", map[string]string{"chair": "lead", "text": "1206", "edit": "1"}, "", nil)
	require.Equal(t, dialog.Edited, tr.engine.last().Input.Kind)
	require.Equal(t, int64(1), tr.engine.last().Input.Msg)
	_, page = tr.call("GET", "", nil, nil)
	require.NotContains(t, page, "first\n")
	before := len(tr.engine.taken)
	for name, fields := range map[string]map[string]string{
		"nothing typed": {"chair": "fitter", "text": " \n"}, "no chair": {"text": "x"}, "another chair": {"chair": "boss", "text": "x"},
		"somebody who has no part in it": {"chair": "group", "as": "desk", "text": "x"}, "no number": {"chair": "fitter", "press": "x y"},
		"a message of another": {"chair": "fitter", "text": "x", "edit": "1"}, "a message of the bot": {"chair": "lead", "text": "x", "edit": "2"},
	} {
		answer, said := tr.post("say", fields, "", nil)
		require.Equal(t, 400, answer.StatusCode, name)
		require.Contains(t, said, "Back to the conversations", name)
	}
	require.Len(t, tr.engine.taken, before)
}

func TestFilesAreTakenAndGivenBack(t *testing.T) {
	tr := begin(t)
	png := []byte("\x89PNG\r\n\x1a\nand so on")
	_, _ = tr.post("say", map[string]string{"chair": "fitter", "text": "broken corner"}, "a.png", png)
	in := tr.engine.last().Input
	require.Equal(t, dialog.Photo, in.Kind)
	require.Equal(t, "broken corner", in.Text)
	answer, said := tr.call("GET", "file/"+in.Shot.File, nil, nil)
	require.Equal(t, "image/png", answer.Header.Get("Content-Type"))
	require.Equal(t, string(png), said)

	// What is no picture is never shown, whatever it is called.
	html := []byte("<html><script>alert(1)</script>")
	_, _ = tr.post("say", map[string]string{"chair": "fitter"}, `a".png`, html)
	require.Equal(t, dialog.File, tr.engine.last().Input.Kind)
	_, page := tr.call("GET", "", nil, nil)
	href := regexp.MustCompile(`class="paper" href="([^"]+)"`).FindStringSubmatch(page)[1]
	answer, _ = tr.call("GET", strings.TrimPrefix(href, tr.door.path), nil, nil)
	require.Equal(t, "application/octet-stream", answer.Header.Get("Content-Type"))
	require.Contains(t, answer.Header.Get("Content-Disposition"), "attachment")
	require.Contains(t, answer.Header.Get("Content-Security-Policy"), "sandbox")

	csv := []byte("job,line\nQ,1\n")
	_, _ = tr.post("say", map[string]string{"chair": "desk"}, "answer.csv", csv)
	require.Equal(t, csv, tr.engine.last().Input.Table)
	_, _ = tr.post("say", map[string]string{"chair": "desk"}, "answer.csv", bytes.Repeat([]byte("a,"), sheet.MostAnswerBytes))
	require.Len(t, tr.engine.last().Input.Table, sheet.MostAnswerBytes+1)

	// The bot's own: a picture with words for who doesn't see it, a paper, a photo again.
	tr.engine.reply = dialog.Reply{Lang: "en", Text: phrase.Of("ask.nation"), Picture: &dialog.Picture{Opening: bare()}, Document: &dialog.Document{Paper: dialog.OrderCSV},
		Shots: []dialog.Shot{{File: in.Shot.File}, {File: "gone"}}, Folded: []phrase.Text{phrase.Of("ask.date")}}
	_, _ = tr.post("say", map[string]string{"chair": "desk", "text": "papers"}, "", nil)
	_, page = tr.call("GET", "", nil, nil)
	require.Contains(t, page, `alt="Summary card: Bedroom, order size 1192 mm wide, 1040 mm high, seen from outside. The messages`)
	require.Contains(t, page, `download="order.csv"`)
	require.Contains(t, page, `file/`+in.Shot.File+`" alt="Photo 1 of 2"`)
	require.Contains(t, page, "could not be made", "a photo that is not there")
	require.Contains(t, page, "<details>")

	// Cards that the messenger shows together.
	tr.engine.reply = dialog.Reply{Lang: "en", Text: phrase.Of("ask.nation"), Picture: &dialog.Picture{Opening: bare()},
		More: []dialog.Card{{Text: phrase.Of("ask.date"), Picture: dialog.Picture{Opening: bare()}}, {Text: phrase.Of("ask.date"), Picture: dialog.Picture{Opening: bare()}}}}
	before := strings.Count(page, `alt="Summary card`)
	_, _ = tr.post("say", map[string]string{"chair": "desk", "text": "cards"}, "", nil)
	_, page = tr.call("GET", "", nil, nil)
	require.Equal(t, before+3, strings.Count(page, `alt="Summary card`))
}

// TestALinkIsOpenedByWhoPressesIt, and looking at it does nothing.
func TestALinkIsOpenedByWhoPressesIt(t *testing.T) {
	tr := begin(t)
	home := tr.Home()
	require.Contains(t, string(shown("Send this: "+home+"AbC-_9\nnow")), `<a href="`+home+`AbC-_9" rel=`)
	answer, page := tr.call("GET", "open/AbC-_9", nil, nil)
	require.Equal(t, 200, answer.StatusCode)
	require.Contains(t, page, `name="token" value="AbC-_9"`)
	require.Empty(t, tr.engine.taken)
	_, _ = tr.post("open", map[string]string{"chair": "lead", "token": "AbC-_9"}, "", nil)
	require.Equal(t, "/start AbC-_9", tr.engine.last().Input.Text)
	_, page = tr.call("GET", "", nil, nil)
	require.NotContains(t, page, "data-edit=\"1\"", "a link that was opened is no message to correct")
	require.Equal(t, int64(2), tr.engine.last().Chat)
	answer, _ = tr.post("open", map[string]string{"chair": "lead", "token": "a b"}, "", nil)
	require.Equal(t, 400, answer.StatusCode)
}

func TestTheClockIsMoved(t *testing.T) {
	tr := begin(t)
	var passed time.Duration
	tr.Passes = func(d time.Duration) { passed += d }
	for _, by := range []string{"hour", "day", "week"} {
		_, _ = tr.post("clock", map[string]string{"chair": "fitter", "by": by}, "", nil)
	}
	require.Equal(t, (1+8*24)*time.Hour, passed)
	require.Len(t, tr.engine.reminded, 3+1+24+steps, "before the first hour and after each, in a week every three")
	require.Equal(t, tr.Trial.Now().Add(passed), tr.engine.reminded[len(tr.engine.reminded)-1])
	_, _ = tr.post("say", map[string]string{"chair": "fitter", "text": "hello"}, "", nil)
	require.Equal(t, tr.Trial.Now().Add(passed), tr.engine.last().Input.Now)
	_, page := tr.call("GET", "", nil, nil)
	require.Contains(t, page, "4 December 2026, 10:05")
	tr.engine.reminded = nil
	_, _ = tr.post("clock", map[string]string{"chair": "fitter", "by": "morning"}, "", nil)
	require.Len(t, tr.engine.reminded, 1+22, "before, after 21 hours, and after the 55 minutes that are left")
	require.Equal(t, "2026-12-05 08:00", tr.engine.reminded[22].In(zone).Format("2006-01-02 15:04"))
	answer, _ := tr.post("clock", map[string]string{"chair": "fitter", "by": "year"}, "", nil)
	require.Equal(t, 400, answer.StatusCode)
}

// TestWhatChangesIsToldFromWhereItBroke off: events have ids, and a browser that
// comes back with the last that it had gets what came since, once.
func TestWhatChangesIsToldFromWhereItBroke(t *testing.T) {
	tr := begin(t)
	events := func(last string) (next func() (id, data string)) {
		ctx, cancel := context.WithTimeout(t.Context(), 5*time.Second)
		t.Cleanup(cancel)
		r, err := http.NewRequestWithContext(ctx, "GET", tr.door.address()+"events", nil)
		require.NoError(t, err)
		r.Header.Set("Last-Event-ID", last)
		answer, err := http.DefaultClient.Do(r)
		require.NoError(t, err)
		t.Cleanup(func() { answer.Body.Close() })
		require.Equal(t, "text/event-stream", answer.Header.Get("Content-Type"))
		lines := bufio.NewScanner(answer.Body)
		return func() (id, data string) {
			for lines.Scan() {
				if rest, ok := strings.CutPrefix(lines.Text(), "id: "); ok {
					id = rest
				}
				if rest, ok := strings.CutPrefix(lines.Text(), "data: "); ok {
					return id, rest
				}
			}
			t.Fatal("no event came: ", lines.Err())
			return
		}
	}
	next := events("0")
	_, _ = tr.post("say", map[string]string{"chair": "fitter", "text": "one"}, "", nil)
	_, data := next()
	require.Contains(t, data, "one")
	id, data := next()
	require.Contains(t, data, `"message":"m2"`)
	_, _ = tr.post("say", map[string]string{"chair": "fitter", "text": "two"}, "", nil)
	_, data = next()
	require.Contains(t, data, "two", "while it is open")

	next = events(id)
	_, data = next()
	require.Contains(t, data, "two", "from the next on")
	require.NotContains(t, data, "one")
	next()

	// An edit takes its place, buttons are taken off, and a toast is noted.
	tr.engine.reply = dialog.Reply{Lang: "en", Text: phrase.Of("ask.date"), Over: 2}
	_, _ = tr.post("say", map[string]string{"chair": "fitter", "press": "2 x"}, "", nil)
	_, data = next()
	require.Contains(t, data, `"message":"m2"`)
	tr.Strip(t.Context(), engine.Message{Chat: 1}, 4)
	_, data = next()
	require.Contains(t, data, `"message":"m4"`)
	require.NotContains(t, data, "button")
	toast := phrase.Of("press.unknown")
	tr.engine.reply = dialog.Reply{Lang: "en", Text: phrase.Of("ask.date"), Toast: &toast, Over: 2}
	_, _ = tr.post("say", map[string]string{"chair": "fitter", "press": "2 x"}, "", nil)
	_, data = next()
	require.Contains(t, data, `"noted":true`)

	for _, odd := range []string{"x", "-1", "99999"} {
		_, data = events(odd)()
		require.Contains(t, data, "one", "all of it, which takes its own place")
	}
}

func TestTheMarkupOfAReplyIsShownAndNothingElse(t *testing.T) {
	for text, want := range map[string]string{
		"<b>A</b> &lt;b&gt; & <i>c</i>\nd":                "<b>A</b> &lt;b&gt; &amp; <i>c</i>\nd",
		`<script>x</script><b onclick="x">a</b>`:          "&lt;script&gt;x&lt;/script&gt;&lt;b onclick=&#34;x&#34;&gt;a</b>",
		`see https://a.example/x?y=1&amp;z. javascript:x`: `see <a href="https://a.example/x?y=1&amp;z" rel="noopener noreferrer">https://a.example/x?y=1&amp;z</a>. javascript:x`,
		`<a href="javascript:x">y</a> < b > c`:            "&lt;a href=&#34;javascript:x&#34;&gt;y&lt;/a&gt; &lt; b &gt; c",
	} {
		require.Equal(t, want, string(shown(text)))
	}
}

// TestAFaultIsAnsweredAndTheNextTurnGoesOn, and nothing of what was typed is logged.
func TestAFaultIsAnsweredAndTheNextTurnGoesOn(t *testing.T) {
	tr := begin(t)
	tr.engine.panic = true
	answer, _ := tr.post("say", map[string]string{"chair": "fitter", "text": "hello", "script": "1"}, "", nil)
	require.Equal(t, 500, answer.StatusCode)
	tr.engine.panic, tr.engine.err = false, errors.New("the store is away")
	answer, said := tr.post("say", map[string]string{"chair": "fitter", "text": "hello", "script": "1"}, "", nil)
	require.Equal(t, 500, answer.StatusCode)
	require.Contains(t, said, "Look whether it was answered")
	require.NotContains(t, said, "store")
	tr.engine.err = nil
	answer, _ = tr.post("say", map[string]string{"chair": "fitter", "text": "hello", "script": "1"}, "", nil)
	require.Equal(t, 204, answer.StatusCode)
}

func TestMemoryIsBounded(t *testing.T) {
	b := newBook()
	for range mostMessages + 5 {
		b.add(message{chat: 1})
	}
	require.Len(t, b.since(0).messages[1], mostMessages)
	big := make([]byte, mostHeld/4)
	first := b.keep(file{data: big})
	for range 4 {
		b.keep(file{data: big})
	}
	_, ok := b.file(first.ID)
	require.False(t, ok)
	require.Len(t, b.files, 4)
	require.Equal(t, mostHeld, b.held)
}

// TestItLeavesWithinASecond though a page hears events.
func TestItLeavesWithinASecond(t *testing.T) {
	words, err := locales.Load()
	require.NoError(t, err)
	at, err := Listen(0)
	require.NoError(t, err)
	tr := &Trial{Speaker: words, Now: time.Now}
	address, err := tr.Open(at)
	require.NoError(t, err)
	ctx, leave := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() {
		ended <- tr.Serve(ctx, at, &fake{trial: tr, reply: dialog.Reply{Lang: "en", Text: phrase.Of("ask.nation")}}, slog.New(slog.DiscardHandler))
	}()
	answer, err := http.Get(address + "events")
	require.NoError(t, err)
	defer answer.Body.Close()
	line := make([]byte, 1)
	_, err = answer.Body.Read(line)
	require.NoError(t, err)
	leave()
	select {
	case err := <-ended:
		require.NoError(t, err)
	case <-time.After(5 * time.Second): // bounded; a second is what it gives others
		t.Fatal("it stays")
	}
	_, err = http.Get(address)
	require.Error(t, err, "nobody listens any more")
}
