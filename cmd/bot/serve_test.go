package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/telegram/telegramtest"
)

func get(ctx context.Context, address string) (status int, body string) {
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, address, nil)
	if err != nil {
		return 0, err.Error()
	}
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		return 0, err.Error()
	}
	defer resp.Body.Close()
	raw, _ := io.ReadAll(resp.Body) // a cut body fails whoever looks into it
	return resp.StatusCode, string(raw)
}

func TestServeRefusesToStart(t *testing.T) {
	good := map[string]string{
		"TELEGRAM_TOKEN": telegramtest.Token, "TELEGRAM_API": "http://127.0.0.1:1", "REDIS_URL": "redis://127.0.0.1:1",
		"WEBHOOK_URL": "https://bot.example/hook", "WEBHOOK_SECRET": hookSecret, "LISTEN": "127.0.0.1:0",
	}
	for _, c := range []struct{ name, value, says string }{
		{"REDIS_URL", "", "REDIS_URL is not set"},
		{"TELEGRAM_TOKEN", "", "TELEGRAM_TOKEN is not set"},
		{"LISTEN", "", "LISTEN is not set"},
		{"LOG_LEVEL", "chatty", "LOG_LEVEL"},
		{"REDIS_ACKS", "two", "REDIS_ACKS"},
		{"REDIS_ACKS", "-1", "REDIS_ACKS"},
		{"SENDS_PER_SECOND", "many", "SENDS_PER_SECOND"},
		{"SENDS_PER_SECOND", "0.2", "SENDS_PER_SECOND"},
		{"SENDS_PER_SECOND", "NaN", "SENDS_PER_SECOND"},
		{"TELEGRAM_TOKEN_FILE", filepath.Join(t.TempDir(), "none"), "TELEGRAM_TOKEN_FILE"},
		{"WEBHOOK_URL", "https://bot.example/healthz", "path of a probe"},
		{"WEBHOOK_URL", "https://bot.example/readyz", "path of a probe"},
		{"WEBHOOK_URL", "https://bot.example/metrics?a=1", "path of a probe"},
		{"WEBHOOK_URL", "https://bot.example/", "path of its own"},
		{"WEBHOOK_URL", "https://bot.example:8080/hook", "443, 80, 88 or 8443"},
		{"WEBHOOK_URL", "https://hunter2@bot.example/hook", "user name"},
		{"WEBHOOK_URL", "https://bot.example/hook#hunter2", "fragment"},
		{"LISTEN_OPS", "nowhere:port", "LISTEN_OPS"},
		{"REDIS_URL", "redis://:hunter2@127.0.0.1:port", "redis address"},
	} {
		t.Run(c.name+"="+c.value, func(t *testing.T) {
			var errs bytes.Buffer
			env := func(name string) string {
				if name == c.name {
					return c.value
				}
				return good[name]
			}
			err := serve(within(t, 5*time.Minute), env, &errs)
			require.ErrorContains(t, err, c.says)
			silent(t, errs.String()+err.Error())
		})
	}
}

// What the platform refuses is refused before anything is asked of it.
func TestServeRefusesAWebhookThatCannotWork(t *testing.T) {
	r := newRig(t, true)
	for _, c := range []struct{ name, value, says string }{
		{"TELEGRAM_TOKEN", "hunter2", "token"},
		{"TELEGRAM_API", "ftp://127.0.0.1", "base address"},
		{"WEBHOOK_URL", "http://bot.example/hook", "https"},
		{"WEBHOOK_SECRET", "", "secret"},
		{"WEBHOOK_CONNECTIONS", "101", "1 to 100"},
		{"WEBHOOK_CONNECTIONS", "many", "1 to 100"},
		{"WEBHOOK_SECRET", "hunter2 with spaces", "secret"},
	} {
		t.Run(c.name+"="+c.value, func(t *testing.T) {
			var errs bytes.Buffer
			env := r.env()
			env[c.name] = c.value
			err := serve(within(t, 5*time.Minute), func(name string) string { return env[name] }, &errs)
			require.ErrorContains(t, err, c.says)
			silent(t, errs.String()+err.Error())
		})
	}
	require.Zero(t, r.server.Calls("setWebhook"))
}

