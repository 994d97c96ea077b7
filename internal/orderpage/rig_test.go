package orderpage

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/alicebob/miniredis/v2"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
	"sillbot/internal/sheet"
	"sillbot/locales"
)

const site = "https://orders.example"

var ctx = context.Background()

// messenger keeps what goes to people there.
type messenger struct {
	mu    sync.Mutex
	words *locales.Catalogue
	said  map[int64][]string
}

func (m *messenger) Send(_ context.Context, msg engine.Message) (engine.Sent, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.said[msg.Chat] = append(m.said[msg.Chat], m.words.Plain("en", msg.Reply.Text))
	return engine.Sent{}, nil
}

func (m *messenger) all(chat int64) string {
	m.mu.Lock()
	defer m.mu.Unlock()
	return strings.Join(m.said[chat], "\n")
}

// journal is a log that is read while it is written.
type journal struct {
	mu  sync.Mutex
	out strings.Builder
}

func (j *journal) Write(line []byte) (int, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.out.Write(line)
}

func (j *journal) String() string {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.out.String()
}

// rig is one process or several on one Redis.
type rig struct {
	*testing.T
	redis *miniredis.Miniredis
	words *locales.Catalogue
	post  *messenger
	log   *journal
	pages []*Pages
	e     *engine.Engine
	ids   int64
	ip    string
}

func newRig(t *testing.T, crew ...int64) *rig {
	words, err := locales.Load()
	require.NoError(t, err)
	r := &rig{T: t, redis: miniredis.RunT(t), words: words, post: &messenger{words: words, said: map[int64][]string{}}, log: &journal{}, ip: "192.0.2.1"}
	r.replica(crew...)
	return r
}

// replica is one more process.
func (r *rig) replica(crew ...int64) *Pages { return r.at(site+"/desk", crew...) }

