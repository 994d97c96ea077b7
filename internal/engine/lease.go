package engine

import (
	"context"
	"time"
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
// later for those that have waited for a while.
func (c *courier) sweep() func(context.Context) {
	age := time.Duration(0)
	return func(ctx context.Context) {
		found, err := c.store.Pending(ctx, age)
		if err != nil {
			if ctx.Err() == nil {
				c.log.Warn("sweep failed", "err", err)
			}
			return
		}
		age = c.o.Sweep
		oldest := time.Now()
		for _, p := range found {
			if p.Since.Before(oldest) {
				oldest = p.Since
			}
		}
		c.m.waiting.Set(float64(len(found)))
		c.m.oldest.Set(time.Since(oldest).Seconds())
		c.queue.mu.Lock()
		defer c.queue.mu.Unlock()
		for _, p := range found {
			if len(c.queue.boxes) >= maxBoxes || c.queue.stopped {
				return
			}
			if c.queue.boxes[p.Chat] == nil {
				b := &box{chat: p.Chat, sweep: true}
				c.queue.boxes[p.Chat] = b
				c.queue.push(b)
			}
		}
	}
}

// renew keeps the leases of boxes that wait or are slow.
func (c *courier) renew(ctx context.Context) {
	c.queue.mu.Lock()
	var chats []int64
	begun := time.Now()
	for chat, b := range c.queue.boxes {
		if b.until.IsZero() {
			continue
		}
		if left := b.until.Sub(begun); left < c.o.Lease*2/3 {
			chats = append(chats, chat)
		}
		if b.until.Before(begun) && b.cancel != nil {
			b.cancel() // others may send by now
		}
	}
	c.queue.mu.Unlock()
	if len(chats) == 0 {
		return
	}
	lost, err := c.store.Renew(ctx, chats, c.owner, c.o.Lease)
	if err != nil {
		if ctx.Err() == nil {
			c.log.Warn("leases not renewed", "err", err)
		}
		return
	}
	gone := map[int64]bool{}
	for _, chat := range lost {
		gone[chat] = true
	}
	c.queue.mu.Lock()
	defer c.queue.mu.Unlock()
	for _, chat := range chats {
		b := c.queue.boxes[chat]
		if b == nil {
			continue
		}
		if !gone[chat] {
			if until := begun.Add(c.o.Lease); !b.until.IsZero() && until.After(b.until) {
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
func (c *courier) letGo() {
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
	defer cancel()
	c.queue.mu.Lock()
	c.queue.stopped = true
	c.queue.work.Broadcast()
	var chats []int64
	for chat, b := range c.queue.boxes {
		if b.timer != nil {
			b.timer.Stop()
		}
		if !b.until.IsZero() {
			chats = append(chats, chat)
		}
		delete(c.queue.boxes, chat)
	}
	c.queue.mu.Unlock()
	for _, chat := range chats {
		if err := c.store.Release(ctx, chat, c.owner); err != nil {
			return // they run out by themselves
		}
	}
}
