package engine

import (
	"context"
	"maps"
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// chats keeps, for each chat that wrote of late, whose turn it is and how fast
// it goes.
type chats struct {
	rate  rate.Limit
	burst int
	clock func() time.Time

	mu    sync.Mutex
	known map[int64]*chat
	purge int // clean up when so many are known
}

// quiet is how long a chat is not told again that it goes too fast.
const quiet = time.Minute

// perSecond is the limit of an Options.Rate.
func perSecond(n float64) rate.Limit {
	if n < 0 {
		return rate.Inf
	}
	return rate.Limit(n)
}

type chat struct {
	busy chan struct{} // full while a turn is in hand

	// When the chat was last told that it goes too fast, and that there is no
	// more room. Only the turn in hand touches these.
	toldSlow, toldFull time.Time

	limit *rate.Limiter
	// away is how fast accounts are told that their person uses another one now.
	away  *rate.Limiter
	users int // guarded by chats.mu
}

// enter waits until no other turn of the chat is in hand in this process. That
// keeps two of them from making each other stale, and in order.
func (cs *chats) enter(ctx context.Context, id int64) (*chat, error) {
	cs.mu.Lock()
	c := cs.known[id]
	if c == nil {
		c = &chat{busy: make(chan struct{}, 1), limit: rate.NewLimiter(cs.rate, cs.burst), away: rate.NewLimiter(0.1, 10)}
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
func (cs *chats) allow(c *chat) bool { return c.limit.AllowN(cs.clock(), 1) }

// wait is how long until allow would say yes.
func (cs *chats) wait(c *chat) time.Duration {
	missing := max(0, 1-c.limit.TokensAt(cs.clock()))
	return time.Duration(missing / float64(cs.rate) * float64(time.Second))
}

// clean forgets chats that nobody waits for and that have spent nothing, each
// time that the number of chats has doubled: memory follows the chats that
// write at the same time, not all that ever wrote.
func (cs *chats) clean() {
	if len(cs.known) < cs.purge {
		return
	}
	now := cs.clock()
	maps.DeleteFunc(cs.known, func(_ int64, c *chat) bool {
		return c.users == 0 && c.limit.TokensAt(now) >= float64(cs.burst) && now.Sub(c.toldSlow) > quiet
	})
	cs.purge = max(1024, 2*len(cs.known))
}
