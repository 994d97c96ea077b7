// Package engine takes one update through the conversation: load the state,
// step, commit, and only then say that it was taken. It also sends what the
// outbox holds. It knows neither the questions nor the messaging platform.
//
// From its lowest file upwards: update.go and options.go are what others give
// it; log.go, metrics.go, limit.go (how fast a chat may go), recent.go (states
// at hand), pace.go (when the platform takes more) and box.go (what is to be
// sent) are what it remembers; gate.go says who is let in; jobs.go, stepper.go,
// unread.go (what can't be read), due.go (a look for reminders) and step.go make a
// turn, turn.go commits it, mail.go brings letters to other chats, remind.go looks at
// what is due; burst.go makes one reply of several, courier.go
// sends and lease.go keeps the right to; moved.go says where a group is, and
// home.go whose an update is; engine.go is
// all of it.
package engine

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"sync"
	"time"

	"golang.org/x/time/rate"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
	"sillbot/internal/talk"
)

// Engine takes updates and sends replies. Its methods may be called from several
// goroutines; Take should be, a goroutine to a chat, because one chat must not
// wait for another.
type Engine struct {
	turns   turns
	courier courier
	queue   *queue
	store   *session.Store
	log     journal
	m       *metrics

	mu      sync.Mutex
	closing bool
	taking  sync.WaitGroup // turns in hand
}

// ErrClosed refuses an update because the engine is shutting down. The update
// was not taken.
var ErrClosed = errors.New("the engine is closed")

// New is an engine on store that sends through sender.
func New(store *session.Store, sender Sender, opts Options) *Engine {
	o := opts.filled()
	log := journal{o.Log, []byte(rand.Text())}
	m, owner := newMetrics(o.Metrics), rand.Text()[:13]
	pace := newPace(o.SendsPerSecond, m)
	queue := newQueue(pace)
	m.lineOf(o.Metrics, queue.waitInLine)
	gate, strips := gate{store, o.Crew, o.Home, o.Page}, &strips{}
	e := &Engine{
		turns: turns{
			gate:    gate,
			stepper: stepper{o.Step, store, log, gate},
			store:   store, log: log, m: m, queue: queue, strips: strips,
			chats: chats{rate: perSecond(o.Rate), burst: o.Burst, clock: time.Now, known: map[int64]*chat{}},
			owner: owner, lease: o.Lease, room: o.Room, lines: rate.NewLimiter(linesPerSec, linesAtOnce),
		},
		courier: courier{o: o, store: store, sender: sender, log: log, m: m, queue: queue, pace: pace, owner: owner, strips: strips},
		queue:   queue, store: store, log: log, m: m,
	}
	e.courier.carry, e.courier.tells, e.courier.told, e.courier.late = e.turns.carry, e.turns.tells, e.turns.told, e.turns.takePutOff
	e.turns.say = e.courier.once
	return e
}

// Take brings one update through the conversation. nil means that it is
// committed, now or by an earlier delivery, or put off for good reason, and may
// be acknowledged. With an error it must be offered again: with
// session.ErrTooFew the turn stands, and is answered once it is.
func (e *Engine) Take(ctx context.Context, u Update) error {
	if !e.begins() {
		return ErrClosed
	}
	defer e.taking.Done()

	if u.Input.Kind == talk.Nameless {
		return e.turns.nameless(ctx, u)
	}
	begun := time.Now()
	u, err := e.turns.home(ctx, u)
	if err != nil {
		return err
	}
	c, err := e.turns.chats.enter(ctx, u.Chat)
	if err != nil {
		return fmt.Errorf("waiting for the chat: %w", err)
	}
	defer e.turns.chats.leave(c)

	result, err := e.turns.take(ctx, c, u)
	if errors.Is(err, session.ErrTooFew) {
		result = "unacknowledged"
	}
	e.m.turns.WithLabelValues(result).Inc()
	e.m.turnTime.Observe(time.Since(begun).Seconds())
	if err != nil {
		e.log.Error("turn failed", e.log.about(u), "err", err)
		return err
	}
	e.log.Debug("turn", e.log.about(u), "result", result, "took", time.Since(begun))
	return nil
}

