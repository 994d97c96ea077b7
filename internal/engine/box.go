package engine

import (
	"context"
	"sync"
	"time"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
)

// queue is what this process has to send, a box for each chat.
type queue struct {
	mu      sync.Mutex
	work    *sync.Cond // a box became ready, or the queue is to end
	boxes   map[int64]*box
	commits map[int64]bool        // chats whose turn is being written; true: a box was done with meanwhile
	kept    map[int64]*time.Timer // chats of whose burst more is being taken
	ready   []*box
	busy    int  // boxes that a worker has
	closing bool // Drain waits for the last box
	ended   bool // no further send may begin
	gaveUp  bool // sends that have begun are not waited for
	stopped bool // the leases are given back
	pace    *pace
	line    line
}

func newQueue(p *pace) *queue {
	q := &queue{pace: p, boxes: map[int64]*box{}, commits: map[int64]bool{}, kept: map[int64]*time.Timer{}}
	q.work = sync.NewCond(&q.mu)
	return q
}

// A box is what this process has to do for one chat: replies to send, updates
// that were put off. It is one of: ready (in the queue for a worker), busy (a
// worker or Flush has it), waiting (for a time to come), in line (for what the platform
// takes of the whole bot), kept back (for the rest of a burst). A worker does one thing for a box and puts it back at the end of
// the queue, so that a chat with much to send doesn't hold up the others.
type box struct {
	chat int64

	// Only the worker that holds the box, or Flush, touches these.
	items  []session.Item // the head of the outbox, as far as it was read
	putOff bool           // updates may be put off
	n      int            // so many of items go out as one; 0: nobody has looked yet
	apart  bool           // each goes out by itself: together they were refused
	sent   bool           // the first n were sent or given up, but could not be removed yet
	lost   dialog.Why     // why the first was given up; "": it was sent
	read   int64          // fence of the lease under which items were read
	marked bool           // what became of the first n is noted
	shown  stands         // the message that was sent last, if it is to be noted
	tries  int            // failures in a row
	sweep  bool           // found by the sweep

	// Guarded by queue.mu.
	until   time.Time // our lease; zero: not held
	fence   int64     // of our lease
	state   boxState
	again   bool        // something was committed while busy
	behind  bool        // something was committed since items were read
	at      time.Time   // waiting until
	timer   *time.Timer // while waiting
	cancel  func()      // ends the send in hand
	free    chan struct{}
	granted bool // it has a token to send with
	second  bool // it stands in the second line
}

type boxState int

const (
	ready boxState = iota
	busy
	waiting
	inLine
	keptBack
)

// committing says that a turn of the chat is being written, until the returned
// func is called. A chat has one turn at a time.
func (q *queue) committing(chat int64) (done func()) {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.commits[chat] = false
	return func() {
		q.mu.Lock()
		defer q.mu.Unlock()
		delete(q.commits, chat)
	}
}

// offer hands the replies of a commit over. They are the whole outbox, and need
// not be read again, if there was nothing ahead of them and no box of the chat
// was done with while the turn was being written: that one may have sent them.
// Otherwise the box's next look at Redis finds them.
func (q *queue) offer(chat int64, until time.Time, r session.Result) {
	q.mu.Lock()
	defer q.mu.Unlock()
	b := q.boxes[chat]
	if b != nil {
		b.until, b.fence = until, r.Fence
		b.again, b.behind = true, true
		if b.state == waiting && (b.sent || len(b.items) == 0 && !b.putOff) {
			b.timer.Stop() // it waited for Redis or for the lease
			q.push(b)
		}
		return
	}
	if q.stopped {
		return // the lease runs out, and another process finds the replies
	}
	b = &box{chat: chat, until: until, fence: r.Fence}
	if r.Ahead == 0 && !q.commits[chat] {
		b.items, b.read = r.Items, r.Fence
	}
	q.boxes[chat] = b
	q.push(b)
}

// push needs q.mu, as pop and hold do.
func (q *queue) push(b *box) {
	if q.kept[b.chat] != nil {
		b.state = keptBack
		return
	}
	b.state = ready
	q.ready = append(q.ready, b)
	q.work.Signal()
}

func (q *queue) pop() *box {
	for len(q.ready) > 0 {
		b := q.ready[0]
		q.ready[0] = nil
		q.ready = q.ready[1:]
		if b.state == ready && q.boxes[b.chat] == b { // else Flush has or had it
			q.hold(b)
			return b
		}
	}
	return nil
}

func (q *queue) hold(b *box) {
	if b.timer != nil {
		b.timer.Stop()
		b.timer = nil
	}
	b.state = busy
	b.again = false
	q.busy++
}

// keepFor is how long a chat's replies are kept back for the rest of a burst at
// the most.
const keepFor = time.Second

// keep keeps a chat's replies back until the returned func is called, so that
// those to a burst wait together. A send that has begun goes on.
func (q *queue) keep(chat int64) (done func()) {
	q.mu.Lock()
	defer q.mu.Unlock()
	done = func() {
		q.mu.Lock()
		defer q.mu.Unlock()
		q.release(chat)
	}
	if q.kept[chat] == nil && !q.closing {
		q.kept[chat] = time.AfterFunc(keepFor, done)
	}
	return done
}

// release needs q.mu.
func (q *queue) release(chat int64) {
	if t := q.kept[chat]; t != nil {
		t.Stop()
		delete(q.kept, chat)
	}
	if b := q.boxes[chat]; b != nil && b.state == keptBack {
		q.push(b)
	}
}

