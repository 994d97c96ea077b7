package turn

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

	// Guarded by Desk.mu.
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
func (d *Desk) offer(chat int64, until time.Time, r session.Result) {
	d.mu.Lock()
	defer d.mu.Unlock()
	b := d.boxes[chat]
	if b != nil {
		b.until = until
		b.again = true
		if b.state == waiting && (b.sent || len(b.items) == 0 && !b.putOff) {
			b.timer.Stop() // it waited for Redis or for the lease
			d.push(b)
		}
		return
	}
	if d.stopped {
		return // the lease runs out, and another process finds the replies
	}
	b = &box{chat: chat, until: until}
	if r.Ahead == 0 {
		b.items = r.Items
	}
	d.boxes[chat] = b
	d.push(b)
}

// The following up to settle hold d.mu.

func (d *Desk) push(b *box) {
	b.state = ready
	d.ready = append(d.ready, b)
	d.work.Signal()
}

func (d *Desk) pop() *box {
	for len(d.ready) > 0 {
		b := d.ready[0]
		d.ready[0] = nil
		d.ready = d.ready[1:]
		if b.state == ready && d.boxes[b.chat] == b { // else Flush has or had it
			d.hold(b)
			return b
		}
	}
	return nil
}

func (d *Desk) hold(b *box) {
	if b.timer != nil {
		b.timer.Stop()
		b.timer = nil
	}
	b.state = busy
	b.again = false
	d.busy++
}

// What a worker wants for a box that it is done with.
type verdict struct {
	over bool          // nothing left for this process
	wait time.Duration // before the next go
}

// settle puts a box back.
func (d *Desk) settle(b *box, v verdict) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.busy--
	b.cancel = nil
	if b.free != nil {
		close(b.free)
		b.free = nil
	}
	if d.closing {
		defer d.work.Broadcast() // it may have been the last
	}
	switch {
	case v.over && b.again: // committed just after we saw the end
		b.items, b.sent = nil, false
		d.push(b)
	case v.over:
		delete(d.boxes, b.chat)
	case v.wait > 0:
		b.state = waiting
		b.at = time.Now().Add(v.wait)
		b.timer = time.AfterFunc(v.wait, func() {
			d.mu.Lock()
			defer d.mu.Unlock()
			if b.state == waiting && d.boxes[b.chat] == b {
				d.push(b)
			}
		})
	default:
		d.push(b)
	}
}

// next waits for a box to attend to; nil when done says so or ctx ends.
func (d *Desk) next(ctx context.Context, done func() bool) *box {
	d.mu.Lock()
	defer d.mu.Unlock()
	for {
		if ctx.Err() != nil || d.ended || d.stopped {
			return nil
		}
		if b := d.pop(); b != nil {
			return b
		}
		if done() {
			return nil
		}
		d.work.Wait()
	}
}

// workers attends to boxes until done says so or ctx ends, and waits for what
// is in hand then.
func (d *Desk) workers(ctx context.Context, done func() bool) {
	defer context.AfterFunc(ctx, func() {
		d.mu.Lock()
		defer d.mu.Unlock()
		d.work.Broadcast()
	})()
	var all sync.WaitGroup
	for range d.o.Senders {
		all.Go(func() {
			for b := d.next(ctx, done); b != nil; b = d.next(ctx, done) {
				d.settle(b, d.attend(b))
			}
		})
	}
	all.Wait()
}

// attend does one thing for a box. What it does goes on when the program is
// told to stop, within the time limits of its own.
func (d *Desk) attend(b *box) verdict {
	ctx, cancel := context.WithTimeout(context.Background(), d.o.SendTimeout)
	defer cancel()
	d.mu.Lock()
	if d.stopped {
		cancel()
	}
	b.cancel = cancel
	mine := time.Until(b.until) > d.o.Lease/4
	d.mu.Unlock()
	switch {
	case b.sent && mine:
		return d.remove(ctx, b)
	case len(b.items) > 0 && mine:
		return d.send(ctx, b)
	case b.putOff && len(b.items) == 0 && mine:
		return d.takePutOff(ctx, b)
	}
	return d.claim(ctx, b)
}

