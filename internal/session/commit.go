package session

import (
	"context"
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

// Turn is what one update changed in a conversation.
type Turn struct {
	Update int64 // the platform's update id
	Key    Key
	From   Conversation // as loaded
	Data   []byte       // the new state; nil leaves the stored one alone
	Value  any          // what Data was made of, for Conversation.Value
	// Values is what the replies were made of, for Item.Value; may be empty.
	Values []any
	Say    [][]byte // the replies, for the outbox
	// WasPutOff: the update is the oldest of those put off.
	WasPutOff bool
	// Job is a job of the chat that the turn changes; "": none.
	Job JobChange
	// Ours is what becomes of a group's own conversation together with a person's there;
	// nil: nothing.
	Ours *Ours
	// Forget deletes the conversation, and in a private chat the jobs, in place
	// of writing Data and Job. ForgetRest does what is left.
	Forget bool
	// Forgotten, with Forget, are the jobs that a group goes on with, without the
	// person.
	Forgotten []JobChange
	// Aside is what the turn takes the place of, or deletes, though it could not be
	// read: its bytes are kept.
	Aside []Aside
	// Letter is the data of an update that waits until the chat has a conversation
	// that can be read; nil: none.
	Letter []byte
	// Owner asks for the chat's sending lease, for Lease, together with the
	// commit; "" does not.
	Owner string
	Lease time.Duration
	// Look is when to look whether the chat is to be reminded of anything, see Due; zero:
	// never. The earliest one counts, and one that is given within the hour of another is
	// left out, unless Must.
	Look time.Time
	Must bool
	// Looked: this turn is the look. Look takes the place of what there was, and
	// the conversation lasts no longer for it.
	Looked bool
}

// Aside is what a turn takes the place of though it could not be read: the
// conversation, or with Ref a part of a job.
type Aside struct {
	Ref  string
	Part Part // of the job: Window and Rev
	Err  error
}

// Result is what a commit found and did.
type Result struct {
	Outcome Outcome
	// Fence is of the chat's sending lease, which the owner has; 0: another has it.
	Fence int64
	// Ahead counts the replies that were in the outbox already.
	Ahead int
	// Items are the replies appended.
	Items []Item
	// Now is the conversation as it is after the commit.
	Now Conversation
}

// Item is one reply in the outbox.
type Item struct {
	ID   string // unique in the chat
	At   time.Time
	Data []byte
	// Value is what a commit of this process made Data of; nil for what was
	// read from Redis.
	Value any
	Err   error // ErrNewer or ErrBroken; Data is nil then
}

// A chat's entry in the index of its bucket says since when it has had
// something waiting, until when whose the sending lease is, whether updates are put
// off, the lease's fence and length, and what became of the head of the outbox if
// that was told already:
//
//	<ms> <ms> <0 or 1> <owner> <fence> <ms>[ <id> <how many> <what>]
//
// One read of it tells a turn all that it needs to know of the outbox. The lease
// runs out by Redis' clock. The fence is another one, and a higher one, each time
// that the lease goes to somebody else: who has an older one has lost it, and his
// removal does nothing. It begins at the clock because the entry goes when the box
// is empty. A lease is never believed for longer than it is long, so that a clock
// that is set back makes no chat wait for it. Entries of before end after the owner.
//
// The functions below are the head of every script that deals with it. The
// scripts make as few calls as they can: a call costs more than what it does.
const boxLua = `
local box, since, till, waits, has, fence, long, mark, clock
local function entry(index, chat)
	box = redis.call('HGET', index, chat)
	if not box then return end
	since, till, waits, has, fence, long, mark = string.match(box, '^(%d+) (%d+) (%d) (%S*) ?(%d*) ?(%d*) ?(.*)$')
	if not has or math.max(#since, #till, #fence) > 13 or #long > 8 then
		-- Written oddly: nobody has it, and whoever looks counts what was put off. What is
		-- longer is no time, and a number that Lua would not write as it read it.
		since, till, waits, has, fence, long, mark = nil, 0, '1', '', 0, 0, nil
	end
	fence = tonumber(fence) or 0
end
local function ms()
	if not clock then
		local t = redis.call('TIME')
		clock = t[1] * 1000 + math.floor(t[2] / 1000)
	end
	return clock
end
local function write(index, chat, owner, number, ends, length, w, m)
	local e = (since or ms()) .. ' ' .. ends .. ' ' .. w .. ' ' .. owner .. ' ' .. number .. ' ' .. length
	if m and m ~= '' then e = e .. ' ' .. m end
	redis.call('HSET', index, chat, e)
end
-- others: whether the lease is another owner's. One that ends further ahead than it
-- is long is cut to its length from now.
local function others(index, chat, owner, leasefor)
	if not box or has == '' or has == owner or tonumber(till) <= ms() then return false end
	local length = tonumber(long) or tonumber(leasefor)
	if till - ms() > length then
		till = ms() + length
		redis.call('HDEL', index, chat)
		write(index, chat, has, fence, till, length, waits, mark)
	end
	return true
end
-- hold writes the entry, with the lease if it can be had: its fence if so, else 0.
local function hold(index, chat, owner, leasefor, w)
	if owner ~= '' and not others(index, chat, owner, leasefor) then
		if not box then
			fence = ms()
		elseif has ~= owner then
			fence = math.max(fence + 1, ms())
		end
		write(index, chat, owner, fence, ms() + leasefor, leasefor, w, mark)
		return fence
	end
	if not box or w ~= waits then
		write(index, chat, has or '', fence or 0, till or 0, long or 0, w, mark)
	end
	return 0
end
`

// All checks come before the first write. A full or read-only server refuses
// that write, so that a refused commit changes nothing. A turn that was put off
// first removes an entry, and so succeeds on a full server.
var commitScript = redis.NewScript(boxLua + `
local conv, seen, outbox, index, putoff, members, jobs, aside, shown, due, own = unpack(KEYS)
local id, rev, record, keep, seenfor, owner, leasefor, chat, queued, user, trim, forget, look, parts, asides = unpack(ARGV, 1, 15)
entry(index, chat)

-- The parts of a job that the turn has read or will write, as triples of field,
-- revision and record. Before them stands what becomes of the group's own conversation,
-- where that changes too; behind them the pairs of what is set aside, then the replies.
local part, ownrev, ours = 16
if own then
	ownrev, ours = ARGV[16], ARGV[17]
	part = 18
end
local last = part - 1 + 3 * parts
local say = last + 2 * asides

-- As the program reads it, see split: a number that is none of ours is 0.
local function revision(record)
	local schema, rev = string.match(record, '^(%d+) 0*(%d+) ')
	return rev and math.max(#schema, #rev) <= ` + mostDigits + ` and rev or '0'
end

-- A job that someone else in the chat has changed makes the turn stale too, and so does
-- the group's own conversation.
local function jobchanged()
	if own and revision(redis.call('GETRANGE', own, 0, 40)) ~= ownrev then return true end
	for i = part, last, 3 do
		local old = redis.call('HGET', jobs, ARGV[i])
		if revision(old or '') ~= ARGV[i + 1] then return true end
	end
	return false
end

-- A duplicate whose replies still wait gives the lease as well: the first
-- delivery may have died right after its commit.
local function duplicate()
	if not box then return {2, 0, 0} end
	return {2, hold(index, chat, owner, leasefor, waits), redis.call('LLEN', outbox)}
end

local now = revision(redis.call('GETRANGE', conv, 0, 40))
if queued == '1' then
	local first = redis.call('LINDEX', putoff, 0)
	if not first or string.match(first, '^%d+ %d+ ([^ ]+) ') ~= id then return duplicate() end
	if now ~= rev or jobchanged() then return {3, 0, 0} end
	redis.call('LPOP', putoff)
else
	if now ~= rev or waits == '1' or jobchanged() then
		if redis.call('ZSCORE', seen, id) then return duplicate() end
		if waits == '1' then return {4, 0, 0} end
		return {3, 0, 0}
	end
	local second = math.floor(ms() / 1000)
	if redis.call('ZADD', seen, 'NX', second, id) == 0 then return duplicate() end
	if trim == '1' then
		redis.call('ZREMRANGEBYSCORE', seen, '-inf', '(' .. (second - seenfor))
		redis.call('EXPIRE', seen, seenfor + ` + careSeconds + `)
	end
end

` + asideLua + `
if forget == '1' then
	redis.call('DEL', conv, shown)
	if user == '' then
		redis.call('DEL', jobs, aside)
		redis.call('ZREM', due, chat)
	else
		redis.call('SREM', members, user)
		for _, e in ipairs(redis.call('LRANGE', aside, 0, -1)) do
			if string.match(e, '^%d+ %d+ c:([^ ]+) ') == user then redis.call('LREM', aside, 0, e) end
		end
	end
elseif record ~= '' then
	if keep == '0' then
		redis.call('SET', conv, record, 'KEEPTTL')
	else
		redis.call('SET', conv, record, 'EX', keep)
	end
elseif trim == '1' and keep ~= '0' then
	redis.call('EXPIRE', conv, keep)
end
if own then redis.call('SET', own, ours, 'EX', keep) end
if user ~= '' then
	if record ~= '' then redis.call('SADD', members, user) end
	redis.call('EXPIRE', members, keep)
end

for i = part, last, 3 do
	local record = ARGV[i + 2]
	if record == '` + deletePart + `' then
		redis.call('HDEL', jobs, ARGV[i])
	elseif record ~= '' then
		redis.call('HSET', jobs, ARGV[i], record)
	end
end
if part < last then redis.call('EXPIRE', jobs, keep) end

` + lookLua + `
local n = #ARGV - say
if n == 0 then return {1, 0, 0} end
local ahead = redis.call('RPUSH', outbox, unpack(ARGV, say + 1)) - n
return {1, hold(index, chat, owner, leasefor, w), ahead}
`)

// The seen marks of a chat are trimmed at most once in this time, not at every
// turn, and kept this much longer. The conversation records when they were last
// trimmed.
const (
	care        = time.Hour
	careSeconds = "3600"
)

// asideArgs are the pairs that the script takes: where the bytes stand, and what goes
// before them.
func (s *Store) asideArgs(t Turn, next Conversation, now time.Time) []any {
	var args []any
	for _, a := range t.Aside {
		if a.Ref != "" {
			var rev int64
			for _, p := range t.Job.Write {
				if p.Window == a.Part.Window && p.Data != nil {
					rev = revAfter(p.Rev, now)
				}
			}
			field := partField(a.Ref, a.Part.Window)
			args = append(args, field, asideHead(now, placeJob+field, a.Err, rev))
			continue
		}
		place, rev := placeConversation, int64(0)
		if t.Key.Group {
			place += ":" + strconv.FormatInt(t.Key.User, 10)
		}
		if t.Data != nil {
			rev = next.Rev
		}
		args = append(args, placeConversation, asideHead(now, place, a.Err, rev))
	}
	if t.Letter != nil {
		letter := s.updates.sealNamed(now.UnixMilli(), strconv.FormatInt(t.Update, 10), t.Letter)
		args = append(args, placeLetter, append(asideHead(now, placeLetter, ErrBroken, 0), letter...))
	}
	return args
}

// Commit writes a turn in one round trip, completely or not at all: the seen
// mark of the update, the conversation if it is still the one that was loaded,
// and the replies. After an error the turn may or may not be written; it is
// safe to try again. After ErrTooFew it is.
func (s *Store) Commit(ctx context.Context, t Turn) (Result, error) {
	chat := t.Key.Chat
	keys := []string{
		t.Key.conversation(), key("s", chat), key("o", chat), indexKey(bucketOf(chat)), key("i", chat), key("m", chat), key("j", chat), key("x", chat),
		key("v", chat), dueKey(bucketOf(chat)),
	}
	now := s.now()
	next := t.From
	trim := now.Sub(next.cared) > care || next.cared.After(now)
	user, record := "", []byte{}
	if t.Key.Group {
		user = strconv.FormatInt(t.Key.User, 10)
	}
	if t.Forget {
		next, t.Data, t.Job, t.Aside, t.Ours = Conversation{}, nil, JobChange{}, nil, nil
	}
	if t.Data != nil {
		next.Rev, next.Data, next.Value = revAfter(next.Rev, now), t.Data, t.Value
		if trim {
			next.cared = now.Truncate(time.Second)
		}
		if t.Looked {
			next.cared = time.Unix(0, 0) // the next turn says when to look again
		}
		record = s.states.sealNamed(next.Rev, strconv.FormatInt(next.cared.Unix(), 10), t.Data)
	}
	parts := s.jobArgs(t.Job, now)
	for _, c := range t.Forgotten {
		parts = append(parts, s.jobArgs(c, now)...)
	}
	asides := s.asideArgs(t, next, now)
	keep := seconds(s.Keep.Conversation)
	if t.Looked && t.From.Rev != 0 {
		keep = 0 // as it is
	}
	own, ours := s.oursArgs(chat, t.Ours, now)
	keys = append(keys, own...)
	args := make([]any, 0, 15+len(ours)+len(parts)+len(asides)+len(t.Say))
	args = append(args, t.Update, t.From.Rev, record, keep, seconds(s.Keep.Seen),
		t.Owner, t.Lease.Milliseconds(), chat, t.WasPutOff, user, trim, t.Forget, lookArg(t.Look, t.Looked, trim || t.Must), len(parts)/3, len(asides)/2)
	args = append(append(append(args, ours...), parts...), asides...)
	items := make([]Item, len(t.Say))
	for i, data := range t.Say {
		it := Item{ID: strconv.FormatInt(t.Update, 10) + "." + strconv.Itoa(i), At: now, Data: data}
		if i < len(t.Values) {
			it.Value = t.Values[i]
		}
		items[i] = it
		args = append(args, s.replies.sealNamed(it.At.UnixMilli(), it.ID, it.Data))
	}
	v, err := ints(s.commits.run(ctx, commitScript, keys, args...), 3)
	if err != nil {
		return Result{}, fmt.Errorf("commit: %w", err)
	}
	r := Result{Outcome: Outcome(v[0]), Fence: v[1], Ahead: int(v[2])}
	if r.Outcome == Committed {
		r.Items, r.Now = items, next
	}
	return r, nil
}

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
