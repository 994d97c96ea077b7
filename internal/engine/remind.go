package engine

import (
	"context"
	"encoding/hex"
	"fmt"
	"time"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
)

// A look is a turn like any other: it says what there is to remind of in the same commit
// that notes that it was said. So it is said once, though a process dies at any moment or
// several look at once: the second finds the conversation changed, makes its turn again, and
// has nothing to say.

// lookFor is how long a chat that is being looked at is left to who does.
const lookFor = time.Minute

// look looks at a chat, unless another process does, and counts what came of it. A chat
// that could not be looked at is soon looked at again.
func (t *turns) look(ctx context.Context, chat int64, now time.Time) error {
	mine, err := t.store.TakeDue(ctx, chat, now, lookFor)
	if err != nil || !mine {
		return err
	}
	result, err := t.lookAt(ctx, chat, now)
	if err != nil {
		result = "failed"
		t.log.Warn("a chat was not looked at for reminders", "chat", t.log.alias(chat), "err", err)
	}
	t.m.reminders.WithLabelValues(result).Inc()
	return nil
}

// lookAt takes a look through the conversation of a chat.
func (t *turns) lookAt(ctx context.Context, chat int64, now time.Time) (result string, err error) {
	c, err := t.chats.enter(ctx, chat)
	if err != nil {
		return "", fmt.Errorf("waiting for the chat: %w", err)
	}
	defer t.chats.leave(c)
	// No two looks have the same id: one that was done leaves no entry, and one that is due
	// again in the same moment, by a clock that was set back, must not count as done.
	once := seed()
	r, said, err := t.process(ctx, Update{ID: mailID(chat, "due "+hex.EncodeToString(once)), Chat: chat, Input: dialog.Input{
		Kind: dialog.Due, Now: now, Chat: chat, Seed: once,
	}}, false)
	switch {
	case err != nil:
		return "", err
	case r.Outcome != session.Committed, said != "committed", len(r.Items) == 0: // or what was put off comes first
		return "nothing", nil
	}
	return "said", nil
}
