package session

import (
	"context"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"
)

// Holding is everything that is held about a chat, to be given to the people
// in it.
type Holding struct {
	Chat          int64              `json:"chat"`
	Conversations []HeldConversation `json:"conversations,omitempty"`
	// Jobs are those that the chat began, by reference.
	Jobs map[string]json.RawMessage `json:"jobs,omitempty"`
	// Links are the places of the links it made, which do not give them away.
	Links []string `json:"links,omitempty"`
	// Unsent are replies on their way, Waiting are updates put off.
	Unsent  []HeldRecord `json:"unsent,omitempty"`
	Waiting []HeldRecord `json:"waiting,omitempty"`
	// Seen are the ids of updates taken of late.
	Seen []HeldMark `json:"seen,omitempty"`
	// Dead are updates that could not be read and that name the chat.
	Dead []HeldRecord `json:"dead,omitempty"`
}

// HeldConversation is one person's conversation, or the chat's.
type HeldConversation struct {
	User    int64           `json:"user,omitempty"` // in a group
	State   json.RawMessage `json:"state"`
	Expires time.Time       `json:"expires"`
}

// HeldRecord is a reply or an update.
type HeldRecord struct {
	At   time.Time       `json:"at"`
	Data json.RawMessage `json:"data"`
}

// HeldMark says that an update was taken.
type HeldMark struct {
	Update int64     `json:"update"`
	At     time.Time `json:"at"`
}

// Export reads everything held about a chat. What a later program wrote and
// this one can't read is given as it is stored, as a string.
func (s *Store) Export(ctx context.Context, chat int64) (Holding, error) {
	h := Holding{Chat: chat}
	members, err := s.rdb.SMembers(ctx, key("m", chat)).Result()
	if err != nil {
		return h, fmt.Errorf("export: %w", err)
	}
	keys := []Key{{Chat: chat}}
	for _, m := range members {
		user, err := strconv.ParseInt(m, 10, 64)
		if err != nil {
			continue
		}
		keys = append(keys, Key{Chat: chat, User: user, Group: true})
	}
	var states []*redis.StringCmd
	var ttls []*redis.DurationCmd
	var outbox, putoff, dead *redis.StringSliceCmd
	var seen *redis.ZSliceCmd
	var jobs *redis.MapStringStringCmd
	var links *redis.StringSliceCmd
	_, err = s.rdb.Pipelined(ctx, func(p redis.Pipeliner) error {
		for _, k := range keys {
			states = append(states, p.Get(ctx, k.conversation()))
			ttls = append(ttls, p.TTL(ctx, k.conversation()))
		}
		outbox = p.LRange(ctx, key("o", chat), 0, -1)
		putoff = p.LRange(ctx, key("i", chat), 0, -1)
		seen = p.ZRangeWithScores(ctx, key("s", chat), 0, -1)
		dead = p.LRange(ctx, deadKey, 0, -1)
		jobs = p.HGetAll(ctx, key("j", chat))
		links = p.SMembers(ctx, key("t", chat))
		return nil
	})
	if err != nil && err != redis.Nil {
		return h, fmt.Errorf("export: %w", err)
	}
	for i, k := range keys {
		raw, err := states[i].Bytes()
		if err == redis.Nil {
			continue
		}
		if err != nil {
			return h, fmt.Errorf("export: %w", err)
		}
		_, _, data, err := s.states.openNamed(raw)
		h.Conversations = append(h.Conversations, HeldConversation{
			User: k.User, State: asJSON(data, raw, err), Expires: time.Now().Add(ttls[i].Val()).Truncate(time.Second),
		})
	}
	for ref, raw := range jobs.Val() {
		if h.Jobs == nil {
			h.Jobs = map[string]json.RawMessage{}
		}
		_, data, err := s.jobs.open([]byte(raw))
		h.Jobs[ref] = asJSON(data, []byte(raw), err)
	}
	h.Links = append(h.Links, links.Val()...)
	h.Unsent = held(s.replies, outbox.Val())
	h.Waiting = held(s.updates, putoff.Val())
	for _, z := range seen.Val() {
		name, _ := z.Member.(string)
		id, err := strconv.ParseInt(name, 10, 64)
		if err != nil {
			continue
		}
		h.Seen = append(h.Seen, HeldMark{Update: id, At: time.Unix(int64(z.Score), 0)})
	}
	for _, raw := range dead.Val() {
		if at, data, err := ladder(nil).open([]byte(raw)); names(raw, chat) {
			h.Dead = append(h.Dead, HeldRecord{At: time.UnixMilli(at), Data: asJSON(data, []byte(raw), err)})
		}
	}
	return h, nil
}

