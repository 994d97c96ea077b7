package telegram

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"

	"github.com/go-telegram/bot"
	"github.com/stretchr/testify/require"

	"sillbot/internal/engine"
	"sillbot/internal/telegram/telegramtest"
)

// ledger is a log that a test can read while others write.
type ledger struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *ledger) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *ledger) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// whatTheyWrote stands for anything that a person wrote, such as where the
// house is.
const whatTheyWrote = "14 Invented Row"

// Every fault of the server, on every kind of call, with logs in full detail:
// neither the token, nor the secret, nor a word that a person wrote is in any
// log line or error.
func TestNothingPrivateIsLoggedOrReturned(t *testing.T) {
	echo := `{"ok":true,"result":{"text":"` + whatTheyWrote + `", broken`
	faults := []telegramtest.Fault{
		telegramtest.TooMany(1), telegramtest.Failing, telegramtest.BadGateway, telegramtest.CutBefore,
		telegramtest.CutAfter, telegramtest.BlockedByMe,
		{Status: 200, Body: echo}, {Status: 502, Body: echo}, {Status: 404, Body: echo},
		{Status: 400, Text: `Bad Request: can't parse entities: Unsupported start tag "` + whatTheyWrote + `" at byte offset 3`},
		{Status: 400, Text: `Bad Request: wrong thing "` + whatTheyWrote + `"`},
		{Status: 418, Text: whatTheyWrote},
	}
	var log ledger
	var errs []error
	server := telegramtest.Start(t)
	server.Join(telegramtest.Chat{ID: 7, Type: "private"})
	cfg := hooked(server, "http://127.0.0.1:1/in")
	cfg.Log = slog.New(slog.NewTextHandler(&log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	client := connect(t, cfg)
	d := fakeEngine{fail: func(u engine.Update) error {
		if u.Input.Text == "panic "+whatTheyWrote {
			panic(u.Input.Text)
		}
		return nil
	}}
	r := client.Receiver(&d, &graves{err: errBusy})
	s := client.Sender(words{"q": "at " + whatTheyWrote + " <b>"}, paintCard)
	menu := Menu{Words: words{}, Languages: []string{"en"}, Commands: []string{"new"}}
	for _, fault := range faults {
		for _, method := range []string{"getMe", "getUpdates", "sendMessage", "sendPhoto", "sendDocument", "sendMediaGroup", "setWebhook", "deleteWebhook", "setMyCommands", "answerCallbackQuery", "getWebhookInfo"} {
			server.Fail(method, fault)
		}
		_, err := client.getUpdates(within(t), 0, 0)
		_, noReach := client.Reach(within(t))
		errs = append(errs, err, noReach, client.Ready(within(t)), client.Connect(within(t)), client.deleteWebhook(within(t)),
			client.Publish(within(t), menu), failed(s.Send(within(t), reply("q", withButton(strings.Repeat("x", 9), strings.Repeat("y", 99))))),
			failed(s.Send(within(t), reply("q", withPicture))), failed(s.Send(within(t), reply("q", withShots(whatTheyWrote, "b")))))
		for _, raw := range []string{
			string(updateOf("message", private+`,"text":"`+whatTheyWrote+`"`)),
			string(updateOf("message", private+`,"text":"panic `+whatTheyWrote+`"`)),
			string(updateOf("message", private+`,"text":{"`+whatTheyWrote+`":1}`)),
			string(updateOf(whatTheyWrote, private)),
			`{"update_id":"` + whatTheyWrote + `"}`,
			`{"` + whatTheyWrote,
			string(updateOf("callback_query", `"id":"q","from":{"id":7},"data":"`+whatTheyWrote+`","message":{"chat":{"id":7}}`)),
		} {
			errs = append(errs, r.Handle(within(t), []byte(raw)))
			w := httptest.NewRecorder()
			req := httptest.NewRequest("POST", "/in", strings.NewReader(raw))
			req.Header.Set(secretHeader, secret)
			r.ServeHTTP(w, req)
			errs = append(errs, errors.New(w.Body.String()))
		}
	}
	server.Close()
	errs = append(errs, client.Ready(within(t)), failed(s.Send(within(t), reply("q"))))
	r.Wait()
	require.NotEmpty(t, log.String())
	everything := log.String()
	for _, err := range errs {
		if err != nil {
			everything += "\n" + err.Error() + fmt.Sprintf("\n%+v", err)
		}
	}
	for _, private := range []string{telegramtest.Token, "telegramtest-token", secret, whatTheyWrote, "Invented"} {
		require.NotContains(t, everything, private)
	}
}

// The ways in which the HTTP client puts the address, and so the token, into
// its errors.
func TestScrub(t *testing.T) {
	const token = "77:the-token"
	address := "https://server.example/bot" + token + "/sendMessage"
	for name, err := range map[string]error{
		"address":    &url.Error{Op: "Post", URL: address, Err: errors.New("failed for " + address)},
		"escaped":    &url.Error{Op: "Post", URL: url.QueryEscape(address), Err: errors.New(url.QueryEscape(token))},
		"lookup":     &url.Error{Op: "Post", URL: address, Err: &net.OpError{Op: "dial", Err: &net.DNSError{Err: "no such host", Name: token}}},
		"connection": &url.Error{Op: "Post", URL: address, Err: &net.OpError{Op: "read", Err: errors.New("reset")}},
		"timeout":    &url.Error{Op: "Post", URL: address, Err: context.DeadlineExceeded},
		"library":    fmt.Errorf("error do request for method sendMessage, %w", &url.Error{Op: "Post", URL: address, Err: errors.New("x")}),
		"refused":    fmt.Errorf("%w, Bad Request: %s is wrong", bot.ErrorBadRequest, token),
		"anything":   errors.New(address),
	} {
		t.Run(name, func(t *testing.T) {
			got := scrub(token, err)
			require.NotContains(t, got.Error(), "the-token")
			require.NotEmpty(t, got.Error())
		})
	}
	broken := "net/http: HTTP/1.x transport connection broken: "
	for text, want := range map[string]string{
		broken + `malformed HTTP status code "Invented"`:             broken + "malformed answer",
		broken + `malformed HTTP response "14 Invented Row"`:         broken + "malformed answer",
		broken + "malformed MIME header line: 14 Invented Row":       broken + "malformed answer",
		broken + `bad Content-Length "14 Invented Row"`:              broken + "bad Content-Length",
		"http: server gave HTTP response to HTTPS client":            "http: server gave HTTP response to HTTPS client",
		`failed to parse Location header "Invented": parse Invented`: "failed to parse Location header",
	} {
		require.EqualError(t, scrub(token, &url.Error{Op: "Post", URL: address, Err: errors.New(text)}), strings.TrimSpace(want))
	}
	require.NoError(t, scrub(token, nil))
	gateway := scrub(token, fmt.Errorf("error do request, %w", &transportError{status: 502}))
	require.EqualError(t, gateway, "the server answered 502", "what an operator needs is kept")
	require.ErrorIs(t, scrub(token, &url.Error{Err: context.DeadlineExceeded}), context.DeadlineExceeded)
	require.ErrorIs(t, scrub(token, fmt.Errorf("%w, x", bot.ErrorForbidden)), bot.ErrorForbidden)
}
