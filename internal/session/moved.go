package session

import (
	"context"
	"errors"
	"fmt"

	"github.com/redis/go-redis/v9"
)

// Moved notes that a group which began under one number goes under another now.
// It keeps all that it has under its first number, so no key moves and whatever
// names it still leads there. The two keys are in slots of their own; it is safe
// to call again, and begun is whether anything was written under the new number
// before it was known.
func (s *Store) Moved(ctx context.Context, first, now int64) (begun bool, err error) {
	if first == now {
		return false, nil
	}
	known, err := s.First(ctx, now)
	if err != nil {
		return false, err
	}
	// The way there comes first: with it alone, what is sent arrives.
	if err := s.rdb.Set(ctx, key("n", first), now, s.Keep.Conversation).Err(); err != nil {
		return false, fmt.Errorf("moved: %w", err)
	}
	if err := s.rdb.Set(ctx, key("a", now), first, s.Keep.Conversation).Err(); err != nil {
		return false, fmt.Errorf("moved: %w", err)
	}
	if err := s.Acknowledged(ctx); err != nil {
		return false, err
	}
	if known == first {
		return false, nil
	}
	members, err := s.rdb.Exists(ctx, key("m", now)).Result()
	return members > 0, failedIn("moved", err)
}

// First is the number under which a group has what it has: the one given, unless
// it moved there.
func (s *Store) First(ctx context.Context, chat int64) (int64, error) {
	return s.other(ctx, "a", "n", chat)
}

// Now is the number under which the platform has a group now.
func (s *Store) Now(ctx context.Context, chat int64) (int64, error) {
	return s.other(ctx, "n", "a", chat)
}

// other follows one kind of key, and keeps it and the way back as long as it is
// used.
func (s *Store) other(ctx context.Context, kind, back string, chat int64) (int64, error) {
	found, err := s.rdb.Get(ctx, key(kind, chat)).Int64()
	switch {
	case errors.Is(err, redis.Nil):
		return chat, nil
	case err != nil:
		return 0, fmt.Errorf("moved: %w", err)
	}
	for _, k := range []string{key(kind, chat), key(back, found)} {
		if err := s.rdb.Expire(ctx, k, s.Keep.Conversation).Err(); err != nil {
			return 0, fmt.Errorf("moved: %w", err)
		}
	}
	return found, nil
}

// forgetMoved deletes that a group moved.
func (s *Store) forgetMoved(ctx context.Context, chat int64) error {
	now, err := s.Now(ctx, chat)
	if err != nil || now == chat {
		return err
	}
	if err := s.rdb.Del(ctx, key("a", now)).Err(); err != nil {
		return fmt.Errorf("forget: %w", err)
	}
	return failedIn("forget", s.rdb.Del(ctx, key("n", chat)).Err())
}
