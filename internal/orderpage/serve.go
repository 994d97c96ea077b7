package orderpage

import (
	"errors"
	"net/http"
	"strings"

	"sillbot/internal/engine"
)

// ServeHTTP answers a browser.
func (p *Pages) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	head(w.Header())
	r.Body = http.MaxBytesReader(w, r.Body, mostBody)
	err := p.route(w, r)
	var slow *limited
	switch {
	case err == nil:
	case errors.Is(err, engine.ErrNoPage):
		p.answer(w, http.StatusNotFound, "none", p.plain("page.gone.title", "page.gone"))
	case errors.As(err, &slow):
		w.Header().Set("Retry-After", "60")
		p.answer(w, http.StatusTooManyRequests, "limited", p.plain("page.busy.title", "page.busy"))
	default:
		p.log.Warn("a page failed", "err", err)
		p.answer(w, http.StatusServiceUnavailable, "failed", p.plain("page.later.title", "page.later"))
	}
}

// route finds what is asked for. Whatever there is none of is engine.ErrNoPage, which
// has one answer, so that nobody learns why.
func (p *Pages) route(w http.ResponseWriter, r *http.Request) error {
	path, under := strings.CutPrefix(r.URL.EscapedPath(), p.base+"/")
	if !under || looks(r) {
		return engine.ErrNoPage
	}
	get := r.Method == http.MethodGet || r.Method == http.MethodHead
	if path == "o" {
		switch {
		case get:
			return p.showOpen(w)
		case r.Method == http.MethodPost:
			return p.open(w, r)
		}
		return engine.ErrNoPage
	}
	b, place, rest, err := p.let(r, path)
	if err != nil {
		return err
	}
	switch {
	case rest == "" && get:
		return p.show(w, r, b, place)
	case rest == "" && r.Method == http.MethodPost:
		return p.act(w, r, b, place)
	case rest == "live" && r.Method == http.MethodGet:
		return p.live(w, r, b.pages[place-1].Chat)
	case strings.HasPrefix(rest, "paper/") && r.Method == http.MethodGet:
		return p.paper(w, r, b.pages[place-1].Chat, strings.TrimPrefix(rest, "paper/"))
	}
	return engine.ErrNoPage
}