// silent is that no secret of the tests is in a text.
func silent(t *testing.T, text string) {
	t.Helper()
	_, token, _ := strings.Cut(telegramtest.Token, ":")
	for _, secret := range []string{token, hookSecret, "hunter2"} {
		require.NotContains(t, text, secret)
	}
}

func TestServeTakesSecretsFromFiles(t *testing.T) {
	r := newRig(t, true)
	env := r.env()
	for _, name := range []string{"TELEGRAM_TOKEN", "WEBHOOK_SECRET"} {
		path := filepath.Join(t.TempDir(), name)
		require.NoError(t, os.WriteFile(path, []byte(env[name]+"\n"), 0o600))
		env[name+"_FILE"] = path
		delete(env, name)
	}
	ctx := within(t, 5*time.Minute)
	p := launch(t, env, "serve")
	require.NoError(t, p.ready(ctx))
	r.server.Type(1, "/start")
	_, err := r.server.WaitSent(ctx, 1, 1)
	require.NoError(t, err)
	p.terminate(t)
	silent(t, p.log.String())
}

// The platform is away, fails and refuses; the log says so without secrets.
func TestServePrintsNoToken(t *testing.T) {
	t.Parallel() // it waits, on servers of its own
	for name, fault := range map[string]telegramtest.Fault{
		"cut": telegramtest.CutBefore, "gateway": telegramtest.BadGateway, "refused": {Status: 400}, "brake": telegramtest.TooMany(1),
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t, false)
			failing := true
			r.server.FailWhen(func(c telegramtest.Call) *telegramtest.Fault {
				if failing = failing && c.Method != "sendmessage" || c.N < 3; failing {
					return &fault
				}
				return nil
			})
			ctx := within(t, 5*time.Minute)
			p := launch(t, r.env(), "serve")
			r.server.Type(1, "/start")
			require.NoError(t, r.server.Wait(ctx, func() bool { return r.server.Calls("deleteWebhook") > 2 }))
			p.terminate(t)
			require.Contains(t, p.log.String(), "could not be told")
			silent(t, p.log.String())
		})
	}
	t.Run("unknown token", func(t *testing.T) {
		r := newRig(t, false)
		env := r.env()
		env["TELEGRAM_TOKEN"] = "1:hunter2"
		p := launch(t, env, "serve")
		<-p.ended
		require.Error(t, p.err, "a token that the platform does not know ends the program")
		require.Contains(t, p.log.String(), "does not know TELEGRAM_TOKEN")
		silent(t, p.log.String())
	})
}

func both(t *testing.T, test func(t *testing.T, webhook bool)) {
	t.Run("polling", func(t *testing.T) { test(t, false) })
	t.Run("webhook", func(t *testing.T) { test(t, true) })
}

func TestServePlaysWholeSurveys(t *testing.T) {
	both(t, func(t *testing.T, webhook bool) {
		r := newRig(t, webhook)
		ctx := within(t, 5*time.Minute)
		p := r.start(ctx)
		scripts, want := crowd(t, 3)
		require.NoError(t, r.people(ctx, scripts, time.Minute, func(chat int64, text string) { r.server.Type(chat, text) }))
		o := r.settled(ctx, want)
		require.Zero(t, o.lost)
		require.Zero(t, o.doubles)

		photos := 0
		for _, m := range r.server.AllSent() {
			if m.Photo != nil {
				photos++
			}
		}
		require.Equal(t, 3*len(want), photos, "a card at the end, one after the change, one with the summary")
		require.NoError(t, r.server.Wait(ctx, func() bool { return r.server.Set("setChatMenuButton", "") == "commands" }))
		require.Contains(t, r.server.Set("setMyCommands", ""), `"command":"back"`)
		if webhook {
			require.Zero(t, r.server.Calls("getUpdates"))
		} else {
			require.Zero(t, r.server.Calls("setWebhook"))
		}
		p.terminate(t)
		silent(t, p.log.String())
		require.NotContains(t, p.log.String(), "left fixed", "what people write is not logged")
	})
}

