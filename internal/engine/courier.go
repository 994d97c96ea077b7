package engine

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	mrand "math/rand/v2"
	"net/url"
	"runtime/debug"
	"sync"
	"time"

	"sillbot/internal/session"
)

// A box is what this process has to do for one chat: replies to send, updates
// that were put off. It is one of: ready (in the queue for a worker), busy (a
// worker or Flush has it), waiting (for a time to come). A worker does one
// thing for a box and puts it back at the end of the queue, so that a chat
// with much to send doesn't hold up the others.
type box struct {
	chat int64

	// Of the holder of the box alone.
	items  []session.Item // the head of the outbox, as far as it was read
	putOff bool           // updates may be put off
	sent   bool           // items[0] was sent, but could not be removed yet
	tries  int            // failures in a row
	sweep  bool           // found by the sweep

	// Guarded by Engine.mu.
	until  time.Time // our lease; zero: not held
	state  boxState
	again  bool        // something was committed while busy
	at     time.Time   // waiting until
	timer  *time.Timer // while waiting
	cancel func()      // ends the send in hand
	free   chan struct{}
}

type boxState int

const (
	ready boxState = iota
	busy
	waiting
)

// How many replies are read at once.
const readAhead = 16

// offer hands the replies of a commit over. They are the whole outbox if there
// was nothing ahead of them, and need not be read again; otherwise the box's
// next look at Redis finds them.
func (e *Engine) offer(chat int64, until time.Time, r session.Result) {
	e.mu.Lock()
	defer e.mu.Unlock()
	b := e.boxes[chat]
	if b != nil {
		b.until = until
		b.again = true
		if b.state == waiting && (b.sent || len(b.items) == 0 && !b.putOff) {
			b.timer.Stop() // it waited for Redis or for the lease
			e.push(b)
		}
		return
	}
	if e.stopped {
		return // the lease runs out, and another process finds the replies
	}
	b = &box{chat: chat, until: until}
	if r.Ahead == 0 {
		b.items = r.Items
	}
	e.boxes[chat] = b
	e.push(b)
}

// The following up to settle hold e.mu.

func (e *Engine) push(b *box) {
	b.state = ready
	e.ready = append(e.ready, b)
	e.work.Signal()
}

func (e *Engine) pop() *box {
	for len(e.ready) > 0 {
		b := e.ready[0]
		e.ready[0] = nil
		e.ready = e.ready[1:]
		if b.state == ready && e.boxes[b.chat] == b { // else Flush has or had it
			e.hold(b)
			return b
		}
	}
	return nil
}

func (e *Engine) hold(b *box) {
	if b.timer != nil {
		b.timer.Stop()
		b.timer = nil
	}
	b.state = busy
	b.again = false
	e.busy++
}

// What a worker wants for a box that it is done with.
type verdict struct {
	over bool          // nothing left for this process
	wait time.Duration // before the next go
}

// settle puts a box back.
func (e *Engine) settle(b *box, v verdict) {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.busy--
	b.cancel = nil
	if b.free != nil {
		close(b.free)
		b.free = nil
	}
	if e.closing {
		defer e.work.Broadcast() // it may have been the last
	}
	switch {
	case v.over && b.again: // committed just after we saw the end
		b.items, b.sent = nil, false
		e.push(b)
	case v.over:
		delete(e.boxes, b.chat)
	case v.wait > 0:
		b.state = waiting
		b.at = time.Now().Add(v.wait)
		b.timer = time.AfterFunc(v.wait, func() {
			e.mu.Lock()
			defer e.mu.Unlock()
			if b.state == waiting && e.boxes[b.chat] == b {
				e.push(b)
			}
		})
	default:
		e.push(b)
	}
}

// next waits for a box to attend to; nil when done says so or ctx ends.
func (e *Engine) next(ctx context.Context, done func() bool) *box {
	e.mu.Lock()
	defer e.mu.Unlock()
	for {
		if ctx.Err() != nil || e.ended || e.stopped {
			return nil
		}
		if b := e.pop(); b != nil {
			return b
		}
		if done() {
			return nil
		}
		e.work.Wait()
	}
}

// workers attends to boxes until done says so or ctx ends, and waits for what
// is in hand then.
func (e *Engine) workers(ctx context.Context, done func() bool) {
	defer context.AfterFunc(ctx, func() {
		e.mu.Lock()
		defer e.mu.Unlock()
		e.work.Broadcast()
	})()
	var all sync.WaitGroup
	for range e.o.Senders {
		all.Go(func() {
			for b := e.next(ctx, done); b != nil; b = e.next(ctx, done) {
				e.settle(b, e.attend(b))
			}
		})
	}
	all.Wait()
}

