package telegramtest

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"
)

const pushTimeout = 20 * time.Second

// entry is one update that the bot has not acknowledged.
type entry struct {
	id        int64
	chat      int64 // whose order is kept when pushing
	raw       json.RawMessage
	delivered bool
	held      bool
	pushing   bool
}

// poll is the call for updates that is open.
type poll struct{ ended chan struct{} }

// hook is the webhook that is set.
type hook struct {
	url, secret string
	connections int
	lastError   string
	lastFailed  time.Time
	slots       chan struct{}
	ctx         context.Context
	stop        context.CancelFunc
}

// Push is one try to push an update to the webhook.
type Push struct {
	Update int64
	Status int // 0: no answer
}

var usual = []string{"message", "edited_message", "callback_query", "my_chat_member", "channel_post", "inline_query", "poll"}

// wants says whether the bot asked for a kind of update. s.mu is held.
func (s *Server) wants(kind string) bool {
	if len(s.allowed) == 0 {
		return slices.Contains(usual, kind)
	}
	return slices.Contains(s.allowed, kind)
}

// enqueue adds an update. s.mu is held.
func (s *Server) enqueue(id, chat int64, raw json.RawMessage) {
	e := &entry{id: id, chat: chat, raw: raw, held: s.holdNext}
	s.holdNext = false
	s.queue = append(s.queue, e)
	s.history[id] = e
	s.change()
	s.pushNext()
}

// push makes an update and gives its id. It is lost when the bot did not ask
// for its kind. s.mu is held.
func (s *Server) push(chat int64, kind string, payload any) int64 {
	s.lastUpd++
	raw, err := json.Marshal(map[string]any{"update_id": s.lastUpd, kind: payload})
	if err != nil {
		panic(err) // only ever called with what can be written
	}
	if s.wants(kind) {
		s.enqueue(s.lastUpd, chat, raw)
	}
	return s.lastUpd
}

// PushRaw puts an update into the queue as it is, whether or not the bot asked
// for its kind. Every "ID" in it is replaced by the id, which is returned.
func (s *Server) PushRaw(chat int64, raw string) int64 {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.lastUpd++
	id := strconv.FormatInt(s.lastUpd, 10)
	s.enqueue(s.lastUpd, chat, bytes.ReplaceAll([]byte(raw), []byte(`"ID"`), []byte(id)))
	return s.lastUpd
}

// Again delivers an update once more, whether or not it was acknowledged.
func (s *Server) Again(id int64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if e := s.history[id]; e != nil {
		s.enqueue(id, e.chat, e.raw)
	}
}

// Raw is an update as it is delivered.
func (s *Server) Raw(id int64) json.RawMessage {
	s.mu.Lock()
	defer s.mu.Unlock()
	if e := s.history[id]; e != nil {
		return e.raw
	}
	return nil
}

// HoldNext keeps the next update back until Release; what comes after it goes
// first.
func (s *Server) HoldNext() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.holdNext = true
}

// Release lets a held update go, late.
func (s *Server) Release(id int64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if e := s.history[id]; e != nil {
		e.held = false
	}
	s.change()
	s.pushNext()
}

// Pause stops delivery, by polling and by webhook, or lets it go on. What
// people do meanwhile waits.
func (s *Server) Pause(paused bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.paused = paused
	s.change()
	s.pushNext()
}

// Reverse makes the next polled batch of more than one update come in the
// wrong order.
func (s *Server) Reverse() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.reverse = true
}

// Pending is how many updates the bot has not acknowledged.
func (s *Server) Pending() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.queue)
}

// WaitTaken waits until the bot has acknowledged every update.
func (s *Server) WaitTaken(ctx context.Context) error {
	return s.Wait(ctx, func() bool { return s.Pending() == 0 })
}

