package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"io/fs"
	"log"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
	"sillbot/internal/telegram/telegramtest"
)

// becomes waits until a page of the program answers with a status and words.
func (r *rig) becomes(ctx context.Context, path string, status int, says string) {
	r.t.Helper()
	var s int
	var body string
	require.Eventually(r.t, func() bool {
		s, body = get(ctx, "http://"+r.address+path)
		return s == status && strings.Contains(body, says)
	}, 2*time.Minute, 50*time.Millisecond, "%s should be %d %q", path, status, says)
	s, _ = get(ctx, "http://"+r.address+"/healthz")
	require.Equal(r.t, http.StatusOK, s, "a program that waits for others is not restarted")
}

func TestReadinessFollowsRedisAndThePlatform(t *testing.T) {
	r := newRig(t, false)
	if r.redis == nil {
		t.Skip("needs a Redis that can be filled")
	}
	ctx := within(t, 5*time.Minute)
	r.start(ctx)
	r.becomes(ctx, "/readyz", 200, "ready")
	r.redis.Do(t, "CONFIG", "SET", "maxmemory", 1)
	r.becomes(ctx, "/readyz", 503, "redis_full: ")
	r.becomes(ctx, "/readyz/turns", 503, "redis_full: ")
	require.Zero(t, r.figures(ctx)[`sillbot_ready{of="redis_full"}`])
	require.Equal(t, 1.0, r.figures(ctx)[`sillbot_ready{of="platform_away"}`])
	r.redis.Do(t, "CONFIG", "SET", "maxmemory", 0)
	r.server.FailWhen(func(c telegramtest.Call) *telegramtest.Fault {
		if c.Method == "getme" {
			return &telegramtest.Failing
		}
		return nil
	})
	r.becomes(ctx, "/readyz", 503, "platform_away: ")
	r.becomes(ctx, "/readyz/turns", 200, "ready")
	r.server.FailWhen(nil)
	r.becomes(ctx, "/readyz", 200, "ready")
	require.Less(t, r.figures(ctx)["sillbot_poll_age_seconds"], 180.0)
}

// Redis answers, and would take no turn.
func TestALookFindsEveryRefusalOfRedis(t *testing.T) {
	r := newRig(t, false)
	if r.redis == nil {
		t.Skip("needs a Redis that can be filled")
	}
	s, now := looked(t, r)
	becomes := func(names ...string) {
		t.Helper()
		require.Eventually(t, func() bool {
			*now = now.Add(freshFor)
			return slices.Equal(names, s.ready.look(within(t, 5*time.Minute)))
		}, time.Minute, time.Millisecond, "%v", names)
	}
	s.ready.connected = now.Add(24 * time.Hour) // polling is another test's
	becomes()
	for _, c := range []struct {
		name      string
		off, back []any
	}{
		{"redis_full", []any{"CONFIG", "SET", "maxmemory", 1}, []any{"CONFIG", "SET", "maxmemory", 0}},
		{"redis_read_only", []any{"REPLICAOF", "127.0.0.1", 1}, []any{"REPLICAOF", "NO", "ONE"}},
		{"redis_replicas", []any{"CONFIG", "SET", "min-replicas-to-write", 1}, []any{"CONFIG", "SET", "min-replicas-to-write", 0}},
	} {
		r.redis.Do(t, c.off...)
		becomes(c.name)
		r.redis.Do(t, c.back...)
		becomes()
	}
	r.redis.Kill()
	becomes("redis_away")
	require.NoError(t, r.redis.Restart())
	becomes()
}

// A server that writes, and has fewer replicas than a turn is to reach.
func TestALookWaitsForReplicas(t *testing.T) {
	t.Parallel() // it waits, on servers of its own
	pair := sessiontest.Replicated(t, 0)
	r := newRig(t, false)
	r.url, r.acks = pair.Primary.URL(), "1"
	s, now := looked(t, r)
	require.Empty(t, s.ready.look(within(t, 5*time.Minute)))
	pair.Replica.Kill()
	*now = now.Add(freshFor)
	require.Equal(t, []string{"redis_replicas"}, s.ready.look(within(t, 5*time.Minute)))
	require.NoError(t, pair.Replica.Restart())
	pair.Replica.Follow(t, pair.Primary)
	require.Eventually(t, func() bool {
		*now = now.Add(freshFor)
		s.ready.connected = *now // polling is another test's
		return len(s.ready.look(within(t, 5*time.Minute))) == 0
	}, time.Minute, time.Millisecond)
}

