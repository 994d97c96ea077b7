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
	"strings"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
	"sillbot/internal/telegram"
	"sillbot/internal/turn"
	"sillbot/locales"
)

// grace is how long the program may take to leave after SIGTERM.
const grace = 10 * time.Second

// config is the environment of serve.
type config struct {
	telegram telegram.Config
	redis    string
	listen   string
	level    slog.Level
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
	if level := get("LOG_LEVEL"); level != "" {
		if err := c.level.UnmarshalText([]byte(level)); err != nil {
			return c, errors.New("LOG_LEVEL is none of debug, info, warn, error")
		}
	}
	return c, nil
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
	desk    *turn.Desk
	receive *telegram.Receiver
	metrics *prometheus.Registry
}

// serve takes updates from the messaging platform until ctx ends, then leaves
// within the grace.
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
	s := &service{config: c, metrics: prometheus.NewRegistry()}
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
	s.desk = turn.New(s.store, s.client.Sender(words, painter(words)), turn.Options{Log: s.log, Metrics: s.metrics})
	s.receive = s.client.Receiver(s.desk, buried{s.desk, s.log})
	menu := telegram.Menu{Words: words, Languages: words.Languages(), Commands: dialog.Commands}
	if err := s.client.Publish(ctx, menu); err != nil {
		s.log.Warn("the menu could not be set", "error", err)
	}
	return s, nil
}

// buried keeps what can't be read, through the desk.
type buried struct {
	desk *turn.Desk
	log  *slog.Logger
}

func (b buried) Dead(ctx context.Context, raw []byte, why string) error {
	b.log.Warn("an update can't be read", "why", why, "bytes", len(raw))
	return b.desk.Bury(ctx, raw)
}

// run takes and sends until ctx ends, then finishes what is in hand.
func (s *service) run(ctx context.Context) error {
	server, err := s.listenAndServe()
	if err != nil {
		return err
	}
	if err := s.client.Connect(ctx); err != nil {
		return err
	}
	// The couriers outlive ctx, so that what was taken is still sent.
	sending, stopSending := context.WithCancel(context.WithoutCancel(ctx))
	defer stopSending()
	var all sync.WaitGroup
	all.Go(func() {
		if err := s.desk.Run(sending); err != nil {
			s.log.Error("sending ended", "error", err)
		}
	})
	s.log.Info("ready", "webhook", s.telegram.WebhookURL != "")
	if s.telegram.WebhookURL == "" {
		s.receive.Poll(ctx)
	}
	<-ctx.Done()
	s.log.Info("leaving")
	leaving, cancel := context.WithTimeout(context.WithoutCancel(ctx), grace)
	defer cancel()
	if server != nil {
		if err := server.Shutdown(leaving); err != nil {
			s.log.Warn("requests were cut off", "error", err)
		}
	}
	s.receive.Wait()
	if err := s.desk.Drain(leaving); err != nil {
		s.log.Warn("replies wait in Redis for the next start", "error", err)
	}
	stopSending()
	all.Wait()
	return nil
}

// listenAndServe opens the address for the webhook and the operators; nil
// when none is configured.
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
	if s.telegram.WebhookURL != "" {
		mux.Handle(s.telegram.WebhookPath(), s.receive)
	}
	return mux
}

// ready says whether Redis and the platform answer.
func (s *service) ready(w http.ResponseWriter, r *http.Request) {
	ctx, cancel := context.WithTimeout(r.Context(), 5*time.Second)
	defer cancel()
	for name, ask := range map[string]func(context.Context) error{"redis": s.store.Ping, "platform": s.client.Ready} {
		if err := ask(ctx); err != nil {
			s.log.Warn("not ready", "of", name, "error", err)
			http.Error(w, name+" does not answer", http.StatusServiceUnavailable)
			return
		}
	}
	fmt.Fprintln(w, "ready")
}
