package session

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/redis/go-redis/v9"

	"sillbot/internal/session/rdb"
)

// Findings are what Look found in the database.
type Findings struct {
	Unread []Record // what can't be read, without what was set aside
	// Aside are entries set aside; Readable those of them that this program can read.
	Aside, Readable int
	Odd             []Odd // chats whose entry in the index is not as it should be
	Dead            int   // updates on the dead list
	DeadSince       time.Time

	asides map[int64][]string // the lists of what was set aside, by chat
}

// Odd is a chat whose entry in the index of what waits is wrong.
type Odd struct {
	Chat int64
	// What is ahead for a lease that ends further ahead than it is long, empty for an
	// entry with nothing waiting, missing for something waiting without an entry.
	What string
}

// scanCount is how many keys one call of SCAN looks at, and scanRest how long the
// doctor rests after each, so that turns are hardly slower meanwhile.
const (
	scanCount = 200
	scanRest  = 2 * time.Millisecond
)

// Look goes through all keys, and only reads. Turns go on meanwhile, so what is found
// odd is looked at again by a script before anything is changed.
func (s *Store) Look(ctx context.Context, check Check) (f Findings, err error) {
	f.asides = map[int64][]string{}
	waiting := map[int64]bool{}
	if err := s.eachStored(ctx, func(name string, v rdb.Value) {
		m := chatKey.FindStringSubmatch(name)
		if m == nil {
			return
		}
		chat, _ := strconv.ParseInt(m[3], 10, 64)
		switch m[2] {
		case "x":
			f.asides[chat] = v.Items
			for _, whole := range v.Items {
				f.Aside++
				if _, r, ok := s.reread(chat, whole, check); ok && r.Err == nil {
					f.Readable++
				}
			}
			return
		case "o", "i":
			waiting[chat] = true
		}
		for _, r := range s.records(name, v, check) {
			if r.Err != nil {
				f.Unread = append(f.Unread, r)
			}
		}
	}); err != nil {
		return f, err
	}
	if f.Odd, err = s.oddEntries(ctx, waiting); err != nil {
		return f, err
	}
	dead, err := s.rdb.LRange(ctx, deadKey, -1, -1).Result()
	if err == nil && len(dead) > 0 {
		if ms, _, err := ladder(nil).open([]byte(dead[0])); err == nil {
			f.DeadSince = time.UnixMilli(ms)
		}
		var n int64
		n, err = s.rdb.LLen(ctx, deadKey).Result()
		f.Dead = int(n)
	}
	return f, failedIn("doctor", err)
}

// eachStored gives the keys of chats with what they hold.
func (s *Store) eachStored(ctx context.Context, do func(name string, v rdb.Value)) error {
	var mu sync.Mutex
	return failedIn("doctor", s.eachNode(ctx, func(ctx context.Context, node *redis.Client) error {
		for cursor := uint64(0); ; {
			names, next, err := node.Scan(ctx, cursor, "sb:{*}:[cjoix]:*", scanCount).Result()
			if err != nil {
				return err
			}
			values, err := stored(ctx, node, names)
			if err != nil {
				return err
			}
			mu.Lock()
			for i, v := range values {
				if v.Items != nil {
					do(names[i], v)
				}
			}
			mu.Unlock()
			if cursor = next; cursor == 0 {
				return nil
			}
			select {
			case <-time.After(scanRest):
			case <-ctx.Done():
				return ctx.Err()
			}
		}
	}))
}

// stored reads keys of chats by the kinds that they should be; one of another kind, or
// that is gone meanwhile, comes without items.
func stored(ctx context.Context, node *redis.Client, names []string) ([]rdb.Value, error) {
	if len(names) == 0 {
		return nil, nil
	}
	cmds, err := node.Pipelined(ctx, func(p redis.Pipeliner) error {
		for _, name := range names {
			switch m := chatKey.FindStringSubmatch(name); {
			case m == nil:
				p.Exists(ctx, name)
			case m[2] == "c":
				p.Get(ctx, name)
			case m[2] == "j":
				p.HGetAll(ctx, name)
			default:
				p.LRange(ctx, name, 0, -1)
			}
		}
		return nil
	})
	var answer redis.Error
	if err != nil && !errors.Is(err, redis.Nil) && !errors.As(err, &answer) {
		return nil, err
	}
	values := make([]rdb.Value, len(names))
	for i, cmd := range cmds {
		if cmd.Err() == nil {
			values[i] = valueOf(cmd)
		}
	}
	return values, nil
}