// A full Redis lets out what waits, whether or not somebody looks.
func TestAFullRedisStillEmptiesItsOutboxes(t *testing.T) {
	r := newRig(t, false)
	if r.redis == nil {
		t.Skip("needs a Redis that can be filled")
	}
	ctx := within(t, 5*time.Minute)
	r.start(ctx)
	limited := telegramtest.TooMany(1)
	r.server.Fail("sendMessage", limited, limited)
	r.server.Type(1, "/start")
	require.NoError(t, r.server.Wait(ctx, func() bool { return r.server.Calls("sendMessage") > 0 }))
	r.redis.Do(t, "CONFIG", "SET", "maxmemory", 1)
	r.becomes(ctx, "/readyz", 503, "redis_full: ")
	_, err := r.server.WaitSent(ctx, 1, 1)
	require.NoError(t, err)
}

// looked is a service that looks, with a clock of the test's.
func looked(t *testing.T, r *rig) (s *service, now *time.Time) {
	t.Helper()
	c, err := environment(func(name string) string { return r.env()[name] })
	require.NoError(t, err)
	at := time.Now()
	c.telegram.Clock = func() time.Time { return at }
	s, err = prepare(c, io.Discard)
	require.NoError(t, err)
	s.ready.clock = c.telegram.Clock
	require.Equal(t, []string{"redis_away", "platform_untold"}, s.ready.look(within(t, 5*time.Minute)))
	at = at.Add(freshFor)
	store, err := s.await(within(t, 5*time.Minute))
	require.NoError(t, err)
	t.Cleanup(func() { store.Close() })
	require.NoError(t, s.assemble(store))
	require.Equal(t, []string{"platform_untold"}, s.ready.look(within(t, 5*time.Minute)))
	require.NoError(t, s.connect(within(t, 5*time.Minute)))
	s.ready.told()
	return s, &at
}

// Who asks often makes no calls to the platform.
func TestALookServesForAWhile(t *testing.T) {
	both(t, func(t *testing.T, webhook bool) {
		r := newRig(t, webhook)
		s, now := looked(t, r)
		before := r.server.Calls("getMe")
		for calls := 1; calls <= 3; calls++ {
			for range 50 {
				require.Empty(t, s.ready.look(within(t, 5*time.Minute)))
			}
			require.Equal(t, before+calls, r.server.Calls("getMe"))
			*now = now.Add(freshFor)
		}
		if webhook {
			require.Equal(t, 1, r.server.Calls("getWebhookInfo"), "asked once a minute")
		} else {
			require.Zero(t, r.server.Calls("getWebhookInfo"))
		}
	})
}

// A token that was taken back, and a platform that is away, are two things.
func TestATokenThatIsTakenBackIsNoticed(t *testing.T) {
	r := newRig(t, false)
	s, now := looked(t, r)
	for status, says := range map[int]string{401: "platform_refuses", 404: "platform_refuses", 500: "platform_away", 429: "platform_away"} {
		r.server.Fail("getMe", telegramtest.Fault{Status: status})
		*now = now.Add(freshFor)
		require.Equal(t, []string{says}, s.ready.look(within(t, 5*time.Minute)))
	}
}

func TestAPollThatIsNotAnsweredIsNoticed(t *testing.T) {
	r := newRig(t, false)
	s, now := looked(t, r)
	require.Empty(t, s.ready.look(within(t, 5*time.Minute)))
	*now = now.Add(stalled + time.Second)
	require.Equal(t, []string{"poll_stalled"}, s.ready.look(within(t, 5*time.Minute)))
}

