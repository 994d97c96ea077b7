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

// Has says whether anything is kept of a group, under either number.
func (s *Store) Has(ctx context.Context, first, now int64) (bool, error) {
	for _, k := range []string{key("m", first), key("c", first), key("j", first), key("m", now)} {
		if n, err := s.rdb.Exists(ctx, k).Result(); err != nil || n > 0 {
			return n > 0, failedIn("has", err)
		}
	}
	return false, nil
}

// First is the number under which a group has what it has: the one given, unless
// it moved there.
func (s *Store) First(ctx context.Context, chat int64) (int64, error) {
	return s.other(ctx, "a", "n", chat)
}

// headBytes is as much of a conversation as says which account of a person it is of.
const headBytes = 160

// Heads is First of a group, 0 for none, and the beginning of the conversation of a
// person alone with the bot, empty where there is none, in one round trip.
func (s *Store) Heads(ctx context.Context, group, user int64) (first int64, begins []byte, err error) {
	var alias, head *redis.StringCmd
	_, err = s.rdb.Pipelined(ctx, func(p redis.Pipeliner) error {
		if group != 0 {
			alias = p.Get(ctx, key("a", group))
		}
		head = p.GetRange(ctx, key("c", user), 0, headBytes)
		return nil
	})
	if err != nil && !errors.Is(err, redis.Nil) || head.Err() != nil {
		return 0, nil, fmt.Errorf("moved: %w", errors.Join(err, head.Err()))
	}
	_, _, begins, _ = s.states.openNamed([]byte(head.Val())) // none where it can't be read
	if alias == nil || alias.Val() == "" {
		return group, begins, nil
	}
	first, err = s.First(ctx, group)
	return first, begins, err
}

// Touch keeps a private chat's conversation as long as one that was just written.
func (s *Store) Touch(ctx context.Context, chat int64) error {
	return failedIn("touch", s.rdb.Expire(ctx, key("c", chat), s.Keep.Conversation).Err())
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