// What a person typed out of reach of a network arrives together: it gets one
// message, which says what was taken of each and asks once.
func TestServeAnswersABurstOnce(t *testing.T) {
	r := newRig(t, false)
	ctx := within(t, 5*time.Minute)
	p := r.start(ctx)
	for i, line := range []string{"/start", "England, today", "bare", "none", "white"} {
		r.server.Type(1, line)
		require.NoError(t, r.server.Wait(ctx, func() bool { return len(messages(r.server.Sent(1))) > i }))
	}
	r.server.Pause(true)
	for _, line := range []string{"1204", "1202", "1203", "1050", "1052"} {
		r.server.Type(1, line)
	}
	r.server.Pause(false)
	got, err := r.server.WaitText(ctx, 1, 5, "1052 mm")
	require.NoError(t, err)
	require.Len(t, messages(r.server.Sent(1)), 6, "one message")
	at := 0
	for _, reading := range []string{"1204 mm", "1202 mm", "1203 mm", "1050 mm", "1052 mm"} {
		found := strings.Index(got.Text[at:], reading)
		require.GreaterOrEqual(t, found, 0, "%s in order in:\n%s", reading, got.Text)
		at += found
	}
	require.Equal(t, 1, strings.Count(got.Text, "?"), "one question:\n%s", got.Text)
	p.terminate(t)
}

// A photo and a file are answered in words, under the open question.
func TestServeAnswersPhotosAndFiles(t *testing.T) {
	both(t, func(t *testing.T, webhook bool) {
		r := newRig(t, webhook)
		ctx := within(t, 5*time.Minute)
		p := r.start(ctx)
		for i, sent := range []struct {
			kind, caption, says string
		}{{"photo", "left jamb", "Photo 1"}, {"document", "", "read files"}} {
			r.server.Attach(1, 1, sent.kind, sent.caption)
			got, err := r.server.WaitText(ctx, 1, i, sent.says)
			require.NoError(t, err)
			require.Contains(t, got.Text, "Nation and day")
		}
		p.terminate(t)
		require.NotContains(t, p.log.String(), "left jamb")
	})
}

// Photos come back as they were sent: in an album, the picture of a file as a file, after
// the messenger refused for a while; the log has neither file id nor caption.
func TestServeShowsPhotosAgain(t *testing.T) {
	both(t, func(t *testing.T, webhook bool) {
		r := newRig(t, webhook)
		ctx := within(t, 5*time.Minute)
		p := r.start(ctx)
		r.server.SendPhoto(1, "AgACjamb1", "left jamb rotten", "13")
		r.server.SendPhoto(1, "AgACjamb2", "", "13")
		_, err := r.server.WaitText(ctx, 1, 0, "These photos")
		require.NoError(t, err)
		r.server.SendPicture(1, "BQACjamb3", "sill")
		_, err = r.server.WaitText(ctx, 1, 1, "Photo 3")
		require.NoError(t, err)
		require.Len(t, messages(r.server.Sent(1)), 2, "an album gets one reply")
		r.server.Fail("sendMediaGroup", telegramtest.Failing)
		r.server.Type(1, "photos")
		var got []telegramtest.Sent
		require.NoError(t, r.server.Wait(ctx, func() bool { got = messages(r.server.Sent(1)); return len(got) >= 6 }))
		require.Contains(t, got[2].Text, "left jamb rotten")
		require.Equal(t, []string{`AgACjamb1 "1: left jamb rotten"`, `AgACjamb2 "2"`, `BQACjamb3 "3: sill"`}, r.server.Shots(1))
		require.NotZero(t, got[3].Album)
		require.Equal(t, got[3].Album, got[4].Album)
		require.False(t, got[3].Protect, "they are the fitter's own")
		p.terminate(t)
		for _, private := range []string{"jamb", "sill\"", "AgAC", "BQAC"} {
			require.NotContains(t, p.log.String(), private)
		}
	})
}

// One survey goes on while the program changes from polling to webhook and
// back, by its environment alone.
func TestServeSwitchesBetweenPollingAndWebhook(t *testing.T) {
	r := newRig(t, false)
	ctx := within(t, 5*time.Minute)
	lines := survey(0)
	want := replies(t, lines)
	id := int64(77)
	for i, line := range lines {
		if i%6 == 0 {
			if r.p != nil {
				// What is typed while no program runs is not lost either.
				r.p.terminate(t)
				r.webhook = !r.webhook
			}
			r.server.Type(id, line)
			r.start(ctx)
		} else {
			r.server.Type(id, line)
		}
		require.NoError(t, r.server.WaitTaken(ctx))
	}
	o := r.settled(ctx, map[int64][]string{id: want})
	require.Zero(t, o.lost)
	require.Zero(t, o.doubles)
	require.Positive(t, r.server.Calls("getUpdates"))
	require.NotEmpty(t, r.server.Pushes())
}

