package engine

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	mrand "math/rand/v2"
	"runtime/debug"
	"sync"
	"sync/atomic"
	"time"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
	"sillbot/internal/talk"
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
	pace   *pace
	strips *strips
	owner  string // of leases
	unsure atomic.Int64

	// carry does what a reply asks the engine itself to do; done is false for
	// one that is to be sent.
	carry func(ctx context.Context, m Message, item string) (done bool, err error)
	// told says what became of a reply: why it was given up, or "" for one that was
	// sent. It may be called again for the same.
	told func(ctx context.Context, m Message, item string, lost dialog.Why) error
	// tells is whether told has anybody to tell.
	tells func(m Message, lost dialog.Why) bool
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
	mine := b.mine(c.o.Lease / 4)
	behind := b.behind && b.n == 0
	c.queue.mu.Unlock()
	switch {
	case b.sent && mine:
		return c.remove(ctx, b)
	case len(b.items) > 0 && mine && behind && joins(c.sender, b.items[0]):
		if v := c.claim(ctx, b); v != (verdict{}) || len(b.items) == 0 {
			return v
		}
		return c.inPace(ctx, b)
	case len(b.items) > 0 && mine:
		return c.inPace(ctx, b)
	case b.putOff && len(b.items) == 0 && mine:
		return c.takePutOff(ctx, b)
	}
	return c.claim(ctx, b)
}

// inPace sends the head of the outbox once the platform takes it. What comes meanwhile
// waits with it, and may go out as one.
func (c *courier) inPace(ctx context.Context, b *box) verdict {
	if v, ok := c.mayGo(b); !ok {
		return v
	}
	return c.send(ctx, b)
}

// mayGo is whether the head of a box may be sent now: ok, with a token of the bot's, or
// what is to become of the box until then.
func (c *courier) mayGo(b *box) (v verdict, ok bool) {
	m, err := messageOf(b.items[0])
	if c.pace.off() || err != nil || !m.Reply.Spoken() || talk.IsPage(b.chat) { // a page is none of the platform's
		return verdict{}, true
	}
	if wait := c.pace.chatWait(b.chat, sends(m)); wait > 0 {
		of := "chat"
		if b.chat < 0 {
			of = "group"
		}
		c.m.held.WithLabelValues(of).Inc()
		return verdict{wait: wait}, false
	}
	c.queue.mu.Lock()
	defer c.queue.mu.Unlock()
	if b.granted || c.queue.line.len() == 0 && c.pace.take() == 0 {
		b.granted = true
		return verdict{}, true
	}
	c.m.held.WithLabelValues("bot").Inc()
	b.second = b.chat < 0 || m.Reply.Of != nil
	return verdict{line: true}, false
}

// claim takes or renews the lease and reads the head of the outbox.
func (c *courier) claim(ctx context.Context, b *box) verdict {
	begun := time.Now()
	c.queue.reading(b)
	got, err := c.store.Claim(ctx, b.chat, c.leaseOf(b), readAhead)
	if err != nil {
		return c.redisFailed(b, err)
	}
	if got.Fence == 0 {
		b.drop()
		c.queue.held(b, time.Time{}, 0)
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
	v := c.got(b, got, begun)
	b.resume(got.Mark)
	return v
}

// got takes a box's new contents in.
func (c *courier) got(b *box, got session.Box, begun time.Time) verdict {
	if got.Empty {
		b.items = nil
		c.queue.held(b, time.Time{}, 0)
		return verdict{over: true}
	}
	c.queue.held(b, begun.Add(c.o.Lease), got.Fence)
	b.putOff = got.PutOff > 0
	b.items, b.read = got.Items, got.Fence
	return verdict{}
}

// leaseOf is the lease under which the box's items were read.
func (c *courier) leaseOf(b *box) session.Lease {
	return session.Lease{Owner: c.owner, For: c.o.Lease, Fence: b.read}
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
	case errors.Is(err, session.ErrNewer) && time.Since(it.At) < newerWaits:
		// A later program can send it.
	case err != nil:
		if it.Err == nil {
			it.Err = session.ErrBroken
		}
		if err := c.store.ReplyAside(ctx, b.chat, it); err != nil {
			return c.redisFailed(b, err)
		}
		err = &DropError{Err: errors.New("the record can't be read")}
	default:
		err = c.attempt(c.underLease(ctx, b), b, m)
	}
	b.n = max(1, b.n)
	if errors.Is(err, ErrLeaseOver) { // before anything was called
		c.queue.held(b, time.Time{}, 0)
		return verdict{}
	}
	return c.afterSend(ctx, b, err)
}

// attempt does what the reply asks of the engine, or sends it with those that go
// with it.
func (c *courier) attempt(ctx context.Context, b *box, m Message) error {
	if err := MaySend(ctx); err != nil {
		return err
	}
	done, err := c.carry(ctx, m, b.items[0].ID)
	if done {
		return err
	}
	m = b.together(c.sender, m)
	sent, err := c.safeSend(c.counted(ctx, b, m), m)
	if err == nil {
		b.shown = standsNow(m, sent)
	}
	return err
}