// claim takes or renews the lease and reads the head of the outbox.
func (d *Desk) claim(ctx context.Context, b *box) verdict {
	begun := time.Now()
	got, err := d.store.Claim(ctx, b.chat, d.owner, d.o.Lease, readAhead)
	if err != nil {
		return d.redisFailed(b, err)
	}
	if !got.Held {
		b.items, b.sent, b.putOff = nil, false, false
		d.held(b, time.Time{})
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
		d.m.takenOver.Add(float64(got.Left))
	}
	b.tries = 0
	return d.got(b, got, begun)
}

// got takes a box's new contents in.
func (d *Desk) got(b *box, got session.Box, begun time.Time) verdict {
	if got.Empty() {
		b.items = nil
		d.held(b, time.Time{})
		return verdict{over: true}
	}
	d.held(b, begun.Add(d.o.Lease))
	b.putOff = got.PutOff > 0
	b.items = got.Items
	return verdict{}
}

func (d *Desk) held(b *box, until time.Time) {
	d.mu.Lock()
	defer d.mu.Unlock()
	b.until = until
}

// redisFailed keeps what is in hand and tries again.
func (d *Desk) redisFailed(b *box, err error) verdict {
	d.o.Log.Warn("outbox out of reach", "chat", d.alias(b.chat), "err", err)
	return verdict{wait: d.backoff(b)}
}

// backoff doubles with each failure in a row, up to MaxWait, with a quarter
// left to chance.
func (d *Desk) backoff(b *box) time.Duration {
	const first = 200 * time.Millisecond
	wait := d.o.MaxWait
	if b.tries < 20 {
		wait = min(wait, first<<b.tries)
	}
	b.tries++
	return wait*3/4 + mrand.N(wait/4+1)
}

// send tries the head of the outbox.
func (d *Desk) send(ctx context.Context, b *box) verdict {
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
		if done, err = d.carry(ctx, m, it.ID); !done {
			err = d.safeSend(ctx, m)
		}
	}
	return d.afterSend(ctx, b, err)
}

func (d *Desk) afterSend(ctx context.Context, b *box, err error) verdict {
	it := b.items[0]
	reply := slog.Group("", "reply", it.ID, "chat", d.alias(b.chat))
	var drop *DropError
	var retry *RetryError
	switch {
	case err == nil:
		d.m.sends.WithLabelValues("sent").Inc()
		d.m.waited.Observe(time.Since(it.At).Seconds())
		d.o.Log.Debug("sent", reply)
	case errors.As(err, &drop):
		d.m.sends.WithLabelValues("dropped").Inc()
		d.o.Log.Warn("reply dropped: it can never be delivered", reply, "err", plain(err))
	case time.Since(it.At) > d.o.MaxAge:
		d.m.sends.WithLabelValues("expired").Inc()
		d.o.Log.Error("reply given up: too old", reply, "err", plain(err))
	case errors.As(err, &retry) && retry.After > 0:
		d.m.sends.WithLabelValues("limited").Inc()
		d.o.Log.Info("asked to wait", reply, "for", retry.After)
		return verdict{wait: retry.After}
	default:
		d.m.sends.WithLabelValues("again").Inc()
		wait := d.backoff(b)
		d.o.Log.Warn("send failed", reply, "err", plain(err), "again_in", wait)
		return verdict{wait: wait}
	}
	b.sent, b.tries = true, 0
	return d.remove(ctx, b)
}

// safeSend keeps one bad message from ending the program.
func (d *Desk) safeSend(ctx context.Context, m Message) (err error) {
	defer func() {
		if v := recover(); v != nil {
			d.o.Log.Error("panic in a send", "chat", d.alias(m.Chat), "what", panicked(v), "stack", string(debug.Stack()))
			err = fmt.Errorf("panic: %s", panicked(v))
		}
	}()
	return d.sender.Send(ctx, m)
}

