package session

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"time"

	"github.com/redis/go-redis/v9"
)

// Outcome says what became of a commit.
type Outcome int

// The outcomes of a commit.
const (
	// Committed: everything was written.
	Committed Outcome = iota + 1
	// Duplicate: the update was taken before; nothing was written.
	Duplicate
	// Stale: the conversation has changed since it was loaded; nothing was
	// written.
	Stale
	// Behind: older updates of the chat are put off, and this one must queue
	// up behind them; nothing was written.
	Behind
)

// Turn is what one update did to a conversation.
type Turn struct {
	Update int64 // the platform's update id
	Key    Key
	Rev    int64    // as loaded
	Data   []byte   // the new state; nil leaves the stored one alone
	Say    [][]byte // the replies, for the outbox
	// WasPutOff: the update is the oldest of those put off.
	WasPutOff bool
	// Owner asks for the chat's sending lease, for Lease, together with the
	// commit; "" does not.
	Owner string
	Lease time.Duration
}

// Result is what a commit found and did.
type Result struct {
	Outcome Outcome
	// Held: the owner has the chat's sending lease.
	Held bool
	// Ahead counts the replies that were in the outbox already.
	Ahead int
	// Items are the replies appended.
	Items []Item
}

// Item is one reply in the outbox.
type Item struct {
	ID   string // unique in the chat
	At   time.Time
	Data []byte
	Err  error // ErrNewer or ErrBroken; Data is nil then
}

// All checks come before the first write. If the server is full or read-only it
// refuses that one, so that a refused commit leaves nothing behind; a turn that
// was put off begins by making room, and goes through on a full server.
var commitScript = redis.NewScript(`
local conv, seen, outbox, lease, index, putoff, members = unpack(KEYS)
local id, rev, record, keep, seenfor, owner, leasefor, chat, queued, user = unpack(ARGV, 1, 10)
local ahead = -1

local function held()
	if owner == '' then return 0 end
	if redis.call('SET', lease, owner, 'NX', 'PX', leasefor) then return 1 end
	if redis.call('GET', lease) ~= owner then return 0 end
	redis.call('PEXPIRE', lease, leasefor)
	return 1
end

-- A duplicate whose replies still wait gives the lease as well: the first
-- delivery may have died right after its commit.
local function duplicate()
	ahead = redis.call('LLEN', outbox)
	if ahead == 0 then return {2, 0, 0} end
	return {2, held(), ahead}
end

local now = string.match(redis.call('GETRANGE', conv, 0, 40), '^%d+ (%d+) ') or '0'
if queued == '1' then
	local first = redis.call('LINDEX', putoff, 0)
	if not first or string.match(first, '^%d+ %d+ (%d+) ') ~= id then return duplicate() end
	if now ~= rev then return {3, 0, 0} end
	redis.call('LPOP', putoff)
else
	local late = now ~= rev
	local behind = redis.call('EXISTS', putoff) == 1
	if late or behind then
		if redis.call('ZSCORE', seen, id) then return duplicate() end
		if behind then return {4, 0, 0} end
		return {3, 0, 0}
	end
	local second = redis.call('TIME')[1]
	if redis.call('ZADD', seen, 'NX', second, id) == 0 then return duplicate() end
	redis.call('ZREMRANGEBYSCORE', seen, '-inf', '(' .. (second - seenfor))
	redis.call('EXPIRE', seen, seenfor)
end

if record ~= '' then
	redis.call('SET', conv, record, 'EX', keep)
	if user ~= '' then redis.call('SADD', members, user) end
else
	redis.call('EXPIRE', conv, keep)
end
if user ~= '' then redis.call('EXPIRE', members, keep) end

local n = #ARGV - 10
if n == 0 then return {1, 0, 0} end
ahead = redis.call('RPUSH', outbox, unpack(ARGV, 11)) - n
local t = redis.call('TIME')
redis.call('ZADD', index, 'NX', t[1] * 1000 + math.floor(t[2] / 1000), chat)
return {1, held(), ahead}
`)

// Commit writes a turn in one round trip, wholly or not at all: the seen mark
// of the update, the conversation if it is still the one that was loaded, and
// the replies. An error leaves it open whether the turn was written; to try it
// again is safe.
func (s *Store) Commit(ctx context.Context, t Turn) (Result, error) {
	chat := t.Key.Chat
	keys := []string{
		t.Key.conversation(), key("s", chat), key("o", chat), key("l", chat),
		indexKey(bucketOf(chat)), key("i", chat), key("m", chat),
	}
	user, record := "", []byte{}
	if t.Key.Group {
		user = strconv.FormatInt(t.Key.User, 10)
	}
	if t.Data != nil {
		record = s.states.seal(t.Rev+1, t.Data)
	}
	args := make([]any, 0, 10+len(t.Say))
	args = append(args, t.Update, t.Rev, record, seconds(s.Keep.Conversation), seconds(s.Keep.Seen),
		t.Owner, t.Lease.Milliseconds(), chat, flag(t.WasPutOff), user)
	items := make([]Item, len(t.Say))
	for i, data := range t.Say {
		it := Item{ID: fmt.Sprintf("%d.%d", t.Update, i), At: time.Now(), Data: data}
		items[i] = it
		args = append(args, s.replies.sealNamed(it.At.UnixMilli(), it.ID, it.Data))
	}
	v, err := ints(commitScript.Run(ctx, s.rdb, keys, args...), 3)
	if err != nil {
		return Result{}, fmt.Errorf("commit: %w", err)
	}
	r := Result{Outcome: Outcome(v[0]), Held: v[1] == 1, Ahead: int(v[2])}
	if r.Outcome == Committed {
		r.Items = items
	}
	return r, nil
}

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
	// Held: the owner has the chat's sending lease.
	Held bool
}

