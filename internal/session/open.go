package session

import (
	"context"
	"errors"
	"fmt"

	"github.com/redis/go-redis/v9"
)

// ErrClusterAcks refuses to wait for the replicas of a cluster.
var ErrClusterAcks = errors.New("replicas of a cluster can't be waited for")

// Open connects to url: one node ("redis://…", "rediss://…"), Sentinel
// ("redis+sentinel://…/NAME", see sentinel), or the nodes of
// a cluster in a comma list, where the first may carry the credentials and
// options of all. A trailing comma makes a cluster of a single address. Errors
// never hold the password.
func Open(ctx context.Context, url string) (*Store, error) { return OpenAcked(ctx, url, 0) }

// OpenAcked is Open for turns that count only when n replicas have them; 0: it
// does not wait for any. With it Commit, PutOff, Claim, Bury and Moved give
// ErrTooFew when fewer acknowledge within ackPatience, and Remove reads nothing.
//
// A failover then loses nothing that was committed without an error, provided
// that the replica which takes over is one of those n: the only one, or n is the
// number of all. How to tell: WAIT, redis.io/docs/latest/commands/wait.
func OpenAcked(ctx context.Context, url string, n int) (*Store, error) {
	rdb, err := connect(url, false)
	if err != nil {
		return nil, err
	}
	if _, cluster := rdb.(*redis.ClusterClient); n > 0 && cluster {
		rdb.Close()
		return nil, ErrClusterAcks
	}
	s, err := Over(ctx, rdb)
	if err != nil || n == 0 {
		return s, err
	}
	// A client of its own, which tries once: a batch that is sent again runs
	// again, and a wait that went unheard says nothing about the first time.
	once, err := connect(url, true)
	if err != nil {
		s.Close()
		return nil, err
	}
	s.commits = newBatch(once, ackLanes, acks{n: n, patience: ackPatience})
	if c, ok := once.(*redis.Client); ok && c.Options().ReadTimeout > 0 {
		s.commits.acks.patience = min(ackPatience, c.Options().ReadTimeout/2)
	}
	s.Warnings = append(s.Warnings, s.shortOfReplicas(ctx, n)...)
	return s, nil
}

// Acknowledged is nil when as many replicas as were asked for have all that was
// written before the call, ErrTooFew if not. Where none were asked for it is
// nil and costs nothing.
func (s *Store) Acknowledged(ctx context.Context) error {
	if s.commits.acks.n == 0 {
		return nil
	}
	return failedIn("waiting for replicas", s.commits.call(ctx, &call{}).Err())
}

// shortOfReplicas says how the replicas of the server fall short of n.
func (s *Store) shortOfReplicas(ctx context.Context, n int) []string {
	var found []string
	if err := s.Acknowledged(ctx); err != nil {
		found = append(found, fmt.Sprintf("Replicas of Redis are to acknowledge every turn, %d of them, and fewer do: no message is taken until they do.", n))
	}
	have, err := s.rdb.InfoMap(ctx, "replication").Result()
	if err != nil {
		return append(found, "The replicas of Redis could not be counted.")
	}
	var all int
	if _, err := fmt.Sscan(have["Replication"]["connected_slaves"], &all); err == nil && all > n {
		found = append(found, fmt.Sprintf("Redis has %d replicas, and %d of them are to acknowledge a turn: a failover to one that did not may lose it.", all, n))
	}
	return found
}
