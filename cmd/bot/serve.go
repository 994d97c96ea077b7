package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/go-telegram/bot"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promauto"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/session"
	"sillbot/internal/telegram"
	"sillbot/locales"
)

// grace is how long the program may take to leave after SIGTERM, of the 10 s
// that it promises: after it the engine needs up to 1.6 s for sends in progress
// and 2 s to release its leases.
const grace = 6 * time.Second

// freshFor is how long the result of a readiness check is reused, so that
// requests to /readyz can't make the program call Redis and the platform more
// often.
const freshFor = 2 * time.Second

// config is the environment of serve.
type config struct {
	telegram telegram.Config
	redis    string
	listen   string
	level    slog.Level
	crew     []int64 // who may use the bot from the start; empty: everybody
}

// environment reads the configuration. No error repeats a secret.
func environment(get func(string) string) (config, error) {
	c := config{
		telegram: telegram.Config{
			API: get("TELEGRAM_API"), WebhookURL: get("WEBHOOK_URL"),
		},
		redis:  get("REDIS_URL"),
		listen: get("LISTEN"),
	}
	var err error
	if c.telegram.Token, err = secret(get, "TELEGRAM_TOKEN"); err != nil {
		return c, err
	}
	if c.telegram.WebhookSecret, err = secret(get, "WEBHOOK_SECRET"); err != nil {
		return c, err
	}
	if c.telegram.Token == "" {
		return c, errors.New("TELEGRAM_TOKEN is not set; without it, run the subcommand chat")
	}
	if c.redis == "" {
		return c, errors.New("REDIS_URL is not set: sessions would not survive a restart")
	}
	if c.telegram.WebhookURL != "" && c.listen == "" {
		return c, errors.New("LISTEN is not set: a webhook needs an address to listen on")
	}
	if c.crew, err = crew(get("CREW")); err != nil {
		return c, err
	}
	if level := get("LOG_LEVEL"); level != "" {
		if err := c.level.UnmarshalText([]byte(level)); err != nil {
			return c, errors.New("LOG_LEVEL is none of debug, info, warn, error")
		}
	}
	return c, nil
}

// crew reads a comma list of the platform's user ids. "off" or "" opens the bot
// to everybody.
func crew(list string) ([]int64, error) {
	if list == "" || list == "off" {
		return nil, nil
	}
	var people []int64
	for _, number := range strings.Split(list, ",") {
		id, err := strconv.ParseInt(strings.TrimSpace(number), 10, 64)
		if err != nil {
			return nil, errors.New("CREW is neither off nor a comma list of numbers")
		}
		people = append(people, id)
	}
	return people, nil
}

// secret is the variable's value, or the content of the file that NAME_FILE
// points to.
func secret(get func(string) string, name string) (string, error) {
	path := get(name + "_FILE")
	if path == "" {
		return get(name), nil
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		return "", fmt.Errorf("reading %s_FILE: %w", name, err)
	}
	return strings.TrimSpace(string(raw)), nil
}

// service is everything that serve runs.
type service struct {
	config
	log     *slog.Logger
	store   *session.Store
	client  *telegram.Client
	engine  *engine.Engine
	receive *telegram.Receiver
	menu    telegram.Menu
	metrics *prometheus.Registry

	clock   func() time.Time
	looking sync.Mutex
	looked  time.Time
	missing string // what did not answer at the last look; "": all did
}

// serve handles updates from the messaging platform until ctx ends, then leaves
// within grace.
func serve(ctx context.Context, get func(string) string, errs io.Writer) error {
	c, err := environment(get)
	if err != nil {
		return err
	}
	s, err := assemble(ctx, c, errs)
	if err != nil {
		return err
	}
	defer s.store.Close()
	return s.run(ctx)
}

