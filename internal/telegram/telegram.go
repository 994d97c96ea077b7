// Package telegram connects to the messaging platform: it receives updates by
// polling or by webhook, through one path, and sends replies. The library is
// used as an API client only; its own receivers acknowledge an update before it
// is handled.
//
// A Client is the connection. A Receiver gets updates from it and hands them to
// a Taker; an update counts as taken only after Take has returned nil. A Sender
// sends replies.
//
// The token is part of every address that is called, so no error of the HTTP
// client leaves this package unchanged: see transport.go.
package telegram

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/go-telegram/bot"
	"github.com/go-telegram/bot/models"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
)

// DefaultAPI is the platform's own server.
const DefaultAPI = "https://api.telegram.org"

// Taker takes one update. nil means that it is stored and may be acknowledged.
type Taker interface {
	Take(ctx context.Context, u engine.Update) error
}

// DeadLetters keeps what could not be read, and why. nil means that it is
// kept.
type DeadLetters interface {
	Dead(ctx context.Context, raw []byte, why string) error
}

// Renderer makes the words that people read, as HTML.
type Renderer interface {
	Text(lang string, t phrase.Text) string
}

// Painter draws a picture as a PNG.
type Painter func(ctx context.Context, lang string, p dialog.Picture) ([]byte, error)

// Config is what a Client needs to know.
type Config struct {
	Token string
	API   string // base URL of the server; "": DefaultAPI

	// WebhookURL is the public address that the platform calls; "": polling.
	// Plain http is taken towards loopback only.
	WebhookURL    string
	WebhookSecret string // required with WebhookURL
	// Connections is how many the platform may have open to the webhook at once, 1 to
	// 100; 0: 40, which is what it takes by itself (core.telegram.org/bots/api, setWebhook).
	Connections int

	PollTimeout time.Duration    // of one long poll, whole seconds; 0: 50 s
	Deadline    time.Duration    // for taking one update; 0: 10 s
	Backoff     time.Duration    // first wait after a failure, doubled each time up to 30 s; 0: 500 ms
	Standby     time.Duration    // how long a replica that lost the election waits; 0: 20 s
	Clock       func() time.Time // nil: time.Now
	Log         *slog.Logger     // nil: slog.Default()
}

var (
	tokenForm  = regexp.MustCompile(`^[0-9]{1,20}:[A-Za-z0-9_-]{1,128}$`)
	secretForm = regexp.MustCompile(`^[A-Za-z0-9_-]{1,256}$`)
)

// withDefaults checks c and fills in what was left out. No error repeats the
// token or the secret.
func (c Config) withDefaults() (Config, error) {
	if !tokenForm.MatchString(c.Token) {
		return c, errors.New("the token is not of the form number:letters")
	}
	c.API = strings.TrimRight(cmp.Or(c.API, DefaultAPI), "/")
	api, err := url.Parse(c.API)
	if err != nil || api.Host == "" || api.Scheme != "http" && api.Scheme != "https" {
		return c, errors.New("the server's base address is not an http or https address")
	}
	if api.RawQuery != "" || strings.Contains(c.API, "#") {
		return c, errors.New("the server's base address must have no ? and no #: a method's name is put behind it")
	}
	if err := c.checkWebhook(); err != nil {
		return c, err
	}
	if c.Connections = cmp.Or(c.Connections, 40); c.Connections < 1 || c.Connections > 100 {
		return c, errors.New("the platform opens 1 to 100 connections to a webhook")
	}
	c.PollTimeout = cmp.Or(c.PollTimeout, 50*time.Second)
	c.Deadline = cmp.Or(c.Deadline, 10*time.Second)
	c.Backoff = cmp.Or(c.Backoff, 500*time.Millisecond)
	c.Standby = cmp.Or(c.Standby, 20*time.Second)
	c.Log = cmp.Or(c.Log, slog.Default())
	if c.Clock == nil {
		c.Clock = time.Now
	}
	return c, nil
}

