package engine

import (
	"context"
	"time"
)

// Waiting is a chat that this process has something to send to or to do for,
// the one that has waited longest first; ok is false when there is none.
func (e *Engine) Waiting() (chat int64, ok bool) {
	e.mu.Lock()
	defer e.mu.Unlock()
	for len(e.ready) > 0 {
		if b := e.ready[0]; b.state == ready && e.boxes[b.chat] == b {
			return b.chat, true
		}
		e.ready = e.ready[1:] // Flush attended to it
	}
	return 0, false
}

// Flush sends what waits for one chat and returns when nothing does, or when
// another process sends for the chat. It needs no Run.
func (e *Engine) Flush(ctx context.Context, chat int64) error {
	e.mu.Lock()
	b := e.boxes[chat]
	if b == nil {
		b = &box{chat: chat}
		e.boxes[chat] = b
		b.state = ready
	}
	for e.boxes[chat] == b {
		if err := ctx.Err(); err != nil {
			e.mu.Unlock()
			return err
		}
		switch b.state {
		case busy:
			if b.free == nil {
				b.free = make(chan struct{})
			}
			free := b.free
			e.mu.Unlock()
			select {
			case <-free:
			case <-ctx.Done():
			}
			e.mu.Lock()
			continue
		case waiting:
			wait := time.Until(b.at)
			if wait > 0 {
				e.mu.Unlock()
				_ = pause(ctx, wait) // ctx is looked at above
				e.mu.Lock()
				continue
			}
		}
		e.hold(b)
		e.mu.Unlock()
		e.settle(b, e.attend(b))
		e.mu.Lock()
	}
	e.mu.Unlock()
	return nil
}
