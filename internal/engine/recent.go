package engine

import (
	"maps"
	"sync"
	"time"

	"sillbot/internal/session"
)

// recent keeps the conversations that were committed last, so that the next
// turn of one need not load it: the commit finds out if it has changed since.
// Behind several replicas it mostly has, and a wasted commit costs more than a
// load, so after one of those recent is not asked for a while.
type recent struct {
	mu       sync.Mutex
	new, old map[session.Key]session.Conversation
	off      time.Time
}

const (
	// Both generations together hold twice as many: some 16 MB at the most, and the one
	// of now as much again for what the conversations were made of.
	recentSize = 4096
	recentOff  = time.Minute
)

// get gives a conversation, and whether it is there.
func (r *recent) get(k session.Key) (session.Conversation, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	c, ok := r.new[k]
	if !ok {
		c, ok = r.old[k]
	}
	return c, ok && time.Now().After(r.off)
}

func (r *recent) put(k session.Key, c session.Conversation) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.new == nil || len(r.new) >= recentSize {
		r.old, r.new = r.new, map[session.Key]session.Conversation{}
		for k, c := range r.old { // what it was made of takes more than all else
			c.Value = nil
			r.old[k] = c
		}
	}
	r.new[k] = c
}

// drop forgets a conversation of which this process may not know the last
// state.
func (r *recent) drop(k session.Key) {
	r.mu.Lock()
	defer r.mu.Unlock()
	delete(r.new, k)
	delete(r.old, k)
}

// dropChat forgets all that was said in a chat.
func (r *recent) dropChat(chat int64) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, m := range []map[session.Key]session.Conversation{r.new, r.old} {
		maps.DeleteFunc(m, func(k session.Key, _ session.Conversation) bool { return k.Chat == chat })
	}
}

// failed is told that a conversation from here had changed.
func (r *recent) failed() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.off = time.Now().Add(recentOff)
}
