package session

import (
	"context"
	"fmt"

	"github.com/redis/go-redis/v9"
)

var headAsideScript = redis.NewScript(`
local list, aside, outbox = unpack(KEYS)
local id, head, keep, room, pop, notice = unpack(ARGV)
local raw = redis.call('LINDEX', list, 0)
if not raw or (string.match(raw, '^%d+ %d+ ([^ ]+) ') or '') ~= id then return 0 end
local there = redis.call('LINDEX', aside, -1)
if pop == '1' or not there or string.sub(there, -#raw) ~= raw then
	redis.call('RPUSH', aside, head .. raw)
	redis.call('LTRIM', aside, -room, -1)
	redis.call('EXPIRE', aside, keep)
end
if pop == '1' then
	redis.call('LPOP', list)
	redis.call('RPUSH', outbox, notice)
end
return 1
`)

// PutOffAside moves the oldest update put off, which can't be read, out of the chat's
// queue, so that those behind it are taken, and says so.
func (s *Store) PutOffAside(ctx context.Context, chat int64, w Waiting, say []byte) error {
	now := s.now().UnixMilli()
	notice := s.replies.sealNamed(now, fmt.Sprint("aside.", now), say)
	return failedIn("put off aside", s.headAside(ctx, chat, placePutOff, w.name, w.Err, "1", notice))
}

// ReplyAside keeps the bytes of the reply at the head of the outbox, which can't be
// read and is to be removed. It may be called again.
func (s *Store) ReplyAside(ctx context.Context, chat int64, it Item) error {
	return failedIn("reply aside", s.headAside(ctx, chat, placeReply, it.ID, it.Err, "0", nil))
}

func (s *Store) headAside(ctx context.Context, chat int64, kind, id string, err error, pop string, notice []byte) error {
	return headAsideScript.Run(ctx, s.rdb, []string{key(kind, chat), key("x", chat), key("o", chat)},
		id, asideHead(s.now(), kind, err, 0), seconds(s.Keep.Conversation), asideRoom, pop, notice).Err()
}