// remove takes the sent head off the outbox. Its own time limit is Redis', not
// what the send has left over.
func (d *Desk) remove(ctx context.Context, b *box) verdict {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), d.o.SendTimeout)
	defer cancel()
	more := 0
	if len(b.items) == 1 {
		more = readAhead
	}
	begun := time.Now()
	got, err := d.store.Remove(ctx, b.chat, b.items[0].ID, d.owner, d.o.Lease, more)
	if err != nil {
		return d.redisFailed(b, err)
	}
	rest := b.items[1:]
	b.sent, b.tries = false, 0
	if !got.Held {
		// Sending took longer than the lease lasted. Whoever has it now may
		// send this reply again.
		d.o.Log.Warn("lease lost while sending", "chat", d.alias(b.chat))
		b.items = nil
		d.held(b, time.Time{})
		return verdict{over: true}
	}
	if more == 0 {
		got.Items = rest
	}
	return d.got(b, got, begun)
}

// takePutOff takes the chat's oldest update that was put off, when the chat's
// rate allows it.
func (d *Desk) takePutOff(ctx context.Context, b *box) verdict {
	c, err := d.chats.enter(ctx, b.chat)
	if err != nil {
		return verdict{wait: d.backoff(b)}
	}
	defer d.chats.leave(c)
	if wait := d.chats.wait(c); wait > 0 {
		return verdict{wait: wait}
	}
	w, ok, err := d.store.NextPutOff(ctx, b.chat)
	if err != nil {
		return d.redisFailed(b, err)
	}
	b.putOff = false // until the next look at Redis
	if !ok {
		return d.claim(ctx, b)
	}
	if errors.Is(w.Err, session.ErrNewer) {
		b.putOff = true
		return verdict{wait: d.backoff(b)}
	}
	var u Update
	if w.Err == nil {
		w.Err = json.Unmarshal(w.Data, &u)
	}
	if w.Err != nil {
		d.o.Log.Error("update put off can't be read", "chat", d.alias(b.chat))
		if err := d.store.BuryPutOff(ctx, b.chat, w); err != nil {
			return d.redisFailed(b, err)
		}
		return d.claim(ctx, b)
	}
	d.chats.allow(c)
	_, said, err := d.turn(ctx, u, true)
	if err != nil {
		b.putOff = true
		return d.redisFailed(b, err)
	}
	d.m.turns.WithLabelValues(said).Inc()
	d.o.Log.Debug("turn", d.about(u), "result", said, "put_off", true)
	return d.claim(ctx, b)
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
func (d *Desk) Run(ctx context.Context) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var all sync.WaitGroup
	all.Go(func() { d.every(ctx, d.o.Sweep, d.sweep()) })
	all.Go(func() { d.every(ctx, d.o.Lease/4, d.renew) })
	d.workers(ctx, func() bool { return false })
	cancel()
	all.Wait()
	return nil
}

