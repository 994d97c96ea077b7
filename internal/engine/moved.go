package engine

import (
	"context"
	"errors"
	"fmt"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
)

// moves knows the two numbers of a group that became a supergroup. Inside the bot
// a group stays under its first one, so that its jobs, surveys, links and the mail
// that names it lead where they led. What comes in is put under that one here, and
// what goes out is sent to the present one. A person with a new phone stays under
// their first number in the same way; where that is, their conversations say.
type moves struct{ store *session.Store }

// notice is what a group is told that was written to under its new number before
// that was known.
func notice(first, now int64) Update {
	return Update{ID: mailID(first, fmt.Sprint("moved ", now)), Chat: first, Input: dialog.Input{Kind: dialog.Moved}}
}

// send sends a message to where its chat is now. A platform that says only now
// that the chat moved is believed.
func (v moves) send(ctx context.Context, sender Sender, m Message) (sent Sent, err error) {
	if m.Chat >= 0 {
		return v.sendPerson(ctx, sender, m)
	}
	if m.To, err = v.store.Now(ctx, m.Chat); err != nil {
		return sent, err
	}
	sent, err = sender.Send(ctx, m)
	moved, ok := errors.AsType[*MovedError](err)
	if !ok {
		return sent, err
	}
	if _, err := v.store.Moved(ctx, m.Chat, moved.To); err != nil {
		return sent, err
	}
	m.To = moved.To
	return sender.Send(ctx, m)
}

// sendPerson sends a message to a person. What says under which number another account
// has everything is kept as long as that account is used.
func (v moves) sendPerson(ctx context.Context, sender Sender, m Message) (Sent, error) {
	if m.To == 0 {
		m.To = m.Chat
		return sender.Send(ctx, m)
	}
	if err := v.store.Touch(ctx, m.To); err != nil {
		return Sent{}, err
	}
	return sender.Send(ctx, m)
}
