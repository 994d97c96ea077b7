package session

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"
)

// Box is what is waiting in a chat.
type Box struct {
	// Held: the owner has the lease. If not, the rest is not set, except Free.
	Held bool
	// Free is when the lease of another owner runs out, from now.
	Free time.Duration
	// Left counts the replies in the outbox.
	Left int
	// PutOff counts the updates put off.
	PutOff int
	// Items are the first replies, as many as were asked for.
	Items []Item
}

// Empty: nothing is left, and the lease was given back.
func (b Box) Empty() bool { return b.Held && b.Left == 0 && b.PutOff == 0 }

// The end of both scripts: return what is left in the box, or, if nothing is,
// remove the chat and its lease from the index.
const restOfBox = `
local left, waiting = redis.call('LLEN', outbox), 0
if not box or waits == '1' then waiting = redis.call('LLEN', putoff) end
if left == 0 and waiting == 0 then
	if box then redis.call('HDEL', index, chat) end
	return {1, 0, 0, {}}
end
local first = redis.call('LRANGE', outbox, 0, math.max(n - 1, 0))
since = string.match(first[1] or redis.call('LINDEX', putoff, 0), '^%d+ (%d+) ') or since
local w = '0'
if waiting > 0 then w = '1' end
hold(index, chat, owner, leasefor, w)
if n == 0 then first = {} end
return {1, left, waiting, first}
`

// A full server refuses an HSET that is a script's first write, but not after
// an HDEL; without that it could not empty its outboxes.
var claimScript = redis.NewScript(boxLua + `
local outbox, index, putoff = unpack(KEYS)
local owner, leasefor, chat, n = ARGV[1], ARGV[2], ARGV[3], tonumber(ARGV[4])
entry(index, chat)
if others(owner) then return {0, till - ms(), 0, {}} end
redis.call('HDEL', index, chat)
` + restOfBox)

// Claim takes or renews a chat's sending lease, unless another owner has it,
// and reads up to n replies.
func (s *Store) Claim(ctx context.Context, chat int64, owner string, lease time.Duration, n int) (Box, error) {
	return s.box("claim", s.scripts.run(ctx, claimScript, boxKeys(chat), owner, lease.Milliseconds(), chat, n))
}

var removeScript = redis.NewScript(boxLua + `
local outbox, index, putoff = unpack(KEYS)
local owner, leasefor, chat, n = ARGV[1], ARGV[2], ARGV[3], tonumber(ARGV[4])
entry(index, chat)
if others(owner) then return {0, till - ms(), 0, {}} end
for i = 5, #ARGV do
	local head = redis.call('LPOP', outbox)
	if head and (string.match(head, '^%d+ %d+ ([^ ]+) ') or '') ~= ARGV[i] then redis.call('LPUSH', outbox, head) end
end
` + restOfBox)

// Remove removes the replies ids, which went out as one, from the head of a
// chat's outbox, renews the lease and reads up to n of the replies that follow.
// It does nothing while another owner has the lease. A lease that has run out is
// taken again: whoever had it in between has removed a reply or left it at the
// head. A reply that is not at the head was removed before.
func (s *Store) Remove(ctx context.Context, chat int64, ids []string, owner string, lease time.Duration, n int) (Box, error) {
	args := []any{owner, lease.Milliseconds(), chat, n}
	for _, id := range ids {
		args = append(args, id)
	}
	return s.box("remove", s.scripts.run(ctx, removeScript, boxKeys(chat), args...))
}

func boxKeys(chat int64) []string {
	return []string{key("o", chat), indexKey(bucketOf(chat)), key("i", chat)}
}

func (s *Store) box(doing string, cmd *redis.Cmd) (Box, error) {
	v, err := cmd.Slice()
	if err == nil && len(v) != 4 {
		err = fmt.Errorf("script gave %d values of 4", len(v))
	}
	if err != nil {
		return Box{}, failedIn(doing, err)
	}
	held, _ := v[0].(int64)
	second, _ := v[1].(int64)
	third, _ := v[2].(int64)
	items, _ := v[3].([]any)
	if held == 0 {
		return Box{Free: time.Duration(second) * time.Millisecond}, nil
	}
	b := Box{Held: true, Left: int(second), PutOff: int(third)}
	for _, raw := range items {
		text, _ := raw.(string)
		at, id, data, err := s.replies.openNamed([]byte(text))
		b.Items = append(b.Items, Item{ID: id, At: time.UnixMilli(at), Data: data, Err: err})
	}
	return b, nil
}

const renewScript = boxLua + `
entry(KEYS[1], ARGV[3])
if not box or has ~= ARGV[1] then return 0 end
redis.call('HDEL', KEYS[1], ARGV[3])
return hold(KEYS[1], ARGV[3], ARGV[1], ARGV[2], waits)
`

// Renew extends the owner's leases and returns the chats whose lease was lost.
func (s *Store) Renew(ctx context.Context, chats []int64, owner string, lease time.Duration) (lost []int64, err error) {
	for batch := range slices.Chunk(chats, 200) {
		// The script is sent as text: in a pipeline there is no way to react to
		// a node that does not know its hash.
		cmds, err := s.rdb.Pipelined(ctx, func(p redis.Pipeliner) error {
			for _, chat := range batch {
				p.Eval(ctx, renewScript, []string{indexKey(bucketOf(chat))}, owner, lease.Milliseconds(), chat)
			}
			return nil
		})
		if err != nil {
			return lost, fmt.Errorf("renew: %w", err)
		}
		for i, cmd := range cmds {
			if n, _ := cmd.(*redis.Cmd).Int(); n == 0 {
				lost = append(lost, batch[i])
			}
		}
	}
	return lost, nil
}

var releaseScript = redis.NewScript(boxLua + `
entry(KEYS[1], ARGV[2])
if not box or has ~= ARGV[1] then return 0 end
redis.call('HDEL', KEYS[1], ARGV[2])
redis.call('HSET', KEYS[1], ARGV[2], since .. ' 0 ' .. waits .. ' ')
return 1
`)

// Release gives up a lease, if the owner has it.
func (s *Store) Release(ctx context.Context, chat int64, owner string) error {
	return failedIn("release", releaseScript.Run(ctx, s.rdb, []string{indexKey(bucketOf(chat))}, owner, chat).Err())
}

// Pending is a chat with replies to send or updates put off.
type Pending struct {
	Chat  int64
	Since time.Time // of the oldest
}

// Pending walks the index for chats that have waited for at least age.
func (s *Store) Pending(ctx context.Context, age time.Duration) ([]Pending, error) {
	const atOnce = 128
	latest := s.now().Add(-age)
	var found []Pending
	for from := 0; from < buckets; from += atOnce {
		cmds, err := s.rdb.Pipelined(ctx, func(p redis.Pipeliner) error {
			for b := from; b < from+atOnce; b++ {
				p.HGetAll(ctx, indexKey(b))
			}
			return nil
		})
		if err != nil {
			return found, fmt.Errorf("pending: %w", err)
		}
		for _, cmd := range cmds {
			for name, entry := range cmd.(*redis.MapStringStringCmd).Val() {
				chat, err1 := strconv.ParseInt(name, 10, 64)
				ms, _, _ := strings.Cut(entry, " ")
				since, err2 := strconv.ParseInt(ms, 10, 64)
				if p := (Pending{Chat: chat, Since: time.UnixMilli(since)}); err1 == nil && err2 == nil && !p.Since.After(latest) {
					found = append(found, p)
				}
			}
		}
	}
	return found, nil
}
