package session

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"time"

	"github.com/redis/go-redis/v9"
)

// Job is the stored record of one job of a chat. Rev is another one after
// every change, and 0 where nothing is stored.
type Job struct {
	Ref  string
	Rev  int64
	Data []byte
}

// LoadJob reads a job of a chat in one round trip. A job that is not there
// comes back without data. Errors: as Load.
func (s *Store) LoadJob(ctx context.Context, chat int64, ref string) (Job, error) {
	raw, err := s.rdb.HGet(ctx, key("j", chat), ref).Bytes()
	if errors.Is(err, redis.Nil) {
		return Job{Ref: ref}, nil
	}
	if err != nil {
		return Job{}, fmt.Errorf("load job: %w", err)
	}
	rev, data, err := s.jobs.open(raw)
	return Job{Ref: ref, Rev: rev, Data: data}, err
}

// linkKey hides the token: who can read the keys can't use the links.
func linkKey(token string) string {
	sum := sha256.Sum256([]byte(token))
	return "sb:link:" + base64.RawURLEncoding.EncodeToString(sum[:16])
}

// PutLink makes a token lead to data for as long as keep. The owner's chat
// has the list of its links, so that Forget finds them.
func (s *Store) PutLink(ctx context.Context, owner int64, token string, data []byte, keep time.Duration) error {
	list := key("t", owner)
	if err := s.rdb.SAdd(ctx, list, linkKey(token)).Err(); err != nil {
		return fmt.Errorf("put link: %w", err)
	}
	if err := s.rdb.Expire(ctx, list, s.Keep.Conversation).Err(); err != nil {
		return fmt.Errorf("put link: %w", err)
	}
	if err := s.rdb.Set(ctx, linkKey(token), data, keep).Err(); err != nil {
		return fmt.Errorf("put link: %w", err)
	}
	return nil
}

// Link is where a token leads, nil for nowhere.
func (s *Store) Link(ctx context.Context, token string) ([]byte, error) {
	data, err := s.rdb.Get(ctx, linkKey(token)).Bytes()
	if errors.Is(err, redis.Nil) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("link: %w", err)
	}
	return data, nil
}

// DropLink makes a token lead nowhere.
func (s *Store) DropLink(ctx context.Context, token string) error {
	if err := s.rdb.Del(ctx, linkKey(token)).Err(); err != nil {
		return fmt.Errorf("drop link: %w", err)
	}
	return nil
}

// forgetLinks deletes the links that a chat has made. Each is in a slot of its
// own.
func (s *Store) forgetLinks(ctx context.Context, chat int64) error {
	list := key("t", chat)
	links, err := s.rdb.SMembers(ctx, list).Result()
	if err != nil {
		return fmt.Errorf("forget links: %w", err)
	}
	for _, link := range links {
		if err := s.rdb.Del(ctx, link).Err(); err != nil {
			return fmt.Errorf("forget links: %w", err)
		}
	}
	if err := s.rdb.Del(ctx, list).Err(); err != nil {
		return fmt.Errorf("forget links: %w", err)
	}
	return nil
}

// crewKey is the set of the people who were let in by a link.
const crewKey = "sb:crew"

// Admit lets a person use a bot that is not open to everybody.
func (s *Store) Admit(ctx context.Context, user int64) error {
	if err := s.rdb.SAdd(ctx, crewKey, user).Err(); err != nil {
		return fmt.Errorf("admit: %w", err)
	}
	return nil
}

// Admitted says whether a person was let in.
func (s *Store) Admitted(ctx context.Context, user int64) (bool, error) {
	in, err := s.rdb.SIsMember(ctx, crewKey, user).Result()
	if err != nil {
		return false, fmt.Errorf("admitted: %w", err)
	}
	return in, nil
}
