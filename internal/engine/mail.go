package engine

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
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
func (e *Engine) carry(ctx context.Context, m Message, item string) (done bool, err error) {
	r := m.Reply
	switch {
	case r.Mail != nil:
		return true, e.deliver(ctx, m.Chat, item, *r.Mail)
	case r.Link != nil:
		data, err := json.Marshal(r.Link)
		if err != nil {
			return true, &DropError{Err: err}
		}
		return true, e.store.PutLink(ctx, m.Chat, r.Link.Token, data, linkLasts)
	case r.Unlink != "":
		return true, e.store.DropLink(ctx, r.Unlink)
	case r.Forget != nil && r.Forget.User != 0:
		return true, nil // the turn's commit deleted all there was
	case r.Forget != nil:
		if err := e.store.Dismiss(ctx, m.Chat); err != nil {
			return true, err
		}
		return true, e.store.ForgetRest(ctx, m.Chat)
	}
	return false, nil
}

// deliver takes mail through the conversation of the chat that it is for. The
// seen mark of its id makes that happen once, however often it is tried.
func (e *Engine) deliver(ctx context.Context, from int64, item string, m dialog.Mail) error {
	m.From = from
	u := Update{ID: mailID(from, item), Chat: m.To, Input: dialog.Input{
		Kind: dialog.Mailed, Mail: &m, Now: time.Now(), Chat: m.To, Seed: seed(),
	}}
	c, err := e.chats.enter(ctx, u.Chat)
	if err != nil {
		return fmt.Errorf("waiting for the chat: %w", err)
	}
	defer e.chats.leave(c)
	// Mail does not count towards the rate of the chat that gets it.
	r, _, err := e.process(ctx, u, false)
	if err == nil && r.Outcome == session.Behind {
		_, err = e.putOff(ctx, c, u)
	}
	return err
}

// admitted is as what a person may use the bot, and whether at all. Everybody
// may when there is no crew; else those named at the start, whoever is the
// first to come by a crew's link, and whoever has a chair in a job. A link to a
// job lets in no more than the update that it is in: the chair is its owner's
// to give, see seated.
func (e *Engine) admitted(ctx context.Context, u Update) (as session.Standing, in bool, err error) {
	if len(e.o.Crew) == 0 || u.Input.Kind == dialog.Mailed || slices.Contains(e.o.Crew, u.User) {
		return session.Mate, true, nil
	}
	as, err = e.store.Admitted(ctx, u.User)
	if err != nil || as == session.Mate || u.Input.Link == nil {
		return as, as != session.Stranger, err
	}
	if u.Input.Link.Role != dialog.Crew {
		return session.Guest, true, nil
	}
	data, err := e.store.TakeLink(ctx, dialog.Token(u.Input))
	if err != nil || data == nil { // someone else was faster
		return as, false, err
	}
	return session.Mate, true, e.store.Admit(ctx, u.User, session.Mate)
}

// seated lets the person of a private chat in who was given a chair by the
// owner of a job.
func (e *Engine) seated(ctx context.Context, u Update) error {
	m := u.Input.Mail
	if len(e.o.Crew) == 0 || u.Chat <= 0 || u.Input.Kind != dialog.Mailed || m == nil || m.Joined == nil || m.Joined.Owner != m.From {
		return nil
	}
	return e.store.Admit(ctx, u.Chat, session.Guest)
}

// withoutCrewLinks takes the links out that a guest may not make, with what was
// said of them.
func withoutCrewLinks(replies []dialog.Reply) []dialog.Reply {
	var tokens []string
	kept := slices.DeleteFunc(slices.Clone(replies), func(r dialog.Reply) bool {
		crew := r.Link != nil && r.Link.Role == dialog.Crew
		if crew {
			tokens = append(tokens, r.Link.Token)
		}
		return crew
	})
	for i, r := range kept {
		said, err := json.Marshal(r.Text)
		if err != nil || slices.ContainsFunc(tokens, func(token string) bool { return strings.Contains(string(said), token) }) {
			kept[i] = dialog.Reply{Text: phrase.Of("crew.guest"), Lang: r.Lang, Open: r.Open}
		}
	}
	return kept
}

// seed is what a turn makes references and tokens of.
func seed() []byte {
	b := make([]byte, 32)
	_, _ = rand.Read(b) // never fails
	return b
}

// complete adds to the input what Step can't know by itself.
func (e *Engine) complete(ctx context.Context, u *Update) error {
	in := &u.Input
	in.Chat, in.User, in.Group = u.Chat, u.User, u.Group
	if in.Seed == nil {
		in.Seed = seed()
	}
	if e.o.Home != nil {
		in.Home = e.o.Home()
	}
	token := dialog.Token(*in)
	if token == "" {
		return nil
	}
	data, err := e.store.Link(ctx, token)
	if err != nil || data == nil {
		return err
	}
	var l dialog.Link
	if err := json.Unmarshal(data, &l); err != nil {
		return nil // a later program's; to this one it leads nowhere
	}
	in.Link = &l
	return nil
}
