package session

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"time"

	"github.com/redis/go-redis/v9"

	"sillbot/internal/session/rdb"
)

// Restored is what Restore did.
type Restored struct {
	Contents
	Written int
	Gone    int // keys whose time ran out since the backup
	Again   bool
}

// restoreBatch is how many keys are written or read at once, and restoreBytes about how
// many bytes.
const (
	restoreBatch = 500
	restoreBytes = 4 << 20
)

// Restore writes the keys of a backup into an empty database that no program uses, each
// with the time at which it goes, and without those whose time has run out since. The
// sending leases are not restored: nobody has them. All that was written is read again
// and compared. It may be broken off and done again with the same file.
func (s *Store) Restore(ctx context.Context, path string, check Check) (r Restored, err error) {
	if r.Contents, err = s.Examine(path, check); err != nil {
		return r, err
	}
	if r.Again, err = s.reserve(ctx, r.digest); err != nil {
		return r, err
	}
	err = s.inBatches(path, r.Contents, func(keys []rdb.Key) error {
		now := s.now()
		_, err := s.rdb.Pipelined(ctx, func(p redis.Pipeliner) error {
			for _, k := range keys {
				switch {
				case !k.Expires.IsZero() && !k.Expires.After(now):
					r.Gone++
					continue
				case indexOf.MatchString(k.Name):
					p.Del(ctx, k.Name)
					p.HSet(ctx, k.Name, withoutLeases(k.Value.Items))
				default:
					p.Do(ctx, "RESTORE", k.Name, timeOf(k.Expires, 0), k.Dump, "REPLACE", "ABSTTL")
				}
				r.Written++
			}
			return nil
		})
		return failedIn("restore", err)
	})
	if err != nil {
		return r, err
	}
	if err := s.compare(ctx, path, r); err != nil {
		return r, err
	}
	return r, failedIn("restore", s.rdb.Del(ctx, guardKey).Err())
}

// reserve makes the database the restore's: again is whether it was begun before.
func (s *Store) reserve(ctx context.Context, digest string) (again bool, err error) {
	switch has, err := found("restore", s.rdb.Get(ctx, guardKey)); {
	case err != nil:
		return false, err
	case string(has) == digest:
		return true, s.nobodyElse(ctx)
	case has != nil:
		return false, errors.New("a restore of another file was begun in this database: restore that one, or empty the database (FLUSHDB on each master)")
	}
	n, err := s.size(ctx)
	if err != nil {
		return false, err
	}
	if n > 0 {
		return false, fmt.Errorf("the database holds %d keys already: restore into an empty one. Back this one up first if it is needed, then give REDIS_URL another server, or empty this one (FLUSHDB on each master)", n)
	}
	if err := s.rdb.SetNX(ctx, guardKey, digest, 0).Err(); err != nil {
		return false, failedIn("restore", err)
	}
	if err := s.nobodyElse(ctx); err != nil {
		return false, errors.Join(err, s.rdb.Del(ctx, guardKey).Err())
	}
	return false, nil
}

// nobodyElse is an error while a program uses the database. One that starts later finds
// the guard.
func (s *Store) nobodyElse(ctx context.Context) error {
	n, err := s.othersConnected(ctx)
	if err == nil && n > 0 {
		err = errors.New("the program runs on this database: stop every bot serve first")
	}
	return failedIn("restore", err)
}

// size is how many keys there are in all.
func (s *Store) size(ctx context.Context) (int64, error) {
	var n atomic.Int64
	err := s.eachNode(ctx, func(ctx context.Context, node *redis.Client) error {
		size, err := node.DBSize(ctx).Result()
		n.Add(size)
		return err
	})
	return n.Load(), failedIn("restore", err)
}

