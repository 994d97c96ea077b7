package session

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"
)

// Lease is the right to send in a chat, as one process has it.
type Lease struct {
	Owner string
	For   time.Duration
	// Fence tells one time that the owner has it from another; 0: not had yet.
	Fence int64
}

// Box is what is waiting in a chat.
type Box struct {
	// Fence is of the lease; 0: another owner has it, and the rest is not set,
	// except Free.
	Fence int64
	// Free is when the lease of another owner runs out, from now.
	Free time.Duration
	// Left counts the replies in the outbox.
	Left int
	// PutOff counts the updates put off.
	PutOff int
	// Items are the first replies, as many as were asked for.
	Items []Item
	// Mark is what became of the first replies, if somebody has told it and not yet
	// removed them.
	Mark Mark
	// Empty: nothing is left, and the lease was given back.
	Empty bool
	// Shown is what stood in the chat before what Remove noted, the newest first.
	Shown []Shown
}

// Mark is what became of the first N replies of an outbox, of which ID is the
// first. The zero value is none.
type Mark struct {
	ID   string
	N    int
	What string // one word
}

// The end of the scripts: return what is left in the box, or, if nothing is,
// remove the chat and its lease from the index.
const restOfBox = rest + `
return rest()
`

const rest = `
local function rest()
local left, waiting = redis.call('LLEN', outbox), 0
if not box or waits == '1' then waiting = redis.call('LLEN', putoff) end
if left == 0 and waiting == 0 then
	if box then redis.call('HDEL', index, chat) end
	return {1, 0, 0, {}, ''}
end
local first = redis.call('LRANGE', outbox, 0, math.max(n - 1, 0))
local at = string.match(first[1] or redis.call('LINDEX', putoff, 0), '^%d+ (%d+) ')
if at and #at <= 13 then since = at end
local w = '0'
if waiting > 0 then w = '1' end
local number = hold(index, chat, owner, leasefor, w)
if n == 0 then first = {} end
return {number, left, waiting, first, mark or ''}
end
`

// A full server refuses an HSET that is a script's first write, but not after
// an HDEL; without that it could not empty its outboxes.
var claimScript = redis.NewScript(boxLua + `
local outbox, index, putoff = unpack(KEYS)
local owner, leasefor, chat, n = ARGV[1], ARGV[2], ARGV[3], tonumber(ARGV[4])
entry(index, chat)
if others(index, chat, owner, leasefor) then return {0, till - ms(), 0, {}, ''} end
redis.call('HDEL', index, chat)
` + restOfBox)

// Claim takes or renews a chat's sending lease, unless another owner has it,
// and reads up to n replies.
func (s *Store) Claim(ctx context.Context, chat int64, l Lease, n int) (Box, error) {
	return s.box("claim", s.commits.run(ctx, claimScript, boxKeys(chat), l.Owner, l.For.Milliseconds(), chat, n))
}

// lost is the head of the scripts that need the lease: it is lost when its fence is
// no longer the entry's. One that only ran out, or was given back, is still his who
// had it last. Without an entry nothing waits, or somebody else is to look.
const lost = `
local function lost(number)
	return not box or fence ~= tonumber(number) or has ~= owner and has ~= ''
end
`

var removeScript = redis.NewScript(boxLua + `
local outbox, index, putoff, shown = unpack(KEYS)
local owner, leasefor, chat, n = ARGV[1], ARGV[2], ARGV[3], tonumber(ARGV[4])
entry(index, chat)
` + lost + `
if lost(ARGV[5]) then
	if not box and redis.call('EXISTS', outbox, putoff) == 0 then return {1, 0, 0, {}, ''} end
	if others(index, chat, owner, leasefor) then return {0, till - ms(), 0, {}, ''} end
	return {0, 0, 0, {}, ''}
end
for i = 9, #ARGV do
	local head = redis.call('LPOP', outbox)
	if head and (string.match(head, '^%d+ %d+ ([^ ]+) ') or '') ~= ARGV[i] then redis.call('LPUSH', outbox, head) end
end
` + shownLua + `
mark = nil
` + rest + `
local all = rest()
all[6] = before
return all
`)

// Remove removes the replies ids, which went out as one, from the head of a
// chat's outbox, renews the lease and reads up to n of the replies that follow.
// It does nothing once the lease was lost. A lease that has only run out is
// taken again: nobody had it in between. A reply that is not at the head was
// removed before. With it goes a note of what is shown in the chat now; that of no
// message is none.
func (s *Store) Remove(ctx context.Context, chat int64, ids []string, l Lease, n int, now Shown) (Box, error) {
	if s.commits.acks.n > 0 {
		n = 0 // what replicas may not have yet is for Claim to read
	}
	args := []any{l.Owner, l.For.Milliseconds(), chat, n, l.Fence, now.line(), mostShown(chat), seconds(s.Keep.Conversation)}
	for _, id := range ids {
		args = append(args, id)
	}
	return s.box("remove", s.scripts.run(ctx, removeScript, append(boxKeys(chat), key("v", chat)), args...))
}