// getUpdates answers a poll. A newer one ends it with a conflict.
func (s *Server) getUpdates(ctx context.Context, p params) (any, error) {
	offset, err1 := p.int("offset", 0)
	limit, err2 := p.int("limit", 100)
	timeout, err3 := p.int("timeout", 0)
	var allowed []string
	err4 := p.json("allowed_updates", &allowed)
	for _, err := range []error{err1, err2, err3, err4} {
		if err != nil {
			return nil, err
		}
	}
	if limit < 1 || limit > 100 {
		limit = 100
	}
	mine, err := s.beginPoll(offset, allowed, p.values["allowed_updates"] != "")
	if err != nil {
		return nil, err
	}
	defer s.endPoll(mine)
	timer := time.NewTimer(time.Duration(min(timeout, 50)) * time.Second)
	defer timer.Stop()
	for {
		batch, changed := s.take(int(limit))
		if len(batch) > 0 {
			return batch, nil
		}
		select {
		case <-changed:
		case <-timer.C:
			return []json.RawMessage{}, nil
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-s.base.Done():
			return nil, s.base.Err()
		case <-mine.ended:
			return nil, &problem{code: http.StatusConflict,
				text: "Conflict: terminated by other getUpdates request; make sure that only one bot instance is running"}
		}
	}
}

// Conflicts is how many polls were ended by a newer one.
func (s *Server) Conflicts() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.conflicts
}

func (s *Server) beginPoll(offset int64, allowed []string, setAllowed bool) (*poll, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.hook != nil {
		return nil, &problem{code: http.StatusConflict,
			text: "Conflict: can't use getUpdates method while webhook is active; use deleteWebhook to delete the webhook first"}
	}
	if s.poll != nil {
		close(s.poll.ended)
		s.conflicts++
	}
	if setAllowed {
		s.allowed = allowed
	}
	s.poll = &poll{ended: make(chan struct{})}
	s.change()
	s.acknowledge(offset)
	return s.poll, nil
}

func (s *Server) endPoll(mine *poll) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.poll == mine {
		s.poll = nil
	}
}

// acknowledge forgets what was delivered and lies below offset. A negative
// offset keeps only that many from the end. s.mu is held.
func (s *Server) acknowledge(offset int64) {
	if offset < 0 {
		s.queue = s.queue[max(0, len(s.queue)+int(max(offset, -1000))):]
	}
	kept := s.queue[:0]
	for _, e := range s.queue {
		if offset <= 0 || e.id >= offset || !e.delivered {
			kept = append(kept, e)
		}
	}
	if len(kept) != len(s.queue) {
		s.queue = kept
		s.change()
	}
}

func (s *Server) take(limit int) ([]json.RawMessage, <-chan struct{}) {
	s.mu.Lock()
	defer s.mu.Unlock()
	var batch []json.RawMessage
	for _, e := range s.queue {
		if s.paused || e.held || len(batch) == limit {
			continue
		}
		e.delivered = true
		batch = append(batch, e.raw)
	}
	if s.reverse && len(batch) > 1 {
		slices.Reverse(batch)
		s.reverse = false
	}
	return batch, s.changed
}