func (c Config) checkWebhook() error {
	if c.WebhookURL == "" {
		return nil
	}
	u, err := url.Parse(c.WebhookURL)
	if err != nil || u.Host == "" {
		return errors.New("the webhook address is not an address")
	}
	switch {
	case u.Scheme != "https" && (u.Scheme != "http" || !loopback(u.Hostname())):
		return errors.New("the webhook address must start with https; plain http is for loopback only")
	case u.User != nil:
		return errors.New("the webhook address must have no user name or password: the secret says who calls")
	case strings.Contains(c.WebhookURL, "#"):
		return errors.New("the webhook address must have no fragment (#…): it is never sent")
	case !slices.Contains(hookPorts, u.Port()) && !loopback(u.Hostname()):
		return errors.New("the webhook address must be on port 443, 80, 88 or 8443: the platform calls no other")
	case c.WebhookPath() == "/":
		return errors.New("the webhook address needs a path of its own, such as /hook")
	}
	if !secretForm.MatchString(c.WebhookSecret) {
		return errors.New("a webhook needs a secret of 1 to 256 letters, digits, _ or -")
	}
	return nil
}

// hookPorts are the ports that the platform calls (core.telegram.org/bots/api,
// setWebhook: "Ports currently supported for webhooks: 443, 80, 88, 8443"). A
// server of the platform on one's own machine calls any.
var hookPorts = []string{"", "443", "80", "88", "8443"}

func loopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// WebhookPath is the path under which the webhook is to be served; "" when
// updates are polled.
func (c Config) WebhookPath() string {
	if c.WebhookURL == "" {
		return ""
	}
	u, err := url.Parse(c.WebhookURL)
	if err != nil || u.Path == "" {
		return "/"
	}
	return u.Path
}

// Client is the connection to the platform. It is safe for concurrent use.
type Client struct {
	cfg    Config
	api    *bot.Bot
	http   *http.Client
	calls  *careful      // under api, and under post
	acting chan struct{} // one slot for each chat action on its way

	mu sync.Mutex
	me *models.User
}

// actionsAtOnce is how many chat actions may be on their way.
const actionsAtOnce = 32

// New makes a client. It makes no call. Errors: a malformed token, base
// address, webhook address or secret.
func New(cfg Config) (*Client, error) {
	cfg, err := cfg.withDefaults()
	if err != nil {
		return nil, err
	}
	c := &Client{cfg: cfg, acting: make(chan struct{}, actionsAtOnce), http: &http.Client{
		Transport:     newTransport(),
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}}
	c.calls = &careful{client: c.http, token: cfg.Token}
	c.api, err = bot.New(cfg.Token,
		bot.WithSkipGetMe(),
		bot.WithServerURL(cfg.API),
		bot.WithHTTPClient(callTimeout, c.calls),
		bot.WithErrorsHandler(func(error) { cfg.Log.Debug("the API client could not close a request") }),
	)
	if err != nil {
		return nil, errors.New("the API client refused the token")
	}
	return c, nil
}

// Me is the bot's own account, fetched once. Errors: the server can't be
// reached, or does not know the token.
func (c *Client) Me(ctx context.Context) (*models.User, error) {
	c.mu.Lock()
	me := c.me
	c.mu.Unlock()
	if me != nil {
		return me, nil
	}
	// Not under the lock: Home must not wait for the platform.
	me, err := c.api.GetMe(ctx)
	if err != nil {
		return nil, c.plainError("getMe", err)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.me = me
	return me, nil
}

// Home is the address that opens the bot with a token appended; empty until Me
// has succeeded. It makes no call.
func (c *Client) Home() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.me == nil || c.me.Username == "" {
		return ""
	}
	return "https://t.me/" + c.me.Username + "?start="
}

// Ready is nil when the platform answers. It makes a call every time.
func (c *Client) Ready(ctx context.Context) error {
	_, err := c.api.GetMe(ctx)
	return c.plainError("getMe", err)
}

// Connect tells the platform how to deliver updates: by webhook when one is
// configured, else by polling. Updates waiting there are kept.
func (c *Client) Connect(ctx context.Context) error {
	if c.cfg.WebhookURL == "" {
		return c.deleteWebhook(ctx)
	}
	_, err := c.api.SetWebhook(ctx, &bot.SetWebhookParams{
		URL:            c.cfg.WebhookURL,
		SecretToken:    c.cfg.WebhookSecret,
		AllowedUpdates: wanted,
		MaxConnections: c.cfg.Connections,
	})
	return c.plainError("setWebhook", err)
}

func (c *Client) deleteWebhook(ctx context.Context) error {
	_, err := c.api.DeleteWebhook(ctx, &bot.DeleteWebhookParams{})
	return c.plainError("deleteWebhook", err)
}

// plainError is err without the token, addresses and people's words; nil if
// err is.
func (c *Client) plainError(method string, err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%s: %w", method, scrub(c.cfg.Token, err))
}
