package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"golang.org/x/time/rate"
)

// window is what is typed for one window; the last line brings the card.
var window = []string{
	"bare", "none", "white", "1204", "1202", "1203", "1050", "1052", "1051", "1595", "1596", "level",
	"left", "arch", "bedroom", "first", "900", "4-20-4", "no",
}

// lines are the survey up to the question before the card: every one has one
// reply.
var lines = append([]string{"England 2026-11-25"}, window[:len(window)-1]...)

// Chats have the ids from here: ten digits, as many as the platform's have.
const firstChat = 5_000_000_000

// platform is a messaging server that accepts every message and does nothing
// else: its cost is on both sides of the comparison.
type platform struct {
	url    string
	server *http.Server
	cards  atomic.Int64 // pictures that were sent
	sent   atomic.Int64 // messages, which are numbered
	// The platform says 429 to what comes faster; nil: it takes all.
	limit   atomic.Pointer[rate.Limiter]
	refused atomic.Int64

	mu      sync.Mutex
	waiting map[int]chan time.Time // by chat, for who waits for its next reply
}

func newPlatform() (*platform, error) {
	p := &platform{waiting: map[int]chan time.Time{}}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	p.url = "http://" + l.Addr().String()
	p.server = &http.Server{Handler: p}
	go p.server.Serve(l)
	return p, nil
}

// chatOf is the chat of a call, as a form or as JSON names it; below 0 for none.
func chatOf(body []byte) int {
	_, after, found := bytes.Cut(body, []byte("name=\"chat_id\"\r\n\r\n"))
	if !found {
		_, after, _ = bytes.Cut(body, []byte(`"chat_id":`))
	}
	digits := bytes.IndexFunc(after, func(r rune) bool { return r < '0' || r > '9' })
	if digits < 0 {
		return -1
	}
	chat, err := strconv.Atoi(string(after[:digits]))
	if err != nil {
		return -1
	}
	return chat
}

func (p *platform) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	body, err := io.ReadAll(r.Body)
	if err != nil {
		http.Error(w, "cut", http.StatusBadRequest)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	switch {
	case strings.HasSuffix(r.URL.Path, "/getMe"):
		io.WriteString(w, `{"ok":true,"result":{"id":4242,"is_bot":true,"first_name":"Bench","username":"bench_bot"}}`)
	case !strings.HasSuffix(r.URL.Path, "/sendMessage") && !strings.HasSuffix(r.URL.Path, "/sendPhoto"):
		io.WriteString(w, `{"ok":true,"result":true}`)
	default:
		if limit := p.limit.Load(); limit != nil && !limit.Allow() {
			p.refused.Add(1)
			w.WriteHeader(http.StatusTooManyRequests)
			io.WriteString(w, `{"ok":false,"error_code":429,"description":"Too Many Requests: retry after 1","parameters":{"retry_after":1}}`)
			return
		}
		chat := chatOf(body)
		if chat < firstChat {
			http.Error(w, "no such chat", http.StatusBadRequest)
			return
		}
		if strings.HasSuffix(r.URL.Path, "/sendPhoto") {
			p.cards.Add(1)
		}
		p.replied(chat - firstChat)
		fmt.Fprintf(w, `{"ok":true,"result":{"message_id":%d,"date":1,"chat":{"id":%d,"type":"private"}}}`, p.sent.Add(1), chat)
	}
}

// expect gives when the next reply comes to a chat. Who asks calls forget.
func (p *platform) expect(chat int) <-chan time.Time {
	p.mu.Lock()
	defer p.mu.Unlock()
	reply := make(chan time.Time, 1)
	p.waiting[chat] = reply
	return reply
}

func (p *platform) forget(chat int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.waiting, chat)
}

func (p *platform) replied(chat int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	select {
	case p.waiting[chat] <- time.Now():
	default: // nobody waits for more
	}
}

// loader plays people.
type loader struct {
	hook    string
	api     *platform
	workers int
	client  *http.Client
	// patience is how long a person waits for a reply.
	patience time.Duration
	update   atomic.Int64

	mu   sync.Mutex
	took []time.Duration // from message to reply
}

func newLoader(hook string, api *platform, workers int) *loader {
	l := &loader{hook: hook, api: api, workers: workers, patience: 30 * time.Second, client: &http.Client{
		Timeout:   30 * time.Second,
		Transport: pool(workers),
	}}
	l.update.Store(firstUpdate * 2)
	return l
}

// pool keeps as many connections as there are workers.
func pool(workers int) *http.Transport { return &http.Transport{MaxIdleConnsPerHost: workers} }

// send sends n messages, some in parallel, each in another chat, and waits for
// their replies.
func (l *loader) send(ctx context.Context, messages int, message func(n int) (chat int, text string)) error {
	var next atomic.Int64
	var all sync.WaitGroup
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	for range l.workers {
		all.Go(func() {
			var took []time.Duration
			for n := int(next.Add(1)) - 1; n < messages && ctx.Err() == nil; n = int(next.Add(1)) - 1 {
				chat, text := message(n)
				d, err := l.turn(ctx, chat, text)
				if err != nil {
					cancel(fmt.Errorf("%q: %w", text, err))
					return
				}
				took = append(took, d)
			}
			l.mu.Lock()
			defer l.mu.Unlock()
			l.took = append(l.took, took...)
		})
	}
	all.Wait()
	return context.Cause(ctx)
}

// turn is one message and its reply. It ends when the reply has reached the
// messaging server and the message is acknowledged, whichever is later: a bare
// bot acknowledges before it has done anything.
func (l *loader) turn(ctx context.Context, chat int, text string) (time.Duration, error) {
	id := firstChat + chat
	update := l.update.Add(1)
	person := map[string]any{"id": id, "is_bot": false, "first_name": "Person", "language_code": "en"}
	body, err := json.Marshal(map[string]any{"update_id": update, "message": map[string]any{
		"message_id": update, "date": time.Now().Unix(), "chat": map[string]any{"id": id, "type": "private"}, "from": person, "text": text,
	}})
	if err != nil {
		return 0, err
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, l.hook, bytes.NewReader(body))
	if err != nil {
		return 0, err
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("X-Telegram-Bot-Api-Secret-Token", secret)
	replied := l.api.expect(chat)
	defer l.api.forget(chat)
	begun := time.Now()
	resp, err := l.client.Do(req)
	if err != nil {
		return 0, err
	}
	io.Copy(io.Discard, resp.Body)
	resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		return 0, fmt.Errorf("the webhook answered %d", resp.StatusCode)
	}
	timer := time.NewTimer(l.patience)
	defer timer.Stop()
	acknowledged := time.Now()
	select {
	case at := <-replied:
		if at.Before(acknowledged) {
			at = acknowledged
		}
		return at.Sub(begun), nil
	case <-timer.C:
		return 0, fmt.Errorf("no reply in chat %d", chat)
	case <-ctx.Done():
		return 0, ctx.Err()
	}
}
