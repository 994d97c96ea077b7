// Package orderpage serves the order to a supplier's desk without the messenger, and the
// windows to the customer: pages in a browser. Each is a chat of its own, see
// talk.IsPage; what is pressed goes through the engine as what a chat presses does, so
// that one table says who may do what, and what is shown is read from the owner's record
// each time, so that a chair that was taken back shows nothing more.
//
// A link has its token behind #, which no browser sends with GET: programs that look at
// links in mail can't use it up. What lets a browser in afterwards is a cookie, of which
// Redis has a hash. Everything else is in Redis too, so any replica serves any page. From
// the lowest file upwards: view.go is what a page is made of, head.go what stands before
// each answer, limit.go how often it may be asked, orderpage.go what all share, browser.go
// who asks, show.go what a page holds, act.go what is pressed, live.go what is new, and
// serve.go all of it.
package orderpage

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"strings"
	"sync"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promauto"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
	"sillbot/locales"
)

// Config is what pages need.
type Config struct {
	// URL is where they are to everybody: https, without a query or a fragment. Plain
	// http is for a browser on the same machine alone.
	URL string
	// Proxies is how many programs of one's own stand before this one, each of which adds
	// who called it to X-Forwarded-For; 0: the header is not believed.
	Proxies int
	Log     *slog.Logger
	Metrics prometheus.Registerer
}

// Papers makes a document: its name and its bytes.
type Papers func(ctx context.Context, lang string, chat int64, d dialog.Document) (string, []byte, error)

// Pages serves them.
type Pages struct {
	origin  string // scheme and host
	base    string // path before every page's own, without a slash at its end
	proxies int
	log     *slog.Logger
	served  *prometheus.CounterVec
	limits  *limits
	looking chan struct{} // full when as many follow a page as may
	follow  followers
	leaving chan struct{} // closed when nobody is to follow one any more
	leave   sync.Once

	words  *locales.Catalogue
	engine *engine.Engine
	store  *session.Store
	papers Papers
}

// Base is the path that all pages stand under, and the address that a link's token is put
// after. Errors: an address that pages can't have; none quotes it.
func Base(address string) (base, link string, err error) {
	u, err := url.Parse(address)
	switch {
	case err != nil || u.Host == "" || u.User != nil || u.RawQuery != "" || u.Fragment != "" || u.Opaque != "":
		return "", "", errors.New("no address of pages, such as https://orders.example/desk")
	case u.Scheme != "https" && !(u.Scheme == "http" && loopback(u.Hostname())):
		return "", "", errors.New("pages need https")
	}
	base = strings.TrimRight(u.EscapedPath(), "/")
	return base, u.Scheme + "://" + u.Host + base + "/o#", nil
}

func loopback(host string) bool { return host == "localhost" || host == "127.0.0.1" || host == "::1" }

// New is pages on an engine and its store.
func New(c Config, words *locales.Catalogue, e *engine.Engine, store *session.Store, papers Papers) (*Pages, error) {
	base, link, err := Base(c.URL)
	if err != nil {
		return nil, err
	}
	return &Pages{
		origin: strings.TrimSuffix(link, base+"/o#"), base: base, proxies: c.Proxies, log: c.Log,
		served: promauto.With(c.Metrics).NewCounterVec(prometheus.CounterOpts{
			Name: "sillbot_page_answers_total",
			Help: "Answers to browsers, by what they were: shown, done, none (no such page), limited, failed.",
		}, []string{"result"}),
		limits: newLimits(), looking: make(chan struct{}, mostLooking), leaving: make(chan struct{}),
		words: words, engine: e, store: store, papers: papers,
	}, nil
}

// Leave lets go of the browsers that follow a page: they come again, to whoever is there.
func (p *Pages) Leave() { p.leave.Do(func() { close(p.leaving) }) }

// limited is a browser that asks too often.
type limited struct{}

func (*limited) Error() string { return "too many calls" }

// at is the path of a page of a browser.
func (p *Pages) at(place int) string { return fmt.Sprintf("%s/order/%d", p.base, place) }

func (p *Pages) caller(r *http.Request) string { return callerOf(r, p.proxies) }

// mostLooking is how many pages are followed at once in a process; others are loaded
// again by hand.
const mostLooking = 300

// plain is a page that says one thing. It is the same for everybody.
func (p *Pages) plain(title, line string) sheetOf {
	return sheetOf{Lang: fallback, Title: p.say(fallback, phrase.Of(title)), Lines: []string{p.say(fallback, phrase.Of(line))}}
}

// fallback is the language of a page of which nobody is known to read it.
const fallback = "en"

func (p *Pages) say(lang string, t phrase.Text) string { return p.words.Plain(lang, t) }

// answer writes a page.
func (p *Pages) answer(w http.ResponseWriter, status int, result string, s sheetOf) {
	var page bytes.Buffer
	if err := pages.Execute(&page, s); err != nil {
		p.log.Error("a page can't be written", "err", err)
		status, result = http.StatusInternalServerError, "failed"
		page.Reset()
	}
	p.served.WithLabelValues(result).Inc()
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(page.Bytes()) // who went away needs no answer
}
