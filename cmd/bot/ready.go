package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/go-telegram/bot"
	"github.com/prometheus/client_golang/prometheus"

	"sillbot/internal/session"
	"sillbot/internal/telegram"
)

const (
	// freshFor is how long the result of a look is reused, so that requests to
	// /readyz can't make the program call Redis and the platform more often.
	freshFor = 2 * time.Second
	// reachFor is the same of what the platform says of the webhook.
	reachFor = time.Minute
	lookMost = 5 * time.Second // of one look
	// failedFor is how long a failure of the platform to bring an update counts.
	failedFor = 5 * time.Minute
	// backlog is from how many updates on a growing queue is too long.
	backlog = 100
	// stalled is more than two polls that hang take, with the wait between them.
	stalled = 3 * time.Minute
)

// notReady are the names of what keeps the program from being ready, with what to
// do. docs/operation.md says more. What is of Redis comes from session.Trouble.
var notReady = []struct{ name, advice string }{
	{"redis_away", "Redis does not answer: start it, or look at REDIS_URL and the way there"},
	{"redis_full", "Redis is full: give it more memory (maxmemory)"},
	{"redis_read_only", "Redis is a replica: lead REDIS_URL to the master"},
	{"redis_replicas", "Redis has fewer replicas than it or REDIS_ACKS asks for: start them"},
	{"redis_disk", "Redis can't write to its disk: make room there, then look at its log"},
	{"redis_loading", "Redis still reads its file: wait"},
	{"redis_cluster", "a part of the cluster has no master: look at its nodes"},
	{"redis_refuses", "Redis refuses the program: look at user, password and rights"},
	{"platform_away", "the platform does not answer: look at the way out of this machine"},
	{"platform_refuses", "the platform does not know the token: renew TELEGRAM_TOKEN"},
	{"platform_untold", "the platform could not be told yet how updates are to come: look at the log"},
	{"webhook_elsewhere", "another address than WEBHOOK_URL is set: end whoever else uses the token, start again"},
	{"webhook_failing", "the platform does not reach WEBHOOK_URL: look at sillbot_webhook_error_age_seconds"},
	{"webhook_backlog", "updates pile up at the platform and none comes in: look at what stands before LISTEN"},
	{"poll_stuck", "the same update is not taken for minutes, and holds up all that come after it: look at the log, then bot doctor"},
	{"poll_stalled", "no call for updates was answered for minutes: look at the log, start again"},
}

// readiness says whether updates can be taken and answered.
type readiness struct {
	log     *slog.Logger
	clock   func() time.Time
	client  *telegram.Client
	webhook bool
	store   atomic.Pointer[session.Store]     // nil until Redis answered
	receive atomic.Pointer[telegram.Receiver] // with it

	mu        sync.Mutex
	connected time.Time // when the platform was told how updates are to come
	looked    time.Time
	found     []string // what was not ready at the last look
	// What the platform says of the webhook, and said the time before.
	reach, before     telegram.Reach
	reached, reachedB time.Time
	unready           time.Time // when a look last found something
	astray            bool      // what stands before the program answers in its place
}

// told is that the platform knows how updates are to come.
func (r *readiness) told() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.connected = r.clock()
	r.looked, r.reached = time.Time{}, time.Time{}
}

// look names what is not ready; a result younger than freshFor is reused.
func (r *readiness) look(ctx context.Context) []string {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.clock().Sub(r.looked) < freshFor {
		return r.found
	}
	// The request may be cancelled; the result serves the next one.
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), lookMost)
	defer cancel()
	found := make([]string, 3)
	var all sync.WaitGroup
	for i, of := range []func(context.Context) string{r.redis, r.platform, r.delivery} {
		all.Go(func() { found[i] = of(ctx) })
	}
	all.Wait()
	found = slices.DeleteFunc(found, func(name string) bool { return name == "" })
	if !slices.Equal(found, r.found) {
		r.log.Warn("what is not ready has changed", "of", strings.Join(found, " "))
	}
	r.found, r.looked = found, r.clock()
	if len(found) > 0 {
		r.unready = r.looked
	}
	return found
}

func (r *readiness) redis(ctx context.Context) string {
	store := r.store.Load()
	if store == nil {
		return "redis_away"
	}
	err := store.Probe(ctx)
	if err != nil {
		r.log.Debug("a probe of Redis failed", "error", err)
	}
	return session.Trouble(err)
}

func (r *readiness) platform(ctx context.Context) string {
	err := r.client.Ready(ctx)
	switch {
	case errors.Is(err, bot.ErrorUnauthorized), errors.Is(err, bot.ErrorNotFound):
		return "platform_refuses"
	case err != nil:
		r.log.Debug("the platform did not answer", "error", err)
		return "platform_away"
	}
	return ""
}

