package engine

import (
	"context"
	"slices"
	"time"

	"sillbot/internal/session"
)

// every does it now, and again each time that t has passed, until ctx ends.
func every(ctx context.Context, t time.Duration, do func(context.Context)) {
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

// maxBoxes is how many boxes a process may hold and still begin more in a sweep.
// A later sweep finds what is left over.
const maxBoxes = 10000

// sweep looks for chats that nobody attends to: at first for all that wait,
// later for those that have waited for a while. Since when one waits was written by
// another's clock, which may have gone wrong; so what was seen in an earlier sweep
// has waited at least since then.
func (c *courier) sweep() func(context.Context) {
	age := time.Duration(0)
	seen := map[int64]time.Time{}
	return func(ctx context.Context) {
		found, err := c.store.Pending(ctx)
		if err != nil {
			if ctx.Err() == nil {
				c.log.Warn("sweep failed", "err", err)
			}
			return
		}
		now, oldest := time.Now(), time.Duration(0)
		var due []int64
		first := make(map[int64]time.Time, len(found))
		for _, p := range found {
			first[p.Chat] = now
			if at, again := seen[p.Chat]; again {
				first[p.Chat] = at
			}
			waited := max(now.Sub(p.Since), now.Sub(first[p.Chat]))
			oldest = max(oldest, waited)
			if waited >= age {
				due = append(due, p.Chat)
			}
		}
		seen, age = first, c.o.Sweep
		c.m.waiting.Set(float64(len(due)))
		c.m.oldest.Set(oldest.Seconds())
		c.attendTo(due)
	}
}

// attendTo makes boxes for chats that have none.
func (c *courier) attendTo(chats []int64) {
	c.queue.mu.Lock()
	defer c.queue.mu.Unlock()
	for _, chat := range chats {
		if len(c.queue.boxes) >= maxBoxes || c.queue.stopped {
			return
		}
		if c.queue.boxes[chat] == nil {
			b := &box{chat: chat, sweep: true}
			c.queue.boxes[chat] = b
			c.queue.push(b)
		}
	}
}

// renew keeps the leases of boxes that wait or are slow.
func (c *courier) renew(ctx context.Context) {
	c.queue.mu.Lock()
	leases := map[int64]session.Lease{}
	begun := time.Now()
	for chat, b := range c.queue.boxes {
		if b.until.IsZero() {
			continue
		}
		if left := b.until.Sub(begun); left < c.o.Lease*2/3 {
			leases[chat] = session.Lease{Owner: c.owner, For: c.o.Lease, Fence: b.fence}
		}
		if b.until.Before(begun) && b.cancel != nil {
			b.cancel() // others may send by now
		}
	}
	c.queue.mu.Unlock()
	if len(leases) == 0 {
		return
	}
	lost, err := c.store.Renew(ctx, leases)
	if err != nil {
		if ctx.Err() == nil {
			c.log.Warn("leases not renewed", "err", err)
		}
		return
	}
	c.queue.mu.Lock()
	defer c.queue.mu.Unlock()
	for chat, l := range leases {
		b := c.queue.boxes[chat]
		if b == nil || b.fence != l.Fence || b.until.IsZero() {
			continue
		}
		if slices.Contains(lost, chat) {
			b.until = time.Time{}
			if b.cancel != nil {
				b.cancel()
			}
			continue
		}
		if until := begun.Add(c.o.Lease); until.After(b.until) {
			b.until = until
		}
	}
}

// letGo stops the workers and gives the leases back, so that another process
// can go on at once.
func (c *courier) letGo() {
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
	defer cancel()
	c.queue.mu.Lock()
	c.queue.stopped = true
	c.queue.work.Broadcast()
	leases := map[int64]session.Lease{}
	for chat, b := range c.queue.boxes {
		if b.timer != nil {
			b.timer.Stop()
		}
		if !b.until.IsZero() {
			leases[chat] = session.Lease{Owner: c.owner, Fence: b.fence}
		}
		delete(c.queue.boxes, chat)
	}
	c.queue.mu.Unlock()
	for chat, l := range leases {
		if err := c.store.Release(ctx, chat, l); err != nil {
			return // they run out by themselves
		}
	}
}
