package session

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"time"

	"github.com/redis/go-redis/v9"
)

// PutOff is an update to be taken later.
type PutOff struct {
	Update int64
	Chat   int64
	Data   []byte
	// Room is how many updates of the chat may wait.
	Room int
	// Slow is said in the chat if nothing waits yet, Full if there is no room.
	// An empty one is not said.
	Slow, Full []byte
	// Owner asks for the chat's sending lease, for Lease.
	Owner string
	Lease time.Duration
}

// Queued is what became of an update that was put off.
type Queued struct {
	// Outcome is Committed or Duplicate.
	Outcome Outcome
	// Full: there was no room, the update will not be looked at again.
	Full bool
	// Said: Slow or Full was put into the outbox.
	Said bool
	// Fence is of the chat's sending lease, which the owner has; 0: another has it.
	Fence int64
}

// The script counts, so that no number of replicas can exceed the limit.
var putOffScript = redis.NewScript(boxLua + `
local seen, outbox, index, putoff = unpack(KEYS)
local id, record, seenfor, owner, leasefor, chat, room, slow, full = unpack(ARGV)
entry(index, chat)
local second = math.floor(ms() / 1000)
if redis.call('ZADD', seen, 'NX', second, id) == 0 then
	if not box then return {2, 0, 0} end
	return {2, hold(index, chat, owner, leasefor, waits), 0}
end
redis.call('ZREMRANGEBYSCORE', seen, '-inf', '(' .. (second - seenfor))
redis.call('EXPIRE', seen, seenfor + ` + careSeconds + `)
local state, notice, said = 1, '', 0
local n = redis.call('LLEN', putoff)
if n >= tonumber(room) then
	state = 3
	notice = full
else
	redis.call('RPUSH', putoff, record)
	n = n + 1
	if n == 1 then notice = slow end
end
if notice ~= '' then
	redis.call('RPUSH', outbox, notice)
	said = 1
end
local w = '0'
if n > 0 then w = '1' end
return {state, hold(index, chat, owner, leasefor, w), said}
`)

// PutOff queues an update for later, after those of the chat that were put off
// before, and marks it as seen.
func (s *Store) PutOff(ctx context.Context, p PutOff) (Queued, error) {
	keys := []string{key("s", p.Chat), key("o", p.Chat), indexKey(bucketOf(p.Chat)), key("i", p.Chat)}
	record := s.updates.sealNamed(s.now().UnixMilli(), strconv.FormatInt(p.Update, 10), p.Data)
	v, err := ints(s.commits.run(ctx, putOffScript, keys, p.Update, record, seconds(s.Keep.Seen),
		p.Owner, p.Lease.Milliseconds(), p.Chat, p.Room, s.notice(p.Update, "s", p.Slow), s.notice(p.Update, "f", p.Full)), 3)
	if err != nil {
		return Queued{}, fmt.Errorf("put off: %w", err)
	}
	q := Queued{Outcome: Committed, Full: v[0] == 3, Fence: v[1], Said: v[2] == 1}
	if v[0] == 2 {
		q.Outcome = Duplicate
	}
	return q, nil
}

// Waiting is an update that was put off.
type Waiting struct {
	Update int64
	Data   []byte
	Err    error     // ErrNewer or ErrBroken; Data is nil then
	At     time.Time // when it was put off
	name   string
}

// NextPutOff is the oldest update put off in a chat; false when there is none.
func (s *Store) NextPutOff(ctx context.Context, chat int64) (Waiting, bool, error) {
	raw, err := s.rdb.LIndex(ctx, key("i", chat), 0).Bytes()
	if errors.Is(err, redis.Nil) {
		return Waiting{}, false, nil
	}
	if err != nil {
		return Waiting{}, false, fmt.Errorf("next put off: %w", err)
	}
	var w Waiting
	var ms int64
	ms, w.name, w.Data, w.Err = s.updates.openNamed(raw)
	w.At = time.UnixMilli(ms)
	if w.Err == nil {
		w.Update, err = strconv.ParseInt(w.name, 10, 64)
		if err != nil || strconv.FormatInt(w.Update, 10) != w.name { // the script would not find it
			w.Data, w.Err = nil, ErrBroken
		}
	}
	return w, true, nil
}

func (s *Store) notice(update int64, suffix string, data []byte) []byte {
	if len(data) == 0 {
		return []byte{}
	}
	return s.replies.sealNamed(s.now().UnixMilli(), strconv.FormatInt(update, 10)+"."+suffix, data)
}
