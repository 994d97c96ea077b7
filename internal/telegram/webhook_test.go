package telegram

import (
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/engine"
	"sillbot/internal/telegram/telegramtest"
)

const secret = "s3cret-of-the_hook"

func hooked(server *telegramtest.Server, url string) Config {
	cfg := config(server)
	cfg.WebhookURL, cfg.WebhookSecret = url, secret
	return cfg
}

func TestWebhookAnswers(t *testing.T) {
	server := telegramtest.Start(t)
	good := string(updateOf("message", private+`,"text":"1204"`))
	for name, tc := range map[string]struct {
		method, secret string
		body           io.Reader
		fail           error
		status         int
		taken, dead    int
	}{
		"taken":             {"POST", secret, strings.NewReader(good), nil, 200, 1, 0},
		"wrong secret":      {"POST", secret + "x", strings.NewReader(good), nil, 401, 0, 0},
		"part of it":        {"POST", secret[:5], strings.NewReader(good), nil, 401, 0, 0},
		"no secret":         {"POST", "", strings.NewReader(good), nil, 401, 0, 0},
		"not a POST":        {"GET", secret, strings.NewReader(good), nil, 405, 0, 0},
		"store away":        {"POST", secret, strings.NewReader(good), errBusy, 503, 0, 0},
		"not JSON":          {"POST", secret, strings.NewReader("<html>"), nil, 200, 0, 1},
		"empty":             {"POST", secret, strings.NewReader(""), nil, 200, 0, 1},
		"unknown kind":      {"POST", secret, strings.NewReader(`{"update_id":3,"telepathy":{}}`), nil, 200, 0, 0},
		"just small enough": {"POST", secret, strings.NewReader(good + strings.Repeat(" ", pushLimit-len(good))), nil, 200, 1, 0},
		"too large":         {"POST", secret, strings.NewReader(good + strings.Repeat(" ", pushLimit-len(good)+1)), nil, 200, 0, 1},
		"broken off": {"POST", secret, io.MultiReader(strings.NewReader(good[:30]), iotest.ErrReader(io.ErrUnexpectedEOF)),
			nil, 400, 0, 0},
	} {
		t.Run(name, func(t *testing.T) {
			d := fakeEngine{fail: func(engine.Update) error { return tc.fail }}
			var g graves
			r := connect(t, hooked(server, "https://bot.example/in")).Receiver(&d, &g)
			req := httptest.NewRequest(tc.method, "/in", tc.body)
			if tc.secret != "" {
				req.Header.Set(secretHeader, tc.secret)
			}
			w := httptest.NewRecorder()
			r.ServeHTTP(w, req)
			require.Equal(t, tc.status, w.Code)
			require.Len(t, d.taken, tc.taken)
			require.Len(t, g.raw, tc.dead)
			require.Equal(t, tc.status == 200, !r.Pushed().IsZero())
			require.Equal(t, tc.status == 503 || tc.status == 400, !r.Missed().IsZero(), "a stranger's call says nothing")
			if tc.status == 503 {
				require.NotEmpty(t, w.Header().Get("Retry-After"))
			}
		})
	}
}

func TestWithoutAConfiguredSecretNothingIsLetIn(t *testing.T) {
	server := telegramtest.Start(t)
	var d fakeEngine
	r := connect(t, config(server)).Receiver(&d, &graves{})
	w := httptest.NewRecorder()
	r.ServeHTTP(w, httptest.NewRequest("POST", "/in", strings.NewReader(string(updateOf("message", private+`,"text":"1"`)))))
	require.Equal(t, 401, w.Code)
	require.Empty(t, d.taken)
}

