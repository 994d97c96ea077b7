package orderpage

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"time"

	"sillbot/internal/engine"
)

// How long an answer that says what is new lasts before the browser asks again, how often
// it is looked whether anything is, and how often something is sent so that no program
// between takes the line for dead.
const (
	liveMost = 4 * time.Minute
	liveLook = 400 * time.Millisecond
	liveBeat = 15 * time.Second
)

// live says, as server-sent events, that a page shows something new: the event's id is
// the page's stamp, so that a browser that was cut off learns at once what it missed. It
// looks and is not told, because whatever changes the page, on whichever replica, is in
// Redis, and a look costs three reads of a few bytes.
func (p *Pages) live(w http.ResponseWriter, r *http.Request, chat int64) error {
	if !p.follow.begin(chat) {
		return &limited{}
	}
	defer p.follow.end(chat)
	select {
	case p.looking <- struct{}{}:
		defer func() { <-p.looking }()
	default:
		return &limited{}
	}
	has := r.Header.Get("Last-Event-ID")
	if has == "" {
		has = r.URL.Query().Get("has")
	}
	if _, err := p.engine.Stamp(r.Context(), chat); err != nil {
		return err
	}
	to := http.NewResponseController(w)
	_ = to.SetWriteDeadline(time.Now().Add(liveMost + liveBeat)) // of a server that has one
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("X-Accel-Buffering", "no")
	p.served.WithLabelValues("shown").Inc()
	ctx, cancel := context.WithTimeout(r.Context(), liveMost)
	defer cancel()
	sent := time.Time{}
	for {
		now, err := p.engine.Stamp(ctx, chat)
		gone := errors.Is(err, engine.ErrNoPage)
		said := ""
		switch {
		case gone || err == nil && now.String() != has:
			said = fmt.Sprintf("id: %s\nevent: new\ndata: 1\n\n", now)
			has = now.String()
		case time.Since(sent) >= liveBeat:
			said = ": here\n\n"
		}
		if said != "" {
			if _, err := fmt.Fprint(w, said); err != nil || to.Flush() != nil {
				return nil // the browser went away
			}
			sent = time.Now()
		}
		if gone {
			return nil
		}
		select {
		case <-time.After(liveLook):
		case <-ctx.Done():
			return nil
		case <-p.leaving:
			return nil
		}
	}
}