// attend does one thing for a box. What it does goes on when the program is
// told to stop, within the time limits of its own.
func (e *Engine) attend(b *box) verdict {
	ctx, cancel := context.WithTimeout(context.Background(), e.o.SendTimeout)
	defer cancel()
	e.mu.Lock()
	if e.stopped {
		cancel()
	}
	b.cancel = cancel
	mine := time.Until(b.until) > e.o.Lease/4
	e.mu.Unlock()
	switch {
	case b.sent && mine:
		return e.remove(ctx, b)
	case len(b.items) > 0 && mine:
		return e.send(ctx, b)
	case b.putOff && len(b.items) == 0 && mine:
		return e.takePutOff(ctx, b)
	}
	return e.claim(ctx, b)
}

// claim takes or renews the lease and reads the head of the outbox.
func (e *Engine) claim(ctx context.Context, b *box) verdict {
	begun := time.Now()
	got, err := e.store.Claim(ctx, b.chat, e.owner, e.o.Lease, readAhead)
	if err != nil {
		return e.redisFailed(b, err)
	}
	if !got.Held {
		b.items, b.sent, b.putOff = nil, false, false
		e.held(b, time.Time{})
		// The other process may be dead. Look once when its lease runs out,
		// then leave it to the sweep.
		if b.tries++; b.tries > 1 {
			return verdict{over: true}
		}
		return verdict{wait: got.Free + mrand.N(50*time.Millisecond) + time.Millisecond}
	}
	if b.sent && (len(got.Items) == 0 || got.Items[0].ID != b.items[0].ID) {
		b.sent = false // someone else removed it
	}
	if b.sweep {
		b.sweep = false
		e.m.takenOver.Add(float64(got.Left))
	}
	b.tries = 0
	return e.got(b, got, begun)
}

// got takes a box's new contents in.
func (e *Engine) got(b *box, got session.Box, begun time.Time) verdict {
	if got.Empty() {
		b.items = nil
		e.held(b, time.Time{})
		return verdict{over: true}
	}
	e.held(b, begun.Add(e.o.Lease))
	b.putOff = got.PutOff > 0
	b.items = got.Items
	return verdict{}
}

func (e *Engine) held(b *box, until time.Time) {
	e.mu.Lock()
	defer e.mu.Unlock()
	b.until = until
}

// redisFailed keeps what is in hand and tries again.
func (e *Engine) redisFailed(b *box, err error) verdict {
	e.o.Log.Warn("outbox out of reach", "chat", e.alias(b.chat), "err", err)
	return verdict{wait: e.backoff(b)}
}

// backoff doubles with each failure in a row, up to MaxWait, with a quarter
// left to chance.
func (e *Engine) backoff(b *box) time.Duration {
	const first = 200 * time.Millisecond
	wait := e.o.MaxWait
	if b.tries < 20 {
		wait = min(wait, first<<b.tries)
	}
	b.tries++
	return wait*3/4 + mrand.N(wait/4+1)
}

// send tries the head of the outbox.
func (e *Engine) send(ctx context.Context, b *box) verdict {
	it := b.items[0]
	err := it.Err
	m, known := it.Value.(Message)
	if err == nil && !known {
		err = json.Unmarshal(it.Data, &m)
	}
	switch {
	case errors.Is(err, session.ErrNewer):
		// A later program can send it.
	case err != nil:
		err = &DropError{Err: errors.New("the record can't be read")}
	default:
		done := false
		if done, err = e.carry(ctx, m, it.ID); !done {
			err = e.safeSend(ctx, m)
		}
	}
	return e.afterSend(ctx, b, err)
}

func (e *Engine) afterSend(ctx context.Context, b *box, err error) verdict {
	it := b.items[0]
	reply := slog.Group("", "reply", it.ID, "chat", e.alias(b.chat))
	var drop *DropError
	var retry *RetryError
	switch {
	case err == nil:
		e.m.sends.WithLabelValues("sent").Inc()
		e.m.waited.Observe(time.Since(it.At).Seconds())
		e.o.Log.Debug("sent", reply)
	case errors.As(err, &drop):
		e.m.sends.WithLabelValues("dropped").Inc()
		e.o.Log.Warn("reply dropped: it can never be delivered", reply, "err", plain(err))
	case time.Since(it.At) > e.o.MaxAge:
		e.m.sends.WithLabelValues("expired").Inc()
		e.o.Log.Error("reply given up: too old", reply, "err", plain(err))
	case errors.As(err, &retry) && retry.After > 0:
		e.m.sends.WithLabelValues("limited").Inc()
		e.o.Log.Info("asked to wait", reply, "for", retry.After)
		return verdict{wait: retry.After}
	default:
		e.m.sends.WithLabelValues("again").Inc()
		wait := e.backoff(b)
		e.o.Log.Warn("send failed", reply, "err", plain(err), "again_in", wait)
		return verdict{wait: wait}
	}
	b.sent, b.tries = true, 0
	return e.remove(ctx, b)
}

