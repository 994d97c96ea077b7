package turn

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"sillbot/internal/dialog"
	"sillbot/internal/job"
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

// carry does what a reply asks the desk itself to do. done is false for one
// that is to be put in front of people.
func (d *Desk) carry(ctx context.Context, m Message, item string) (done bool, err error) {
	r := m.Reply
	switch {
	case r.Mail != nil:
		return true, d.deliver(ctx, m.Chat, item, *r.Mail)
	case r.Link != nil:
		data, err := json.Marshal(r.Link)
		if err != nil {
			return true, &DropError{Err: err}
		}
		return true, d.store.PutLink(ctx, m.Chat, r.Link.Token, data, linkLasts)
	case r.Unlink != "":
		return true, d.store.DropLink(ctx, r.Unlink)
	case r.Forget != nil && r.Forget.User != 0:
		return true, d.forget(session.Key{Chat: m.Chat, User: r.Forget.User, Group: true}, d.store.ForgetOne(ctx, session.Key{Chat: m.Chat, User: r.Forget.User, Group: true}))
	case r.Forget != nil:
		return true, d.forget(session.Key{Chat: m.Chat}, d.store.Forget(ctx, m.Chat))
	}
	return false, nil
}

// deliver takes mail through the conversation of the chat that it is for. The
// seen mark of its id makes that happen once, however often it is tried.
func (d *Desk) deliver(ctx context.Context, from int64, item string, m dialog.Mail) error {
	m.From = from
	u := Update{ID: mailID(from, item), Chat: m.To, Input: dialog.Input{
		Kind: dialog.Mailed, Mail: &m, Now: time.Now(), Chat: m.To, Seed: seed(),
	}}
	c, err := d.chats.enter(ctx, u.Chat)
	if err != nil {
		return fmt.Errorf("waiting for the chat: %w", err)
	}
	defer d.chats.leave(c)
	// Mail does not count towards the rate of the chat that gets it.
	r, _, err := d.turn(ctx, u, false)
	if err == nil && r.Outcome == session.Behind {
		_, err = d.putOff(ctx, c, u)
	}
	return err
}

// forget drops what this process still has at hand of a conversation that was
// deleted.
func (d *Desk) forget(k session.Key, err error) error {
	d.recent.drop(k)
	return err
}

// admitted says whether a person may use the bot. Everybody may when there is
// no crew; else those named at the start, and whoever came by a link.
func (d *Desk) admitted(ctx context.Context, u Update) (bool, error) {
	if len(d.o.Crew) == 0 || u.Input.Kind == dialog.Mailed || slices.Contains(d.o.Crew, u.User) {
		return true, nil
	}
	if u.Input.Link != nil {
		return true, d.store.Admit(ctx, u.User)
	}
	return d.store.Admitted(ctx, u.User)
}

// seed is what a turn makes references and tokens of.
func seed() []byte {
	b := make([]byte, 32)
	_, _ = rand.Read(b) // never fails
	return b
}

// complete adds to the input what Step can't know by itself.
func (d *Desk) complete(ctx context.Context, u *Update) error {
	in := &u.Input
	in.Chat, in.User, in.Group = u.Chat, u.User, u.Group
	if in.Seed == nil {
		in.Seed = seed()
	}
	if d.o.Home != nil {
		in.Home = d.o.Home()
	}
	token := dialog.Token(*in)
	if token == "" {
		return nil
	}
	data, err := d.store.Link(ctx, token)
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

// loadJob puts the job that Step needs into the state.
func (d *Desk) loadJob(ctx context.Context, u Update, s *dialog.State) (session.Job, error) {
	ref := dialog.Needs(*s, u.Input)
	if ref == "" {
		return session.Job{}, nil
	}
	stored, err := d.store.LoadJob(ctx, u.Chat, ref)
	if err != nil || stored.Data == nil {
		return stored, err
	}
	j, err := job.Decode(stored.Data)
	if err != nil {
		return stored, fmt.Errorf("job: %w", errors.Join(session.ErrBroken, err))
	}
	s.Job = &j
	return stored, nil
}

// changedJob is the record of the job that Step left in the state, nil when
// it is as it was.
func changedJob(s dialog.State, before session.Job) (*session.Job, error) {
	if s.Job == nil {
		return nil, nil
	}
	data, err := json.Marshal(s.Job)
	if err != nil {
		return nil, err
	}
	after := session.Job{Ref: s.Job.Ref, Data: data}
	if s.Job.Ref == before.Ref {
		if string(data) == string(before.Data) {
			return nil, nil
		}
		after.Rev = before.Rev
	}
	return &after, nil
}