// inBatches gives the program's keys of a backup. The guard of a database that was
// itself not whole is none of them.
func (s *Store) inBatches(path string, c Contents, do func([]rdb.Key) error) error {
	var keys []rdb.Key
	size := 0
	err := eachKey(path, &Contents{}, func(k rdb.Key) error {
		if !strings.HasPrefix(k.Name, "sb:") || k.Name == guardKey {
			return nil
		}
		keys, size = append(keys, k), size+len(k.Dump)
		if len(keys) < restoreBatch && size < restoreBytes {
			return nil
		}
		err := do(keys)
		keys, size = nil, 0
		return err
	})
	if err != nil || keys == nil {
		return err
	}
	return do(keys)
}

// withoutLeases are the fields of an index, each as its lease had been given back: the
// fence and what was noted of the first reply stay.
func withoutLeases(items []string) []string {
	items = slices.Clone(items)
	for i := 1; i < len(items); i += 2 {
		if parts := strings.SplitN(items[i], " ", 5); len(parts) >= 4 {
			parts[1], parts[3] = "0", ""
			items[i] = strings.Join(parts, " ")
		}
	}
	return items
}

// compare reads again what was written.
func (s *Store) compare(ctx context.Context, path string, r Restored) error {
	err := s.inBatches(path, r.Contents, func(keys []rdb.Key) error {
		values, times, err := s.readAll(ctx, keys)
		if err != nil {
			return err
		}
		for i, k := range keys {
			want := k.Value
			if indexOf.MatchString(k.Name) {
				want.Items = withoutLeases(want.Items)
			}
			if !k.Expires.IsZero() && !k.Expires.After(s.now().Add(time.Second)) {
				continue // about to go, or gone
			}
			if !slices.Equal(sorted(want), sorted(values[i])) || times[i] != timeOf(k.Expires, -1) {
				return fmt.Errorf("what was written is not what is there: key %q differs. Something else uses the database; empty it and restore again", k.Name)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	if n, err := s.size(ctx); err != nil || n > int64(r.Written)+1 {
		return errors.Join(err, fmt.Errorf("the database holds %d keys where %d were written: something else uses it; empty it and restore again", n, r.Written+1))
	}
	return nil
}

// readAll reads keys by the commands of their kinds, and when they go: Unix
// milliseconds, -1 for never.
func (s *Store) readAll(ctx context.Context, keys []rdb.Key) (values []rdb.Value, times []int64, err error) {
	cmds, err := s.rdb.Pipelined(ctx, func(p redis.Pipeliner) error {
		for _, k := range keys {
			switch k.Value.Kind {
			case rdb.String:
				p.Get(ctx, k.Name)
			case rdb.List:
				p.LRange(ctx, k.Name, 0, -1)
			case rdb.Set:
				p.SMembers(ctx, k.Name)
			case rdb.Hash:
				p.HGetAll(ctx, k.Name)
			case rdb.Sorted:
				p.ZRangeWithScores(ctx, k.Name, 0, -1)
			}
			p.Do(ctx, "PEXPIRETIME", k.Name)
		}
		return nil
	})
	if err != nil && !errors.Is(err, redis.Nil) {
		return nil, nil, failedIn("restore", err)
	}
	for i, k := range keys {
		v := valueOf(cmds[2*i])
		v.Kind = k.Value.Kind // a set comes as a list does
		at, _ := cmds[2*i+1].(*redis.Cmd).Int64()
		values, times = append(values, v), append(times, at)
	}
	return values, times, nil
}

// sorted is a value in an order of its own: that of a set or a hash means nothing.
func sorted(v rdb.Value) []string {
	switch v.Kind {
	case rdb.Set:
		return slices.Sorted(slices.Values(v.Items))
	case rdb.Hash, rdb.Sorted:
		var pairs []string
		for i := 0; i+1 < len(v.Items); i += 2 {
			second := v.Items[i+1]
			if score, err := strconv.ParseFloat(second, 64); v.Kind == rdb.Sorted && err == nil {
				second = strconv.FormatFloat(score, 'g', 17, 64)
			}
			pairs = append(pairs, v.Items[i]+"\x00"+second)
		}
		return slices.Sorted(slices.Values(pairs))
	}
	return v.Items
}