func (r *rig) at(address string, crew ...int64) *Pages {
	store, err := session.Over(ctx, redis.NewClient(&redis.Options{Addr: r.redis.Addr()}))
	require.NoError(r, err)
	log := slog.New(slog.NewTextHandler(r.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	_, link, err := Base(address)
	require.NoError(r, err)
	r.e = engine.New(store, engine.Pager{Platform: r.post, Store: store}, engine.Options{
		Page: link, Rate: -1, Sweep: 50 * time.Millisecond, Log: log, Crew: crew, Home: func() string { return "https://messenger.example/bot?start=" },
	})
	running, stop := context.WithCancel(ctx)
	var all sync.WaitGroup
	all.Go(func() { _ = r.e.Run(running) })
	p, err := New(Config{URL: address, Log: log, Metrics: prometheus.NewRegistry()}, r.words, r.e, store, r.papers)
	require.NoError(r, err)
	r.Cleanup(func() {
		stop()
		all.Wait()
		require.NoError(r, store.Close())
	})
	r.pages = append(r.pages, p)
	return p
}

func (r *rig) papers(_ context.Context, lang string, _ int64, d dialog.Document) (string, []byte, error) {
	print := sheet.Printer{Say: func(t phrase.Text) string { return r.words.Plain(lang, t) }, At: d.At}
	var data []byte
	var err error
	switch d.Paper {
	case dialog.OrderPDF:
		data, err = print.Order(*d.Order)
	case dialog.OrderCSV:
		data, err = print.CSV(*d.Order)
	case dialog.OrderJSON:
		data, err = print.JSON(*d.Order)
	case dialog.CustomerPDF:
		data, err = print.Customer(*d.Customer)
	case dialog.FilePDF:
		data, err = print.File(*d.File)
	}
	return string(d.Paper), data, err
}

// fitter writes in chat 7.
func (r *rig) fitter(texts ...string) {
	r.Helper()
	for _, text := range texts {
		r.ids++
		u := engine.Update{ID: r.ids, Chat: 7, User: 7, Input: dialog.Input{Kind: dialog.Typed, Text: text, Now: time.Now(), Name: "Robin"}}
		require.NoError(r, r.e.Take(ctx, u))
		require.NoError(r, r.e.Flush(ctx, 7))
	}
}

const window = "England today bare none white 1204 1202 1203 1050 1052 1051 1596 1597 level left arch bedroom first 900 4-20-4 no"

// token is that of the last link to a page.
func (r *rig) token() string {
	r.Helper()
	all := regexp.MustCompile(`/o#([A-Za-z0-9_-]+)`).FindAllStringSubmatch(r.post.all(7), -1)
	require.NotEmpty(r, all, r.post.all(7))
	return all[len(all)-1][1]
}

// hears waits until the fitter was told something.
func (r *rig) hears(words string) {
	r.Helper()
	require.Eventually(r, func() bool { return strings.Contains(r.post.all(7), words) }, 5*time.Second, 5*time.Millisecond, "%s in\n%s", words, r.post.all(7))
}

// person is a browser.
type person struct {
	*rig
	cookie string
	to     *Pages
	at     string
	body   string
	status int
	header http.Header
}

func (r *rig) browser() *person { return &person{rig: r, to: r.pages[0]} }

// as is another tab of a browser.
func (r *rig) as(b *person) *person { return &person{rig: r, to: b.to, cookie: b.cookie} }

// ask asks for a path. Redirects are followed.
func (b *person) ask(method, path string, form url.Values, head ...string) *person {
	b.Helper()
	var body io.Reader
	if form != nil {
		body = strings.NewReader(form.Encode())
	}
	req := httptest.NewRequest(method, site+path, body)
	req.RemoteAddr = b.ip + ":5000"
	if form != nil {
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.Header.Set("Origin", "null") // there is no referrer
		req.Header.Set("Sec-Fetch-Site", "same-origin")
	}
	for i := 0; i+1 < len(head); i += 2 {
		req.Header.Set(head[i], head[i+1])
	}
	if b.cookie != "" {
		req.Header.Set("Cookie", cookieName+"="+b.cookie)
	}
	w := httptest.NewRecorder()
	b.to.ServeHTTP(w, req)
	b.status, b.body, b.header = w.Code, w.Body.String(), w.Header()
	for _, c := range w.Result().Cookies() {
		if c.Name == cookieName {
			b.cookie = c.Value
		}
	}
	if b.status == http.StatusSeeOther {
		to, _, _ := strings.Cut(b.header.Get("Location"), "#")
		return b.ask(http.MethodGet, to, nil)
	}
	b.at = path
	return b
}

func (b *person) get(path string) *person { b.Helper(); return b.ask(http.MethodGet, path, nil) }

// open opens the last link.
func (b *person) open() *person {
	b.Helper()
	b.get("/desk/o")
	require.Equal(b, http.StatusOK, b.status)
	b.ask(http.MethodPost, "/desk/o", url.Values{"token": {b.token()}})
	require.Equal(b, http.StatusOK, b.status, b.body)
	return b
}

var hidden = regexp.MustCompile(`<input type="hidden" name="([a-z]+)" value="([^"]*)">`)

// press sends the form on the page that does that to a line, with what was typed.
func (b *person) press(do string, line int, typed ...string) *person {
	b.Helper()
	form := b.form(do, line)
	for i := 0; i+1 < len(typed); i += 2 {
		form.Set(typed[i], typed[i+1])
	}
	return b.ask(http.MethodPost, b.at, form)
}

func (b *person) form(do string, line int) url.Values {
	b.Helper()
	for _, part := range strings.Split(b.body, "<form ")[1:] {
		form := url.Values{}
		for _, m := range hidden.FindAllStringSubmatch(strings.Split(part, "</form>")[0], -1) {
			form.Add(m[1], m[2])
		}
		number := ""
		if line != 0 {
			number = fmt.Sprint(line)
		}
		if form.Get("do") == do && form.Get("line") == number {
			return form
		}
	}
	b.Fatalf("no form %s %d in\n%s", do, line, b.body)
	return nil
}

// shows are words of the page without its tags.
func (b *person) shows() string {
	text := regexp.MustCompile(`(?s)<style>.*?</style>|<script>.*?</script>|<[^>]*>`).ReplaceAllString(b.body, " ")
	return strings.Join(strings.Fields(text), " ")
}
