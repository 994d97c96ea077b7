package session

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"strings"
	"sync"

	"github.com/redis/go-redis/v9"
)

// Mends says whether an error of Open may go away by itself: the server is not
// there yet, or still reads its file. A wrong address, password or database
// number stays as it is.
func Mends(err error) bool {
	if !errors.Is(err, errAway) {
		return false
	}
	var unknown *tls.CertificateVerificationError
	return !errors.As(err, &unknown) && Trouble(err) != "redis_refuses"
}

// The kinds of Trouble, by what the server's answers hold.
var troubles = []struct{ says, kind string }{
	{"OOM ", "redis_full"},
	{"max number of clients", "redis_away"},
	{"READONLY ", "redis_read_only"},
	{"NOREPLICAS ", "redis_replicas"},
	{"MISCONF ", "redis_disk"},
	{"LOADING ", "redis_loading"},
	{"MASTERDOWN ", "redis_loading"},
	{"CLUSTERDOWN ", "redis_cluster"},
	{"MOVED ", "redis_cluster"},
	{"ASK ", "redis_cluster"},
	{"TRYAGAIN ", "redis_cluster"},
	{"NOAUTH ", "redis_refuses"},
	{"WRONGPASS ", "redis_refuses"},
	{"NOPERM ", "redis_refuses"},
	{"DENIED ", "redis_refuses"},
	{"ERR ", "redis_refuses"},
}

// Trouble is what kind of error keeps the store from taking a turn, as a word
// for operators; "" for none. It holds nothing of the error's text.
func Trouble(err error) string {
	if err == nil {
		return ""
	}
	if errors.Is(err, ErrTooFew) {
		return "redis_replicas"
	}
	if reply, ok := errors.AsType[redis.Error](err); ok {
		for _, t := range troubles { // a script may put words in front
			if strings.Contains(reply.Error(), t.says) {
				return t.kind
			}
		}
	}
	return "redis_away"
}

// The probe writes what a turn writes and takes it back at once, so that nobody
// else ever sees it. It is refused where a turn is: before its first write.
var probeScript = redis.NewScript(`
local conv, seen, outbox, index, jobs = unpack(KEYS)
local word = ARGV[1]
redis.call('SET', conv, word, 'EX', 60)
redis.call('ZADD', seen, 'NX', 1, word)
redis.call('EXPIRE', seen, 60)
redis.call('HSET', jobs, word, word)
redis.call('EXPIRE', jobs, 60)
redis.call('RPUSH', outbox, word)
redis.call('HSET', index, word, word)
local whole = 0
if redis.call('GET', conv) == word and redis.call('ZSCORE', seen, word) and redis.call('HGET', jobs, word) == word
	and redis.call('LINDEX', outbox, 0) == word and redis.call('HGET', index, word) == word then whole = 1 end
redis.call('DEL', unpack(KEYS))
return whole
`)

// Probe is nil when a turn can be loaded and committed: it does both on keys of
// its own, of a cluster on every master that has chats. Errors: those that a
// turn would have.
func (s *Store) Probe(ctx context.Context) error {
	buckets, err := s.probed(ctx)
	if err != nil {
		return fmt.Errorf("probe: %w", err)
	}
	var all sync.WaitGroup
	errs := make([]error, len(buckets))
	for i, bucket := range buckets {
		all.Go(func() { errs[i] = failedIn("probe", s.probe(ctx, bucket)) })
	}
	all.Wait()
	return errors.Join(errs...)
}

func (s *Store) probe(ctx context.Context, bucket int) error {
	var keys []string
	for _, kind := range []string{"c", "s", "o", "p", "j"} {
		keys = append(keys, fmt.Sprintf("sb:{%d}:probe:%s", bucket, kind))
	}
	v, err := s.commits.run(ctx, probeScript, keys, "probe").Int()
	if err != nil {
		return err
	}
	if v != 1 {
		return io.ErrUnexpectedEOF
	}
	if err := s.rdb.Get(ctx, keys[0]).Err(); !errors.Is(err, redis.Nil) {
		return err
	}
	return nil
}

// probed is a bucket of each master that has any.
func (s *Store) probed(ctx context.Context) ([]int, error) {
	cluster, ok := s.rdb.(*redis.ClusterClient)
	if !ok {
		return []int{0}, nil
	}
	var found []int
	seen := map[*redis.Client]bool{}
	for bucket := range buckets {
		master, err := cluster.MasterForKey(ctx, indexKey(bucket))
		if err != nil {
			return nil, err
		}
		if !seen[master] {
			seen[master] = true
			found = append(found, bucket)
		}
	}
	return found, nil
}
