package engine

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"math"
	mrand "math/rand/v2"
	"runtime"
	"runtime/debug"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
)

// Options are the settings of a Engine. The zero value is a working one.
type Options struct {
	// Step is the conversation; nil: dialog.Step.
	Step func(dialog.State, dialog.Input) (dialog.State, []dialog.Reply)
	// Crew are the people who may use the bot, and let others in by a link;
	// empty: everybody may.
	Crew []int64
	// Home is the address that opens the bot with a token put after it; nil
	// or "": the platform has none.
	Home func() string
	// Log gets what operators need; nil: slog.Default(). Nothing that a person
	// wrote goes there, and a chat only as a word that means nothing outside
	// this process.
	Log *slog.Logger
	// Metrics is where the counters are published; nil: nowhere.
	Metrics prometheus.Registerer

	// Senders is how many messages are being sent at once; 0: 64.
	Senders int
	// SendTimeout ends one try of a send; 0: 30 s.
	SendTimeout time.Duration
	// Lease is how long a chat's sending stays with this process after the
	// process has died; 0: 10 s.
	Lease time.Duration
	// Sweep is the time between looks for replies that nobody sends; 0: 5 s.
	Sweep time.Duration
	// MaxWait is the longest wait between two tries of a send, unless the
	// platform asks for a longer one; 0: 1 min.
	MaxWait time.Duration
	// MaxAge is when a reply that will not go out is given up; 0: 24 h.
	MaxAge time.Duration

	// Burst is how many turns a chat may take at once, and Rate how many a
	// second after that. Faster ones are put off, and taken in order as the
	// rate allows. 0: 60, and 10 a second. Rate below 0: no limit.
	Burst int
	Rate  float64
	// Room is how many updates of one chat may be put off; 0: 1000.
	Room int
}

func (o Options) filled() Options {
	if o.Step == nil {
		o.Step = dialog.Step
	}
	if o.Log == nil {
		o.Log = slog.Default()
	}
	fill(&o.Senders, 64)
	fill(&o.SendTimeout, 30*time.Second)
	fill(&o.Lease, 10*time.Second)
	fill(&o.Sweep, 5*time.Second)
	fill(&o.MaxWait, time.Minute)
	fill(&o.MaxAge, 24*time.Hour)
	fill(&o.Burst, 60)
	fill(&o.Rate, 10)
	fill(&o.Room, 1000)
	return o
}

func fill[T int | float64 | time.Duration](v *T, to T) {
	if *v == 0 {
		*v = to
	}
}

// Engine takes updates and sends replies. Its methods may be called from several
// goroutines; Take should be, a goroutine to a chat, because one chat must not
// wait for another.
type Engine struct {
	o      Options
	store  *session.Store
	sender Sender
	m      *metrics
	owner  string // of sending leases
	secret []byte // for chats in the log

	chats  chats
	recent recent
	taking sync.WaitGroup // turns in hand

	mu      sync.Mutex
	work    *sync.Cond // something is ready, or over
	boxes   map[int64]*box
	ready   []*box
	busy    int // boxes that a worker has
	closing bool
	ended   bool // no send begins any more
	gaveUp  bool // on those that have begun
	stopped bool
}

// ErrClosed refuses an update because the engine is shutting down. The update
// was not taken.
var ErrClosed = errors.New("the engine is closed")

// New is an engine on store that sends through sender.
func New(store *session.Store, sender Sender, opts Options) *Engine {
	o := opts.filled()
	e := &Engine{
		o: o, store: store, sender: sender, m: newMetrics(o.Metrics),
		owner: rand.Text()[:13], secret: []byte(rand.Text()),
		chats: chats{rate: o.Rate, burst: float64(o.Burst), clock: time.Now, known: map[int64]*chat{}},
		boxes: map[int64]*box{},
	}
	e.work = sync.NewCond(&e.mu)
	return e
}

// Take brings one update through the conversation. nil means that it is
// committed, now or by an earlier delivery, or put off for good reason, and may
// be acknowledged. With an error it must be offered again.
func (e *Engine) Take(ctx context.Context, u Update) error {
	e.mu.Lock()
	if e.closing {
		e.mu.Unlock()
		return ErrClosed
	}
	e.taking.Add(1)
	e.mu.Unlock()
	defer e.taking.Done()

	begun := time.Now()
	c, err := e.chats.enter(ctx, u.Chat)
	if err != nil {
		return fmt.Errorf("waiting for the chat: %w", err)
	}
	defer e.chats.leave(c)

	result, err := e.take(ctx, c, u)
	e.m.turns.WithLabelValues(result).Inc()
	e.m.turnTime.Observe(time.Since(begun).Seconds())
	if err != nil {
		e.o.Log.Error("turn failed", e.about(u), "err", err)
		return err
	}
	e.o.Log.Debug("turn", e.about(u), "result", result, "took", time.Since(begun))
	return nil
}

