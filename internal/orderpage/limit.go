package orderpage

import (
	"maps"
	"net/http"
	"net/netip"
	"strings"
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// How often something may be asked for: by a browser that was let in, whatever else comes
// from its address, of which an office may have one for all; by an address with cookies
// of nobody; and to open links, by an address and for one link. What has no cookie and
// opens nothing is not counted: its answer is a page that is the same for everybody, and
// so would be the one that says no. They count in each process by itself: to guess a link would take 2^127 tries
// however many there are. Common practice, no source.
var (
	byAddress = bucket{20, 120}
	byBrowser = bucket{4, 40}
	toOpen    = bucket{0.2, 10}
)

type bucket struct {
	perSecond rate.Limit
	burst     int
}

// mostKnown is how many of each are remembered at once; when there are more, those that
// have not spent anything are forgotten, and if that does not help all are.
const mostKnown = 20_000

// limits knows who asked of late.
type limits struct {
	clock func() time.Time
	mu    sync.Mutex
	known map[string]*rate.Limiter
}

func newLimits() *limits { return &limits{clock: time.Now, known: map[string]*rate.Limiter{}} }

func (l *limits) allow(b bucket, who string) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	now := l.clock()
	one := l.known[who]
	if one == nil {
		if len(l.known) >= mostKnown {
			maps.DeleteFunc(l.known, func(_ string, r *rate.Limiter) bool { return r.TokensAt(now) >= float64(r.Burst()) })
		}
		if len(l.known) >= mostKnown {
			clear(l.known)
		}
		one = rate.NewLimiter(b.perSecond, b.burst)
		l.known[who] = one
	}
	return one.AllowN(now, 1)
}

func (l *limits) address(from string) bool { return l.allow(byAddress, "a "+from) }
func (l *limits) browser(hash string) bool { return l.allow(byBrowser, "b "+hash) }

// letIn is whether a browser was let in of late.
func (l *limits) letIn(hash string) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.known["b "+hash] != nil
}

// open counts a try to open a link; what can be none counts for nobody's.
func (l *limits) open(from, token string, fits bool) bool {
	return l.allow(toOpen, "o "+from) && (!fits || l.allow(toOpen, "t "+token))
}

// followers counts by chat who follows a page.
type followers struct {
	mu sync.Mutex
	by map[int64]int
}

// mostOfOne is how many may follow one page: an office has it open in a few tabs.
const mostOfOne = 5

// begin is whether one more may, who ends it then.
func (f *followers) begin(chat int64) bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.by[chat] >= mostOfOne {
		return false
	}
	if f.by == nil {
		f.by = map[int64]int{}
	}
	f.by[chat]++
	return true
}

func (f *followers) end(chat int64) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.by[chat]--; f.by[chat] <= 0 {
		delete(f.by, chat)
	}
}

// callerOf is the address that a call comes from, as far as it can be believed. Of IPv6 it
// is the network, of which one caller has every address.
func callerOf(r *http.Request, proxies int) string {
	from := r.RemoteAddr
	if proxies > 0 {
		list := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
		if at := len(list) - proxies; at >= 0 {
			from = strings.TrimSpace(list[at])
		}
	}
	if with, err := netip.ParseAddrPort(from); err == nil {
		from = with.Addr().String()
	}
	addr, err := netip.ParseAddr(from)
	if err != nil {
		return "?"
	}
	if addr = addr.Unmap().WithZone(""); addr.Is6() {
		if net, err := addr.Prefix(64); err == nil {
			return net.String()
		}
	}
	return addr.String()
}