// What is too large is read to its end, so that the platform sees the answer and
// does not bring it again.
func TestTooLargeIsAcknowledgedToWhoStillWrites(t *testing.T) {
	server := telegramtest.Start(t)
	server.PushFirst, server.PushMost = time.Millisecond, time.Millisecond
	var d fakeEngine
	var g graves
	var r *Receiver
	web := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) { r.ServeHTTP(w, req) }))
	t.Cleanup(web.Close)
	client := connect(t, hooked(server, web.URL+"/in"))
	r = client.Receiver(&d, &g)
	require.NoError(t, client.Connect(within(t)))
	server.PushRaw(1, `{"update_id":"ID","message":{"text":"`+strings.Repeat("x", 12*pushLimit)+`"}}`)
	server.Type(1, "1204")
	require.NoError(t, server.WaitTaken(within(t)))
	require.Len(t, server.Pushes(), 2, "nothing came twice")
	require.Len(t, g.raw, 1)
	require.Equal(t, []string{"1204"}, d.texts(1), "the chat goes on")
}

func TestADeadListThatIsAwayAsksForTheUpdateAgain(t *testing.T) {
	server := telegramtest.Start(t)
	r := connect(t, hooked(server, "https://bot.example/in")).Receiver(&fakeEngine{}, &graves{err: errBusy})
	for _, body := range []string{"<html>", strings.Repeat(" ", pushLimit+1)} {
		req := httptest.NewRequest("POST", "/in", strings.NewReader(body))
		req.Header.Set(secretHeader, secret)
		w := httptest.NewRecorder()
		r.ServeHTTP(w, req)
		require.Equal(t, 503, w.Code)
	}
}

func TestWebhookHasADeadline(t *testing.T) {
	server := telegramtest.Start(t)
	cfg := hooked(server, "https://bot.example/in")
	cfg.Deadline = 20 * time.Millisecond
	slow := takerFunc(func(ctx context.Context, u engine.Update) error { <-ctx.Done(); return ctx.Err() })
	r := connect(t, cfg).Receiver(slow, &graves{})
	req := httptest.NewRequest("POST", "/in", strings.NewReader(string(updateOf("message", private+`,"text":"1"`))))
	req.Header.Set(secretHeader, secret)
	w := httptest.NewRecorder()
	r.ServeHTTP(w, req)
	require.Equal(t, 503, w.Code)
}

type takerFunc func(context.Context, engine.Update) error

func (f takerFunc) Take(ctx context.Context, u engine.Update) error { return f(ctx, u) }

// The platform pushes, the store fails now and then, the connection breaks:
// every reading arrives, in the order of its chat.
func TestPushedUpdatesSurviveFailures(t *testing.T) {
	server := telegramtest.Start(t)
	server.PushFirst, server.PushMost = time.Millisecond, 5*time.Millisecond
	var n atomic.Int64
	d := fakeEngine{fail: func(engine.Update) error {
		if n.Add(1)%3 == 0 {
			return errBusy
		}
		return nil
	}}
	var r *Receiver
	var calls atomic.Int64
	web := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		if calls.Add(1)%7 == 0 {
			panic(http.ErrAbortHandler)
		}
		r.ServeHTTP(w, req)
	}))
	t.Cleanup(web.Close)
	client := connect(t, hooked(server, web.URL+"/in"))
	r = client.Receiver(&d, &graves{})
	require.NoError(t, client.Connect(within(t)))
	for i := 1; i <= 20; i++ {
		for chat := int64(1); chat <= 5; chat++ {
			server.Type(chat, strconv.Itoa(i))
		}
	}
	require.NoError(t, server.WaitTaken(within(t)))
	for chat := int64(1); chat <= 5; chat++ {
		require.Equal(t, numbers(1, 20), d.texts(chat))
	}
}

func TestAStrangersPushIsNotTaken(t *testing.T) {
	server := telegramtest.Start(t)
	server.PushFirst, server.PushMost = time.Millisecond, time.Millisecond
	var d fakeEngine
	r := connect(t, hooked(server, "https://bot.example/in")).Receiver(&d, &graves{})
	web := httptest.NewServer(r)
	t.Cleanup(web.Close)
	other := hooked(server, web.URL+"/in")
	other.WebhookSecret = "another"
	require.NoError(t, connect(t, other).Connect(within(t)))
	server.Type(1, "1")
	require.NoError(t, server.Wait(within(t), func() bool { return len(server.Pushes()) > 2 }))
	require.Empty(t, d.texts(1))
	require.Equal(t, 401, server.Pushes()[0].Status)
}
