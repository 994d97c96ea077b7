package telegram

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"
)

const (
	// batchLimit is how many updates one call returns: the platform's maximum.
	// It also bounds the work in progress, because a call returns no update
	// further than this from the first unfinished one.
	batchLimit = 100
	patience   = 500 * time.Millisecond // how long one slow chat may hold the next call up
	longest    = 30 * time.Second       // between two tries
	pollGrace  = 15 * time.Second       // for the answer, beyond the long poll's own time
)

// Poll fetches updates and handles them until ctx ends; it then returns when
// those in progress are done. Updates of one chat are handled in order, those
// of different chats in parallel. An update is acknowledged, by the offset of
// the next call, only when Handle has returned nil for it and for every update
// before it. A failed update is tried again and delays its own chat only.
//
// Only one of several replicas polls: the platform ends the older of two polls
// with a conflict, and the replica that gets the conflict waits before it tries
// again.
func (r *Receiver) Poll(ctx context.Context) {
	p := &poller{
		Receiver: r,
		finished: map[int64]bool{},
		queues:   map[int64][]job{},
		idle:     make(chan struct{}, 1),
	}
	for failures := 0; ctx.Err() == nil; {
		batch, err := p.fetch(ctx)
		if err != nil {
			p.sleep(ctx, p.afterFailure(ctx, err, failures))
			failures++
			continue
		}
		failures = 0
		p.admit(ctx, batch)
		p.settle(ctx)
	}
	p.work.Wait()
	r.Wait()
}

// poller is the state of one Poll.
type poller struct {
	*Receiver
	work sync.WaitGroup

	mu sync.Mutex
	// finished holds every update received but not yet acknowledged, and
	// whether it has been handled.
	finished map[int64]bool
	nameless []string        // updates without an id that the platform still brings
	queues   map[int64][]job // by chat; an entry exists while a goroutine works on it
	idle     chan struct{}   // signalled when nothing is unfinished
}

type job struct {
	id, chat int64
	raw      json.RawMessage
}

// offset is the id of the first update still wanted; every one below it is
// finished. 0 asks for all that are not acknowledged, which is right when there
// is nothing left to acknowledge, and also when the platform restarts its
// numbering.
func (p *poller) offset() (offset int64, unfinished bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for id, done := range p.finished {
		switch {
		case !done && (!unfinished || id < offset):
			offset, unfinished = id, true
		case done && !unfinished && id >= offset:
			offset = id + 1
		}
	}
	return offset, unfinished
}

// told drops the updates that the platform now knows to be handled.
func (p *poller) told(offset int64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	maps.DeleteFunc(p.finished, func(id int64, done bool) bool { return done && id < offset })
}

// fetch gets the next updates and acknowledges the finished ones.
func (p *poller) fetch(ctx context.Context) ([]json.RawMessage, error) {
	offset, unfinished := p.offset()
	timeout := p.client.cfg.PollTimeout
	if unfinished {
		timeout = 0
	}
	batch, err := p.client.getUpdates(ctx, offset, timeout)
	if err != nil {
		return nil, err
	}
	p.polled.Store(p.client.cfg.Clock().UnixMilli())
	p.told(offset)
	return batch, nil
}

// admit adds new updates to the queues of their chats.
func (p *poller) admit(ctx context.Context, batch []json.RawMessage) {
	var arrivals []job
	for _, raw := range batch {
		id, chat := place(raw)
		arrivals = append(arrivals, job{id, chat, raw})
	}
	slices.SortStableFunc(arrivals, func(a, b job) int { return cmp.Compare(a.id, b.id) })

	p.mu.Lock()
	defer p.mu.Unlock()
	if len(arrivals) == 0 || arrivals[0].id != 0 {
		p.nameless = nil
	}
	for _, a := range arrivals {
		if !p.fresh(a) {
			continue
		}
		queue, running := p.queues[a.chat]
		p.queues[a.chat] = append(queue, a)
		if !running {
			p.work.Go(func() { p.serve(ctx, a.chat) })
		}
	}
}

// fresh reports whether a job is new, and remembers it. An update without an id
// can't be acknowledged by itself and is delivered again until a later one is;
// it goes to the dead list once.
func (p *poller) fresh(j job) bool {
	if j.id == 0 {
		if len(p.nameless) > batchLimit {
			p.nameless = nil
		}
		seen := slices.Contains(p.nameless, string(j.raw))
		if !seen {
			p.nameless = append(p.nameless, string(j.raw))
		}
		return !seen
	}
	if _, seen := p.finished[j.id]; seen {
		return false
	}
	p.finished[j.id] = false
	return true
}

// serve handles the updates of one chat one after the other, until none is left
// or ctx ends.
func (p *poller) serve(ctx context.Context, chat int64) {
	gathered := func() {}
	for {
		p.mu.Lock()
		queue := p.queues[chat]
		if len(queue) == 0 {
			delete(p.queues, chat)
			p.mu.Unlock()
			return
		}
		p.queues[chat] = queue[1:]
		p.mu.Unlock()
		if p.Gather != nil && len(queue) > 1 {
			gathered = p.Gather(chat)
		}
		if !p.take(ctx, queue[0], gathered) {
			return // ctx ended; the queue is left as it is, nothing of it was acknowledged
		}
		if len(queue) == 1 {
			gathered()
		}
	}
}

