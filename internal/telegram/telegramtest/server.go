// Package telegramtest is a messaging server to test against: it answers as
// the platform's bot interface does, keeps to its limits, and fails on demand.
// It listens on loopback, keeps everything in memory and talks to nobody but
// the webhook that it is given.
//
// People are played with Type, Press and the like; what the bot sent is read
// with Sent and awaited with WaitSent. Faults are set with Fail, FailWhen,
// Again, HoldNext, Pause and Reverse.
//
// The limits and error texts are those of the platform's public description of
// the interface, as far as they could be given from memory.
package telegramtest

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"time"
)

// Token is the bot's token on every Server. It is no secret.
const Token = "4242:telegramtest-token_not-a-secret"

// The bot's own account.
const (
	BotID   = 4242
	BotName = "trial_window_bot"
)

const bodyLimit = 50 << 20

// Server is one messaging server with one bot. The fields may be set before
// the first call.
type Server struct {
	URL string // base address, without a slash at the end

	// PushFirst and PushMost bound the wait between two tries of a push to
	// the webhook; a Retry-After is kept to, up to PushMost. The platform's own
	// are longer.
	PushFirst, PushMost time.Duration
	Clock               func() time.Time
	Limits              Limits // of what the bot sends; none at first
	// TextMost and CaptionMost are how long a text and a caption may be; 0: as documented.
	TextMost, CaptionMost int

	http    *http.Server
	conns   map[net.Conn]bool // that are open
	base    context.Context
	stop    context.CancelFunc
	pushers sync.WaitGroup

	mu       sync.Mutex
	changed  chan struct{} // closed and replaced at every change
	faults   map[string][]Fault
	failWhen func(Call) *Fault
	calls    map[string]int
	rode     map[string]int // calls that came in the answers to pushes

	chats    map[int64]*Chat
	langs    map[int64]string
	names    map[int64]string
	messages map[int64][]*stored // by chat
	sent     []Sent
	lastID   int64             // message
	files    map[string][]byte // that people sent, by id
	shots    map[string]string // file id of what people sent → photo or document
	queries  map[string]int64
	uploads  map[string]upload // what the bot uploaded, by id
	toasts   []string          // shown at pressed buttons
	set      map[string]string // what setMy… set, by method and language

	queue     []*entry
	history   map[int64]*entry
	lastUpd   int64
	paused    bool
	conflicts int
	holdNext  bool
	reverse   bool
	allowed   []string
	poll      *poll
	hook      *hook
	pushes    []Push
	limits    limits
}

// Call is one call of the bot, as FailWhen sees it.
type Call struct {
	Method string
	Chat   int64 // 0: none
	N      int   // how many calls of this method there were, this one included
}

// Fault is how one call goes wrong.
type Fault struct {
	Status     int           // HTTP status and error code; 0 with Cut or only Delay
	RetryAfter int           // seconds, for 429
	Text       string        // description; "": a usual one
	Body       string        // sent in place of the usual JSON
	Cut        bool          // the connection is closed without an answer
	Taken      bool          // the call is carried out all the same
	Delay      time.Duration // before anything else
}

// The usual faults.
var (
	CutBefore   = Fault{Cut: true}
	CutAfter    = Fault{Cut: true, Taken: true}
	Failing     = Fault{Status: 500}
	BadGateway  = Fault{Status: 502, Body: "<html><body><h1>502 Bad Gateway</h1></body></html>"}
	BlockedByMe = Fault{Status: 403, Text: "Forbidden: bot was blocked by the user"}
)

// TooMany is the platform's brake.
func TooMany(seconds int) Fault { return Fault{Status: 429, RetryAfter: seconds} }

// Cleaner is what Start needs of a test.
type Cleaner interface {
	Helper()
	Cleanup(func())
	Fatalf(format string, args ...any)
}

// Start is a server that ends with the test.
func Start(t Cleaner) *Server {
	t.Helper()
	s, err := Listen("127.0.0.1:0")
	if err != nil {
		t.Fatalf("starting the messaging server: %v", err)
	}
	t.Cleanup(s.Close)
	return s
}