// begins is whether another turn may begin; taking is done with it when it ends.
func (e *Engine) begins() bool {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.closing {
		return false
	}
	e.taking.Add(1)
	return true
}

// Remind says whatever there is to remind anybody of by now, which may be another time
// than that of the machine's clock. What it says waits in the outboxes, as all that is said does.
// Errors: Redis'; the chats that are left are looked at later.
func (e *Engine) Remind(ctx context.Context, now time.Time) error {
	chats, err := e.store.Due(ctx, now)
	for _, chat := range chats {
		if err != nil || ctx.Err() != nil || !e.begins() {
			break
		}
		err = e.turns.look(ctx, chat, now)
		e.taking.Done()
	}
	return err
}

// remind is Remind by the clock.
func (e *Engine) remind(ctx context.Context) {
	if err := e.Remind(ctx, e.courier.o.Clock()); err != nil && ctx.Err() == nil {
		e.log.Warn("reminders are out of reach", "err", err)
	}
}

// Show gives the record at hand in a chat, of one person of it in a group. It is
// no turn: nothing is written or said.
func (e *Engine) Show(ctx context.Context, k session.Key) (dialog.Shown, error) {
	old, err := e.store.Load(ctx, k)
	if err != nil {
		return dialog.Shown{}, err
	}
	var s dialog.State
	if old.Data != nil {
		if err := json.Unmarshal(old.Data, &s); err != nil {
			return dialog.Shown{}, fmt.Errorf("conversation: %w", err)
		}
	}
	if s.Ref != "" {
		var windows []int
		if s.Editing != 0 {
			windows = []int{s.Editing}
		}
		l, err := loadJob(ctx, e.store, k.Chat, s.Ref, windows)
		if err != nil {
			return dialog.Shown{}, err
		}
		s.Job = l.job
	}
	return s.Show(), nil
}

// Moved takes notice of a group's other number. nil means that it is kept.
func (e *Engine) Moved(ctx context.Context, first, now int64) error {
	if !e.turns.gate.open() { // nothing is kept of a group of strangers
		if has, err := e.store.Has(ctx, first, now); err != nil || !has {
			return err
		}
	}
	begun, err := e.store.Moved(ctx, first, now)
	if err != nil || !begun {
		return err
	}
	return e.turns.tell(ctx, notice(first, now))
}

// Gather keeps what is to be sent to a chat back until done is called, for a
// second at the most, while updates of one burst are taken. So the replies to
// them wait together and go out as one.
func (e *Engine) Gather(chat int64) (done func()) { return e.queue.keep(chat) }

// Admits says whether a person may use the bot, in a group or alone with it, so that
// nothing need be fetched of who may not.
func (e *Engine) Admits(ctx context.Context, user int64, group bool) (bool, error) {
	u, err := e.turns.home(ctx, Update{Chat: user, User: user, Input: dialog.Input{Kind: dialog.Typed}})
	if err != nil {
		return false, err
	}
	return e.turns.gate.admits(ctx, u.User, group)
}

// Dead puts an update that can't be decoded on the dead list. nil means that
// it may be acknowledged.
func (e *Engine) Dead(ctx context.Context, raw []byte, why string) error {
	e.log.Warn("an update can't be read", "why", why, "bytes", len(raw))
	e.m.turns.WithLabelValues("dead").Inc()
	if keep, err := e.turns.gate.keepsDead(ctx, raw); err != nil || !keep {
		return err
	}
	return e.store.Bury(ctx, raw)
}

// trimTrail is how often what is too old of who may use the bot is deleted.
const trimTrail = 6 * time.Hour

func (e *Engine) trim(ctx context.Context) {
	if err := e.store.Trim(ctx); err != nil {
		e.log.Warn("who may use the bot is out of reach", "err", err)
	}
}

// Forget deletes everything held about a chat, here and in the store.
func (e *Engine) Forget(ctx context.Context, chat int64) error {
	chat, err := e.store.First(ctx, chat)
	if err != nil {
		return err
	}
	err = e.store.Forget(ctx, chat)
	e.turns.recent.dropChat(chat)
	if err != nil || chat <= 0 {
		return err
	}
	return e.store.Dismiss(ctx, chat)
}

