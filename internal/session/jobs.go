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

// TakeLink is where a token leads, and makes it lead nowhere from then on: of
// any number of callers, one gets the data.
func (s *Store) TakeLink(ctx context.Context, token string) ([]byte, error) {
	data, err := s.rdb.GetDel(ctx, linkKey(token)).Bytes()
	if errors.Is(err, redis.Nil) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("take link: %w", err)
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

// Standing is what a person is to a bot that is not open to everybody.
type Standing int

// The standings.
const (
	Stranger Standing = iota
	Guest             // has a chair in a job; may not let others in
	Mate              // one of the crew, by a link
)

// The sets of the people who were let in.
const (
	crewKey  = "sb:crew"
	guestKey = "sb:guests"
)

// Admit lets a person use a bot that is not open to everybody, as a Guest or a
// Mate. Who is both is a Mate.
func (s *Store) Admit(ctx context.Context, user int64, as Standing) error {
	set := guestKey
	if as == Mate {
		set = crewKey
	}
	if err := s.rdb.SAdd(ctx, set, user).Err(); err != nil {
		return fmt.Errorf("admit: %w", err)
	}
	return nil
}

// Admitted is as what a person was let in.
func (s *Store) Admitted(ctx context.Context, user int64) (Standing, error) {
	var mate, guest *redis.BoolCmd
	_, err := s.rdb.Pipelined(ctx, func(p redis.Pipeliner) error {
		mate, guest = p.SIsMember(ctx, crewKey, user), p.SIsMember(ctx, guestKey, user)
		return nil
	})
	switch {
	case err != nil:
		return Stranger, fmt.Errorf("admitted: %w", err)
	case mate.Val():
		return Mate, nil
	case guest.Val():
		return Guest, nil
	}
	return Stranger, nil
}

// Dismiss makes a person a stranger again.
func (s *Store) Dismiss(ctx context.Context, user int64) error {
	_, err := s.rdb.Pipelined(ctx, func(p redis.Pipeliner) error {
		p.SRem(ctx, crewKey, user)
		p.SRem(ctx, guestKey, user)
		return nil
	})
	if err != nil {
		return fmt.Errorf("dismiss: %w", err)
	}
	return nil
}