// underLease is ctx for sending what is in hand, see MaySend.
func (c *courier) underLease(ctx context.Context, b *box) context.Context {
	return context.WithValue(ctx, leaseKey{}, func() error { return c.queue.holds(b) })
}

// leaseLost leaves what is in hand to whoever has the lease now, who sends it as
// well unless it was given up. That is counted.
func (c *courier) leaseLost(b *box) verdict {
	if b.lost == "" {
		c.unsure.Add(1)
	}
	c.log.Warn("lease lost while sending", "chat", c.log.alias(b.chat))
	b.drop()
	c.queue.held(b, time.Time{}, 0)
	return verdict{} // and look who has it
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
		all := retry.Limited && c.pace.limited(b.chat, retry.After)
		c.log.Info("asked to wait", reply, "for", retry.After, "all", all)
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

// once sends what nothing is kept of, and follows no group that moves.
func (c *courier) once(ctx context.Context, m Message) (err error) {
	defer func() {
		if v := recover(); v != nil {
			err = fmt.Errorf("panic: %s", panicked(v))
		}
	}()
	m.To = cmp.Or(m.To, m.Chat)
	if m.Chat < 0 {
		if m.To, err = c.store.Now(ctx, m.Chat); err != nil {
			return err
		}
	}
	c.pace.sent(m.Chat, 1, 0)
	_, err = c.sender.Send(ctx, m)
	return err
}

// safeSend keeps one bad message from ending the program.
func (c *courier) safeSend(ctx context.Context, m Message) (sent Sent, err error) {
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
	if v, ok := c.tell(ctx, b); !ok {
		return v
	}
	over := c.queue.holds(b) != nil
	begun := time.Now()
	got, err := c.store.Remove(ctx, b.chat, ids, c.leaseOf(b), more, b.shown.Shown)
	if err != nil {
		return c.redisFailed(b, err)
	}
	if got.Fence == 0 {
		return c.leaseLost(b)
	}
	if got.Empty && over && b.lost == "" {
		c.unsure.Add(1) // another may have sent it, and removed it
	}
	if c.pace.off() || b.chat > 0 || c.pace.chatWait(b.chat, 1) == 0 { // nothing depends on it
		strip(c.beside(ctx, b.chat), c.sender, c.log, c.strips, b.shown, got.Shown)
	}
	c.strips.note(b.shown.Msg, b.shown.of)
	rest := b.items[b.n:]
	b.shown = stands{}
	b.n, b.sent, b.lost, b.marked, b.tries = 0, false, "", false, 0
	if more == 0 {
		got.Items = rest
	}
	return c.got(b, got, begun)
}

// sentMark is what is noted of a reply that went out; else it is why it was given
// up.
const sentMark = "sent"

// tell tells what became of what was sent or given up. It is noted under the lease
// first: had another taken the box over, the two might tell different things. ok is
// false when it could not be done.
func (c *courier) tell(ctx context.Context, b *box) (v verdict, ok bool) {
	for _, it := range b.items[:b.n] {
		m, err := messageOf(it)
		if err != nil {
			m = Message{Chat: b.chat}
		}
		if !c.tells(m, b.lost) {
			continue
		}
		if !b.marked {
			mark := session.Mark{ID: b.items[0].ID, N: b.n, What: cmp.Or(string(b.lost), sentMark)}
			switch fence, err := c.store.Mark(ctx, b.chat, mark, c.leaseOf(b)); {
			case err != nil:
				return c.redisFailed(b, err), false
			case fence == 0:
				return c.leaseLost(b), false
			default:
				b.marked = true
			}
		}
		if err := c.told(ctx, m, it.ID, b.lost); err != nil {
			return c.redisFailed(b, err), false
		}
	}
	return verdict{}, true
}

// resume goes on where whoever noted mark has died: the first replies were sent or
// given up, and are to be told and removed.
func (b *box) resume(mark session.Mark) {
	if mark.N == 0 || mark.N > len(b.items) || b.items[0].ID != mark.ID {
		return
	}
	b.n, b.sent, b.marked, b.lost = mark.N, true, true, ""
	if mark.What != sentMark {
		b.lost = dialog.Why(mark.What)
	}
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

// beside is ctx for changing a message of a group besides, which the platform counts there
// as one more (M).
func (c *courier) beside(ctx context.Context, chat int64) context.Context {
	if c.pace.off() || chat > 0 {
		return ctx
	}
	return context.WithValue(ctx, countKey{}, func() { c.pace.sent(chat, 1, 0) })
}

// counted is ctx for sending a message, which counts what it takes.
func (c *courier) counted(ctx context.Context, b *box, m Message) context.Context {
	if c.pace.off() || talk.IsPage(b.chat) {
		return ctx
	}
	given, n := 1, sends(m)
	c.queue.mu.Lock()
	if !b.granted { // it waited for nothing, such as under Flush
		given = 0
	}
	b.granted = false
	c.queue.mu.Unlock()
	c.pace.sent(b.chat, n, given)
	calls := 0
	return context.WithValue(ctx, countKey{}, func() {
		if calls++; calls > n {
			c.pace.sent(b.chat, 1, 0)
		}
	})
}