func (s *Server) setWebhook(p params) (any, error) {
	address := p.values["url"]
	if address == "" {
		return s.deleteWebhook(p)
	}
	if err := checkWebhook(address, p.values["secret_token"]); err != nil {
		return nil, err
	}
	connections, err := p.int("max_connections", 40)
	if err != nil || connections < 1 || connections > 100 {
		return nil, bad("max_connections must be from 1 to 100")
	}
	var allowed []string
	if err := p.json("allowed_updates", &allowed); err != nil {
		return nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.dropPending(p)
	if s.hook != nil {
		s.hook.stop()
	}
	if s.poll != nil {
		close(s.poll.ended)
		s.poll = nil
	}
	if p.values["allowed_updates"] != "" {
		s.allowed = allowed
	}
	h := &hook{url: address, secret: p.values["secret_token"], connections: int(connections), slots: make(chan struct{}, connections)}
	h.ctx, h.stop = context.WithCancel(s.base)
	s.hook = h
	for _, e := range s.queue {
		e.pushing = false
	}
	s.change()
	s.pushNext()
	return true, nil
}

func (s *Server) deleteWebhook(p params) (any, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.dropPending(p)
	if s.hook != nil {
		s.hook.stop()
		s.hook = nil
	}
	s.change()
	return true, nil
}

// dropPending empties the queue when the bot asks for it. s.mu is held.
func (s *Server) dropPending(p params) {
	if drop, _ := strconv.ParseBool(p.values["drop_pending_updates"]); drop {
		s.queue = nil
	}
}

func (s *Server) webhookInfo() any {
	s.mu.Lock()
	defer s.mu.Unlock()
	info := map[string]any{"url": "", "has_custom_certificate": false, "pending_update_count": len(s.queue)}
	if s.hook != nil {
		info["url"], info["max_connections"], info["allowed_updates"] = s.hook.url, s.hook.connections, s.allowed
		if s.hook.lastError != "" {
			info["last_error_message"], info["last_error_date"] = s.hook.lastError, s.hook.lastFailed.Unix()
		}
	}
	return info
}

// pushNext starts pushing to the webhook: the first update of every chat of
// which none is on its way. s.mu is held.
func (s *Server) pushNext() {
	if s.hook == nil || s.hook.ctx.Err() != nil || s.paused {
		return
	}
	busy := map[int64]bool{}
	for _, e := range s.queue {
		if e.pushing {
			busy[e.chat] = true
		}
	}
	for _, e := range s.queue {
		if e.held || busy[e.chat] {
			continue
		}
		busy[e.chat] = true
		e.pushing = true
		h := s.hook
		s.pushers.Go(func() { s.pushUntilTaken(h, e) })
	}
}

// pushUntilTaken tries one update again and again, each time after a longer
// wait.
func (s *Server) pushUntilTaken(h *hook, e *entry) {
	for wait := s.PushFirst; ; wait = min(2*wait, s.PushMost) {
		select {
		case h.slots <- struct{}{}:
		case <-h.ctx.Done():
			return
		}
		status, after := s.pushOnce(h, e)
		<-h.slots
		if s.pushed(h, e, status) {
			return
		}
		if !pause(h.ctx, max(wait, min(after, s.PushMost))) {
			return
		}
	}
}

func (s *Server) pushOnce(h *hook, e *entry) (status int, after time.Duration) {
	ctx, cancel := context.WithTimeout(h.ctx, pushTimeout)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, h.url, bytes.NewReader(e.raw))
	if err != nil {
		return 0, 0
	}
	req.Header.Set("Content-Type", "application/json")
	if h.secret != "" {
		req.Header.Set("X-Telegram-Bot-Api-Secret-Token", h.secret)
	}
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		return 0, 0
	}
	defer resp.Body.Close()
	s.carryOut(ctx, resp)
	seconds, _ := strconv.Atoi(resp.Header.Get("Retry-After"))
	return resp.StatusCode, time.Duration(seconds) * time.Second
}

// carryOut makes the call that an answer to a push may hold, named by its method. What
// comes of it nobody is told (core.telegram.org/bots/api, Making requests when getting
// updates).
func (s *Server) carryOut(ctx context.Context, resp *http.Response) {
	p := params{values: map[string]string{}}
	if resp.StatusCode != http.StatusOK || p.readJSON(io.LimitReader(resp.Body, 1<<20)) != nil {
		return
	}
	method := strings.ToLower(p.values["method"])
	s.mu.Lock()
	s.rode[method]++
	s.mu.Unlock()
	_, _ = s.call(ctx, method, p, false)
}

// Rode is how often a method was called by the answer to a push.
func (s *Server) Rode(method string) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.rode[strings.ToLower(method)]
}

// pushed notes how a try went; true when there is to be no further one.
func (s *Server) pushed(h *hook, e *entry, status int) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	defer s.change()
	s.pushes = append(s.pushes, Push{e.id, status})
	if h.ctx.Err() != nil {
		return true
	}
	if status < 200 || status > 299 {
		h.lastError, h.lastFailed = "Wrong response from the webhook: "+strconv.Itoa(status)+" "+http.StatusText(status), s.Clock()
		if status == 0 {
			h.lastError = "Connection refused"
		}
		return false
	}
	s.queue = slices.DeleteFunc(s.queue, func(other *entry) bool { return other == e })
	s.pushNext()
	return true
}

// Unreachable has the platform say that it failed to bring an update, at a time
// and in its own words.
func (s *Server) Unreachable(at time.Time, message string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.hook != nil {
		s.hook.lastError, s.hook.lastFailed = message, at
	}
}

// Pushes are the tries to push updates to the webhook, in order.
func (s *Server) Pushes() []Push {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.pushes)
}

// Number makes the ids of updates go on behind id, as those of the platform that the
// program knew before do.
func (s *Server) Number(id int64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.lastUpd = id
}