// One update that fails for ever holds up all that come a hundred after it.
func TestAnUpdateThatIsNeverTakenIsNoticed(t *testing.T) {
	r := newRig(t, false)
	s, now := looked(t, r)
	ctx := within(t, 5*time.Minute)
	o, err := redis.ParseURL(r.url)
	require.NoError(t, err)
	db := redis.NewClient(o)
	defer db.Close()
	require.NoError(t, db.Set(ctx, "sb:{5}:s:5", "not the kind of key that stands there", 0).Err())
	r.server.Type(5, "hello")
	receive := s.ready.receive.Load()
	polling, stop := context.WithCancel(ctx)
	over := make(chan struct{})
	go func() { defer close(over); receive.Poll(polling) }()
	defer func() { stop(); <-over }()
	require.Eventually(t, func() bool { return !receive.Stuck().IsZero() }, time.Minute, time.Millisecond)
	at := *now
	s.ready.clock = func() time.Time { return at.Add(stalled + time.Second) }
	require.Equal(t, []string{"poll_stuck"}, s.ready.look(ctx))
	require.NoError(t, db.Del(ctx, "sb:{5}:s:5").Err())
	require.Eventually(t, func() bool { return receive.Stuck().IsZero() }, time.Minute, time.Millisecond)
	s.ready.clock = func() time.Time { return at.Add(stalled + time.Minute) }
	require.NotContains(t, s.ready.look(ctx), "poll_stuck")
}

// What the platform says of the webhook decides, in classes; its own words go
// nowhere.
func TestAWebhookThatIsNotReachedIsNoticed(t *testing.T) {
	r := newRig(t, true)
	s, now := looked(t, r)
	ctx := within(t, 5*time.Minute)
	next := func(says ...string) {
		t.Helper()
		*now = now.Add(reachFor)
		got := s.ready.look(ctx)
		require.Equal(t, says, slices.Clip(append([]string(nil), got...)))
	}
	next()
	r.server.Pause(true)
	r.server.Type(1, "/start") // waits
	r.server.Unreachable(now.Add(-2*reachFor), "Connection refused")
	next() // before the program was there
	for _, message := range []string{
		"Connection refused", "SSL error {hunter2}", "Failed to resolve host", "hunter2 went wrong",
		"Wrong response from the webhook: 404 Not Found",
	} {
		r.server.Unreachable(now.Add(-time.Second), message)
		next("webhook_failing")
	}
	r.server.Unreachable(*now, "Connection refused")
	next("webhook_failing")
	families, err := s.metrics.Gather()
	require.NoError(t, err)
	figures := fmt.Sprint(families)
	require.Contains(t, figures, "sillbot_webhook_pending")
	require.Regexp(t, regexp.MustCompile(`sillbot_webhook_error_age_seconds.*connection`), figures)
	silent(t, figures)
	*now = now.Add(failedFor)
	next()

	// A success after the failure counts, at once.
	r.server.Unreachable(*now, "Connection refused")
	next("webhook_failing")
	push(t, s, http.StatusOK)
	*now = now.Add(freshFor)
	require.Empty(t, s.ready.look(ctx))
	*now = now.Add(-freshFor)

	// A queue that grows while none comes in.
	for i := range backlog {
		r.server.Type(int64(2+i), "/start")
	}
	*now = now.Add(time.Hour)
	next("webhook_backlog")
	next() // it does not grow
	r.server.Type(1, "1204")
	next("webhook_backlog")
	push(t, s, http.StatusOK)
	*now = now.Add(freshFor)
	require.Empty(t, s.ready.look(ctx), "slow is not out of reach")

	// Somebody else has the bot.
	_, err = http.PostForm(r.server.URL+"/bot"+telegramtest.Token+"/setWebhook", map[string][]string{"url": {"https://other.example/hook"}})
	require.NoError(t, err)
	next("webhook_elsewhere")
}

