package telegram

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/png"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"path"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
	"sillbot/internal/telegram/telegramtest"
)

// fakeEngine is a Taker that remembers what it took, each update once, and fails on
// demand.
type fakeEngine struct {
	mu    sync.Mutex
	fail  func(engine.Update) error // asked before an update is taken
	taken []engine.Update
	tries int
	again int // deliveries of what was taken already
}

func (d *fakeEngine) Take(ctx context.Context, u engine.Update) error {
	d.mu.Lock()
	fail := d.fail
	d.tries++
	d.mu.Unlock()
	if fail != nil {
		if err := fail(u); err != nil {
			return err
		}
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if slices.ContainsFunc(d.taken, func(t engine.Update) bool { return t.ID == u.ID }) {
		d.again++
		return nil
	}
	d.taken = append(d.taken, u)
	return nil
}

// texts is what was taken from a chat, in order.
func (d *fakeEngine) texts(chat int64) []string {
	d.mu.Lock()
	defer d.mu.Unlock()
	var texts []string
	for _, u := range d.taken {
		if u.Chat == chat {
			texts = append(texts, u.Input.Text)
		}
	}
	return texts
}

func (d *fakeEngine) failing(f func(engine.Update) error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.fail = f
}

func (d *fakeEngine) tried() int {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.tries
}

// graves is a dead list.
type graves struct {
	mu   sync.Mutex
	err  error
	raw  []string
	whys []string
}

func (g *graves) Dead(ctx context.Context, raw []byte, why string) error {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.err != nil {
		return g.err
	}
	g.raw, g.whys = append(g.raw, string(raw)), append(g.whys, why)
	return nil
}

func (g *graves) count() int {
	g.mu.Lock()
	defer g.mu.Unlock()
	return len(g.raw)
}

// words renders a key as itself, or as the text it stands for.
type words map[string]string

func (w words) Text(lang string, t phrase.Text) string {
	if text, ok := w[t.Key]; ok {
		return text
	}
	return lang + " " + t.Key
}

func card(w, h int) []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, w, h))); err != nil {
		panic(err)
	}
	return b.Bytes()
}

func paintCard(context.Context, string, dialog.Picture) ([]byte, error) { return card(40, 30), nil }

var noon = time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)

// config is one for a test server, with short waits.
func config(s *telegramtest.Server) Config {
	return Config{
		Token: telegramtest.Token, API: s.URL, PollTimeout: 2 * time.Second,
		Backoff: time.Millisecond, Standby: 20 * time.Millisecond,
		Clock: func() time.Time { return noon }, Log: slog.New(slog.DiscardHandler),
	}
}

func connect(t *testing.T, cfg Config) *Client {
	t.Helper()
	c, err := New(cfg)
	require.NoError(t, err)
	return c
}

func within(t *testing.T) context.Context {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	t.Cleanup(cancel)
	return ctx
}

var errBusy = errors.New("the store is away")

func TestConfigIsChecked(t *testing.T) {
	good := Config{Token: telegramtest.Token}
	hook := func(address string) func(*Config) {
		return func(c *Config) { c.WebhookURL, c.WebhookSecret = address, "secret" }
	}
	for name, tc := range map[string]struct {
		change func(*Config)
		want   string
	}{
		"as it is":               {func(c *Config) {}, ""},
		"no token":               {func(c *Config) { c.Token = "" }, "token"},
		"token with a path":      {func(c *Config) { c.Token = "1:a/../b" }, "token"},
		"own server":             {func(c *Config) { c.API = "http://10.0.0.9:8081/" }, ""},
		"server with a fragment": {func(c *Config) { c.API = "http://10.0.0.9:8081/#s3" }, "no #"},
		"server with a query":    {func(c *Config) { c.API = "http://10.0.0.9:8081/?s3=1" }, "no ?"},
		"server of a file":       {func(c *Config) { c.API = "file:///etc" }, "base address"},
		"webhook":                {func(c *Config) { c.WebhookURL, c.WebhookSecret = "https://bot.example/in", "s3cret" }, ""},
		"webhook on loopback":    {func(c *Config) { c.WebhookURL, c.WebhookSecret = "http://127.0.0.1:9/in", "s3cret" }, ""},
		"webhook in the clear":   {func(c *Config) { c.WebhookURL, c.WebhookSecret = "http://bot.example/in", "s3cret" }, "https"},
		"loopback by name only": {func(c *Config) {
			c.WebhookURL, c.WebhookSecret = "http://127.0.0.1.bot.example/in", "s3cret"
		}, "https"},
		"webhook without secret":  {func(c *Config) { c.WebhookURL = "https://bot.example/in" }, "secret"},
		"webhook with a name":     {hook("https://s3cret:s3@bot.example/in"), "user name"},
		"webhook with a fragment": {hook("https://bot.example/in#s3"), "fragment"},
		"webhook, empty fragment": {hook("https://bot.example/in#"), "fragment"},
		"webhook on port 8080":    {hook("https://bot.example:8080/in"), "443, 80, 88 or 8443"},
		"webhook on port 8443":    {hook("https://bot.example:8443/in"), ""},
		"webhook on port 88":      {hook("https://bot.example:88/in"), ""},
		"webhook on port 80":      {hook("https://bot.example:80/in"), ""},
		"webhook on port 443":     {hook("https://bot.example:443/in"), ""},
		"webhook, loopback, TLS":  {hook("https://[::1]:9000/in"), ""},
		"webhook without a path":  {hook("https://bot.example"), "path"},
		"webhook on the root":     {hook("https://bot.example/"), "path"},
		"webhook with a query":    {hook("https://bot.example/in?a=1"), ""},
		"secret with a space":     {func(c *Config) { c.WebhookURL, c.WebhookSecret = "https://bot.example/in", "s3 cret" }, "secret"},
	} {
		t.Run(name, func(t *testing.T) {
			cfg := good
			tc.change(&cfg)
			_, err := New(cfg)
			if tc.want == "" {
				require.NoError(t, err)
				return
			}
			require.ErrorContains(t, err, tc.want)
			require.NotContains(t, err.Error(), "s3")
			if cfg.Token != "" {
				require.NotContains(t, err.Error(), cfg.Token)
			}
		})
	}
}

