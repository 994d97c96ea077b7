package engine

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	mrand "math/rand/v2"
	"runtime/debug"
	"sync"
	"time"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
)

// courier sends what the outboxes hold. It has the sending lease of a chat
// while it does.
type courier struct {
	o      Options
	store  *session.Store
	sender Sender
	log    journal
	m      *metrics
	queue  *queue
	owner  string // of leases

	// carry does what a reply asks the engine itself to do; done is false for
	// one that is to be sent.
	carry func(ctx context.Context, m Message, item string) (done bool, err error)
	// told says what became of a reply: why it was given up, or "" for one that was
	// sent. It may be called again for the same.
	told func(ctx context.Context, m Message, item string, lost dialog.Why) error
	// late takes the chat's oldest update that was put off.
	late func(ctx context.Context, chat int64) (late, error)
}

// readAhead is how many replies are read from an outbox at once.
const readAhead = 16

// workers attends to boxes until done says so or ctx ends, and waits for what
// is in hand then.
func (c *courier) workers(ctx context.Context, done func() bool) {
	defer context.AfterFunc(ctx, func() {
		c.queue.mu.Lock()
		defer c.queue.mu.Unlock()
		c.queue.work.Broadcast()
	})()
	var all sync.WaitGroup
	for range c.o.Senders {
		all.Go(func() {
			for b := c.queue.next(ctx, done); b != nil; b = c.queue.next(ctx, done) {
				c.queue.settle(b, c.attend(b))
			}
		})
	}
	all.Wait()
}

// attend does one thing for a box. What it does goes on when the program is
// told to stop, within the time limits of its own.
func (c *courier) attend(b *box) verdict {
	ctx, cancel := context.WithTimeout(context.Background(), c.o.SendTimeout)
	defer cancel()
	c.queue.mu.Lock()
	if c.queue.stopped {
		cancel()
	}
	b.cancel = cancel
	mine := time.Until(b.until) > c.o.Lease/4
	behind := b.behind && b.n == 0
	c.queue.mu.Unlock()
	switch {
	case b.sent && mine:
		return c.remove(ctx, b)
	case len(b.items) > 0 && mine && behind && joins(c.sender, b.items[0]):
		if v := c.claim(ctx, b); v != (verdict{}) || len(b.items) == 0 {
			return v
		}
		return c.send(ctx, b)
	case len(b.items) > 0 && mine:
		return c.send(ctx, b)
	case b.putOff && len(b.items) == 0 && mine:
		return c.takePutOff(ctx, b)
	}
	return c.claim(ctx, b)
}

// claim takes or renews the lease and reads the head of the outbox.
func (c *courier) claim(ctx context.Context, b *box) verdict {
	begun := time.Now()
	c.queue.reading(b)
	got, err := c.store.Claim(ctx, b.chat, c.owner, c.o.Lease, readAhead)
	if err != nil {
		return c.redisFailed(b, err)
	}
	if !got.Held {
		b.items, b.n, b.sent, b.lost, b.putOff = nil, 0, false, "", false
		c.queue.held(b, time.Time{})
		// The other process may be dead. Look once when its lease runs out,
		// then leave it to the sweep.
		if b.tries++; b.tries > 1 {
			return verdict{over: true}
		}
		return verdict{wait: got.Free + mrand.N(50*time.Millisecond) + time.Millisecond}
	}
	b.stillThere(got.Items)
	if b.sweep {
		b.sweep = false
		c.m.takenOver.Add(float64(got.Left))
	}
	b.tries = 0
	return c.got(b, got, begun)
}

// got takes a box's new contents in.
func (c *courier) got(b *box, got session.Box, begun time.Time) verdict {
	if got.Empty() {
		b.items = nil
		c.queue.held(b, time.Time{})
		return verdict{over: true}
	}
	c.queue.held(b, begun.Add(c.o.Lease))
	b.putOff = got.PutOff > 0
	b.items = got.Items
	return verdict{}
}

// redisFailed keeps what is in hand and tries again.
func (c *courier) redisFailed(b *box, err error) verdict {
	c.log.Warn("outbox out of reach", "chat", c.log.alias(b.chat), "err", err)
	return verdict{wait: c.backoff(b)}
}

// backoff doubles with each failure in a row, up to MaxWait, with a quarter
// left to chance.
func (c *courier) backoff(b *box) time.Duration {
	const first = 200 * time.Millisecond
	wait := min(c.o.MaxWait, first<<min(b.tries, 30))
	b.tries++
	return wait*3/4 + mrand.N(wait/4+1)
}