func (e *Engine) take(ctx context.Context, c *chat, u Update) (result string, err error) {
	if !e.chats.allow(c) {
		return e.putOff(ctx, c, u)
	}
	r, said, err := e.process(ctx, u, false)
	if err != nil {
		return "failed", err
	}
	if r.Outcome == session.Behind {
		return e.putOff(ctx, c, u)
	}
	return said, nil
}

// How often a turn is begun again because the conversation changed under it.
// Every time some other turn of the chat was committed.
const redos = 20

// process loads, steps and commits, and hands the replies to the courier.
func (e *Engine) process(ctx context.Context, u Update, putOff bool) (r session.Result, said string, err error) {
	k := session.Key{Chat: u.Chat, Group: u.Group}
	if u.Group {
		k.User = u.User
	}
	if err := e.complete(ctx, &u); err != nil {
		return r, "", err
	}
	as, in, err := e.admitted(ctx, u)
	if err != nil {
		return r, "", err
	}
	if err := e.seated(ctx, u); err != nil {
		return r, "", err
	}
	for try := 0; try < redos; try++ {
		if try > 0 {
			e.m.retries.Inc()
			if err := pause(ctx, mrand.N(time.Duration(try)*time.Millisecond)); err != nil {
				return r, "", err
			}
		}
		begun := time.Now()
		old, known := e.recent.get(k)
		if !known {
			if old, err = e.store.Load(ctx, k); err != nil && !unreadable(err) {
				return r, "", err
			}
		}
		var t session.Turn
		kind := "closed"
		if in {
			if t, kind, err = e.step(ctx, u, as, old, err); err != nil {
				return r, "", err
			}
		} else {
			t.Say = [][]byte{word(u, "", "crew.closed")}
		}
		t.Update, t.Key, t.From = u.ID, k, old
		t.WasPutOff, t.Owner, t.Lease = putOff, e.owner, e.o.Lease
		if r, err = e.store.Commit(ctx, t); err != nil {
			e.recent.drop(k)
			return r, "", err
		}
		if r.Outcome == session.Committed && r.Now.Data != nil {
			e.recent.put(k, r.Now)
		} else {
			e.recent.drop(k)
		}
		switch r.Outcome {
		case session.Stale:
			if known {
				e.recent.failed()
			}
			continue
		case session.Duplicate:
			kind = "duplicate"
		case session.Committed:
			if len(t.Say) > 0 {
				e.m.outbox.Observe(float64(r.Ahead + len(t.Say)))
			}
		}
		if r.Held {
			e.offer(u.Chat, begun.Add(e.o.Lease), r)
		}
		return r, kind, nil
	}
	return r, "", fmt.Errorf("the conversation changed %d times under one turn", redos)
}

func unreadable(err error) bool {
	return errors.Is(err, session.ErrNewer) || errors.Is(err, session.ErrBroken)
}

// step makes the turn that an update calls for. Where the conversation can't
// be read, which is what err says, or the step panics, that is a turn which
// says so and changes nothing.
//
// The error is Redis', when the job that the step needs can't be had.
func (e *Engine) step(ctx context.Context, u Update, as session.Standing, old session.Conversation, err error) (t session.Turn, kind string, failed error) {
	var state dialog.State
	if err == nil && old.Data != nil {
		err = json.Unmarshal(old.Data, &state)
	}
	if err != nil {
		e.o.Log.Error("conversation can't be read", e.about(u), "err", kindOf(err))
		return sorry(t, u, ""), "unreadable", nil
	}
	next, replies, before, err := e.stepOnJob(ctx, u, state)
	switch {
	case errors.Is(err, errPanic):
		return sorry(t, u, state.Lang), "panic", nil
	case unreadable(err):
		e.o.Log.Error("job can't be read", e.about(u), "err", kindOf(err))
		return sorry(t, u, state.Lang), "unreadable", nil
	case err != nil:
		return t, "", err
	}
	if as == session.Guest {
		replies = withoutCrewLinks(replies)
	}
	if t.Job, err = before.changed(next); err == nil {
		err = fillIn(&t, u.Chat, old.Data, next, replies)
	}
	if err != nil {
		e.o.Log.Error("turn can't be written", e.about(u), "err", kindOf(err))
		return sorry(t, u, state.Lang), "panic", nil
	}
	return t, "committed", nil
}

func fillIn(t *session.Turn, chat int64, old []byte, state dialog.State, replies []dialog.Reply) error {
	data, err := json.Marshal(state)
	if err != nil {
		return err
	}
	if !bytes.Equal(data, old) {
		t.Data = data
	}
	for _, r := range replies {
		m := Message{Chat: chat, Reply: r}
		data, err := json.Marshal(m)
		if err != nil {
			return err
		}
		t.Say, t.Values = append(t.Say, data), append(t.Values, m)
		t.Forget = t.Forget || r.Forget != nil
	}
	return nil
}

