package session

import (
	"context"
	"fmt"
	"time"

	"github.com/redis/go-redis/v9"
)

const (
	deadKey  = "sb:{dead}:d"
	deadRoom = 1000
	// A dead update is cut to this many bytes: enough to see what it was.
	deadSize = 16 << 10
)

// The list is newest first, so what is too old is at its end.
var buryScript = redis.NewScript(`
redis.call('LPUSH', KEYS[1], ARGV[1])
redis.call('LTRIM', KEYS[1], 0, ARGV[2] - 1)
while true do
	local at = string.match(redis.call('LINDEX', KEYS[1], -1), '^%d+ (%d+) ')
	if not at or tonumber(at) >= tonumber(ARGV[3]) then break end
	redis.call('RPOP', KEYS[1])
end
redis.call('EXPIRE', KEYS[1], ARGV[4])
return 1
`)

// Bury puts an update that can't be read on the dead list, which holds the
// newest thousand of them, for no longer than Keep.Dead.
func (s *Store) Bury(ctx context.Context, raw []byte) error {
	if len(raw) > deadSize {
		raw = raw[:deadSize]
	}
	now := s.now()
	err := buryScript.Run(ctx, s.rdb, []string{deadKey}, ladder(nil).seal(now.UnixMilli(), raw),
		deadRoom, now.Add(-s.Keep.Dead).UnixMilli(), seconds(s.Keep.Dead)).Err()
	if err != nil {
		return fmt.Errorf("bury: %w", err)
	}
	return s.Acknowledged(ctx)
}

// seconds rounds up: Redis takes no expiry of 0.
func seconds(d time.Duration) int64 { return int64((d + time.Second - 1) / time.Second) }