var markScript = redis.NewScript(boxLua + `
local outbox, index = unpack(KEYS)
local owner, leasefor, chat = ARGV[1], ARGV[2], ARGV[3]
entry(index, chat)
` + lost + `
if lost(ARGV[4]) then return 0 end
local head = redis.call('LINDEX', outbox, 0)
if not head or (string.match(head, '^%d+ %d+ ([^ ]+) ') or '') ~= ARGV[5] then return 0 end
mark = ARGV[5] .. ' ' .. ARGV[6] .. ' ' .. ARGV[7]
redis.call('HDEL', index, chat)
return hold(index, chat, owner, leasefor, waits)
`)

// Mark notes what became of the first replies before anybody is told, so that
// whoever removes them tells the same. Its result is the lease's fence; 0: the
// lease was lost and nothing is noted.
func (s *Store) Mark(ctx context.Context, chat int64, m Mark, l Lease) (int64, error) {
	fence, err := s.scripts.run(ctx, markScript, boxKeys(chat)[:2],
		l.Owner, l.For.Milliseconds(), chat, l.Fence, m.ID, m.N, m.What).Int64()
	return fence, failedIn("mark", err)
}

func boxKeys(chat int64) []string {
	return []string{key("o", chat), indexKey(bucketOf(chat)), key("i", chat)}
}

func (s *Store) box(doing string, cmd *redis.Cmd) (Box, error) {
	v, err := cmd.Slice()
	if err == nil && len(v) < 5 {
		err = fmt.Errorf("script gave %d values of 5 or 6", len(v))
	}
	if err != nil {
		return Box{}, failedIn(doing, err)
	}
	fence, _ := v[0].(int64)
	second, _ := v[1].(int64)
	third, _ := v[2].(int64)
	items, _ := v[3].([]any)
	if fence == 0 {
		return Box{Free: time.Duration(second) * time.Millisecond}, nil
	}
	b := Box{Fence: fence, Left: int(second), PutOff: int(third)}
	b.Empty = b.Left == 0 && b.PutOff == 0
	for _, raw := range items {
		text, _ := raw.(string)
		at, id, data, err := s.replies.openNamed([]byte(text))
		b.Items = append(b.Items, Item{ID: id, At: time.UnixMilli(at), Data: data, Err: err})
	}
	text, _ := v[4].(string)
	if f := strings.Fields(text); len(f) == 3 {
		b.Mark.ID, b.Mark.What = f[0], f[2]
		b.Mark.N, _ = strconv.Atoi(f[1])
	}
	if len(v) > 5 {
		before, _ := v[5].([]any)
		lines := make([]string, len(before))
		for i := range before {
			lines[i], _ = before[i].(string)
		}
		b.Shown = shownOf(lines, shownGroup)
	}
	return b, nil
}

const renewScript = boxLua + `
local owner = ARGV[1]
entry(KEYS[1], ARGV[3])
` + lost + `
if lost(ARGV[4]) or has ~= owner then return 0 end
redis.call('HDEL', KEYS[1], ARGV[3])
return hold(KEYS[1], ARGV[3], owner, ARGV[2], waits)
`

// Renew extends leases, by the chat, and returns the chats whose lease was lost.
func (s *Store) Renew(ctx context.Context, leases map[int64]Lease) (lost []int64, err error) {
	for batch := range slices.Chunk(slices.Collect(maps.Keys(leases)), 200) {
		// The script is sent as text: in a pipeline there is no way to react to
		// a node that does not know its hash.
		cmds, err := s.rdb.Pipelined(ctx, func(p redis.Pipeliner) error {
			for _, chat := range batch {
				l := leases[chat]
				p.Eval(ctx, renewScript, []string{indexKey(bucketOf(chat))}, l.Owner, l.For.Milliseconds(), chat, l.Fence)
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
local owner = ARGV[1]
entry(KEYS[1], ARGV[2])
` + lost + `
if lost(ARGV[3]) or has ~= owner then return 0 end
redis.call('HDEL', KEYS[1], ARGV[2])
write(KEYS[1], ARGV[2], '', fence, 0, 0, waits, mark)
return 1
`)

// Release gives a lease back, unless it was lost.
func (s *Store) Release(ctx context.Context, chat int64, l Lease) error {
	return failedIn("release", releaseScript.Run(ctx, s.rdb, []string{indexKey(bucketOf(chat))}, l.Owner, chat, l.Fence).Err())
}

// Pending is a chat with replies to send or updates put off.
type Pending struct {
	Chat  int64
	Since time.Time // of the oldest
}

// Pending walks the index for the chats that wait.
func (s *Store) Pending(ctx context.Context) ([]Pending, error) {
	var found []Pending
	err := s.eachEntry(ctx, func(chat int64, entry string) {
		ms, _, _ := strings.Cut(entry, " ")
		since, err := strconv.ParseInt(ms, 10, 64)
		if err != nil { // written oddly; a look writes it anew
			since = s.now().UnixMilli()
		}
		found = append(found, Pending{Chat: chat, Since: time.UnixMilli(since)})
	})
	return found, failedIn("pending", err)
}

// eachEntry gives the entries of all indexes.
func (s *Store) eachEntry(ctx context.Context, do func(chat int64, entry string)) error {
	return s.eachBucket(ctx, func(p redis.Pipeliner, b int) { p.HGetAll(ctx, indexKey(b)) }, func(cmd redis.Cmder) {
		for name, entry := range cmd.(*redis.MapStringStringCmd).Val() {
			if chat, err := strconv.ParseInt(name, 10, 64); err == nil {
				do(chat, entry)
			}
		}
	})
}