// verdict says what is to become of a box that a worker is done with.
type verdict struct {
	over bool          // nothing left for this process
	wait time.Duration // before the next go
	line bool          // it stands in line for a token of the bot's
}

// settle puts a box back.
func (q *queue) settle(b *box, v verdict) {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.busy--
	b.cancel = nil
	if b.free != nil {
		close(b.free)
		b.free = nil
	}
	if q.closing {
		defer q.work.Broadcast() // it may have been the last
	}
	switch {
	case v.over && b.again: // committed just after we saw the end
		b.drop()
		q.push(b)
	case v.over:
		delete(q.boxes, b.chat)
		if _, now := q.commits[b.chat]; now {
			q.commits[b.chat] = true
		}
	case v.line:
		q.stand(b)
	case v.wait > 0:
		b.state = waiting
		b.at = time.Now().Add(v.wait)
		b.timer = time.AfterFunc(v.wait, func() {
			q.mu.Lock()
			defer q.mu.Unlock()
			if b.state == waiting && q.boxes[b.chat] == b {
				q.push(b)
			}
		})
	default:
		q.push(b)
	}
}

// next waits for a box to attend to; nil when done says so or ctx ends.
func (q *queue) next(ctx context.Context, done func() bool) *box {
	q.mu.Lock()
	defer q.mu.Unlock()
	for {
		if ctx.Err() != nil || q.ended || q.stopped {
			return nil
		}
		if b := q.pop(); b != nil {
			return b
		}
		if done() {
			return nil
		}
		q.work.Wait()
	}
}

func (q *queue) held(b *box, until time.Time, fence int64) {
	q.mu.Lock()
	defer q.mu.Unlock()
	b.until, b.fence = until, fence
}

// mine is whether the lease under which the box's items were read still holds, and
// will for as long as margin. It needs q.mu. The time is the monotonic clock's, which
// goes on while the process is stopped.
func (b *box) mine(margin time.Duration) bool {
	return !b.until.IsZero() && time.Until(b.until) > margin && b.fence == b.read
}

// holds is an error when the lease is over: what is in hand may be another's by now.
func (q *queue) holds(b *box) error {
	q.mu.Lock()
	defer q.mu.Unlock()
	if !b.mine(0) {
		return ErrLeaseOver
	}
	return nil
}

// drop forgets what was read.
func (b *box) drop() {
	b.items, b.n, b.sent, b.lost, b.marked, b.putOff, b.shown = nil, 0, false, "", false, false, stands{}
}

// reading says that the box's outbox is about to be read.
func (q *queue) reading(b *box) {
	q.mu.Lock()
	defer q.mu.Unlock()
	b.behind = false
}

// end keeps further sends from beginning.
func (q *queue) end() {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.ended = true
	q.work.Broadcast()
}

// idle waits until nobody attends to a box, so that no lease is given back under
// a send, but hardly longer than ctx lasts.
func (q *queue) idle(ctx context.Context) {
	const last = 100 * time.Millisecond // for sends that were cut off to return
	defer context.AfterFunc(ctx, func() { time.AfterFunc(last, q.giveUp) })()
	q.mu.Lock()
	defer q.mu.Unlock()
	for q.busy > 0 && !q.gaveUp {
		q.work.Wait()
	}
}

func (q *queue) giveUp() {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.gaveUp = true
	q.work.Broadcast()
}

// nothingDue is whether no box will want attention before ctx ends. It needs
// q.mu.
func (q *queue) nothingDue(ctx context.Context) bool {
	if q.busy > 0 || len(q.ready) > 0 {
		return false
	}
	end, limited := ctx.Deadline()
	for _, b := range q.boxes {
		if !limited || b.at.Before(end) {
			return false
		}
	}
	return true
}

func (q *queue) cancelSends() {
	q.mu.Lock()
	defer q.mu.Unlock()
	for _, b := range q.boxes {
		if b.cancel != nil {
			b.cancel()
		}
	}
}

// close says that the queue is to end: whoever waits for the last box is woken.
func (q *queue) close() {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.closing = true
	for chat := range q.kept {
		q.release(chat)
	}
}

// first is the chat whose box has been ready longest; ok is false when none is.
func (q *queue) first() (chat int64, ok bool) {
	q.mu.Lock()
	defer q.mu.Unlock()
	for len(q.ready) > 0 {
		if b := q.ready[0]; b.state == ready && q.boxes[b.chat] == b {
			return b.chat, true
		}
		q.ready = q.ready[1:] // Flush attended to it
	}
	return 0, false
}

// stand puts a box in line. It needs q.mu, as admit does.
func (q *queue) stand(b *box) {
	b.state = inLine
	since := time.Now()
	if len(b.items) > 0 {
		since = b.items[0].At
	}
	q.line.put(b.chat, b.second, since)
	q.admit()
}

// admit lets boxes go as long as the bot has tokens, and looks again when it has more.
func (q *queue) admit() {
	if q.line.timer != nil {
		q.line.timer.Stop()
		q.line.timer = nil
	}
	for q.line.len() > 0 && !q.stopped {
		if wait := q.pace.take(); wait > 0 {
			q.line.timer = time.AfterFunc(wait, func() {
				q.mu.Lock()
				defer q.mu.Unlock()
				q.admit()
			})
			return
		}
		if b := q.boxes[q.line.next()]; b != nil && b.state == inLine {
			b.granted = true
			q.push(b)
		}
	}
}

// waitInLine is how many boxes wait for a token of the bot's.
func (q *queue) waitInLine() int {
	q.mu.Lock()
	defer q.mu.Unlock()
	return q.line.len()
}
