package engine

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	mrand "math/rand/v2"
	"time"

	"golang.org/x/time/rate"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
	"sillbot/internal/talk"
)

// turns takes updates through the conversation, one turn an update.
type turns struct {
	gate    gate
	stepper stepper
	store   *session.Store
	log     journal
	m       *metrics
	chats   chats
	recent  recent
	strips  *strips
	queue   *queue // gets the replies of a commit
	say     func(context.Context, Message) error
	lines   *rate.Limiter // of what strangers are told

	owner string        // of sending leases
	lease time.Duration // of a chat's sending
	room  int           // for updates of one chat that were put off
}

// take brings an update through the conversation, at once or, when its chat
// goes too fast, later. c is the chat, entered. What no person did does not count
// towards the rate of the chat that gets it.
func (t *turns) take(ctx context.Context, c *chat, u Update) (result string, err error) {
	switch {
	case u.Input.Elsewhere && !c.away.Allow():
		return "elsewhere", nil // it was told, and must not hold up the phone of now
	case !u.Input.ByPerson() && u.at != nil && u.at.Data == nil && u.at.err == nil:
		return "nobody", nil // blocked by somebody who has no conversation: nothing is kept of it
	}
	whole := u
	away, err := t.gate.look(ctx, &whole)
	if err != nil {
		return "failed", err
	}
	if away != nil { // before anything is kept of it or counted
		return "closed", t.turnAway(ctx, u, *away)
	}
	if u.Input.ByPerson() && !u.Input.Elsewhere && !t.chats.allow(c) {
		return t.putOff(ctx, c, u)
	}
	r, said, err := t.process(ctx, whole, false)
	if err != nil {
		return "failed", err
	}
	if r.Outcome == session.Behind {
		return t.putOff(ctx, c, u)
	}
	return said, nil
}

// awayFor is how long telling somebody that the bot is closed may take. It is not tried
// again: nothing is kept of who it is for.
const awayFor = 5 * time.Second

// A program tells at most so many strangers at once and in a second, so that many of
// them don't use up what the platform takes of it. Common practice, no source.
const (
	linesAtOnce = 20
	linesPerSec = 1
)

// turnAway tells who may not use the bot so, once an hour.
func (t *turns) turnAway(ctx context.Context, u Update, away turnedAway) error {
	return t.tellOnce(ctx, u.User, Message{Chat: u.Chat, To: answersTo(u, nil, dialog.Reply{}), Reply: dialog.Reply{Text: away.say, Lang: u.Input.Lang, Topic: u.Input.Topic}})
}

// tellOnce tells a person or a group something of which nothing is kept, once an hour.
func (t *turns) tellOnce(ctx context.Context, id int64, m Message) error {
	if t.lines.Tokens() < 1 {
		return nil
	}
	first, err := t.store.Told(ctx, id)
	if err != nil || !first || !t.lines.Allow() {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, awayFor)
	defer cancel()
	if err := t.say(ctx, m); err != nil {
		t.log.Info("somebody was not told what nothing is kept of", "what", m.Reply.Text.Key, "err", plain(err))
	}
	return nil
}

// process loads, steps and commits, and hands the replies to the queue. It
// begins again when the conversation or the job has changed meanwhile. The gate has
// looked at the update.
func (t *turns) process(ctx context.Context, u Update, putOff bool) (r session.Result, said string, err error) {
	hushed, err := t.gate.hushed(ctx, u)
	if err != nil {
		return r, "", err
	}
	if err := t.ofGroup(ctx, &u); err != nil {
		return r, "", err
	}
	if err := lookUp(ctx, t.store, &u); err != nil {
		return r, "", err
	}
	if !putOff { // else no button waits any more
		u.toasts = toastsOn(u.Toast)
	}
	for try := range redos {
		if try > 0 {
			t.m.retries.Inc()
			if err := pause(ctx, mrand.N(time.Duration(try)*time.Millisecond)); err != nil {
				return r, "", err
			}
			if err := t.ofGroup(ctx, &u); err != nil {
				return r, "", err
			}
		}
		u.again = try > 0
		r, said, err = t.once(ctx, u, hushed, putOff)
		u.at = nil // it changed since
		if err != nil || r.Outcome != session.Stale {
			return r, said, err
		}
	}
	return r, "", fmt.Errorf("the conversation changed %d times under one turn", redos)
}