// take handles one update until it succeeds; false when ctx ended first. While
// it fails, replies to the updates before it are not kept back: gathered.
func (p *poller) take(ctx context.Context, j job, gathered func()) bool {
	for failures := 0; ; failures++ {
		if ctx.Err() != nil {
			gathered()
			return false
		}
		err := p.once(ctx, j.raw)
		if err == nil {
			p.failing.Delete(j.id)
			p.finish(j.id)
			return true
		}
		p.failing.LoadOrStore(j.id, p.client.cfg.Clock())
		gathered()
		p.client.cfg.Log.Warn("an update was not taken and will be tried again", "update", j.id, "error", err)
		if !p.sleep(ctx, p.wait(failures)) {
			return false
		}
	}
}

// once handles an update within the deadline. The end of ctx does not interrupt
// it.
func (p *poller) once(ctx context.Context, raw json.RawMessage) error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), p.client.cfg.Deadline)
	defer cancel()
	return p.Handle(ctx, raw)
}

func (p *poller) finish(id int64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if id != 0 {
		p.finished[id] = true
	}
	if p.allFinished() {
		select {
		case p.idle <- struct{}{}:
		default:
		}
	}
}

func (p *poller) allFinished() bool {
	return !slices.Contains(slices.Collect(maps.Values(p.finished)), false)
}

// settle waits until nothing is in progress, but no longer than patience.
func (p *poller) settle(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	for ctx.Err() == nil && !p.settled() {
		select {
		case <-p.idle:
		case <-ctx.Done():
		}
	}
}

func (p *poller) settled() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.allFinished() && len(p.nameless) == 0
}

// afterFailure returns how long to wait after a failed call, and repairs what
// it can.
func (p *poller) afterFailure(ctx context.Context, err error, failures int) time.Duration {
	log := p.client.cfg.Log
	var refused *refusal
	switch {
	case ctx.Err() != nil:
		return 0
	case !errors.As(err, &refused):
		log.Warn("asking for updates failed", "error", err)
		return p.wait(failures)
	case refused.Code == http.StatusTooManyRequests:
		log.Warn("asking for updates too often", "again_in_s", refused.Parameters.RetryAfter)
		return time.Duration(max(1, refused.Parameters.RetryAfter)) * time.Second
	case refused.Code == http.StatusConflict && strings.Contains(refused.Description, "webhook"):
		log.Warn("a webhook is set though polling is configured; removing it")
		if err := p.client.deleteWebhook(ctx); err != nil {
			log.Warn("the webhook was not removed", "error", err)
		}
		return p.wait(failures)
	case refused.Code == http.StatusConflict:
		p.polled.Store(p.client.cfg.Clock().UnixMilli())
		standby := jitter(p.client.cfg.Standby)
		log.Info("another replica polls; standing by", "for", standby)
		return standby
	}
	log.Error("asking for updates was refused", "error", err)
	return longest
}

// wait is the pause after that many failures in a row.
func (r *Receiver) wait(failures int) time.Duration {
	return jitter(min(longest, r.client.cfg.Backoff<<min(failures, 6)))
}

// jitter lengthens d by up to a half, so that replicas do not retry in step.
func jitter(d time.Duration) time.Duration { return d + rand.N(d/2+1) }

// sleep waits; false when ctx ended first.
func (r *Receiver) sleep(ctx context.Context, d time.Duration) bool {
	over, cancel := context.WithTimeout(ctx, d)
	defer cancel()
	<-over.Done()
	return ctx.Err() == nil
}

// refusal is the platform's answer to a call that it rejected.
type refusal struct {
	OK          bool            `json:"ok"`
	Result      json.RawMessage `json:"result"`
	Code        int             `json:"error_code"`
	Description string          `json:"description"`
	Parameters  struct {
		RetryAfter int `json:"retry_after"`
	} `json:"parameters"`
}

// Error leaves the description out.
func (e *refusal) Error() string { return fmt.Sprintf("the platform refused with %d", e.Code) }

// getUpdates makes one call for updates and leaves each undecoded. The library
// decodes all at once, so that one of an unknown kind would lose the rest.
func (c *Client) getUpdates(ctx context.Context, offset int64, timeout time.Duration) ([]json.RawMessage, error) {
	ask, err := json.Marshal(map[string]any{
		"offset": offset, "limit": batchLimit, "timeout": int(timeout.Seconds()), "allowed_updates": wanted,
	})
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(ctx, timeout+pollGrace)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, c.cfg.API+"/bot"+c.cfg.Token+"/getUpdates", bytes.NewReader(ask))
	if err != nil {
		return nil, c.plainError("getUpdates", err)
	}
	req.Header.Set("Content-Type", "application/json")
	resp, err := c.http.Do(req)
	if err != nil {
		return nil, c.plainError("getUpdates", noAnswer(c.cfg.Token, err))
	}
	body, err := readAnswer(c.cfg.Token, resp)
	if err != nil {
		return nil, c.plainError("getUpdates", err)
	}
	return batchOf(resp.StatusCode, body)
}

func batchOf(status int, body []byte) ([]json.RawMessage, error) {
	answer := &refusal{}
	if json.Unmarshal(body, answer) != nil {
		return nil, fmt.Errorf("getUpdates: %w", &transportError{status: status})
	}
	if !answer.OK {
		return nil, fmt.Errorf("getUpdates: %w", answer)
	}
	var batch []json.RawMessage
	if json.Unmarshal(answer.Result, &batch) != nil {
		return nil, fmt.Errorf("getUpdates: %w", io.ErrUnexpectedEOF)
	}
	return batch, nil
}