// valueOf is what a command that reads a key of one kind gave; none for another command.
func valueOf(cmd redis.Cmder) (v rdb.Value) {
	switch c := cmd.(type) {
	case *redis.StringCmd:
		return rdb.Value{Kind: rdb.String, Items: []string{c.Val()}}
	case *redis.StringSliceCmd:
		return rdb.Value{Kind: rdb.List, Items: c.Val()}
	case *redis.MapStringStringCmd:
		v.Kind = rdb.Hash
		for field, value := range c.Val() {
			v.Items = append(v.Items, field, value)
		}
	case *redis.ZSliceCmd:
		v.Kind = rdb.Sorted
		for _, z := range c.Val() {
			v.Items = append(v.Items, fmt.Sprint(z.Member), strconv.FormatFloat(z.Score, 'g', 17, 64))
		}
	}
	return v
}

// oddEntries walks the indexes.
func (s *Store) oddEntries(ctx context.Context, waiting map[int64]bool) (odd []Odd, err error) {
	now, err := s.rdb.Time(ctx).Result()
	if err != nil {
		return nil, failedIn("doctor", err)
	}
	indexed := map[int64]bool{}
	if err := s.eachEntry(ctx, func(chat int64, text string) {
		indexed[chat] = true
		parts := strings.Split(text, " ")
		till, length := int64(0), int64(60_000)
		if len(parts) > 1 {
			till, _ = strconv.ParseInt(parts[1], 10, 64)
		}
		if len(parts) > 5 {
			length, _ = strconv.ParseInt(parts[5], 10, 64)
		}
		switch {
		case !waiting[chat]:
			odd = append(odd, Odd{chat, "empty"})
		case till-now.UnixMilli() > length+1000:
			odd = append(odd, Odd{chat, "ahead"})
		}
	}); err != nil {
		return nil, failedIn("doctor", err)
	}
	for _, chat := range slices.Sorted(maps.Keys(waiting)) {
		if !indexed[chat] {
			odd = append(odd, Odd{chat, "missing"})
		}
	}
	return s.stillOdd(ctx, odd)
}

// stillOdd leaves out what a turn has changed since it was seen.
func (s *Store) stillOdd(ctx context.Context, odd []Odd) (left []Odd, err error) {
	for _, o := range odd {
		what, err := s.mendEntry(ctx, o.Chat, false)
		if err != nil {
			return nil, err
		}
		if what != "" {
			left = append(left, Odd{o.Chat, what})
		}
	}
	return left, nil
}

var mendEntryScript = redis.NewScript(boxLua + `
local outbox, index, putoff = unpack(KEYS)
local chat, mend = ARGV[1], ARGV[2] == '1'
entry(index, chat)
local left, waiting = redis.call('LLEN', outbox), redis.call('LLEN', putoff)
local there = redis.call('HEXISTS', index, chat) == 1
if left == 0 and waiting == 0 then
	if not there then return '' end
	if mend then redis.call('HDEL', index, chat) end
	return 'empty'
end
if not box then
	if mend then
		redis.call('HDEL', index, chat)
		hold(index, chat, '', 0, waiting > 0 and '1' or '0')
	end
	return 'missing'
end
local length = tonumber(long) or 60000
if has ~= '' and till - ms() > length then
	if mend then others(index, chat, '', length) end
	return 'ahead'
end
return ''
`)

// mendEntry says what is wrong with a chat's entry in the index, "" for nothing, and
// with mend puts it right: as one step, whatever turns do meanwhile.
func (s *Store) mendEntry(ctx context.Context, chat int64, mend bool) (string, error) {
	what, err := mendEntryScript.Run(ctx, s.rdb, boxKeys(chat), chat, mend).Text()
	return what, failedIn("doctor", err)
}

// MendIndex puts the entries right that Look found wrong, and says how many it was.
func (s *Store) MendIndex(ctx context.Context, f Findings) (n int, err error) {
	for _, o := range f.Odd {
		what, err := s.mendEntry(ctx, o.Chat, true)
		if err != nil {
			return n, err
		}
		if what != "" {
			n++
		}
	}
	return n, nil
}