// SIGTERM in the middle: the program leaves by itself, and its successor goes on
// with nothing lost or sent twice.
func TestServeLeavesWithNothingLost(t *testing.T) {
	both(t, func(t *testing.T, webhook bool) {
		r := newRig(t, webhook)
		slow := 5 * time.Millisecond
		r.server.FailWhen(func(c telegramtest.Call) *telegramtest.Fault { return &telegramtest.Fault{Delay: slow} })
		ctx := within(t, 5*time.Minute)
		scripts, want := crowd(t, 6)
		r.start(ctx)
		typed := make(chan error, 1)
		go func() {
			typed <- r.people(ctx, scripts, 50*time.Millisecond, func(chat int64, text string) { r.server.Type(chat, text) })
		}()
		for range 4 {
			n := len(r.server.AllSent()) + 20
			// A burst is answered by one, so that so many may never come.
			some, cancel := context.WithTimeout(ctx, time.Second)
			_ = r.server.Wait(some, func() bool { return len(r.server.AllSent()) >= n })
			cancel()
			r.p.terminate(t)
			r.start(ctx)
		}
		require.NoError(t, <-typed)
		o := r.settled(ctx, want)
		require.Zero(t, o.lost)
		require.Zero(t, o.doubles, "everything that was sent was known to be")
	})
}

// The platform and Redis hang for an hour: the program still leaves by itself.
func TestServeLeavesThoughEverythingHangs(t *testing.T) {
	t.Parallel() // it waits, on servers of its own
	if testing.Short() {
		t.Skip("takes 10 s")
	}
	r := newRig(t, true)
	ctx := within(t, 5*time.Minute)
	r.start(ctx)
	r.server.FailWhen(func(c telegramtest.Call) *telegramtest.Fault { return &telegramtest.Fault{Delay: time.Hour} })
	id := int64(5)
	r.server.Type(id, "/start")
	err := r.server.Wait(ctx, func() bool { return r.server.Calls("sendMessage") > 0 })
	require.NoError(t, err, "%s", tail(r.p.log))
	if r.redis != nil {
		r.redis.Do(t, "CLIENT", "PAUSE", 60000, "ALL")
		r.server.Type(id, "England")
		require.NoError(t, r.server.Wait(ctx, func() bool { return r.server.Pending() == 1 }))
	}
	r.p.terminate(t)
}

func TestServeTellsOperators(t *testing.T) {
	both(t, func(t *testing.T, webhook bool) {
		r := newRig(t, webhook)
		ctx := within(t, 5*time.Minute)
		r.start(ctx)
		base := "http://" + r.address
		for path, says := range map[string]string{"/healthz": "ok\n", "/readyz": "ready\n"} {
			status, body := get(ctx, base+path)
			require.Equal(t, http.StatusOK, status, path)
			require.Equal(t, says, body)
		}
		status, _ := get(ctx, base+"/elsewhere")
		require.Equal(t, http.StatusNotFound, status)

		scripts, want := crowd(t, 1)
		require.NoError(t, r.people(ctx, scripts, time.Minute, func(chat int64, text string) { r.server.Type(chat, text) }))
		o := r.settled(ctx, want)
		require.Zero(t, o.lost)
		require.Eventually(t, func() bool {
			return r.figures(ctx)[`sillbot_sends_total{result="sent"}`] == float64(o.replies-o.joined)
		}, time.Minute, 10*time.Millisecond)
		f := r.figures(ctx)
		require.EqualValues(t, len(survey(0)), f[`sillbot_turns_total{result="committed"}`])
		require.EqualValues(t, 2, f["sillbot_card_seconds_count"], "that of the summary goes by its file id")
		require.Zero(t, f["sillbot_sends_unsure_total"])
		require.Positive(t, f["process_resident_memory_bytes"])
		_, text := get(ctx, base+"/metrics")
		silent(t, text)
		for id := range scripts {
			require.NotContains(t, text, fmt.Sprint(id), "no chat is named")
		}
	})
}
