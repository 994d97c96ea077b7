package telegram

import (
	"context"
	"encoding/json"
	"errors"
	"hash/maphash"
	"sync"
	"sync/atomic"
	"time"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
)

const (
	// A partly sent reply is forgotten after this long: by then another process
	// has sent or dropped it.
	begunFor   = 10 * time.Minute
	begunLimit = 4096 // chats
)

// Sender sends replies to people.
//
// One reply may take several messages of the platform: a long text in parts,
// a picture whose caption is too long, or cards that can't go as one album. When a later one fails, the Sender
// remembers how many were sent, and the next try continues from there. That
// memory is lost when the process dies or another replica takes over the chat;
// the first messages of that reply are then sent again.
type Sender struct {
	// Unsure counts calls that may have succeeded though no answer says so: the
	// connection broke, or the answer was 500 or above or not the platform's.
	// Each may send a message twice; the platform offers no way to check.
	Unsure atomic.Int64

	// Papers makes the file of a document and its name; nil: there are none.
	// It is set before the first Send.
	Papers func(ctx context.Context, lang string, chat int64, d dialog.Document) (name string, data []byte, err error)

	client *Client
	words  Renderer
	paint  Painter
	seed   maphash.Seed

	kept uploads

	mu    sync.Mutex
	begun map[int64]begun // by chat: the reply that went out in part
}

type begun struct {
	reply uint64 // hash of the reply
	parts int
	at    time.Time
}

// Sender makes the sending side of c.
func (c *Client) Sender(words Renderer, paint Painter) *Sender {
	return &Sender{
		client: c, words: inertWords{words}, paint: paint, seed: maphash.MakeSeed(),
		begun: map[int64]begun{},
	}
}

// identify is a hash of the reply, to recognise the next try of it.
func (s *Sender) identify(r dialog.Reply) uint64 {
	raw, err := json.Marshal(r)
	if err != nil {
		return 0 // what can't be told apart is sent whole
	}
	return maphash.Bytes(s.seed, raw)
}

// resume returns how many parts an earlier try has sent.
func (s *Sender) resume(chat int64, id uint64) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	b, ok := s.begun[chat]
	if !ok || id == 0 || b.reply != id || s.client.cfg.Clock().Sub(b.at) > begunFor {
		return 0
	}
	return b.parts
}

// leave records how many parts of a reply were sent. A finished or dropped
// reply is forgotten.
func (s *Sender) leave(chat int64, id uint64, parts int, err error) {
	var drop *engine.DropError
	s.mu.Lock()
	defer s.mu.Unlock()
	if err == nil || parts == 0 || errors.As(err, &drop) {
		delete(s.begun, chat)
		return
	}
	if len(s.begun) >= begunLimit {
		clear(s.begun) // better a double than a leak
	}
	s.begun[chat] = begun{id, parts, s.client.cfg.Clock()}
}

// post makes a call that holds no file.
func (s *Sender) post(ctx context.Context, method string, params any) error {
	_, err := s.client.post(ctx, method, params)
	s.note(err)
	return err
}

// note counts a call of which nobody knows whether it was taken.
func (s *Sender) note(err error) {
	if tr, ok := errors.AsType[*transportError](err); ok && !tr.unsent {
		s.Unsure.Add(1)
	}
}

// call makes one call. It succeeds as soon as the server says so, whether or
// not the library can decode the message in the answer.
func (s *Sender) call(ctx context.Context, do func(context.Context) error) error {
	got, _ := ctx.Value(receiptKey{}).(*receipt)
	if got == nil {
		ctx, got = withReceipt(ctx)
	}
	got.taken = false
	err := do(ctx)
	if got.taken {
		return nil
	}
	s.note(err)
	return err
}