// Run sends what the outboxes hold, and what their dead senders left, until
// ctx ends or Drain is done. The sends in hand when ctx ends are waited for.
func (e *Engine) Run(ctx context.Context) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var all sync.WaitGroup
	all.Go(func() { every(ctx, e.courier.o.Sweep, e.courier.sweep()) })
	all.Go(func() { every(ctx, e.courier.o.Lease/4, e.courier.renew) })
	all.Go(func() { every(ctx, trimTrail, e.trim) })
	all.Go(func() { every(ctx, e.courier.o.Remind, e.remind) })
	e.courier.workers(ctx, func() bool { return false })
	cancel()
	all.Wait()
	return nil
}

// inHand is how much longer than Drain's own time a send may take that has
// begun. The platform may just be taking it, and cut off it would come twice.
const inHand = 1500 * time.Millisecond

// Drain refuses new updates, finishes the turns in hand and sends what can
// be sent before ctx ends. What is left waits in Redis for another process, or
// the next start. It needs no Run, and ends one.
func (e *Engine) Drain(ctx context.Context) error {
	e.mu.Lock()
	e.closing = true
	e.mu.Unlock()
	e.queue.close()
	turns, ended := context.WithCancel(ctx)
	go func() {
		e.taking.Wait()
		ended()
	}()
	<-turns.Done()
	// A send that hangs must not keep the program.
	late, cut := context.WithCancel(context.WithoutCancel(ctx))
	defer cut()
	defer context.AfterFunc(ctx, func() {
		e.queue.end()
		time.AfterFunc(inHand, cut)
	})()
	defer context.AfterFunc(late, e.queue.cancelSends)()
	e.courier.workers(ctx, func() bool { return e.queue.nothingDue(ctx) })
	e.queue.idle(late)
	e.courier.letGo()
	return ctx.Err()
}

// Unsure counts the replies that this process sent though it had lost the right to:
// each may be a second copy.
func (e *Engine) Unsure() int64 { return e.courier.unsure.Load() }

// Waiting is a chat that this process has something to send to or to do for,
// the one that has waited longest first; ok is false when there is none.
func (e *Engine) Waiting() (chat int64, ok bool) {
	return e.queue.first()
}

// Flush sends what waits for one chat and returns when nothing does, or when
// another process sends for the chat. It needs no Run.
func (e *Engine) Flush(ctx context.Context, chat int64) error {
	e.queue.mu.Lock()
	b := e.queue.boxes[chat]
	if b == nil {
		b = &box{chat: chat}
		e.queue.boxes[chat] = b
		b.state = ready
	}
	for e.queue.boxes[chat] == b {
		if err := ctx.Err(); err != nil {
			e.queue.mu.Unlock()
			return err
		}
		switch b.state {
		case busy:
			if b.free == nil {
				b.free = make(chan struct{})
			}
			free := b.free
			e.queue.mu.Unlock()
			select {
			case <-free:
			case <-ctx.Done():
			}
			e.queue.mu.Lock()
			continue
		case inLine:
			e.queue.mu.Unlock()
			_ = pause(ctx, 10*time.Millisecond) // as above
			e.queue.mu.Lock()
			continue
		case waiting:
			wait := time.Until(b.at)
			if wait > 0 {
				e.queue.mu.Unlock()
				_ = pause(ctx, wait) // ctx is looked at above
				e.queue.mu.Lock()
				continue
			}
		}
		e.queue.hold(b)
		e.queue.mu.Unlock()
		e.queue.settle(b, e.courier.attend(b))
		e.queue.mu.Lock()
	}
	e.queue.mu.Unlock()
	return nil
}

// An Answerer is an engine whose caller sends what waits, instead of Run.
type Answerer interface {
	Waiting() (chat int64, ok bool)
	Flush(ctx context.Context, chat int64) error
}

// Answer sends all that waits, in the chat that wrote and in those that it wrote to. It
// looks at no other chat, so that it costs the same however many there are.
func Answer(ctx context.Context, e Answerer) error {
	for chat, ok := e.Waiting(); ok; chat, ok = e.Waiting() {
		if err := e.Flush(ctx, chat); err != nil {
			return fmt.Errorf("answering: %w", err)
		}
	}
	return nil
}
