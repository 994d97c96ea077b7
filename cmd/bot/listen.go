package main

import (
	"context"
	"errors"
	"fmt"
	"log"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"sync/atomic"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"sillbot/internal/orderpage"
)

// pages are the operators' paths.
var pages = []string{"/healthz", "/readyz", "/readyz/turns", "/metrics"}

// doors are the addresses that the program listens at.
type doors struct {
	hook, ops   string // addresses; "": none
	path        string // of the webhook; "": there is none
	log         *slog.Logger
	ready       *readiness
	metrics     *prometheus.Registry
	web         orderPages
	pages       atomic.Pointer[orderpage.Pages] // nil until Redis answered
	listeners   []net.Listener
	httpServers []*http.Server
}

// doorError is a server that ended by itself.
type doorError struct {
	name string
	err  error
}

func (e *doorError) Error() string { return fmt.Sprintf("%s: the server ended: %v", e.name, e.err) }

func (e *doorError) Unwrap() error { return e.err }

// open listens. What is called at hook and at ops is kept apart when there are
// both; without ops, hook has all. fail is called when a server ends by itself.
func (d *doors) open(fail func(error)) error {
	type door struct {
		name, address string
		handler       http.Handler
	}
	var all []door
	switch {
	case d.ops == "" && d.hook != "":
		if d.path != "" {
			d.log.Warn("probes and figures are at the address that the platform calls; LISTEN_OPS keeps them apart")
		}
		all = []door{{"LISTEN", d.hook, d.both()}}
	case d.ops != "" && (d.path != "" || d.web.shared()):
		all = []door{{"LISTEN", d.hook, d.hooked(http.NotFoundHandler())}, {"LISTEN_OPS", d.ops, d.operators()}}
	case d.ops != "":
		all = []door{{"LISTEN_OPS", d.ops, d.operators()}} // nobody calls a program that polls
	}
	if d.web.listen != "" {
		all = append(all, door{"WEB_LISTEN", d.web.listen, http.HandlerFunc(d.page)})
	}
	for _, one := range all {
		listener, err := net.Listen("tcp", one.address)
		if err != nil {
			d.close(context.Background())
			return fmt.Errorf("%s: listening: %w", one.name, err)
		}
		server := &http.Server{
			Handler:           one.handler,
			ReadHeaderTimeout: 5 * time.Second,
			ReadTimeout:       15 * time.Second,
			WriteTimeout:      30 * time.Second,
			IdleTimeout:       2 * time.Minute,
			MaxHeaderBytes:    1 << 14,
			ErrorLog:          log.New(hush{d.log}, "", 0),
		}
		server.RegisterOnShutdown(func() {
			if pages := d.pages.Load(); pages != nil {
				pages.Leave()
			}
		})
		d.listeners, d.httpServers = append(d.listeners, listener), append(d.httpServers, server)
		d.log.Info("listening", "for", one.name, "address", listener.Addr().String())
		go func() {
			if err := server.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
				fail(&doorError{one.name, err})
			}
		}()
	}
	return nil
}

// close lets the requests in hand finish before ctx ends.
func (d *doors) close(ctx context.Context) {
	for _, server := range d.httpServers {
		if err := server.Shutdown(ctx); err != nil {
			d.log.Warn("requests were cut off", "error", err)
		}
	}
	for _, listener := range d.listeners {
		_ = listener.Close() // its server may not have begun, or has closed it
	}
}

func (d *doors) both() http.Handler {
	if d.path == "" && !d.web.shared() {
		return d.operators()
	}
	return d.hooked(d.operators())
}

func (d *doors) operators() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) { fmt.Fprintln(w, "ok") })
	mux.HandleFunc("GET /readyz", d.ready.all)
	mux.HandleFunc("GET /readyz/turns", d.ready.turns)
	mux.Handle("GET /metrics", promhttp.HandlerFor(d.metrics, promhttp.HandlerOpts{}))
	return mux
}

// hooked serves the webhook, and others what is not it. It is no pattern of a mux:
// the operator's path may hold characters that a pattern gives a meaning.
func (d *doors) hooked(others http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		receive := d.ready.receive.Load()
		switch {
		case d.web.shared() && strings.HasPrefix(r.URL.EscapedPath(), d.web.base+"/"):
			d.page(w, r)
		case d.path == "" || r.URL.Path != d.path:
			others.ServeHTTP(w, r)
		case receive == nil: // Redis is still waited for
			w.Header().Set("Retry-After", "1")
			http.Error(w, "not taken", http.StatusServiceUnavailable)
		default:
			receive.ServeHTTP(w, r)
		}
	})
}

// page serves pages once Redis answered.
func (d *doors) page(w http.ResponseWriter, r *http.Request) {
	pages := d.pages.Load()
	if pages == nil {
		w.Header().Set("Retry-After", "1")
		http.Error(w, "not ready", http.StatusServiceUnavailable)
		return
	}
	pages.ServeHTTP(w, r)
}