// Listen starts a server on an address of the loopback.
func Listen(address string) (*Server, error) {
	listener, err := net.Listen("tcp", address)
	if err != nil {
		return nil, err
	}
	s := &Server{
		URL:       "http://" + listener.Addr().String(),
		PushFirst: 20 * time.Millisecond,
		PushMost:  500 * time.Millisecond,
		Clock:     time.Now,
		changed:   make(chan struct{}),
		faults:    map[string][]Fault{},
		calls:     map[string]int{},
		rode:      map[string]int{},
		chats:     map[int64]*Chat{},
		langs:     map[int64]string{},
		names:     map[int64]string{},
		messages:  map[int64][]*stored{},
		queries:   map[string]int64{},
		uploads:   map[string]upload{}, shots: map[string]string{},
		set:     map[string]string{},
		history: map[int64]*entry{},
		conns:   map[net.Conn]bool{},
		lastUpd: 100,
	}
	s.base, s.stop = context.WithCancel(context.Background())
	s.http = &http.Server{Handler: http.HandlerFunc(s.serve), ReadHeaderTimeout: 10 * time.Second, ConnState: s.connected}
	go s.http.Serve(listener)
	return s, nil
}

func (s *Server) connected(c net.Conn, state http.ConnState) {
	s.mu.Lock()
	defer s.mu.Unlock()
	switch state {
	case http.StateNew:
		s.conns[c] = true
	case http.StateClosed, http.StateHijacked:
		delete(s.conns, c)
		s.change()
	}
}

// Connections is how many connections of the bot are open. At 0 nothing that
// a dead bot wrote is still on its way.
func (s *Server) Connections() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.conns)
}

// Close ends the server and every call to it.
func (s *Server) Close() {
	s.mu.Lock()
	s.stop()
	s.mu.Unlock()
	s.http.Close()
	s.pushers.Wait()
}

// Fail makes the next calls of a method go wrong, one fault a call, in order.
func (s *Server) Fail(method string, faults ...Fault) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.faults[strings.ToLower(method)] = append(s.faults[strings.ToLower(method)], faults...)
}

// FailWhen asks f about every call that no Fail is set for; nil lets it pass.
// f must not call the server.
func (s *Server) FailWhen(f func(Call) *Fault) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.failWhen = f
}

// Calls is how often a method was called, faults included.
func (s *Server) Calls(method string) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.calls[strings.ToLower(method)]
}

// change wakes everybody who waits. s.mu is held.
func (s *Server) change() {
	close(s.changed)
	s.changed = make(chan struct{})
}

// Wait returns nil as soon as done says so; it is asked again at every change.
// It gives up with ctx, and after a minute at the latest.
func (s *Server) Wait(ctx context.Context, done func() bool) error {
	ctx, cancel := context.WithTimeout(ctx, time.Minute)
	defer cancel()
	for {
		s.mu.Lock()
		changed := s.changed
		s.mu.Unlock()
		if done() {
			return nil
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return fmt.Errorf("waited in vain: %w", ctx.Err())
		}
	}
}

// params is what a call carries.
type params struct {
	values map[string]string
	files  map[string]*upload
}

type upload struct {
	name string
	data []byte
}

// problem is a refusal.
type problem struct {
	code       int
	text       string
	retryAfter int
	migrateTo  int64
}

func (p *problem) Error() string { return p.text }

func bad(format string, args ...any) *problem {
	return &problem{code: http.StatusBadRequest, text: "Bad Request: " + fmt.Sprintf(format, args...)}
}

func (s *Server) serve(w http.ResponseWriter, req *http.Request) {
	if id, ok := strings.CutPrefix(req.URL.Path, "/file/bot"+Token+"/documents/"); ok {
		s.serveFile(w, req, id)
		return
	}
	rest, ok := strings.CutPrefix(req.URL.Path, "/bot")
	token, method, hasMethod := strings.Cut(rest, "/")
	switch {
	case !ok || !hasMethod:
		refuse(w, &problem{code: http.StatusNotFound, text: "Not Found"})
		return
	case token != Token:
		refuse(w, &problem{code: http.StatusUnauthorized, text: "Unauthorized"})
		return
	case req.Method != http.MethodPost && req.Method != http.MethodGet:
		refuse(w, &problem{code: http.StatusMethodNotAllowed, text: "Method Not Allowed"})
		return
	}
	p, err := read(w, req)
	if err != nil {
		refuse(w, bad("can't read the request: %v", err))
		return
	}
	s.answer(w, req, strings.ToLower(method), p)
}

// read takes the parameters from the address and from a body of any of the
// three kinds that the platform takes.
func read(w http.ResponseWriter, req *http.Request) (params, error) {
	p := params{values: map[string]string{}, files: map[string]*upload{}}
	for name, v := range req.URL.Query() {
		p.values[name] = v[0]
	}
	kind, attrs, _ := mime.ParseMediaType(req.Header.Get("Content-Type"))
	body := http.MaxBytesReader(w, req.Body, bodyLimit)
	switch kind {
	case "application/json":
		return p, p.readJSON(body)
	case "multipart/form-data":
		return p, p.readMultipart(multipart.NewReader(body, attrs["boundary"]))
	}
	raw, err := io.ReadAll(body)
	if err != nil {
		return p, err
	}
	form, err := url.ParseQuery(string(raw))
	for name, v := range form {
		p.values[name] = v[0]
	}
	return p, err
}