// delivery is whether updates reach the program.
func (r *readiness) delivery(ctx context.Context) string {
	receive, now := r.receive.Load(), r.clock()
	switch {
	case r.connected.IsZero() || receive == nil:
		return "platform_untold"
	case !r.webhook && !receive.Stuck().IsZero() && now.Sub(receive.Stuck()) > stalled:
		return "poll_stuck"
	case !r.webhook && now.Sub(later(r.connected, receive.Polled())) > stalled:
		return "poll_stalled"
	case !r.webhook:
		return ""
	}
	if now.Sub(r.reached) >= reachFor {
		if reach, err := r.client.Reach(ctx); err == nil { // else platform says so
			r.before, r.reachedB = r.reach, r.reached
			r.reach, r.reached = reach, now
			r.astray = r.reach.Kind == telegram.ServerFailed && len(r.found) == 0 && r.reach.Failed.After(r.unready) &&
				!receive.Missed().After(r.reach.Failed.Add(-reachFor))
		}
	}
	taken := receive.Pushed()
	switch {
	case r.reached.IsZero():
		return ""
	case r.reach.Elsewhere:
		return "webhook_elsewhere"
	case r.unreached(now, taken):
		return "webhook_failing"
	case !r.reachedB.IsZero() && r.reach.Pending > backlog && r.reach.Pending > r.before.Pending && !taken.After(r.reachedB):
		return "webhook_backlog"
	}
	return ""
}

// unreached is whether the platform failed to bring an update since the program is
// there for it, and none came in after that. An answer of 5xx counts if the program
// did not give it and had been ready before: a balancer answers so before a program
// that is not ready, and one that stayed so for that would never be called again.
func (r *readiness) unreached(now, taken time.Time) bool {
	failed := r.reach.Failed
	return r.reach.Kind != telegram.NoFailure && (r.reach.Kind != telegram.ServerFailed || r.astray) && r.reach.Pending > 0 &&
		failed.After(r.connected) && now.Sub(failed) < failedFor && !taken.After(failed)
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// all answers whether everything is ready; turns, for who leads the platform's
// calls by it, only whether a turn can be taken.
func (r *readiness) all(w http.ResponseWriter, req *http.Request) {
	respond(w, r.look(req.Context()))
}

func (r *readiness) turns(w http.ResponseWriter, req *http.Request) {
	respond(w, slices.DeleteFunc(slices.Clone(r.look(req.Context())), func(name string) bool {
		return !strings.HasPrefix(name, "redis_")
	}))
}

func respond(w http.ResponseWriter, found []string) {
	if len(found) == 0 {
		fmt.Fprintln(w, "ready")
		return
	}
	var lines []string
	for _, of := range notReady {
		if slices.Contains(found, of.name) {
			lines = append(lines, of.name+": "+of.advice)
		}
	}
	http.Error(w, strings.Join(lines, "\n"), http.StatusServiceUnavailable)
}

var (
	readyDesc   = prometheus.NewDesc("sillbot_ready", "1: fine; 0: it keeps the program from being ready.", []string{"of"}, nil)
	pendingDesc = prometheus.NewDesc("sillbot_webhook_pending", "Updates that the platform has not brought yet.", nil, nil)
	failedDesc  = prometheus.NewDesc("sillbot_webhook_error_age_seconds",
		"Time since the platform last failed to bring an update, by why: name, tls, timeout, connection, refused, server, other.", []string{"why"}, nil)
	polledDesc = prometheus.NewDesc("sillbot_poll_age_seconds", "Time since a call for updates was last answered.", nil, nil)
)

// Describe makes readiness a prometheus.Collector.
func (r *readiness) Describe(to chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{readyDesc, pendingDesc, failedDesc, polledDesc} {
		to <- d
	}
}

// Collect looks, like a request to /readyz.
func (r *readiness) Collect(to chan<- prometheus.Metric) {
	found := r.look(context.Background())
	gauge := func(d *prometheus.Desc, v float64, labels ...string) {
		to <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, v, labels...)
	}
	for _, of := range notReady {
		v := 1.0
		if slices.Contains(found, of.name) {
			v = 0
		}
		gauge(readyDesc, v, of.name)
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if receive := r.receive.Load(); !r.webhook && receive != nil && !receive.Polled().IsZero() {
		gauge(polledDesc, r.clock().Sub(receive.Polled()).Seconds())
	}
	if r.reached.IsZero() {
		return
	}
	gauge(pendingDesc, float64(r.reach.Pending))
	if r.reach.Kind != telegram.NoFailure {
		gauge(failedDesc, r.clock().Sub(r.reach.Failed).Seconds(), string(r.reach.Kind))
	}
}
