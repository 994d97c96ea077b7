package engine

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"time"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
)

// Update is one thing that a person did in a chat. ID is the platform's
// update id, by which a repeated delivery is known.
type Update struct {
	ID    int64
	Chat  int64
	User  int64
	Group bool // more than one person writes here
	Input dialog.Input
	// Toast shows a line for a moment at the button that was pressed; nil: the platform
	// can't, and what would be shown there comes as a message.
	Toast func(lang string, line phrase.Text) `json:"-"`
	// Strip takes the buttons off a message by the answer to the push that brought the
	// update; nil: nothing can ride there.
	Strip func(msg int64) `json:"-"`
	at    *atHome         // what was read to know whose it is; nil: nothing
	ours  *ourState       // the group's own conversation; nil: it can't be read, or it is no group

	toasts *toasts // nil: the platform shows none
	again  bool    // what the turn read has changed, and it is made again
}

// atHome is a conversation as it was read to know whose an update is, so that the turn
// need not read it again.
type atHome struct {
	session.Conversation
	key session.Key
	err error // that it can't be read
}

// ourState is a group's own conversation as it was read for a turn of a person there.
type ourState struct {
	session.Conversation
	state dialog.State
}

// Message is one reply on its way to a chat.
type Message struct {
	Chat  int64        `json:"chat"`
	To    int64        `json:"to,omitempty"` // the number that the platform has the chat under now; 0: the same
	Reply dialog.Reply `json:"reply"`
}

// answersTo is the account that a reply goes to, 0 for the chat's own: the one that
// wrote, else the one that the person uses. conversation is as it becomes.
func answersTo(u Update, conversation []byte, r dialog.Reply) int64 {
	_, now := dialog.Account(conversation)
	to := cmp.Or(r.Account, now)
	if u.Input.ByPerson() && r.Account == 0 {
		to = u.Input.Account
	}
	if u.Chat < 0 || u.Group || to == u.Chat {
		return 0
	}
	return to
}

// Sender puts a message in front of people. A RetryError asks for another
// try, a DropError says that no try will ever work; any other error counts as
// a RetryError with the usual wait.
type Sender interface {
	Send(ctx context.Context, m Message) (Sent, error)
}

// Sent is what a platform says of a message that it took.
type Sent struct {
	Msg int64 // the number of the message, of several of the one with the buttons; 0: not known
}

// A Stripper is a Sender that can take the buttons off a message that was sent. Nothing
// depends on it: it is tried once.
type Stripper interface {
	Strip(ctx context.Context, m Message, msg int64)
}

// RetryError asks for another try, no sooner than After.
type RetryError struct {
	After time.Duration
	// Limited: the platform took too many messages of late, in the chat or in all.
	Limited bool
	Err     error
}

func (e *RetryError) Error() string { return e.Err.Error() }

// Unwrap gives the cause.
func (e *RetryError) Unwrap() error { return e.Err }

// ErrLeaseOver is that the right to send in a chat has run out. Another process may
// have it, and nothing more is called.
var ErrLeaseOver = errors.New("the lease is over")

type leaseKey struct{}

// MaySend is ErrLeaseOver when the sending lease that ctx was made under is over. A
// Sender asks right before each of its calls, because a process may be stopped for
// any length of time between a look at the clock and the call: so no more than the
// call that has begun already can be made by two.
func MaySend(ctx context.Context) error {
	holds, ok := ctx.Value(leaseKey{}).(func() error)
	if !ok {
		return nil
	}
	return holds()
}

// MovedError is a chat that has another number now.
type MovedError struct{ To int64 }

func (e *MovedError) Error() string { return "the chat has another number now" }

// DropError is a message that can never be delivered, such as one to a person
// who blocked the bot.
type DropError struct {
	Err error
	// Gone: nothing else will reach the chat either, until somebody writes there.
	Gone bool
}

func (e *DropError) Error() string { return e.Err.Error() }

// Unwrap gives the cause.
func (e *DropError) Unwrap() error { return e.Err }

// mailID is the update id of a piece of mail: the same for every delivery of
// it, and below zero, where the platform has none.
func mailID(from int64, item string) int64 {
	sum := sha256.Sum256(fmt.Appendf(nil, "%d %s", from, item))
	return -1 - int64(binary.BigEndian.Uint64(sum[:8])>>12)
}