func (d *Desk) every(ctx context.Context, t time.Duration, do func(context.Context)) {
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
func (d *Desk) sweep() func(context.Context) {
	age := time.Duration(0)
	return func(ctx context.Context) {
		found, err := d.store.Pending(ctx, age)
		if err != nil {
			if ctx.Err() == nil {
				d.o.Log.Warn("sweep failed", "err", err)
			}
			return
		}
		age = d.o.Sweep
		oldest := time.Now()
		for _, p := range found {
			if p.Since.Before(oldest) {
				oldest = p.Since
			}
		}
		d.m.waiting.Set(float64(len(found)))
		d.m.oldest.Set(time.Since(oldest).Seconds())
		d.mu.Lock()
		defer d.mu.Unlock()
		for _, p := range found {
			if len(d.boxes) >= maxBoxes || d.stopped {
				return
			}
			if d.boxes[p.Chat] == nil {
				b := &box{chat: p.Chat, sweep: true}
				d.boxes[p.Chat] = b
				d.push(b)
			}
		}
	}
}

// renew keeps the leases of boxes that wait or are slow.
func (d *Desk) renew(ctx context.Context) {
	d.mu.Lock()
	var chats []int64
	begun := time.Now()
	for chat, b := range d.boxes {
		if b.until.IsZero() {
			continue
		}
		if left := b.until.Sub(begun); left < d.o.Lease*2/3 {
			chats = append(chats, chat)
		}
		if b.until.Before(begun) && b.cancel != nil {
			b.cancel() // others may send by now
		}
	}
	d.mu.Unlock()
	if len(chats) == 0 {
		return
	}
	lost, err := d.store.Renew(ctx, chats, d.owner, d.o.Lease)
	if err != nil {
		if ctx.Err() == nil {
			d.o.Log.Warn("leases not renewed", "err", err)
		}
		return
	}
	gone := map[int64]bool{}
	for _, chat := range lost {
		gone[chat] = true
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, chat := range chats {
		b := d.boxes[chat]
		if b == nil {
			continue
		}
		if !gone[chat] {
			if until := begun.Add(d.o.Lease); !b.until.IsZero() && until.After(b.until) {
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
func (d *Desk) letGo() {
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
	defer cancel()
	d.mu.Lock()
	d.stopped = true
	d.work.Broadcast()
	var chats []int64
	for chat, b := range d.boxes {
		if b.timer != nil {
			b.timer.Stop()
		}
		if !b.until.IsZero() {
			chats = append(chats, chat)
		}
		delete(d.boxes, chat)
	}
	d.mu.Unlock()
	for _, chat := range chats {
		if err := d.store.Release(ctx, chat, d.owner); err != nil {
			return // they run out by themselves
		}
	}
}

// Flush sends what waits for one chat and returns when nothing does, or when
// another process sends for the chat. It needs no Run.
func (d *Desk) Flush(ctx context.Context, chat int64) error {
	d.mu.Lock()
	b := d.boxes[chat]
	if b == nil {
		b = &box{chat: chat}
		d.boxes[chat] = b
		b.state = ready
	}
	for d.boxes[chat] == b {
		if err := ctx.Err(); err != nil {
			d.mu.Unlock()
			return err
		}
		switch b.state {
		case busy:
			if b.free == nil {
				b.free = make(chan struct{})
			}
			free := b.free
			d.mu.Unlock()
			select {
			case <-free:
			case <-ctx.Done():
			}
			d.mu.Lock()
			continue
		case waiting:
			wait := time.Until(b.at)
			if wait > 0 {
				d.mu.Unlock()
				_ = pause(ctx, wait) // ctx is looked at above
				d.mu.Lock()
				continue
			}
		}
		d.hold(b)
		d.mu.Unlock()
		d.settle(b, d.attend(b))
		d.mu.Lock()
	}
	d.mu.Unlock()
	return nil
}

// inHand is how much longer than Drain's own time a send may take that has
// begun. The platform may just be taking it, and cut off it would come twice.
const inHand = 1500 * time.Millisecond

// Drain refuses new updates, finishes the turns in hand and sends what can
// be sent before ctx ends. What is left waits in Redis for another process, or
// the next start. It needs no Run, and ends one.
func (d *Desk) Drain(ctx context.Context) error {
	d.mu.Lock()
	d.closing = true
	d.mu.Unlock()
	turns := make(chan struct{})
	go func() {
		d.taking.Wait()
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
		d.end()
		time.AfterFunc(inHand, cut)
	})()
	defer context.AfterFunc(late, d.cancelSends)()
	d.workers(ctx, func() bool { return d.nothingDue(ctx) })
	d.idle(late)
	d.letGo()
	return ctx.Err()
}

// end lets no send begin any more.
func (d *Desk) end() {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.ended = true
	d.work.Broadcast()
}

// idle waits until nobody attends to a box, so that no lease is given back under
// a send, but hardly longer than ctx lasts.
func (d *Desk) idle(ctx context.Context) {
	const last = 100 * time.Millisecond // for sends that were cut off to return
	defer context.AfterFunc(ctx, func() { time.AfterFunc(last, d.giveUp) })()
	d.mu.Lock()
	defer d.mu.Unlock()
	for d.busy > 0 && !d.gaveUp {
		d.work.Wait()
	}
}

func (d *Desk) giveUp() {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.gaveUp = true
	d.work.Broadcast()
}

// nothingDue is whether no box will want attention before ctx ends. It needs
// d.mu.
func (d *Desk) nothingDue(ctx context.Context) bool {
	if d.busy > 0 || len(d.ready) > 0 {
		return false
	}
	end, limited := ctx.Deadline()
	for _, b := range d.boxes {
		if !limited || b.at.Before(end) {
			return false
		}
	}
	return true
}

func (d *Desk) cancelSends() {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, b := range d.boxes {
		if b.cancel != nil {
			b.cancel()
		}
	}
}