func TestWebhookPath(t *testing.T) {
	require.Equal(t, "", Config{}.WebhookPath())
	require.Equal(t, "/", Config{WebhookURL: "https://bot.example"}.WebhookPath())
	require.Equal(t, "/in/here", Config{WebhookURL: "https://bot.example/in/here"}.WebhookPath())
}

// A call without parameters says that it is empty. Sent in chunks, as a body of
// unknown length is, some servers between here and the platform refuse it.
func TestEveryCallGoesWithItsLength(t *testing.T) {
	server := telegramtest.Start(t)
	seen := map[string]int64{}
	var mu sync.Mutex
	between := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		mu.Lock()
		seen[path.Base(req.URL.Path)] = req.ContentLength
		mu.Unlock()
		if len(req.TransferEncoding) > 0 || req.ContentLength < 0 {
			http.Error(w, "length required", http.StatusLengthRequired)
			return
		}
		target, err := url.Parse(server.URL)
		require.NoError(t, err)
		httputil.NewSingleHostReverseProxy(target).ServeHTTP(w, req)
	}))
	t.Cleanup(between.Close)
	cfg := config(server)
	cfg.API = between.URL
	client := connect(t, cfg)
	require.NoError(t, client.Ready(within(t)))
	require.NoError(t, client.Connect(within(t)))
	_, err := client.getUpdates(within(t), 0, 0)
	require.NoError(t, err)
	mu.Lock()
	defer mu.Unlock()
	require.Zero(t, seen["getMe"])
	require.Positive(t, seen["getUpdates"])
	require.Len(t, seen, 3)
}

func TestReadyTellsWhetherThePlatformKnowsUs(t *testing.T) {
	server := telegramtest.Start(t)
	require.NoError(t, connect(t, config(server)).Ready(within(t)))
	stranger := config(server)
	stranger.Token = "1:nobody"
	require.ErrorContains(t, connect(t, stranger).Ready(within(t)), "unauthorized")
	server.Close()
	require.Error(t, connect(t, config(server)).Ready(within(t)))
}

func TestConnectSwitchesBetweenWebhookAndPolling(t *testing.T) {
	server := telegramtest.Start(t)
	pushed := config(server)
	pushed.WebhookURL, pushed.WebhookSecret = "http://127.0.0.1:1/in", "s3cret"
	require.NoError(t, connect(t, pushed).Connect(within(t)))
	_, err := connect(t, config(server)).getUpdates(within(t), 0, 0)
	require.Error(t, err, "a webhook is set, so polling must be refused")
	server.Type(5, "kept")

	polled := connect(t, config(server))
	require.NoError(t, polled.Connect(within(t)))
	batch, err := polled.getUpdates(within(t), 0, 0)
	require.NoError(t, err)
	require.Len(t, batch, 1, "what waited must be kept over the switch")
}

func TestPublishSetsTheMenuInEveryLanguage(t *testing.T) {
	server := telegramtest.Start(t)
	client := connect(t, config(server))
	menu := Menu{
		Words: words{
			"command.new": "Start a <b>new</b> window", "command.help": "How &amp; what",
			"bot.description": "Measures windows", "bot.about": strings.Repeat("long ", 50),
		},
		Languages: []string{"en", "de"},
		Commands:  []string{"new", "help"},
	}
	require.NoError(t, client.Publish(within(t), menu))
	for _, code := range []string{"", "de"} {
		require.JSONEq(t, `[{"command":"new","description":"Start a new window"},{"command":"help","description":"How & what"}]`,
			server.Set("setMyCommands", code))
		require.Equal(t, "Measures windows", server.Set("setMyDescription", code))
		require.Len(t, server.Set("setMyShortDescription", code), 120)
	}
	require.Equal(t, "commands", server.Set("setChatMenuButton", ""))
	require.Empty(t, server.Set("setMyCommands", "en"), "the first language is everybody's")
}

func TestPublishGoesOnAfterAFailure(t *testing.T) {
	server := telegramtest.Start(t)
	server.Fail("setMyCommands", telegramtest.TooMany(9))
	err := connect(t, config(server)).Publish(within(t), Menu{Words: words{}, Languages: []string{"en"}, Commands: []string{"new"}})
	require.ErrorContains(t, err, "setMyCommands")
	require.Equal(t, "en bot.description", server.Set("setMyDescription", ""))
}

func TestPublishGivesUpWhenNobodyAnswers(t *testing.T) {
	server := telegramtest.Start(t)
	server.Fail("setMyCommands", telegramtest.CutBefore)
	require.Error(t, connect(t, config(server)).Publish(within(t), Menu{Words: words{}, Languages: []string{"en", "de"}, Commands: []string{"new"}}))
	require.Equal(t, 1, server.Calls("setMyCommands"))
	require.Zero(t, server.Calls("setMyDescription"))
}