// ofGroup looks into the group's own conversation, which has what is no single person's:
// which job is the group's, and what could not be sent there, which it is told once
// somebody writes again. A person's in a private chat looks by itself. The chat is entered.
func (t *turns) ofGroup(ctx context.Context, u *Update) error {
	if !u.Group || !u.Input.ByPerson() {
		return nil
	}
	u.ours, u.Input.GroupJob = nil, ""
	c, err := t.store.Load(ctx, session.Key{Chat: u.Chat})
	if err != nil && !unreadable(err) {
		return err
	}
	var s dialog.State
	if err != nil || c.Data != nil && json.Unmarshal(c.Data, &s) != nil {
		return nil
	}
	if u.Input.GroupJob = s.Shared; s.Newer() {
		return nil // a later program's to write
	}
	u.ours = &ourState{c, s}
	if s.Missed == nil {
		return nil
	}
	_, _, err = t.process(ctx, Update{ID: mailID(u.Chat, fmt.Sprint("returned ", s.Missed.Since, " ", u.ID)), Chat: u.Chat, Input: dialog.Input{
		Kind: dialog.Returned, Now: u.Input.Now, Chat: u.Chat, Seed: seed(),
	}}, false)
	return err
}

// once tries a turn: nothing is written if the outcome is Stale.
func (t *turns) once(ctx context.Context, u Update, hushed, putOff bool) (r session.Result, said string, err error) {
	k := session.Key{Chat: u.Chat, Group: u.Group}
	if u.Group {
		k.User = u.User
	}
	begun := time.Now()
	old, known := t.recent.get(k)
	switch {
	case known:
	case u.at != nil && u.at.key == k:
		old, err = u.at.Conversation, u.at.err
	default:
		if old, err = t.store.Load(ctx, k); err != nil && !unreadable(err) {
			return r, "", err
		}
	}
	var next session.Turn
	said = "closed"
	switch m := u.Input.Mail; {
	case putOff && u.Input.ByPerson() && !t.gate.open() && u.Input.Access == nil: // put out meanwhile
	case hushed && m != nil && m.Show != nil && m.Ask == nil && !m.Left:
		next.Say = lostOn(u.Chat, *m)
	default:
		if next, said, err = t.stepper.step(ctx, u, hushed, old, err); err != nil {
			return r, "", err
		}
	}
	next.Update, next.Key, next.From = u.ID, k, old
	next.WasPutOff, next.Owner, next.Lease = putOff, t.owner, t.lease
	if next.Looked = u.Input.Kind == dialog.Due; next.Looked && said != "committed" {
		next.Look = u.Input.Now.Add(lookLater)
	}
	defer t.queue.committing(u.Chat)()
	if r, err = t.store.Commit(ctx, next); err != nil {
		t.recent.drop(k)
		return r, "", err
	}
	t.keepRecent(next, r)
	if r.Outcome == session.Committed {
		u.toasts.done()
		t.strips.offBy(u, next)
	}
	switch {
	case r.Outcome == session.Stale && known:
		t.recent.failed()
	case r.Outcome == session.Duplicate:
		said = "duplicate"
	case r.Outcome == session.Committed && len(next.Say) > 0:
		t.m.outbox.Observe(float64(r.Ahead + len(next.Say)))
	}
	if r.Fence != 0 {
		t.queue.offer(u.Chat, begun.Add(t.lease), r)
	}
	return r, said, nil
}

// keepRecent keeps what a commit wrote for the next turn, and nothing that may be old.
func (t *turns) keepRecent(next session.Turn, r session.Result) {
	if next.Ours != nil {
		t.recent.drop(session.Key{Chat: next.Key.Chat})
	}
	if r.Outcome == session.Committed && r.Now.Data != nil {
		t.recent.put(next.Key, r.Now)
	} else {
		t.recent.drop(next.Key)
	}
}