// sorry is a turn that changes nothing and says that something went wrong.
func sorry(t session.Turn, u Update, lang string) session.Turn {
	t.Values = nil
	t.Data, t.Job, t.Forget, t.Say = nil, session.JobChange{}, false, [][]byte{word(u, lang, "error.internal")}
	return t
}

// word is a reply of a single key, in the language chosen, or else the
// device's.
func word(u Update, lang, key string) []byte {
	if lang == "" {
		lang = u.Input.Lang
	}
	data, err := json.Marshal(Message{Chat: u.Chat, Reply: dialog.Reply{Text: phrase.Of(key), Lang: lang}})
	if err != nil {
		panic(err) // strings always can be
	}
	return data
}

var errPanic = errors.New("panic")

// safely steps, and logs a panic without what the person wrote.
func (e *Engine) safely(u Update, s dialog.State) (out dialog.State, replies []dialog.Reply, err error) {
	defer func() {
		v := recover()
		if v == nil {
			return
		}
		err = errPanic
		e.o.Log.Error("panic in a turn", e.about(u), "what", panicked(v), "stack", string(debug.Stack()))
	}()
	out, replies = e.o.Step(s, u.Input)
	return out, replies, nil
}

// panicked says what was thrown. Only the runtime's own errors are sure to
// hold nothing that a person wrote.
func panicked(v any) string {
	if e, ok := v.(runtime.Error); ok {
		return e.Error()
	}
	return fmt.Sprintf("%T", v)
}

// kindOf is all of an error that may go to the log: what a record could not be
// read by quotes the record, and that is what people wrote.
func kindOf(err error) string {
	for _, kind := range []error{session.ErrNewer, session.ErrBroken} {
		if errors.Is(err, kind) {
			return kind.Error()
		}
	}
	return fmt.Sprintf("%T", err)
}

// How long a chat is not told again that it goes too fast.
const quiet = time.Minute

// putOff queues an update up because its chat goes too fast.
func (e *Engine) putOff(ctx context.Context, c *chat, u Update) (result string, err error) {
	data, err := json.Marshal(u)
	if err != nil {
		return "failed", err
	}
	begun := time.Now()
	p := session.PutOff{Update: u.ID, Chat: u.Chat, Data: data, Room: e.o.Room, Owner: e.owner, Lease: e.o.Lease}
	mail := u.Input.Kind == dialog.Mailed
	if mail {
		p.Room = math.MaxInt32 // whoever wrote it would never know that it was refused
	}
	now := e.chats.clock()
	if !mail && now.Sub(c.toldSlow) > quiet {
		p.Slow = word(u, "", "flood.slow")
	}
	if !mail && now.Sub(c.toldFull) > quiet {
		p.Full = word(u, "", "flood.full")
	}
	q, err := e.store.PutOff(ctx, p)
	if err != nil {
		return "failed", err
	}
	switch {
	case q.Said && q.Full:
		c.toldFull = now
	case q.Said:
		c.toldSlow = now
	}
	if q.Held {
		e.offer(u.Chat, begun.Add(e.o.Lease), session.Result{Ahead: 1})
	}
	switch {
	case q.Outcome == session.Duplicate:
		return "duplicate", nil
	case q.Full:
		e.o.Log.Warn("update refused: the chat has too many waiting", e.about(u))
		return "refused", nil
	}
	return "put_off", nil
}

// Bury puts an update that can't be decoded on the dead list. nil means that
// it may be acknowledged.
func (e *Engine) Bury(ctx context.Context, raw []byte) error {
	e.m.turns.WithLabelValues("dead").Inc()
	return e.store.Bury(ctx, raw)
}

// Forget deletes everything held about a chat, here and in the store.
func (e *Engine) Forget(ctx context.Context, chat int64) error {
	err := e.store.Forget(ctx, chat)
	e.recent.dropChat(chat)
	if err != nil || chat <= 0 {
		return err
	}
	return e.store.Dismiss(ctx, chat)
}

// about names a turn in the log by its update, so that every delivery, replica
// and reply of it can be found.
func (e *Engine) about(u Update) slog.Attr {
	return slog.Group("", "turn", u.ID, "chat", e.alias(u.Chat))
}

// alias is a chat in the log: the same word within this process, and
// meaningless outside it. It costs nothing where the line is not written.
func (e *Engine) alias(chat int64) slog.LogValuer { return alias{e.secret, chat} }

type alias struct {
	secret []byte
	chat   int64
}

func (a alias) LogValue() slog.Value {
	h := hmac.New(sha256.New, a.secret)
	fmt.Fprint(h, a.chat)
	return slog.StringValue(hex.EncodeToString(h.Sum(nil)[:6]))
}

func pause(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}
