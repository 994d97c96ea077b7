package engine

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"time"

	"sillbot/internal/dialog"
)

// linkLasts is how long a link leads anywhere at all; the job's own record of
// it is what says until when it may be used.
const linkLasts = 30 * 24 * time.Hour

// mailID is the update id of a piece of mail: the same for every delivery of
// it, and below zero, where the platform has none.
func mailID(from int64, item string) int64 {
	sum := sha256.Sum256(fmt.Appendf(nil, "%d %s", from, item))
	return -1 - int64(binary.BigEndian.Uint64(sum[:8])>>12)
}

// carry does what a reply asks the engine itself to do. done is false for one
// that is to be put in front of people.
func (t *turns) carry(ctx context.Context, m Message, item string) (done bool, err error) {
	r := m.Reply
	switch {
	case r.Mail != nil:
		return true, t.deliver(ctx, m.Chat, item, *r.Mail)
	case r.Link != nil:
		data, err := json.Marshal(r.Link)
		if err != nil {
			return true, &DropError{Err: err}
		}
		return true, t.store.PutLink(ctx, m.Chat, r.Link.Token, data, linkLasts)
	case r.Unlink != "":
		return true, t.store.DropLink(ctx, r.Unlink)
	case r.Forget != nil && r.Forget.User != 0:
		return true, t.store.ForgetDead(ctx, r.Forget.User) // the turn's commit did the rest
	case r.Forget != nil:
		if err := t.store.Dismiss(ctx, m.Chat); err != nil {
			return true, err
		}
		return true, t.store.ForgetRest(ctx, m.Chat)
	}
	return false, nil
}

// deliver takes mail through the conversation of the chat that it is for. The
// seen mark of its id makes that happen once, however often it is tried.
func (t *turns) deliver(ctx context.Context, from int64, item string, m dialog.Mail) error {
	m.From = from
	u := Update{ID: mailID(from, item), Chat: m.To, Input: dialog.Input{
		Kind: dialog.Mailed, Mail: &m, Now: time.Now(), Chat: m.To, Seed: seed(),
	}}
	c, err := t.chats.enter(ctx, u.Chat)
	if err != nil {
		return fmt.Errorf("waiting for the chat: %w", err)
	}
	defer t.chats.leave(c)
	_, err = t.take(ctx, c, u)
	return err
}
