package tryit

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log"
	"log/slog"
	"net"
	"net/http"
	"sync/atomic"
	"time"

	"sillbot/internal/dialog"
	"sillbot/locales"
)

// leaving is how long what is in hand has when the program is told to leave.
const leaving = 700 * time.Millisecond

// Listen listens for a trial on this machine alone. 0 is any port that is free.
func Listen(port int) (net.Listener, error) {
	at, err := net.Listen("tcp4", fmt.Sprintf("127.0.0.1:%d", port))
	if err != nil {
		return nil, fmt.Errorf("listening for the page: %w", err)
	}
	return at, nil
}

// Open makes a trial ready to be seen at a listener, which must be of this machine
// alone, and gives the address of its page.
func (t *Trial) Open(at net.Listener) (address string, err error) {
	t.book = newBook()
	if t.door, err = newDoor(at.Addr()); err != nil {
		return "", err
	}
	return t.door.address(), nil
}

// Home is the address that opens a link with its token put after it.
func (t *Trial) Home() string { return t.door.address() + "open/" }

// Serve shows the page until ctx ends, and leaves within a second then. Open comes
// first.
func (t *Trial) Serve(ctx context.Context, at net.Listener, taker Taker, logger *slog.Logger) error {
	// What the fitter sees first is what somebody who finds the bot sees.
	first := dialog.Input{Kind: dialog.Typed, Lang: locales.Default, Text: "/start"}
	if err := t.take(ctx, taker, chairs[0], chairs[0].who[0], first); err != nil {
		return errors.Join(err, at.Close())
	}
	server := &http.Server{
		Handler:           t.Handler(taker, logger),
		BaseContext:       func(net.Listener) context.Context { return ctx }, // ends the event streams
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       30 * time.Second,
		IdleTimeout:       time.Minute,
		MaxHeaderBytes:    1 << 14,
		ErrorLog:          log.New(io.Discard, "", 0), // it would print what was sent
	}
	go t.remind(ctx, taker, logger)
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(at) }()
	select {
	case err := <-ended:
		return fmt.Errorf("the page's server ended: %w", err)
	case <-ctx.Done():
	}
	soon, cancel := context.WithTimeout(context.WithoutCancel(ctx), leaving)
	defer cancel()
	if server.Shutdown(soon) != nil {
		_ = server.Close()
	}
	return nil
}

// Handler is all that the server answers.
func (t *Trial) Handler(taker Taker, logger *slog.Logger) http.Handler {
	var streams atomic.Int32
	p := posts{t, taker, logger}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", t.front)
	mux.HandleFunc("GET /events", t.events(&streams))
	mux.HandleFunc("GET /open/{token}", t.opened)
	mux.HandleFunc("GET /file/{id}", t.kept)
	mux.HandleFunc("GET /page.css", asset("page.css", "text/css; charset=utf-8"))
	mux.HandleFunc("GET /page.js", asset("page.js", "text/javascript; charset=utf-8"))
	mux.HandleFunc("GET /icon.svg", asset("icon.svg", "image/svg+xml"))
	mux.HandleFunc("POST /say", p.form(p.say))
	mux.HandleFunc("POST /open", p.form(p.open))
	mux.HandleFunc("POST /clock", p.form(p.forward))
	return t.door.guard(mux, logger)
}

// remindTime is the time between looks for what people are to be reminded of.
const remindTime = 15 * time.Second

// remind reminds people while nobody types, until ctx ends.
func (t *Trial) remind(ctx context.Context, taker Taker, logger *slog.Logger) {
	every := time.NewTicker(remindTime)
	defer every.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-every.C:
			if err := t.pass(ctx, taker, by(0)); err != nil {
				logger.Error("reminders failed", "err", err)
			}
		}
	}
}
