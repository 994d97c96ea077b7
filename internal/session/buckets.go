package session

import (
	"context"

	"github.com/redis/go-redis/v9"
)

// eachBucket asks something of every bucket, many at once, and gives the answers.
func (s *Store) eachBucket(ctx context.Context, ask func(p redis.Pipeliner, bucket int), got func(redis.Cmder)) error {
	const atOnce = 128
	for from := 0; from < buckets; from += atOnce {
		cmds, err := s.rdb.Pipelined(ctx, func(p redis.Pipeliner) error {
			for b := from; b < from+atOnce; b++ {
				ask(p, b)
			}
			return nil
		})
		if err != nil {
			return err
		}
		for _, cmd := range cmds {
			got(cmd)
		}
	}
	return nil
}
