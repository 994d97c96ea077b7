package engine

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"log/slog"
	"net/url"
	"runtime"
	"time"

	"sillbot/internal/session"
)

// journal is the log. Nothing that a person wrote goes there.
type journal struct {
	*slog.Logger
	secret []byte // for chats
}

// about names a turn in the log by its update, so that every delivery, replica
// and reply of it can be found.
func (l journal) about(u Update) slog.Attr {
	return slog.Group("", "turn", u.ID, "chat", l.alias(u.Chat))
}

// alias is a chat in the log: the same word within this process, and
// meaningless outside it. It costs nothing where the line is not written.
func (l journal) alias(chat int64) slog.LogValuer { return alias{l.secret, chat} }

type alias struct {
	secret []byte
	chat   int64
}

func (a alias) LogValue() slog.Value {
	h := hmac.New(sha256.New, a.secret)
	fmt.Fprint(h, a.chat)
	return slog.StringValue(hex.EncodeToString(h.Sum(nil)[:6]))
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

// plain leaves the address out of an error of a web request, because it may
// hold a token.
func plain(err error) string {
	if u, ok := errors.AsType[*url.Error](err); ok {
		return u.Op + ": " + u.Err.Error()
	}
	return err.Error()
}

func pause(ctx context.Context, d time.Duration) error {
	over, cancel := context.WithTimeout(ctx, d)
	defer cancel()
	<-over.Done()
	return ctx.Err()
}
