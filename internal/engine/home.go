package engine

import (
	"cmp"
	"context"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
)

// home is an update as of the chat and the person that have what it is about.
func (t *turns) home(ctx context.Context, u Update) (Update, error) {
	if u.Chat < 0 && !u.Input.ByPerson() { // of the group itself, see telegram.Receiver
		var err error
		if u.Chat, err = t.store.First(ctx, u.Chat); err != nil {
			return u, err
		}
		has, err := t.store.Has(ctx, u.Chat, u.Chat)
		if !has {
			u.at = &atHome{}
		}
		return u, err
	}
	if u.Group {
		u.Input.Account = u.User
		return t.homeInGroup(ctx, u)
	}
	if u.User != u.Chat { // no platform has that
		return u, nil
	}
	u.Input.Account = u.User
	at, err := t.read(ctx, u.Chat)
	if err != nil {
		return u, err
	}
	home, now := dialog.Account(at.Data)
	if home != 0 {
		there, err := t.read(ctx, home)
		if err != nil {
			return u, err
		}
		if there.Data != nil || there.err != nil { // else all is forgotten that it led to
			_, now = dialog.Account(there.Data)
			u.Chat, u.User, at = home, home, there
		}
	}
	u.Input.Elsewhere = cmp.Or(now, u.Chat) != u.Input.Account && at.Data != nil && home+now != 0
	u.at = at
	return u, nil
}

// read reads the conversation of a private chat, unless it is at hand.
func (t *turns) read(ctx context.Context, chat int64) (*atHome, error) {
	at := &atHome{key: session.Key{Chat: chat}}
	known := false
	if at.Conversation, known = t.recent.get(at.key); known {
		return at, nil
	}
	at.Conversation, at.err = t.store.Load(ctx, at.key)
	if at.err != nil && !unreadable(at.err) {
		return nil, at.err
	}
	return at, nil
}

// homeInGroup is home for a group, of whose people the numbers may have changed as
// well as its own.
func (t *turns) homeInGroup(ctx context.Context, u Update) (Update, error) {
	chat, begins, err := t.store.Heads(ctx, u.Chat, u.User)
	if err != nil {
		return u, err
	}
	u.Chat = chat
	home, now := dialog.Account(begins)
	if home != 0 {
		if _, begins, err = t.store.Heads(ctx, 0, home); err != nil {
			return u, err
		}
		if len(begins) > 0 {
			_, now = dialog.Account(begins)
			u.User = home
			err = t.store.Touch(ctx, u.Input.Account)
		}
	}
	u.Input.Elsewhere = cmp.Or(now, u.User) != u.Input.Account && home+now != 0
	return u, err
}
