package engine

import (
	"context"
	"sync"
	"time"
)

// chats keeps, for each chat that wrote of late, whose turn it is and how fast
// it goes.
type chats struct {
	rate, burst float64
	clock       func() time.Time

	mu    sync.Mutex
	known map[int64]*chat
	purge int // clean up when so many are known
}

// quiet is how long a chat is not told again that it goes too fast.
const quiet = time.Minute

type chat struct {
	id   int64
	busy chan struct{} // full while a turn is in hand

	// When the chat was last told that it goes too fast, and that there is no
	// more room. Only the turn in hand touches these.
	toldSlow, toldFull time.Time

	// Guarded by chats.mu.
	users int
	spent float64 // turns beyond what the rate gave, up to burst
	at    time.Time
}

// enter waits until no other turn of the chat is in hand in this process. That
// keeps two of them from making each other stale, and in order.
func (cs *chats) enter(ctx context.Context, id int64) (*chat, error) {
	cs.mu.Lock()
	c := cs.known[id]
	if c == nil {
		c = &chat{id: id, busy: make(chan struct{}, 1)}
		cs.known[id] = c
	}
	c.users++
	cs.clean()
	cs.mu.Unlock()
	select {
	case c.busy <- struct{}{}:
		return c, nil
	case <-ctx.Done():
		cs.mu.Lock()
		c.users--
		cs.mu.Unlock()
		return nil, ctx.Err()
	}
}

func (cs *chats) leave(c *chat) {
	<-c.busy
	cs.mu.Lock()
	c.users--
	cs.mu.Unlock()
}

// allow is whether the chat may take a turn now, and counts it.
func (cs *chats) allow(c *chat) bool {
	if cs.rate < 0 {
		return true
	}
	cs.mu.Lock()
	defer cs.mu.Unlock()
	cs.refill(c, cs.clock())
	if c.spent+1 > cs.burst {
		return false
	}
	c.spent++
	return true
}

// wait is how long until allow would say yes.
func (cs *chats) wait(c *chat) time.Duration {
	if cs.rate < 0 {
		return 0
	}
	cs.mu.Lock()
	defer cs.mu.Unlock()
	cs.refill(c, cs.clock())
	over := c.spent + 1 - cs.burst
	if over <= 0 {
		return 0
	}
	return time.Duration(over / cs.rate * float64(time.Second))
}

func (cs *chats) refill(c *chat, now time.Time) {
	if gone := now.Sub(c.at); gone > 0 {
		c.spent = max(0, c.spent-gone.Seconds()*cs.rate)
		c.at = now
	}
}

// clean forgets chats that nobody waits for and that have spent nothing, each
// time that the number of chats has doubled: memory follows the chats that
// write at the same time, not all that ever wrote.
func (cs *chats) clean() {
	if len(cs.known) < cs.purge {
		return
	}
	now := cs.clock()
	for id, c := range cs.known {
		if c.users > 0 {
			continue
		}
		if cs.refill(c, now); cs.rate < 0 || c.spent == 0 && now.Sub(c.toldSlow) > quiet {
			delete(cs.known, id)
		}
	}
	cs.purge = max(1024, 2*len(cs.known))
}
