package tryit

import (
	"crypto/rand"
	"crypto/subtle"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"runtime/debug"
	"slices"
	"strings"
	"time"
)

// door is what a page must know to be let in: all of it is drawn when the program
// starts, and goes with it.
type door struct {
	path  string // "/" and 130 random bits and "/"
	csrf  string
	port  string
	hosts []string // that a browser may call it by
}

func newDoor(at net.Addr) (door, error) {
	tcp, ok := at.(*net.TCPAddr)
	if !ok || !tcp.IP.IsLoopback() {
		return door{}, fmt.Errorf("a trial is for this machine alone, and %s is not", at)
	}
	_, port, err := net.SplitHostPort(at.String())
	if err != nil {
		return door{}, err
	}
	return door{
		path: "/" + strings.ToLower(rand.Text()) + "/", csrf: rand.Text(), port: port,
		hosts: []string{net.JoinHostPort("127.0.0.1", port), net.JoinHostPort("localhost", port)},
	}, nil
}

// address is where the page is.
func (d door) address() string { return "http://" + d.hosts[0] + d.path }

// same compares what came with a secret, in the same time whatever came.
func same(got, secret string) bool {
	return subtle.ConstantTimeCompare([]byte(got), []byte(secret)) == 1
}

// answerTime is how long a form and its answer may take, a turn of 30 s among it, and
// writeTime how long a browser may take to take an event.
const (
	answerTime = 45 * time.Second
	writeTime  = 10 * time.Second
)

// guard lets through what comes from the page itself. Whoever calls the program by
// another name came by a name that was made to lead here; whoever does not know the
// path learns nothing, not even that there is a trial.
func (d door) guard(next http.Handler, log *slog.Logger) http.Handler {
	own := http.NewCrossOriginProtection().Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			v := recover()
			if v == http.ErrAbortHandler {
				panic(v)
			}
			if v != nil {
				log.Error("panic in a page", "stack", string(debug.Stack()))
				http.Error(w, http.StatusText(http.StatusInternalServerError), http.StatusInternalServerError)
			}
		}()
		nonce := rand.Text()
		closed(w.Header(), nonce)
		if !slices.Contains(d.hosts, r.Host) {
			http.Error(w, http.StatusText(http.StatusMisdirectedRequest), http.StatusMisdirectedRequest)
			return
		}
		if len(r.URL.Path) < len(d.path) || !same(r.URL.Path[:len(d.path)], d.path) {
			http.NotFound(w, r)
			return
		}
		// An event stream sets its own.
		_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(answerTime))
		inside := r.Clone(r.Context())
		inside.URL.Path, inside.URL.RawPath = "/"+r.URL.Path[len(d.path):], ""
		inside.Header.Set(nonceHeader, nonce)
		own.ServeHTTP(w, inside)
	})
}

// nonceHeader brings the nonce of a page to whoever writes it; what a client sent by
// that name is written over.
const nonceHeader = "Sillbot-Nonce"

// closed sets what a browser may do with an answer: next to nothing.
func closed(h http.Header, nonce string) {
	h.Set("Content-Security-Policy", "default-src 'none'; script-src 'nonce-"+nonce+"'; style-src 'nonce-"+nonce+"'; img-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Cache-Control", "no-store")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("X-Robots-Tag", "noindex")
}
