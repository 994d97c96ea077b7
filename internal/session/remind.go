package session

import (
	"context"
	"math/rand/v2"
	"strconv"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"
)

// When to look at a chat next is one entry of its bucket's sorted set sb:{b}:d, written by
// the script that commits the turn which makes or unmakes the day. There is nothing else in
// it: what there is to say follows from the chat's jobs when somebody looks. So an entry
// that is too early, or that two processes take, does no harm, and which of them says it
// the commit decides.

func dueKey(bucket int) string { return "sb:{" + strconv.Itoa(bucket) + "}:d" }

// lookLua writes the entry. A look takes the place of what there was; of several turns the
// earliest counts.
const lookLua = `
if look ~= '' and forget ~= '1' then
	if string.sub(look, 1, 1) ~= '=' then
		redis.call('ZADD', due, 'LT', look, chat)
	elseif look == '=' then
		redis.call('ZREM', due, chat)
	else
		redis.call('ZADD', due, string.sub(look, 2), chat)
	end
end
`

// lookArg is what the script is told: nothing, a moment, or with = one that takes the place
// of what there was.
func lookArg(look time.Time, looked, now bool) string {
	at := ""
	if !look.IsZero() {
		at = strconv.FormatInt(look.UnixMilli(), 10)
	}
	switch {
	case looked:
		return "=" + at
	case now:
		return at
	}
	return ""
}

// mostDue is how many chats of one bucket are taken at once; later looks take the rest.
const mostDue = 200

// Due are chats that are to be looked at by now, in no order, so that several processes
// meet rarely.
func (s *Store) Due(ctx context.Context, now time.Time) (chats []int64, err error) {
	by := redis.ZRangeBy{Min: "-inf", Max: strconv.FormatInt(now.UnixMilli(), 10), Count: mostDue}
	err = s.eachBucket(ctx, func(p redis.Pipeliner, b int) { p.ZRangeByScore(ctx, dueKey(b), &by) }, func(cmd redis.Cmder) {
		for _, name := range cmd.(*redis.StringSliceCmd).Val() {
			if chat, err := strconv.ParseInt(name, 10, 64); err == nil {
				chats = append(chats, chat)
			}
		}
	})
	if err != nil {
		return nil, failedIn("due", err)
	}
	rand.Shuffle(len(chats), func(i, j int) { chats[i], chats[j] = chats[j], chats[i] })
	return chats, nil
}

var takeDueScript = redis.NewScript(`
local at = redis.call('ZSCORE', KEYS[1], ARGV[1])
if not at or tonumber(at) > tonumber(ARGV[2]) then return 0 end
redis.call('ZADD', KEYS[1], ARGV[3], ARGV[1])
return 1
`)

// TakeDue takes a chat that is due for a while, in which nobody else does. Whoever dies
// with it in hand leaves it to the next.
func (s *Store) TakeDue(ctx context.Context, chat int64, now time.Time, lease time.Duration) (bool, error) {
	n, err := takeDueScript.Run(ctx, s.rdb, []string{dueKey(bucketOf(chat))}, chat, now.UnixMilli(), now.Add(lease).UnixMilli()).Int()
	return n == 1, failedIn("due", err)
}

// JobHeads reads the head of every job of a chat, by reference; without data where it
// can't be read.
func (s *Store) JobHeads(ctx context.Context, chat int64) (map[string]Part, error) {
	fields, err := s.rdb.HKeys(ctx, key("j", chat)).Result()
	if err != nil {
		return nil, failedIn("heads", err)
	}
	heads := map[string]Part{}
	var refs []string
	for _, field := range fields {
		if !strings.Contains(field, "/") {
			refs = append(refs, field)
		}
	}
	if refs == nil {
		return heads, nil
	}
	raw, err := s.rdb.HMGet(ctx, key("j", chat), refs...).Result()
	if err != nil {
		return nil, failedIn("heads", err)
	}
	for i, v := range raw {
		if text, stored := v.(string); stored {
			var p Part
			p.Rev, p.Data, p.Err = s.jobs.open([]byte(text))
			heads[refs[i]] = p
		}
	}
	return heads, nil
}

// lookAt is when a chat is to be looked at; nil: never.
func lookAt(due *redis.FloatCmd) *time.Time {
	if due.Err() != nil {
		return nil
	}
	return new(time.UnixMilli(int64(due.Val())))
}