func assemble(ctx context.Context, c config, errs io.Writer) (*service, error) {
	s := &service{config: c, clock: time.Now, metrics: prometheus.NewRegistry()}
	s.log = slog.New(slog.NewJSONHandler(errs, &slog.HandlerOptions{Level: c.level}))
	s.metrics.MustRegister(collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	words, err := locales.Load()
	if err != nil {
		return nil, err
	}
	if s.store, err = session.Open(ctx, c.redis); err != nil {
		return nil, err
	}
	for _, warning := range s.store.Warnings {
		s.log.Warn("redis setting", "warning", warning)
	}
	c.telegram.Log = s.log
	if s.client, err = telegram.New(c.telegram); err != nil {
		s.store.Close()
		return nil, err
	}
	sender := s.client.Sender(words, timed(painter(words), s.metrics))
	sender.Papers = papers(words, s.store)
	promauto.With(s.metrics).NewCounterFunc(prometheus.CounterOpts{
		Name: "sillbot_sends_unsure_total",
		Help: "Calls that may have been carried out though no answer says so. Each may become a second copy of a reply.",
	}, func() float64 { return float64(sender.Unsure.Load() + s.engine.Unsure()) })
	s.engine = engine.New(s.store, sender, engine.Options{
		Log: s.log, Metrics: s.metrics, Home: s.client.Home, Crew: c.crew,
	})
	s.receive = s.client.Receiver(s.engine, s.engine)
	s.receive.Gather, s.receive.Moved = s.engine.Gather, s.engine.Moved
	s.menu = telegram.Menu{Words: words, Languages: words.Languages(), Commands: dialog.Commands}
	return s, nil
}

// timed draws with paint and publishes how long it takes.
func timed(paint telegram.Painter, to prometheus.Registerer) telegram.Painter {
	took := promauto.With(to).NewHistogram(prometheus.HistogramOpts{
		Name:    "sillbot_card_seconds",
		Help:    "Time to draw one card or sketch.",
		Buckets: prometheus.ExponentialBuckets(0.002, 2, 10),
	})
	return func(ctx context.Context, lang string, p dialog.Picture) ([]byte, error) {
		begun := time.Now()
		defer func() { took.Observe(time.Since(begun).Seconds()) }()
		return paint(ctx, lang, p)
	}
}

// run handles updates and sends replies until ctx ends, then finishes what is
// in progress.
func (s *service) run(ctx context.Context) error {
	server, err := s.listenAndServe()
	if err != nil {
		return err
	}
	// The couriers outlive ctx, so that replies to updates already taken are
	// still sent. They start before the platform answers: replies may be left
	// from the last run.
	sending, stopSending := context.WithCancel(context.WithoutCancel(ctx))
	defer stopSending()
	var couriers, calling sync.WaitGroup
	couriers.Go(func() {
		if err := s.engine.Run(sending); err != nil {
			s.log.Error("sending ended", "error", err)
		}
	})
	failed := s.connect(ctx)
	if failed == nil && ctx.Err() == nil {
		s.log.Info("ready", "webhook", s.telegram.WebhookURL != "")
		calling.Go(func() {
			if _, err := s.client.Me(ctx); err != nil {
				s.log.Warn("links can't be made for pressing before the bot's name is known", "error", err)
			}
			if err := s.client.Publish(ctx, s.menu); err != nil {
				s.log.Warn("the menu could not be set", "error", err)
			}
		})
		if s.telegram.WebhookURL == "" {
			calling.Go(func() { s.receive.Poll(ctx) })
		}
		<-ctx.Done()
	}
	s.log.Info("leaving")
	leaving, cancel := context.WithTimeout(context.WithoutCancel(ctx), grace)
	defer cancel()
	if server != nil {
		if err := server.Shutdown(leaving); err != nil {
			s.log.Warn("requests were cut off", "error", err)
		}
	}
	finish(leaving, calling.Wait)
	finish(leaving, s.receive.Wait)
	if err := s.engine.Drain(leaving); err != nil {
		s.log.Warn("replies wait in Redis for the next start", "error", err)
	}
	stopSending()
	finish(leaving, couriers.Wait)
	return failed
}

// finish waits for work in progress, but no longer than ctx lasts: what is not
// committed by then was not acknowledged and is delivered again.
func finish(ctx context.Context, wait func()) {
	ctx, done := context.WithCancel(ctx)
	go func() {
		wait()
		done()
	}()
	<-ctx.Done()
}

// connect tells the platform how to deliver updates, and retries until it
// succeeds or ctx ends. Error: the platform does not know the token.
func (s *service) connect(ctx context.Context) error {
	for wait := 500 * time.Millisecond; ; wait = min(2*wait, 30*time.Second) {
		err := s.client.Connect(ctx)
		if err == nil || ctx.Err() != nil {
			return nil
		}
		if errors.Is(err, bot.ErrorUnauthorized) || errors.Is(err, bot.ErrorNotFound) {
			return fmt.Errorf("the platform does not know TELEGRAM_TOKEN: %w", err)
		}
		s.log.Warn("the platform could not be told how updates are to come", "error", err, "again_in", wait)
		select {
		case <-time.After(wait):
		case <-ctx.Done():
		}
	}
}

// listenAndServe serves the webhook and the operators' pages; nil when no
// address is configured.
func (s *service) listenAndServe() (*http.Server, error) {
	if s.listen == "" {
		return nil, nil
	}
	listener, err := net.Listen("tcp", s.listen)
	if err != nil {
		return nil, fmt.Errorf("listening: %w", err)
	}
	server := &http.Server{
		Handler:           s.routes(),
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       15 * time.Second,
		WriteTimeout:      30 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    1 << 14,
	}
	s.log.Info("listening", "address", listener.Addr().String())
	go func() {
		if err := server.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
			s.log.Error("the server ended", "error", err)
		}
	}()
	return server, nil
}

func (s *service) routes() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) { fmt.Fprintln(w, "ok") })
	mux.HandleFunc("GET /readyz", s.ready)
	mux.Handle("GET /metrics", promhttp.HandlerFor(s.metrics, promhttp.HandlerOpts{}))
	hook := s.telegram.WebhookPath()
	if hook == "" {
		return mux
	}
	// Not a pattern of the mux: the operator's path may hold characters that a
	// pattern gives a meaning.
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == hook {
			s.receive.ServeHTTP(w, r)
			return
		}
		mux.ServeHTTP(w, r)
	})
}

// ready says whether Redis and the platform answer.
func (s *service) ready(w http.ResponseWriter, r *http.Request) {
	if missing := s.look(r.Context()); missing != "" {
		http.Error(w, missing+" does not answer", http.StatusServiceUnavailable)
		return
	}
	fmt.Fprintln(w, "ready")
}

// look names what does not answer, or "". A result younger than freshFor is
// reused.
func (s *service) look(ctx context.Context) string {
	s.looking.Lock()
	defer s.looking.Unlock()
	if s.clock().Sub(s.looked) < freshFor {
		return s.missing
	}
	// The request may be cancelled; the result serves the next one.
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	s.missing = ""
	for _, of := range []struct {
		name string
		ask  func(context.Context) error
	}{{"redis", s.store.Ping}, {"platform", s.client.Ready}} {
		if err := of.ask(ctx); err != nil {
			s.log.Warn("not ready", "of", of.name, "error", err)
			s.missing = of.name
			break
		}
	}
	s.looked = s.clock()
	return s.missing
}