func (p params) readJSON(body io.Reader) error {
	fields := map[string]json.RawMessage{}
	if err := json.NewDecoder(body).Decode(&fields); err != nil {
		return err
	}
	for name, raw := range fields {
		var text string
		if json.Unmarshal(raw, &text) != nil {
			text = string(raw)
		}
		p.values[name] = text
	}
	return nil
}

func (p params) readMultipart(r *multipart.Reader) error {
	for n := 0; ; n++ {
		part, err := r.NextPart()
		if err == io.EOF {
			return nil
		}
		if n == 0 && errors.Is(err, io.EOF) {
			return nil // a call without parameters comes with an empty body
		}
		if err != nil {
			return err
		}
		data, err := io.ReadAll(part)
		if err != nil {
			return err
		}
		if part.FileName() != "" {
			p.files[part.FormName()] = &upload{part.FileName(), data}
			continue
		}
		p.values[part.FormName()] = string(data)
	}
}

func (p params) int(name string, fallback int64) (int64, error) {
	if p.values[name] == "" {
		return fallback, nil
	}
	n, err := strconv.ParseInt(p.values[name], 10, 64)
	if err != nil {
		return 0, bad("%s must be a number", name)
	}
	return n, nil
}

// json decodes a parameter that holds JSON; absent: out is left alone.
func (p params) json(name string, out any) error {
	if p.values[name] == "" {
		return nil
	}
	if err := json.Unmarshal([]byte(p.values[name]), out); err != nil {
		return bad("can't parse %s JSON object", name)
	}
	return nil
}

// answer carries out one call, or its fault.
func (s *Server) answer(w http.ResponseWriter, req *http.Request, method string, p params) {
	fault := s.fault(method, p)
	if fault != nil && !pause(req.Context(), fault.Delay) {
		return
	}
	faulty := fault != nil && (fault.Cut || fault.Status != 0)
	if faulty && !fault.Taken {
		fail(w, fault)
		return
	}
	if early := s.limit(method, p); early != nil {
		refuse(w, early)
		return
	}
	result, err := s.call(req.Context(), method, p, !faulty)
	switch {
	case faulty:
		fail(w, fault)
	case err != nil:
		refuse(w, err)
	default:
		reply(w, http.StatusOK, map[string]any{"ok": true, "result": result})
	}
}

func (s *Server) fault(method string, p params) *Fault {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.calls[method]++
	s.change()
	if waiting := s.faults[method]; len(waiting) > 0 {
		s.faults[method] = waiting[1:]
		return &waiting[0]
	}
	if s.failWhen == nil {
		return nil
	}
	chat, _ := p.int("chat_id", 0)
	return s.failWhen(Call{Method: method, Chat: chat, N: s.calls[method]})
}

func pause(ctx context.Context, d time.Duration) bool {
	if d <= 0 {
		return true
	}
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return true
	case <-ctx.Done():
		return false
	}
}

func fail(w http.ResponseWriter, f *Fault) {
	if f.Cut {
		panic(http.ErrAbortHandler)
	}
	if f.Body != "" {
		if strings.HasPrefix(f.Body, "<") {
			w.Header().Set("Content-Type", "text/html")
		}
		w.WriteHeader(f.Status)
		io.WriteString(w, f.Body)
		return
	}
	text := f.Text
	if text == "" {
		text = http.StatusText(f.Status)
		if f.Status == http.StatusTooManyRequests {
			text = fmt.Sprintf("Too Many Requests: retry after %d", f.RetryAfter)
		}
	}
	refuse(w, &problem{code: f.Status, text: text, retryAfter: f.RetryAfter})
}

func refuse(w http.ResponseWriter, err error) {
	var p *problem
	if !errors.As(err, &p) {
		p = &problem{code: http.StatusInternalServerError, text: "Internal Server Error"}
	}
	body := map[string]any{"ok": false, "error_code": p.code, "description": p.text}
	if p.retryAfter > 0 {
		body["parameters"] = map[string]any{"retry_after": p.retryAfter}
	}
	if p.migrateTo != 0 {
		body["parameters"] = map[string]any{"migrate_to_chat_id": p.migrateTo}
	}
	reply(w, p.code, body)
}

func reply(w http.ResponseWriter, status int, body any) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	json.NewEncoder(w).Encode(body)
}