// send tries the head of the outbox.
func (c *courier) send(ctx context.Context, b *box) verdict {
	it := b.items[0]
	m, err := messageOf(it)
	switch {
	case errors.Is(err, session.ErrNewer):
		// A later program can send it.
	case err != nil:
		err = &DropError{Err: errors.New("the record can't be read")}
	default:
		done := false
		if done, err = c.carry(ctx, m, it.ID); !done {
			err = c.safeSend(ctx, b.together(c.sender, m))
		}
	}
	b.n = max(1, b.n)
	return c.afterSend(ctx, b, err)
}

func (c *courier) afterSend(ctx context.Context, b *box, err error) verdict {
	it := b.items[0]
	reply := slog.Group("", "reply", it.ID, "joined", b.n-1, "chat", c.log.alias(b.chat))
	var drop *DropError
	var retry *RetryError
	switch {
	case err == nil:
		c.m.sends.WithLabelValues("sent").Inc()
		for _, it := range b.items[:b.n] {
			c.m.waited.Observe(time.Since(it.At).Seconds())
		}
		c.log.Debug("sent", reply)
	case b.n > 1 && (errors.As(err, &drop) || time.Since(it.At) > c.o.MaxAge):
		// One of them may be at fault, or older than the others.
		c.m.sends.WithLabelValues("again").Inc()
		c.log.Warn("joined replies can't be delivered; each goes by itself", reply, "err", plain(err))
		b.n, b.tries, b.apart = 0, 0, true
		return verdict{}
	case errors.As(err, &drop):
		c.m.sends.WithLabelValues("dropped").Inc()
		c.log.Warn("reply dropped: it can never be delivered", reply, "err", plain(err))
		if b.lost = dialog.Refused; drop.Gone {
			b.lost = dialog.Gone
		}
	case time.Since(it.At) > c.o.MaxAge:
		c.m.sends.WithLabelValues("expired").Inc()
		c.log.Error("reply given up: too old", reply, "err", plain(err))
		b.lost = dialog.Late
	case errors.As(err, &retry) && retry.After > 0:
		c.m.sends.WithLabelValues("limited").Inc()
		c.log.Info("asked to wait", reply, "for", retry.After)
		return verdict{wait: retry.After}
	default:
		c.m.sends.WithLabelValues("again").Inc()
		wait := c.backoff(b)
		c.log.Warn("send failed", reply, "err", plain(err), "again_in", wait)
		return verdict{wait: wait}
	}
	b.sent, b.tries = true, 0
	return c.remove(ctx, b)
}

// safeSend keeps one bad message from ending the program.
func (c *courier) safeSend(ctx context.Context, m Message) (err error) {
	defer func() {
		if v := recover(); v != nil {
			c.log.Error("panic in a send", "chat", c.log.alias(m.Chat), "what", panicked(v), "stack", string(debug.Stack()))
			err = fmt.Errorf("panic: %s", panicked(v))
		}
	}()
	return moves{c.store}.send(ctx, c.sender, m)
}

// remove tells what became of what was sent or given up, and takes it off the
// outbox. Its own time limit is Redis', not what the send has left over.
func (c *courier) remove(ctx context.Context, b *box) verdict {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), c.o.SendTimeout)
	defer cancel()
	more := 0
	if len(b.items) == b.n {
		more = readAhead
		c.queue.reading(b)
	}
	ids := make([]string, b.n)
	for i := range ids {
		ids[i] = b.items[i].ID
	}
	for _, it := range b.items[:b.n] {
		m, err := messageOf(it)
		if err != nil {
			m = Message{Chat: b.chat}
		}
		if err := c.told(ctx, m, it.ID, b.lost); err != nil {
			return c.redisFailed(b, err)
		}
	}
	begun := time.Now()
	got, err := c.store.Remove(ctx, b.chat, ids, c.owner, c.o.Lease, more)
	if err != nil {
		return c.redisFailed(b, err)
	}
	rest := b.items[b.n:]
	b.n, b.sent, b.lost, b.tries = 0, false, "", 0
	if !got.Held {
		// Sending took longer than the lease lasted. Whoever has it now may
		// send this reply again.
		c.log.Warn("lease lost while sending", "chat", c.log.alias(b.chat))
		b.items = nil
		c.queue.held(b, time.Time{})
		return verdict{over: true}
	}
	if more == 0 {
		got.Items = rest
	}
	return c.got(b, got, begun)
}

// takePutOff takes one update that was put off, and looks at what Redis has
// then.
func (c *courier) takePutOff(ctx context.Context, b *box) verdict {
	l, err := c.late(ctx, b.chat)
	switch {
	case err != nil:
		return c.redisFailed(b, err)
	case l.wait > 0:
		return verdict{wait: l.wait}
	case !l.done:
		return verdict{wait: c.backoff(b)}
	}
	b.putOff = false
	return c.claim(ctx, b)
}