// safeSend keeps one bad message from ending the program.
func (e *Engine) safeSend(ctx context.Context, m Message) (err error) {
	defer func() {
		if v := recover(); v != nil {
			e.o.Log.Error("panic in a send", "chat", e.alias(m.Chat), "what", panicked(v), "stack", string(debug.Stack()))
			err = fmt.Errorf("panic: %s", panicked(v))
		}
	}()
	return e.sender.Send(ctx, m)
}

// remove takes the sent head off the outbox. Its own time limit is Redis', not
// what the send has left over.
func (e *Engine) remove(ctx context.Context, b *box) verdict {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), e.o.SendTimeout)
	defer cancel()
	more := 0
	if len(b.items) == 1 {
		more = readAhead
	}
	begun := time.Now()
	got, err := e.store.Remove(ctx, b.chat, b.items[0].ID, e.owner, e.o.Lease, more)
	if err != nil {
		return e.redisFailed(b, err)
	}
	rest := b.items[1:]
	b.sent, b.tries = false, 0
	if !got.Held {
		// Sending took longer than the lease lasted. Whoever has it now may
		// send this reply again.
		e.o.Log.Warn("lease lost while sending", "chat", e.alias(b.chat))
		b.items = nil
		e.held(b, time.Time{})
		return verdict{over: true}
	}
	if more == 0 {
		got.Items = rest
	}
	return e.got(b, got, begun)
}

// takePutOff takes the chat's oldest update that was put off, when the chat's
// rate allows it.
func (e *Engine) takePutOff(ctx context.Context, b *box) verdict {
	c, err := e.chats.enter(ctx, b.chat)
	if err != nil {
		return verdict{wait: e.backoff(b)}
	}
	defer e.chats.leave(c)
	if wait := e.chats.wait(c); wait > 0 {
		return verdict{wait: wait}
	}
	w, ok, err := e.store.NextPutOff(ctx, b.chat)
	if err != nil {
		return e.redisFailed(b, err)
	}
	b.putOff = false // until the next look at Redis
	if !ok {
		return e.claim(ctx, b)
	}
	if errors.Is(w.Err, session.ErrNewer) {
		b.putOff = true
		return verdict{wait: e.backoff(b)}
	}
	var u Update
	if w.Err == nil {
		w.Err = json.Unmarshal(w.Data, &u)
	}
	if w.Err != nil {
		e.o.Log.Error("update put off can't be read", "chat", e.alias(b.chat))
		if err := e.store.BuryPutOff(ctx, b.chat, w); err != nil {
			return e.redisFailed(b, err)
		}
		return e.claim(ctx, b)
	}
	e.chats.allow(c)
	_, said, err := e.process(ctx, u, true)
	if err != nil {
		b.putOff = true
		return e.redisFailed(b, err)
	}
	e.m.turns.WithLabelValues(said).Inc()
	e.o.Log.Debug("turn", e.about(u), "result", said, "put_off", true)
	return e.claim(ctx, b)
}

// plain leaves the address out of an error of a web request, because it may
// hold a token.
func plain(err error) string {
	var u *url.Error
	if errors.As(err, &u) {
		return u.Op + ": " + u.Err.Error()
	}
	return err.Error()
}

// Run sends what the outboxes hold, and what their dead senders left, until
// ctx ends or Drain is done. The sends in hand when ctx ends are waited for.
func (e *Engine) Run(ctx context.Context) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var all sync.WaitGroup
	all.Go(func() { e.every(ctx, e.o.Sweep, e.sweep()) })
	all.Go(func() { e.every(ctx, e.o.Lease/4, e.renew) })
	e.workers(ctx, func() bool { return false })
	cancel()
	all.Wait()
	return nil
}