// What stands before the program answers 5xx in its place. Of a program that was not
// ready that is to be expected, and must not keep it so: it is ready again for a minute,
// in which the platform's call can come through.
func TestABalancerCanNotKeepAProgramFromBeingReady(t *testing.T) {
	r := newRig(t, true)
	s, now := looked(t, r)
	ctx := within(t, 5*time.Minute)
	r.server.Pause(true)
	r.server.Type(1, "/start") // waits
	minute := func() []string {
		t.Helper()
		*now = now.Add(reachFor / 2)
		r.server.Unreachable(*now, "Wrong response from the webhook: 502 Bad Gateway")
		*now = now.Add(reachFor / 2)
		return s.ready.look(ctx)
	}
	require.Empty(t, s.ready.look(ctx))
	require.Equal(t, []string{"webhook_failing"}, minute(), "it was ready, and something else answered")
	*now = now.Add(freshFor)
	require.Equal(t, []string{"webhook_failing"}, s.ready.look(ctx), "for a minute")
	require.Empty(t, minute(), "it was not ready")
	require.Equal(t, []string{"webhook_failing"}, minute())

	// Its own answer is no sign that it can't be reached.
	require.Empty(t, minute())
	s.store.Close()
	*now = now.Add(reachFor / 2)
	push(t, s, http.StatusServiceUnavailable)
	r.server.Unreachable(*now, "Wrong response from the webhook: 503 Service Unavailable")
	*now = now.Add(reachFor / 2)
	require.Equal(t, []string{"redis_away"}, s.ready.look(ctx))
}

// push brings an update that holds nothing to the service.
func push(t *testing.T, s *service, status int) {
	t.Helper()
	body := `{"update_id":7}`
	if status != http.StatusOK {
		body = `{"update_id":7,"message":{"message_id":1,"date":1,"chat":{"id":1,"type":"private"},"from":{"id":1},"text":"1204"}}`
	}
	req, err := http.NewRequest(http.MethodPost, "/hook", strings.NewReader(body))
	require.NoError(t, err)
	req.Header.Set("X-Telegram-Bot-Api-Secret-Token", hookSecret)
	w := &recorder{header: http.Header{}}
	at := doors{path: "/hook", ready: s.ready}
	at.hooked(http.NotFoundHandler()).ServeHTTP(w, req)
	require.Equal(t, status, w.status)
}

type recorder struct {
	header http.Header
	status int
	bytes.Buffer
}

func (w *recorder) Header() http.Header { return w.header }
func (w *recorder) WriteHeader(s int)   { w.status = s }

// Every name that a look can give has its advice and its line in the manual.
func TestEveryNameIsInTheManual(t *testing.T) {
	manual, err := os.ReadFile("../../docs/operation.md")
	require.NoError(t, err)
	for _, of := range notReady {
		require.Contains(t, string(manual), "`"+of.name+"`")
		require.NotEmpty(t, of.advice)
	}
	for _, file := range []string{"ready.go", "../../internal/session/probe.go"} {
		raw, err := os.ReadFile(file)
		require.NoError(t, err)
		for _, name := range regexp.MustCompile(`"(redis|platform|webhook|poll)_[a-z_]+"`).FindAllString(string(raw), -1) {
			name = strings.Trim(name, `"`)
			require.True(t, name == "redis_" || slices.ContainsFunc(notReady, func(of struct{ name, advice string }) bool { return of.name == name }), name)
		}
	}
	// So has every figure, whoever publishes it.
	figures := map[string]bool{}
	require.NoError(t, filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		raw, err := os.ReadFile(path)
		for _, name := range regexp.MustCompile(`"sillbot_[a-z_]+"`).FindAllString(string(raw), -1) {
			figures[strings.Trim(name, `"`)] = true
		}
		return err
	}))
	require.Greater(t, len(figures), 10)
	for figure := range figures {
		require.Contains(t, string(manual), "`"+figure)
	}
}

// An absent Redis is waited for: the program is alive, not ready, and takes up its
// work when Redis comes.
func TestServeWaitsForRedis(t *testing.T) {
	t.Parallel() // it waits, on servers of its own
	both(t, func(t *testing.T, webhook bool) {
		r := newRig(t, webhook)
		if r.redis == nil {
			t.Skip("needs a Redis that can be ended")
		}
		ctx := within(t, 5*time.Minute)
		r.redis.Kill()
		p := launch(t, r.env(), "serve")
		_, err := p.log.line(ctx, "Redis is waited for")
		require.NoError(t, err)
		r.becomes(ctx, "/readyz", 503, "redis_away: ")
		require.Zero(t, r.figures(ctx)[`sillbot_ready{of="redis_away"}`])
		if webhook {
			resp, err := http.Post("http://"+r.address+"/hook", "application/json", strings.NewReader("{}"))
			require.NoError(t, err)
			resp.Body.Close()
			require.Equal(t, http.StatusServiceUnavailable, resp.StatusCode, "it is to come again")
			require.NotEmpty(t, resp.Header.Get("Retry-After"))
		}
		r.server.Type(1, "/start")
		require.Zero(t, r.server.Calls("getUpdates"))
		require.NoError(t, r.redis.Restart())
		require.NoError(t, p.ready(ctx))
		_, err = r.server.WaitSent(ctx, 1, 1)
		require.NoError(t, err)
		r.becomes(ctx, "/readyz", 200, "ready")
		p.terminate(t)
	})
}