func held(l ladder, list []string) []HeldRecord {
	var out []HeldRecord
	for _, raw := range list {
		at, _, data, err := l.openNamed([]byte(raw))
		out = append(out, HeldRecord{At: time.UnixMilli(at), Data: asJSON(data, []byte(raw), err)})
	}
	return out
}

func asJSON(data, raw []byte, err error) json.RawMessage {
	if err == nil && json.Valid(data) {
		return data
	}
	text, _ := json.Marshal(string(raw)) // a string always can
	return text
}

// names is whether a dead update holds the chat's id as a whole number.
func names(raw string, chat int64) bool {
	id := strconv.FormatInt(chat, 10)
	for at := 0; ; {
		i := strings.Index(raw[at:], id)
		if i < 0 {
			return false
		}
		from, to := at+i, at+i+len(id)
		before := from > 0 && (digit(raw[from-1]) || raw[from-1] == '-')
		after := to < len(raw) && digit(raw[to])
		if !before && !after {
			return true
		}
		at = to
	}
}

func digit(c byte) bool { return c >= '0' && c <= '9' }

// Forget deletes everything held about a chat: every conversation in it, its
// replies on the way, updates put off, seen marks, and what of the dead list
// names it. An update of the chat that is being taken meanwhile starts from
// nothing.
func (s *Store) Forget(ctx context.Context, chat int64) error {
	for {
		members, err := s.rdb.SMembers(ctx, key("m", chat)).Result()
		if err != nil {
			return fmt.Errorf("forget: %w", err)
		}
		keys := []string{key("c", chat), key("s", chat), key("o", chat), key("i", chat), indexKey(bucketOf(chat))}
		args := []any{chat}
		for _, m := range members {
			keys = append(keys, key("c", chat)+":"+m)
			args = append(args, m)
		}
		keys = append(keys, key("j", chat), key("m", chat))
		left, err := forgetScript.Run(ctx, s.rdb, keys, args...).Int()
		if err != nil {
			return fmt.Errorf("forget: %w", err)
		}
		if left == 0 { // else someone wrote in the group for the first time
			break
		}
	}
	if err := s.forgetLinks(ctx, chat); err != nil {
		return err
	}
	dead, err := s.rdb.LRange(ctx, deadKey, 0, -1).Result()
	if err != nil {
		return fmt.Errorf("forget: %w", err)
	}
	for _, raw := range dead {
		if !names(raw, chat) {
			continue
		}
		if err := s.rdb.LRem(ctx, deadKey, 0, raw).Err(); err != nil {
			return fmt.Errorf("forget: %w", err)
		}
	}
	return nil
}

var forgetScript = redis.NewScript(`
redis.call('HDEL', KEYS[5], ARGV[1])
redis.call('DEL', unpack(KEYS, 1, 4))
local members = KEYS[#KEYS]
redis.call('DEL', KEYS[#KEYS - 1])
for i = 2, #ARGV do
	redis.call('DEL', KEYS[4 + i])
	redis.call('SREM', members, ARGV[i])
end
return redis.call('SCARD', members)
`)

// ForgetOne deletes one person's conversation in a group. What the others
// have said stays.
func (s *Store) ForgetOne(ctx context.Context, k Key) error {
	_, err := s.rdb.TxPipelined(ctx, func(p redis.Pipeliner) error {
		p.Del(ctx, k.conversation())
		p.SRem(ctx, key("m", k.Chat), k.User)
		return nil
	})
	if err != nil {
		return fmt.Errorf("forget one: %w", err)
	}
	return nil
}
