package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log"
	"log/slog"
	"os"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/go-telegram/bot"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promauto"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/orderpage"
	"sillbot/internal/session"
	"sillbot/internal/telegram"
	"sillbot/locales"
)

// grace is how long the program may take to leave after SIGTERM, of the 10 s
// that it promises: after it the engine needs up to 1.6 s for sends in progress
// and 2 s to release its leases.
const grace = 6 * time.Second

// config is the environment of serve.
type config struct {
	telegram telegram.Config
	redis    string
	listen   string
	ops      string // where probes and figures are; "": at listen
	level    slog.Level
	crew     []int64 // who may use the bot from the start; empty: everybody
	sends    float64 // messages a second that the platform takes of the bot; 0: any number
	web      orderPages
	acks     int // replicas of Redis that must have a turn before it counts
}

// What the platform takes of a bot a second, by its Bots FAQ, S: 30 or so, and up to 1000
// with paid broadcasts.
const (
	freeSends = 30
	mostSends = 1000
)

// environment reads the configuration. No error repeats a secret.
func environment(get func(string) string) (config, error) {
	c := config{
		telegram: telegram.Config{
			API: get("TELEGRAM_API"), WebhookURL: get("WEBHOOK_URL"),
		},
		redis:  get("REDIS_URL"),
		listen: get("LISTEN"),
		ops:    get("LISTEN_OPS"),
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
	if c.ops == "" && slices.Contains(pages, c.telegram.WebhookPath()) {
		return c, errors.New("WEBHOOK_URL has the path of a probe or of the figures: take another, or set LISTEN_OPS")
	}
	if c.crew, err = crew(get("CREW")); err != nil {
		return c, err
	}
	if acks := get("REDIS_ACKS"); acks != "" {
		if c.acks, err = strconv.Atoi(acks); err != nil || c.acks < 0 {
			return c, errors.New("REDIS_ACKS is not a number of replicas")
		}
	}
	if n := get("WEBHOOK_CONNECTIONS"); n != "" {
		if c.telegram.Connections, err = strconv.Atoi(n); err != nil || c.telegram.Connections < 1 || c.telegram.Connections > 100 {
			return c, errors.New("WEBHOOK_CONNECTIONS is not a number from 1 to 100")
		}
	}
	c.sends = freeSends
	if sends := get("SENDS_PER_SECOND"); sends != "" {
		if c.sends, err = strconv.ParseFloat(sends, 64); err != nil || !(c.sends == 0 || c.sends >= 1 && c.sends <= mostSends) {
			return c, errors.New("SENDS_PER_SECOND is neither 0, for no limit, nor a number from 1 to 1000")
		}
	}
	if c.web, err = pagesOf(get, c.listen, c.telegram.WebhookPath()); err != nil {
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
	client  *telegram.Client
	ready   *readiness
	at      *doors
	metrics *prometheus.Registry

	// With Redis:
	store   *session.Store
	engine  *engine.Engine
	receive *telegram.Receiver
	menu    telegram.Menu
}

// serve handles updates from the messaging platform until ctx ends, then leaves
// within grace.
func serve(ctx context.Context, get func(string) string, errs io.Writer) error {
	c, err := environment(get)
	if err != nil {
		return err
	}
	s, err := prepare(c, errs)
	if err != nil {
		return err
	}
	// The client of net/http has no log of its own to be given.
	defer log.SetOutput(log.Writer())
	log.SetOutput(hush{s.log})
	return s.run(ctx)
}

// prepare makes what needs neither Redis nor the platform.
func prepare(c config, errs io.Writer) (*service, error) {
	s := &service{config: c, metrics: prometheus.NewRegistry()}
	s.log = slog.New(slog.NewJSONHandler(errs, &slog.HandlerOptions{Level: c.level}))
	s.metrics.MustRegister(collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	c.telegram.Log = s.log
	var err error
	if s.client, err = telegram.New(c.telegram); err != nil {
		return nil, err
	}
	s.ready = &readiness{log: s.log, clock: time.Now, client: s.client, webhook: c.telegram.WebhookURL != ""}
	s.metrics.MustRegister(s.ready)
	s.at = &doors{hook: c.listen, ops: c.ops, path: c.telegram.WebhookPath(), log: s.log, ready: s.ready, metrics: s.metrics, web: c.web}
	return s, nil
}

// await connects to Redis, and waits for one that is not there yet; nil when ctx
// ended first. Errors: what waiting can't mend, such as a wrong password.
func (s *service) await(ctx context.Context) (*session.Store, error) {
	for wait := 250 * time.Millisecond; ; wait = min(2*wait, 5*time.Second) {
		store, err := s.dial(ctx)
		switch {
		case err == nil:
			return store, nil
		case ctx.Err() != nil:
			return nil, nil
		case !session.Mends(err):
			return nil, err
		}
		s.log.Warn("Redis is waited for", "error", err, "again_in", wait)
		select {
		case <-time.After(wait):
		case <-ctx.Done():
			return nil, nil
		}
	}
}

// dial tries to connect to Redis, and comes back at once when ctx ends.
func (s *service) dial(ctx context.Context) (*session.Store, error) {
	type result struct {
		store *session.Store
		err   error
	}
	done := make(chan result, 1)
	go func() {
		ctx, cancel := context.WithTimeout(ctx, 10*time.Second)
		defer cancel()
		store, err := session.OpenAcked(ctx, s.redis, s.acks)
		if errors.Is(err, session.ErrClusterAcks) {
			err = fmt.Errorf("REDIS_ACKS: %w", err)
		}
		if err == nil && errors.Is(store.Whole(ctx), session.ErrUnfinished) {
			store, err = nil, errors.Join(session.ErrUnfinished, store.Close())
		}
		done <- result{store, err}
	}()
	select {
	case got := <-done:
		return got.store, got.err
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// By which clock people are reminded and how often the program looks: nil and 0 leave it to
// the engine; tests have a clock of their own.
var (
	lookClock func() time.Time
	lookEvery time.Duration
)

// assemble makes the rest on a store.
func (s *service) assemble(store *session.Store) error {
	words, err := locales.Load()
	if err != nil {
		return err
	}
	s.store = store
	for _, warning := range s.store.Warnings {
		s.log.Warn("redis setting", "warning", warning)
	}
	sender := s.client.Sender(words, timed(painter(words), s.metrics))
	sender.Papers = papers(words, s.store)
	promauto.With(s.metrics).NewCounterFunc(prometheus.CounterOpts{
		Name: "sillbot_sends_unsure_total",
		Help: "Calls that may have been carried out though no answer says so. Each may become a second copy of a reply.",
	}, func() float64 { return float64(sender.Unsure.Load() + s.engine.Unsure()) })
	s.engine = engine.New(s.store, engine.Pager{Platform: sender, Store: s.store}, engine.Options{
		Log: s.log, Metrics: s.metrics, Home: s.client.Home, Page: s.web.link, Crew: s.crew, SendsPerSecond: s.sends,
		Clock: lookClock, Remind: lookEvery,
	})
	if s.web.url != "" {
		of := orderpage.Config{URL: s.web.url, Proxies: s.web.proxies, Log: s.log, Metrics: s.metrics}
		pages, err := orderpage.New(of, words, s.engine, s.store, papers(words, s.store))
		if err != nil {
			return err
		}
		s.at.pages.Store(pages)
	}
	s.receive = s.client.Receiver(s.engine, s.engine)
	s.receive.Gather, s.receive.Moved, s.receive.Admits = s.engine.Gather, s.engine.Moved, s.engine.Admits
	s.receive.Words = words
	s.menu = telegram.Menu{
		Words: words, Languages: words.Languages(), Commands: dialog.Commands, Groups: dialog.GroupCommands, Kept: s.store,
	}
	s.ready.store.Store(store)
	s.ready.receive.Store(s.receive)
	return nil
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
// in progress. The probes are served from the first moment on.
func (s *service) run(ctx context.Context) error {
	ctx, fail := context.WithCancelCause(ctx)
	defer fail(nil)
	if err := s.at.open(fail); err != nil {
		return err
	}
	store, err := s.await(ctx)
	if err == nil && store != nil {
		defer store.Close()
		err = s.assemble(store)
	}
	if err != nil || store == nil {
		leaving, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer cancel()
		s.at.close(leaving)
		return errors.Join(err, ended(ctx))
	}
	return errors.Join(s.work(ctx), ended(ctx))
}

// ended is the error of the server that ended ctx; nil if something else did.
func ended(ctx context.Context) error {
	if door, ok := errors.AsType[*doorError](context.Cause(ctx)); ok {
		return door
	}
	return nil
}

// work is run with Redis.
func (s *service) work(ctx context.Context) error {
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
		s.ready.told()
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
	s.at.close(leaving)
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