// lostOn says to who wrote to somebody that may not use the bot that it was not shown.
func lostOn(chat int64, m dialog.Mail) [][]byte {
	data, err := json.Marshal(Message{Chat: chat, Reply: dialog.Reply{Mail: &dialog.Mail{To: m.From, Ref: m.Ref, Lost: talk.Barred}}})
	if err != nil {
		panic(err) // it has no values that could not be
	}
	return [][]byte{data}
}

// putOff queues an update up because its chat goes too fast.
func (t *turns) putOff(ctx context.Context, c *chat, u Update) (result string, err error) {
	data, err := json.Marshal(u)
	if err != nil {
		return "failed", err
	}
	begun := time.Now()
	p := session.PutOff{Update: u.ID, Chat: u.Chat, Data: data, Room: t.room, Owner: t.owner, Lease: t.lease}
	mail := !u.Input.ByPerson()
	if mail {
		p.Room = math.MaxInt32 // whoever wrote it would never know that it was refused
	}
	now := t.chats.clock()
	if !mail && now.Sub(c.toldSlow) > quiet {
		p.Slow = word(u, "", "flood.slow")
	}
	if !mail && now.Sub(c.toldFull) > quiet {
		p.Full = word(u, "", "flood.full")
	}
	q, err := t.store.PutOff(ctx, p)
	if err != nil {
		return "failed", err
	}
	switch {
	case q.Said && q.Full:
		c.toldFull = now
	case q.Said:
		c.toldSlow = now
	}
	if q.Fence != 0 {
		t.queue.offer(u.Chat, begun.Add(t.lease), session.Result{Ahead: 1, Fence: q.Fence})
	}
	switch {
	case q.Outcome == session.Duplicate:
		return "duplicate", nil
	case q.Full:
		t.log.Warn("update refused: the chat has too many waiting", t.log.about(u))
		return "refused", nil
	}
	return "put_off", nil
}

// late is what became of the oldest update of a chat that was put off.
type late struct {
	done bool          // it was taken, or there is none
	wait time.Duration // until the chat's rate allows it; 0: try again in a while
}

// newerWaits is how long an update or a reply of a later program keeps its place, so
// that this program, which runs beside a later one while it is replaced, leaves it to
// that one. After a step back no later one comes, and what stands behind must go on.
const newerWaits = 2 * time.Minute

// takePutOff takes the chat's oldest update that was put off, when the chat's
// rate allows it. The error is Redis'.
func (t *turns) takePutOff(ctx context.Context, chat int64) (late, error) {
	c, err := t.chats.enter(ctx, chat)
	if err != nil {
		return late{}, nil
	}
	defer t.chats.leave(c)
	if wait := t.chats.wait(c); wait > 0 {
		return late{wait: wait}, nil
	}
	w, ok, err := t.store.NextPutOff(ctx, chat)
	switch {
	case err != nil:
		return late{}, err
	case !ok:
		return late{done: true}, nil
	case errors.Is(w.Err, session.ErrNewer) && time.Since(w.At) < newerWaits:
		return late{}, nil
	}
	var u Update
	if w.Err == nil {
		w.Err = json.Unmarshal(w.Data, &u)
	}
	if w.Err == nil && (u.ID != w.Update || u.Chat != chat) {
		w.Err = session.ErrBroken // its turn would leave it where it is
	}
	if w.Err != nil {
		t.log.Error("update put off can't be read", "chat", t.log.alias(chat))
		return late{done: true}, t.store.PutOffAside(ctx, chat, w, word(Update{Chat: chat}, "", "unread.update"))
	}
	t.chats.allow(c)
	if _, err := t.gate.look(ctx, &u); err != nil { // away: it is dropped
		return late{}, err
	}
	_, said, err := t.process(ctx, u, true)
	if err != nil {
		return late{}, err
	}
	t.m.turns.WithLabelValues(said).Inc()
	t.log.Debug("turn", t.log.about(u), "result", said, "put_off", true)
	return late{done: true}, nil
}