// SIGTERM ends the wait at once, also for a Redis that hangs.
func TestServeLeavesWhileItWaitsForRedis(t *testing.T) {
	for name, hangs := range map[string]bool{"gone": false, "hangs": true} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t, false)
			env := r.env()
			env["REDIS_URL"] = "redis://127.0.0.1:1"
			if hangs {
				deaf, err := net.Listen("tcp", "127.0.0.1:0")
				require.NoError(t, err)
				t.Cleanup(func() { deaf.Close() })
				env["REDIS_URL"] = "redis://" + deaf.Addr().String()
			}
			p := launch(t, env, "serve")
			_, err := p.log.line(within(t, 5*time.Minute), "listening")
			require.NoError(t, err)
			p.terminate(t)
		})
	}
}

func TestServeDoesNotWaitForWhatStaysWrong(t *testing.T) {
	r := newRig(t, false)
	if r.redis == nil {
		t.Skip("needs a Redis with a password")
	}
	r.redis.Do(t, "CONFIG", "SET", "requirepass", "hunter3")
	for _, url := range []string{r.url, strings.Replace(r.url, "://", "://:hunter2@", 1)} {
		env := r.env()
		env["REDIS_URL"] = url
		p := launch(t, env, "serve")
		select {
		case <-p.ended:
		case <-time.After(time.Minute):
			t.Fatal("it waits")
		}
		require.Error(t, p.err)
		require.Contains(t, p.log.String(), "redis does not answer: ")
		silent(t, p.log.String())
	}
}

// With LISTEN_OPS the platform's address has the webhook alone.
func TestOperatorsHaveAnAddressOfTheirOwn(t *testing.T) {
	r := newRig(t, true)
	ctx := within(t, 5*time.Minute)
	env, ops := r.env(), fmt.Sprintf("127.0.0.1:%d", sessiontest.Port(t))
	env["LISTEN_OPS"] = ops
	p := launch(t, env, "serve")
	require.NoError(t, p.ready(ctx), "%s", p.log)
	for _, path := range append(slices.Clone(pages), "/", "/elsewhere") {
		status, body := get(ctx, "http://"+r.address+path)
		require.Equal(t, http.StatusNotFound, status, path)
		require.Equal(t, "404 page not found\n", body)
		status, _ = get(ctx, "http://"+ops+path)
		require.Equal(t, slices.Contains(pages, path), status == http.StatusOK, path)
	}
	status, _ := get(ctx, "http://"+ops+"/hook")
	require.Equal(t, http.StatusNotFound, status, "the webhook is not among the operators' pages")
	r.server.Type(1, "/start")
	_, err := r.server.WaitSent(ctx, 1, 1)
	require.NoError(t, err)
	require.NotContains(t, p.log.String(), "LISTEN_OPS keeps them apart")
	p.terminate(t)
}

// Polled, nobody calls LISTEN; without LISTEN_OPS the webhook's address has all,
// and the log says so.
func TestWithoutAnAddressForOperators(t *testing.T) {
	r := newRig(t, false)
	ctx := within(t, 5*time.Minute)
	env, ops := r.env(), fmt.Sprintf("127.0.0.1:%d", sessiontest.Port(t))
	env["LISTEN_OPS"] = ops
	p := launch(t, env, "serve")
	require.NoError(t, p.ready(ctx), "%s", p.log)
	status, _ := get(ctx, "http://"+ops+"/readyz")
	require.Equal(t, http.StatusOK, status)
	_, err := net.Dial("tcp", r.address)
	require.Error(t, err)
	p.terminate(t)

	r = newRig(t, true)
	p = r.start(ctx)
	require.Contains(t, p.log.String(), "LISTEN_OPS keeps them apart")
	p.terminate(t)
}