func (e *Engine) every(ctx context.Context, t time.Duration, do func(context.Context)) {
	tick := time.NewTicker(t)
	defer tick.Stop()
	for {
		do(ctx)
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// More boxes than this are not begun by a sweep; what is left over is found by
// a later one.
const maxBoxes = 10000

// sweep looks for chats that nobody attends to: at first for all that wait,
// later for those that have waited for a while.
func (e *Engine) sweep() func(context.Context) {
	age := time.Duration(0)
	return func(ctx context.Context) {
		found, err := e.store.Pending(ctx, age)
		if err != nil {
			if ctx.Err() == nil {
				e.o.Log.Warn("sweep failed", "err", err)
			}
			return
		}
		age = e.o.Sweep
		oldest := time.Now()
		for _, p := range found {
			if p.Since.Before(oldest) {
				oldest = p.Since
			}
		}
		e.m.waiting.Set(float64(len(found)))
		e.m.oldest.Set(time.Since(oldest).Seconds())
		e.mu.Lock()
		defer e.mu.Unlock()
		for _, p := range found {
			if len(e.boxes) >= maxBoxes || e.stopped {
				return
			}
			if e.boxes[p.Chat] == nil {
				b := &box{chat: p.Chat, sweep: true}
				e.boxes[p.Chat] = b
				e.push(b)
			}
		}
	}
}

// renew keeps the leases of boxes that wait or are slow.
func (e *Engine) renew(ctx context.Context) {
	e.mu.Lock()
	var chats []int64
	begun := time.Now()
	for chat, b := range e.boxes {
		if b.until.IsZero() {
			continue
		}
		if left := b.until.Sub(begun); left < e.o.Lease*2/3 {
			chats = append(chats, chat)
		}
		if b.until.Before(begun) && b.cancel != nil {
			b.cancel() // others may send by now
		}
	}
	e.mu.Unlock()
	if len(chats) == 0 {
		return
	}
	lost, err := e.store.Renew(ctx, chats, e.owner, e.o.Lease)
	if err != nil {
		if ctx.Err() == nil {
			e.o.Log.Warn("leases not renewed", "err", err)
		}
		return
	}
	gone := map[int64]bool{}
	for _, chat := range lost {
		gone[chat] = true
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	for _, chat := range chats {
		b := e.boxes[chat]
		if b == nil {
			continue
		}
		if !gone[chat] {
			if until := begun.Add(e.o.Lease); !b.until.IsZero() && until.After(b.until) {
				b.until = until
			}
			continue
		}
		b.until = time.Time{}
		if b.cancel != nil {
			b.cancel()
		}
	}
}

// letGo stops the workers and gives the leases back, so that another process
// can go on at once.
func (e *Engine) letGo() {
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
	defer cancel()
	e.mu.Lock()
	e.stopped = true
	e.work.Broadcast()
	var chats []int64
	for chat, b := range e.boxes {
		if b.timer != nil {
			b.timer.Stop()
		}
		if !b.until.IsZero() {
			chats = append(chats, chat)
		}
		delete(e.boxes, chat)
	}
	e.mu.Unlock()
	for _, chat := range chats {
		if err := e.store.Release(ctx, chat, e.owner); err != nil {
			return // they run out by themselves
		}
	}
}

// inHand is how much longer than Drain's own time a send may take that has
// begun. The platform may just be taking it, and cut off it would come twice.
const inHand = 1500 * time.Millisecond

// Drain refuses new updates, finishes the turns in hand and sends what can
// be sent before ctx ends. What is left waits in Redis for another process, or
// the next start. It needs no Run, and ends one.
func (e *Engine) Drain(ctx context.Context) error {
	e.mu.Lock()
	e.closing = true
	e.mu.Unlock()
	turns := make(chan struct{})
	go func() {
		e.taking.Wait()
		close(turns)
	}()
	select {
	case <-turns:
	case <-ctx.Done():
	}
	// A send that hangs must not keep the program.
	late, cut := context.WithCancel(context.WithoutCancel(ctx))
	defer cut()
	defer context.AfterFunc(ctx, func() {
		e.end()
		time.AfterFunc(inHand, cut)
	})()
	defer context.AfterFunc(late, e.cancelSends)()
	e.workers(ctx, func() bool { return e.nothingDue(ctx) })
	e.idle(late)
	e.letGo()
	return ctx.Err()
}

// end lets no send begin any more.
func (e *Engine) end() {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.ended = true
	e.work.Broadcast()
}

// idle waits until nobody attends to a box, so that no lease is given back under
// a send, but hardly longer than ctx lasts.
func (e *Engine) idle(ctx context.Context) {
	const last = 100 * time.Millisecond // for sends that were cut off to return
	defer context.AfterFunc(ctx, func() { time.AfterFunc(last, e.giveUp) })()
	e.mu.Lock()
	defer e.mu.Unlock()
	for e.busy > 0 && !e.gaveUp {
		e.work.Wait()
	}
}

func (e *Engine) giveUp() {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.gaveUp = true
	e.work.Broadcast()
}

// nothingDue is whether no box will want attention before ctx ends. It needs
// e.mu.
func (e *Engine) nothingDue(ctx context.Context) bool {
	if e.busy > 0 || len(e.ready) > 0 {
		return false
	}
	end, limited := ctx.Deadline()
	for _, b := range e.boxes {
		if !limited || b.at.Before(end) {
			return false
		}
	}
	return true
}

func (e *Engine) cancelSends() {
	e.mu.Lock()
	defer e.mu.Unlock()
	for _, b := range e.boxes {
		if b.cancel != nil {
			b.cancel()
		}
	}
}
