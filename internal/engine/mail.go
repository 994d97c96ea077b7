package engine

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"sillbot/internal/dialog"
	"sillbot/internal/talk"
)

// linkLasts is how long a link leads anywhere at all; the job's own record of
// it is what says until when it may be used.
const linkLasts = 30 * 24 * time.Hour

// carry does what a reply asks the engine itself to do. done is false for one
// that is to be put in front of people.
func (t *turns) carry(ctx context.Context, m Message, item string) (done bool, err error) {
	r := m.Reply
	switch {
	case r.Mail != nil && r.Mail.Phone != nil && r.Mail.Phone.Code != "" && !slices.Contains(t.gate.crew, m.Chat):
		return true, nil // it is the owners' to make
	case r.Mail != nil:
		return true, t.deliver(ctx, m.Chat, item, *r.Mail)
	case r.Link != nil:
		return true, t.putLink(ctx, m.Chat, *r.Link)
	case r.Unlist != nil:
		return true, t.store.LetLinksGo(ctx, m.Chat, r.Unlist)
	case r.Unlink != "":
		return true, t.store.DropLink(ctx, r.Unlink)
	case r.Forget != nil && r.Forget.User != 0:
		return true, t.store.ForgetRestOf(ctx, m.Chat, r.Forget.User)
	case r.Forget != nil:
		if err := t.store.Dismiss(ctx, m.Chat); err != nil {
			return true, err
		}
		return true, t.store.ForgetRest(ctx, m.Chat)
	}
	return false, nil
}

// putLink makes a link lead. One to a new phone is not kept with its token, and ends
// with what it is for.
func (t *turns) putLink(ctx context.Context, owner int64, l dialog.Link) error {
	token, lasts := l.Token, linkLasts
	if l.Role == talk.ToPhone {
		l.Token, lasts = "", dialog.PhoneFor
	}
	data, err := json.Marshal(l)
	if err != nil {
		return &DropError{Err: err}
	}
	if l.IntoCrew() {
		return t.store.PutCrewLink(ctx, owner, token, data, crewLinkLasts)
	}
	return t.store.PutLink(ctx, owner, token, data, lasts)
}

// deliver takes mail through the conversation of the chat that it is for. The
// seen mark of its id makes that happen once, however often it is tried.
func (t *turns) deliver(ctx context.Context, from int64, item string, m dialog.Mail) error {
	m.From = from
	return t.tell(ctx, Update{ID: mailID(from, item), Chat: m.To, Input: dialog.Input{Kind: dialog.Mailed, Mail: &m}})
}

// tells is whether told has anybody to tell of what became of a reply.
func (t *turns) tells(m Message, lost dialog.Why) bool {
	switch r := m.Reply; {
	case lost == "":
		return r.Of != nil && r.Of.Order != 0
	case r.Account != 0 || r.Link != nil || r.Unlink != "" || r.Unlist != nil || r.Forget != nil:
		return false
	}
	return m.Reply.Mail == nil || m.Reply.Mail.Show != nil || m.Reply.Mail.Ask != nil
}

// told brings on what became of a reply: an order that arrived is a receipt for
// who sent it, and what was given up is noted where it should have been read,
// which tells who sent it. The seen marks make that happen once.
func (t *turns) told(ctx context.Context, m Message, item string, lost dialog.Why) error {
	switch r := m.Reply; {
	case !t.tells(m, lost):
		return nil
	case lost == "":
		return t.deliver(ctx, m.Chat, item+" got", dialog.Mail{To: r.Of.From, Ref: r.Of.Ref, Got: r.Of.Order})
	case r.Mail == nil:
		return t.tell(ctx, Update{ID: mailID(m.Chat, item+" lost"), Chat: m.Chat, Input: dialog.Input{
			Kind: dialog.Undelivered, Lost: &dialog.Lost{Why: lost, Of: r.Of},
		}})
	default:
		return t.deliver(ctx, r.Mail.To, item+" lost", dialog.Mail{To: m.Chat, Ref: r.Mail.Ref, Lost: lost})
	}
}

// tell takes an update of the engine's own through the conversation of a chat.
func (t *turns) tell(ctx context.Context, u Update) error {
	u.Input.Now, u.Input.Chat, u.Input.Seed = time.Now(), u.Chat, seed()
	c, err := t.chats.enter(ctx, u.Chat)
	if err != nil {
		return fmt.Errorf("waiting for the chat: %w", err)
	}
	defer t.chats.leave(c)
	_, err = t.take(ctx, c, u)
	return err
}