// A server that ended takes the program with it: alive, it would take nothing.
func TestAServerThatEndsEndsTheProgram(t *testing.T) {
	r := newRig(t, true)
	c, err := environment(func(name string) string { return r.env()[name] })
	require.NoError(t, err)
	for name, wait := range map[string]bool{"at work": false, "waiting for Redis": true} {
		t.Run(name, func(t *testing.T) {
			c := c
			if wait {
				c.redis = "redis://127.0.0.1:1"
			}
			said := newJournal()
			s, err := prepare(c, said)
			require.NoError(t, err)
			left := make(chan error, 1)
			go func() { left <- s.run(context.Background()) }()
			line := "ready"
			if wait {
				line = "Redis is waited for"
			}
			_, err = said.line(within(t, 5*time.Minute), line)
			require.NoError(t, err)
			for _, listener := range s.at.listeners {
				listener.Close()
			}
			select {
			case err := <-left:
				require.ErrorContains(t, err, "LISTEN: the server ended")
			case <-time.After(time.Minute):
				t.Fatal("it goes on without its server")
			}
		})
	}
}

// A server at the platform's address that talks out of turn: what it says is not in
// what the program prints.
func TestServePrintsNothingThatComesUnasked(t *testing.T) {
	rude, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { rude.Close() })
	go func() {
		for {
			conn, err := rude.Accept()
			if err != nil {
				return
			}
			go func() {
				defer conn.Close()
				_, _ = conn.Read(make([]byte, 1<<16))
				fmt.Fprintf(conn, "HTTP/1.1 200 OK\r\nContent-Length: 25\r\n\r\n{\"ok\":true,\"result\":true}")
				time.Sleep(50 * time.Millisecond)
				fmt.Fprint(conn, "14 Invented Row")
				time.Sleep(50 * time.Millisecond)
			}()
		}
	}()
	r := newRig(t, false)
	env := r.env()
	env["TELEGRAM_API"] = "http://" + rude.Addr().String()
	p := launch(t, env, "serve")
	_, err = p.log.line(within(t, 5*time.Minute), "a server answered without being asked")
	require.NoError(t, err)
	p.terminate(t)
	require.NotContains(t, p.log.String(), "Invented")
}

// net/http prints what it meets on its connections, with what was sent. Only what
// kind of thing it was is logged.
func TestNetHTTPPrintsNothingOfWhatWasSent(t *testing.T) {
	private := "14 Invented Row"
	out := newJournal()
	defer log.SetOutput(log.Writer())
	log.SetOutput(hush{slog.New(slog.NewJSONHandler(out, nil))})
	rude, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer rude.Close()
	go func() {
		conn, err := rude.Accept()
		if err != nil {
			return
		}
		_, _ = conn.Read(make([]byte, 4096))
		fmt.Fprintf(conn, "HTTP/1.1 200 OK\r\nContent-Length: 11\r\n\r\n{\"ok\":true}")
		time.Sleep(50 * time.Millisecond) // so that it comes when nothing is asked
		fmt.Fprint(conn, private)
	}()
	status, _ := get(within(t, 5*time.Minute), "http://"+rude.Addr().String())
	require.Equal(t, http.StatusOK, status)
	_, err = out.line(within(t, 5*time.Minute), "a server answered without being asked")
	require.NoError(t, err)
	require.NotContains(t, out.String(), "Invented")

	for line, what := range map[string]string{
		"http: panic serving 1.2.3.4: " + private: "a request made the program panic",
		"http: Accept error: too many files":      "a connection could not be taken",
		"http: TLS handshake error from 1.2.3.4":  "a caller speaks TLS, or something else, to a plain port",
		private:                                   "net/http reports something else",
	} {
		log.Print(line)
		_, err := out.line(within(t, 5*time.Minute), what)
		require.NoError(t, err)
	}
	require.NotContains(t, out.String(), "Invented")
	require.NotContains(t, out.String(), "1.2.3.4")
}