// The room is counted here so that no number of replicas can go past it.
var putOffScript = redis.NewScript(`
local seen, outbox, lease, index, putoff = unpack(KEYS)
local id, record, seenfor, owner, leasefor, chat, room, slow, full = unpack(ARGV)
local t = redis.call('TIME')
local n = redis.call('LLEN', putoff)
local state, said = 1, 0
if redis.call('ZADD', seen, 'NX', t[1], id) == 0 then
	state = 2
	if n == 0 and redis.call('EXISTS', outbox) == 0 then return {2, 0, 0} end
else
	redis.call('ZREMRANGEBYSCORE', seen, '-inf', '(' .. (t[1] - seenfor))
	redis.call('EXPIRE', seen, seenfor)
	local notice = ''
	if n >= tonumber(room) then
		state = 3
		notice = full
	else
		redis.call('RPUSH', putoff, record)
		if n == 0 then notice = slow end
	end
	if notice ~= '' then
		redis.call('RPUSH', outbox, notice)
		said = 1
	end
	if notice ~= '' or state == 1 then
		redis.call('ZADD', index, 'NX', t[1] * 1000 + math.floor(t[2] / 1000), chat)
	end
end
if redis.call('SET', lease, owner, 'NX', 'PX', leasefor) then return {state, 1, said} end
if redis.call('GET', lease) ~= owner then return {state, 0, said} end
redis.call('PEXPIRE', lease, leasefor)
return {state, 1, said}
`)

// PutOff keeps an update for later, behind those of the chat that were put off
// before, and marks it as seen: it will be taken, once.
func (s *Store) PutOff(ctx context.Context, p PutOff) (Queued, error) {
	keys := []string{key("s", p.Chat), key("o", p.Chat), key("l", p.Chat), indexKey(bucketOf(p.Chat)), key("i", p.Chat)}
	record := s.updates.sealNamed(time.Now().UnixMilli(), strconv.FormatInt(p.Update, 10), p.Data)
	v, err := ints(putOffScript.Run(ctx, s.rdb, keys, p.Update, record, seconds(s.Keep.Seen),
		p.Owner, p.Lease.Milliseconds(), p.Chat, p.Room, s.notice(p.Update, "s", p.Slow), s.notice(p.Update, "f", p.Full)), 3)
	if err != nil {
		return Queued{}, fmt.Errorf("put off: %w", err)
	}
	q := Queued{Outcome: Committed, Full: v[0] == 3, Held: v[1] == 1, Said: v[2] == 1}
	if v[0] == 2 {
		q.Outcome = Duplicate
	}
	return q, nil
}

// Waiting is an update that was put off.
type Waiting struct {
	Update int64
	Data   []byte
	Err    error // ErrNewer or ErrBroken; Data is nil then
	raw    []byte
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
	w := Waiting{raw: raw}
	var name string
	_, name, w.Data, w.Err = s.updates.openNamed(raw)
	if w.Err == nil {
		if w.Update, err = strconv.ParseInt(name, 10, 64); err != nil {
			w.Data, w.Err = nil, ErrBroken
		}
	}
	return w, true, nil
}

// BuryPutOff moves an update that can't be read from a chat's queue to the
// dead list.
func (s *Store) BuryPutOff(ctx context.Context, chat int64, w Waiting) error {
	if err := s.Bury(ctx, w.raw); err != nil {
		return err
	}
	if err := s.rdb.LRem(ctx, key("i", chat), 1, w.raw).Err(); err != nil {
		return fmt.Errorf("bury put off: %w", err)
	}
	return nil
}

func (s *Store) notice(update int64, suffix string, data []byte) []byte {
	if len(data) == 0 {
		return []byte{}
	}
	return s.replies.sealNamed(time.Now().UnixMilli(), strconv.FormatInt(update, 10)+"."+suffix, data)
}

func flag(b bool) string {
	if b {
		return "1"
	}
	return "0"
}

// seconds rounds up: Redis takes no expiry of 0.
func seconds(d time.Duration) int64 { return int64((d + time.Second - 1) / time.Second) }

// ints reads a script's answer of at least n numbers.
func ints(cmd *redis.Cmd, n int) ([]int64, error) {
	v, err := cmd.Int64Slice()
	if err != nil {
		return nil, err
	}
	if len(v) < n {
		return nil, fmt.Errorf("script gave %d numbers of %d", len(v), n)
	}
	return v, nil
}