// reread is what was set aside as a record, opened again.
func (s *Store) reread(chat int64, whole string, check Check) (entry, Record, bool) {
	e, ok := asideEntry(whole)
	if !ok {
		return e, Record{}, false
	}
	name, v := "", rdb.Value{Kind: rdb.List, Items: []string{string(e.raw)}}
	kind, field, _ := strings.Cut(e.place, ":")
	switch kind {
	case placeConversation:
		name, v.Kind = key("c", chat), rdb.String
		if field != "" {
			name += ":" + field
		}
	case "j":
		name, v = key("j", chat), rdb.Value{Kind: rdb.Hash, Items: []string{field, string(e.raw)}}
	case placeReply:
		name = key("o", chat)
	case placePutOff, placeLetter:
		name = key("i", chat)
	}
	list := s.records(name, v, check)
	if len(list) != 1 {
		return e, Record{}, false
	}
	return e, list[0], true
}

// putBackScript puts an entry back into its place when what stands there is still what
// took the place, or nothing does; a letter goes to the end of its queue.
var putBackScript = redis.NewScript(boxLua + `
local target, aside, index, outbox, putoff = unpack(KEYS)
local kind, field, rev, record, keep, chat, whole = unpack(ARGV)
if kind == 'c' or kind == 'j' then
	local there = kind == 'c' and redis.call('GET', target) or kind == 'j' and redis.call('HGET', target, field)
	if (there and string.match(there, '^%d+ (%d+) ') or '0') ~= rev then return 0 end
end
if redis.call('LREM', aside, 1, whole) == 0 then return 0 end
if kind == 'c' then
	redis.call('SET', target, record, 'EX', keep)
elseif kind == 'j' then
	redis.call('HSET', target, field, record)
	redis.call('EXPIRE', target, keep)
else
	redis.call('RPUSH', target, record)
	entry(index, chat)
	hold(index, chat, '', 0, redis.call('LLEN', putoff) > 0 and '1' or '0')
end
return 1
`)

// PutBack puts back what was set aside and can be read now, where nothing was begun
// since, and letters. What people would find said twice, or too late, stays aside:
// goes says which replies and updates do not. It says how much went back, and how much
// that can be read stays.
func (s *Store) PutBack(ctx context.Context, f Findings, check Check, goes func(Record) bool) (back, stays int, err error) {
	closed := map[int64]bool{} // a letter would only be set aside again
	for _, r := range f.Unread {
		closed[r.Chat] = closed[r.Chat] || r.Kind == "conversation" || r.Kind == "head" || r.Kind == "window"
	}
	for _, chat := range slices.Sorted(maps.Keys(f.asides)) {
		for _, whole := range f.asides[chat] {
			e, r, ok := s.reread(chat, whole, check)
			if !ok || r.Err != nil {
				continue
			}
			wanted := r.Kind != "reply" && r.Kind != "update" || e.place == placeLetter && !closed[chat] || e.place != placeLetter && goes(r)
			done := false
			if wanted {
				if done, err = s.putBack(ctx, chat, e, r); err != nil {
					return back, stays, err
				}
			}
			if done {
				back++
			} else {
				stays++
			}
		}
	}
	return back, stays, nil
}

func (s *Store) putBack(ctx context.Context, chat int64, e entry, r Record) (bool, error) {
	target, kind, record := key("i", chat), "i", r.raw
	switch r.Kind {
	case "conversation":
		target, kind = key("c", chat), "c"
		if r.Field != "" {
			target += ":" + r.Field
		}
		record = withRev(record, e.rev)
	case "head", "window":
		target, kind, record = key("j", chat), "j", withRev(record, e.rev)
	case "reply":
		target = key("o", chat)
	}
	keys := []string{target, key("x", chat), indexKey(bucketOf(chat)), key("o", chat), key("i", chat)}
	n, err := putBackScript.Run(ctx, s.rdb, keys, kind, r.Field, e.rev, record, seconds(s.Keep.Conversation), chat, e.whole).Int()
	return n == 1, failedIn("put back", err)
}

// withRev is a record with a revision that nobody has loaded: higher than what it had
// and than that of what took its place.
func withRev(raw string, rev int64) string {
	schema, had, rest, err := split([]byte(raw))
	if err != nil {
		return raw
	}
	return fmt.Sprintf("%d %d %s", schema, max(had, rev)+1, rest)
}
