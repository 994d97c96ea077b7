package session

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
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
	Jobs map[string]HeldJob `json:"jobs,omitempty"`
	// Links are the places of the links it made, which do not give them away.
	Links []string `json:"links,omitempty"`
	// Unsent are replies on their way, Waiting are updates put off.
	Unsent  []HeldRecord `json:"unsent,omitempty"`
	Waiting []HeldRecord `json:"waiting,omitempty"`
	// Shown are the last messages with questions in the chat.
	Shown []Shown `json:"shown,omitempty"`
	// Seen are the ids of updates taken of late.
	Seen []HeldMark `json:"seen,omitempty"`
	// Aside is what could not be read when something else took its place.
	Aside []HeldAside `json:"aside,omitempty"`
	// Look is when the chat is looked at for reminders.
	Look *time.Time `json:"look,omitempty"`
	// Access is the person's access to a bot that is not open to everybody.
	Access *HeldAccess `json:"access,omitempty"`
	// Dead are updates that could not be read and that name the chat.
	Dead []HeldRecord `json:"dead,omitempty"`
}

// HeldConversation is one person's conversation, or the chat's.
type HeldConversation struct {
	User    int64           `json:"user,omitempty"` // in a group
	State   json.RawMessage `json:"state"`
	Expires time.Time       `json:"expires"`
}

// HeldJob is a job: its head, and its windows by number. A job that was last
// changed by an earlier version of the program has its windows in the head.
type HeldJob struct {
	Head    json.RawMessage            `json:"head,omitempty"`
	Windows map[string]json.RawMessage `json:"windows,omitempty"`
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

// Export reads everything held about a chat. With user not 0 it reads, of a
// group, only that person's conversation and the group's jobs. A record of a
// later program is given as stored, as a string. The tokens of jobs' shares are
// left out: whoever has one can use it.
func (s *Store) Export(ctx context.Context, chat, user int64) (Holding, error) {
	h := Holding{Chat: chat}
	keys := []Key{{Chat: chat, User: user, Group: true}}
	if user == 0 {
		var err error
		if keys, err = s.conversationsIn(ctx, chat); err != nil {
			return h, fmt.Errorf("export: %w", err)
		}
	}
	var states []*redis.StringCmd
	var ttls []*redis.DurationCmd
	var aside *redis.StringSliceCmd
	var outbox, putoff, dead, links *redis.StringSliceCmd // not asked for one person
	var seen *redis.ZSliceCmd
	var due *redis.FloatCmd
	var jobs *redis.MapStringStringCmd
	var shown *redis.StringSliceCmd
	_, err := s.rdb.Pipelined(ctx, func(p redis.Pipeliner) error {
		for _, k := range keys {
			states = append(states, p.Get(ctx, k.conversation()))
			ttls = append(ttls, p.TTL(ctx, k.conversation()))
		}
		jobs = p.HGetAll(ctx, key("j", chat))
		aside = p.LRange(ctx, key("x", chat), 0, -1)
		shown = p.LRange(ctx, key("v", chat), 0, -1)
		if user != 0 {
			return nil
		}
		// What waits is read before what is unsent: a turn that ends between
		// the two moves its message on, and it is then held twice, not lost.
		putoff = p.LRange(ctx, key("i", chat), 0, -1)
		outbox = p.LRange(ctx, key("o", chat), 0, -1)
		seen = p.ZRangeWithScores(ctx, key("s", chat), 0, -1)
		dead = p.LRange(ctx, deadKey, 0, -1)
		due = p.ZScore(ctx, dueKey(bucketOf(chat)), strconv.FormatInt(chat, 10))
		links = p.SMembers(ctx, key("t", chat))
		return nil
	})
	if err != nil && !errors.Is(err, redis.Nil) {
		return h, fmt.Errorf("export: %w", err)
	}
	for i, k := range keys {
		if err := s.addConversation(&h, k, states[i], ttls[i]); err != nil {
			return h, err
		}
	}
	s.addJobs(&h, jobs)
	h.Aside = heldAside(aside.Val(), user)
	h.Shown = shownTo(shown.Val(), chat, user)
	if user != 0 {
		return h, nil
	}
	h.Links = append(h.Links, links.Val()...)
	h.Unsent = held(s.replies, outbox.Val())
	h.Waiting = held(s.updates, putoff.Val())
	h.Look, h.Seen, h.Dead = lookAt(due), marks(seen.Val()), deadOf(chat, dead.Val())
	h.Access, err = s.heldAccess(ctx, chat)
	return h, err
}

// conversationsIn are the chat's own conversation and those of the people in
// it.
func (s *Store) conversationsIn(ctx context.Context, chat int64) ([]Key, error) {
	members, err := s.rdb.SMembers(ctx, key("m", chat)).Result()
	if err != nil {
		return nil, err
	}
	keys := []Key{{Chat: chat}}
	for _, m := range members {
		user, err := strconv.ParseInt(m, 10, 64)
		if err != nil {
			continue
		}
		keys = append(keys, Key{Chat: chat, User: user, Group: true})
	}
	return keys, nil
}

func marks(seen []redis.Z) []HeldMark {
	var out []HeldMark
	for _, z := range seen {
		name, _ := z.Member.(string)
		id, err := strconv.ParseInt(name, 10, 64)
		if err != nil {
			continue
		}
		out = append(out, HeldMark{Update: id, At: time.Unix(int64(z.Score), 0)})
	}
	return out
}

// deadOf are the dead updates that name the chat.
func deadOf(chat int64, dead []string) []HeldRecord {
	var out []HeldRecord
	for _, raw := range dead {
		if at, data, err := ladder(nil).open([]byte(raw)); names(raw, chat) {
			out = append(out, HeldRecord{At: time.UnixMilli(at), Data: asJSON(data, []byte(raw), err)})
		}
	}
	return out
}

func (s *Store) addConversation(h *Holding, k Key, state *redis.StringCmd, ttl *redis.DurationCmd) error {
	raw, err := state.Bytes()
	if errors.Is(err, redis.Nil) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("export: %w", err)
	}
	_, _, data, err := s.states.openNamed(raw)
	h.Conversations = append(h.Conversations, HeldConversation{
		User: k.User, State: asJSON(data, raw, err), Expires: time.Now().Add(ttl.Val()).Truncate(time.Second),
	})
	return nil
}

func (s *Store) addJobs(h *Holding, jobs *redis.MapStringStringCmd) {
	if len(jobs.Val()) > 0 {
		h.Jobs = map[string]HeldJob{}
	}
	for field, raw := range jobs.Val() {
		_, data, err := s.jobs.open([]byte(raw))
		if errors.Is(err, ErrNewer) {
			_, _, data, err = split([]byte(raw)) // its tokens are secrets as well
		}
		clean := withoutTokens(asJSON(data, []byte(raw), err))
		ref, window, _ := strings.Cut(field, "/") // no window: the head
		j := h.Jobs[ref]
		if window == "" {
			j.Head = clean
		} else {
			if j.Windows == nil {
				j.Windows = map[string]json.RawMessage{}
			}
			j.Windows[window] = clean
		}
		h.Jobs[ref] = j
	}
}

// withoutTokens is a job without the tokens of its shares.
func withoutTokens(job json.RawMessage) json.RawMessage {
	decoder := json.NewDecoder(bytes.NewReader(job))
	decoder.UseNumber() // figures stay as they are written
	var v any
	if err := decoder.Decode(&v); err != nil {
		return job
	}
	dropTokens(v, false)
	clean, _ := json.Marshal(v) // it came out of JSON
	return clean
}

func dropTokens(v any, shares bool) {
	switch v := v.(type) {
	case []any:
		for _, item := range v {
			dropTokens(item, shares)
		}
	case map[string]any:
		if shares {
			delete(v, "token")
		}
		for name, item := range v {
			dropTokens(item, shares || name == "shares")
		}
	}
}

// held are replies or updates; a job that is being handed over is among them.
func held(l ladder, list []string) []HeldRecord {
	var out []HeldRecord
	for _, raw := range list {
		at, _, data, err := l.openNamed([]byte(raw))
		out = append(out, HeldRecord{At: time.UnixMilli(at), Data: withoutTokens(asJSON(data, []byte(raw), err))})
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

// names reports whether a dead update holds the chat's id as a whole number.
func names(raw string, chat int64) bool {
	whole := fmt.Sprintf("(^|[^-0-9])%d([^0-9]|$)", chat)
	return regexp.MustCompile(whole).MatchString(raw)
}

// Forget deletes everything held about a chat: its conversations, unsent
// replies, updates put off and seen marks, and the dead updates that name it.
// An update of the chat that is being handled meanwhile starts from an empty
// state.
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
		keys = append(keys, dueKey(bucketOf(chat)), key("v", chat), key("x", chat), key("j", chat), key("m", chat))
		left, err := forgetScript.Run(ctx, s.rdb, keys, args...).Int()
		if err != nil {
			return fmt.Errorf("forget: %w", err)
		}
		if left == 0 { // else someone wrote in the group for the first time
			break
		}
	}
	return s.forgetElsewhere(ctx, chat)
}

// forgetElsewhere deletes what is not in the chat's slot: its other number, its links, and what
// of the dead list names it.
func (s *Store) forgetElsewhere(ctx context.Context, chat int64) error {
	if err := s.forgetMoved(ctx, chat); err != nil {
		return err
	}
	if err := s.forgetLinks(ctx, chat); err != nil {
		return err
	}
	return s.ForgetDead(ctx, chat)
}

// ForgetDead deletes the dead updates that name a chat or a person.
func (s *Store) ForgetDead(ctx context.Context, chat int64) error {
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
redis.call('ZREM', KEYS[#KEYS - 4], ARGV[1])
redis.call('DEL', KEYS[#KEYS - 3], KEYS[#KEYS - 2], KEYS[#KEYS - 1])
for i = 2, #ARGV do
	redis.call('DEL', KEYS[4 + i])
	redis.call('SREM', members, ARGV[i])
end
return redis.call('SCARD', members)
`)

// The reply that asks for ForgetRest is itself in the outbox.
var forgetRestScript = redis.NewScript(`
local conv, seen, outbox, putoff, shown = unpack(KEYS)
if redis.call('EXISTS', conv) == 1 or redis.call('LLEN', outbox) > 1 or redis.call('LLEN', putoff) > 0 then return 0 end
return redis.call('DEL', seen, shown)
`)

// ForgetRest deletes what a turn with Forget has left of a private chat: its
// links, the dead updates that name it, its seen marks, and what was noted of the
// messages that went out since. What the person began since that turn stays, with the
// marks, which are ids and keep its updates from being taken again.
func (s *Store) ForgetRest(ctx context.Context, chat int64) error {
	keys := []string{key("c", chat), key("s", chat), key("o", chat), key("i", chat), key("v", chat)}
	if err := forgetRestScript.Run(ctx, s.rdb, keys).Err(); err != nil {
		return fmt.Errorf("forget rest: %w", err)
	}
	return s.forgetElsewhere(ctx, chat)
}

// ForgetRestOf deletes what a turn with Forget has left of a person of a group: the dead
// updates that name them, and what was noted of the messages that went out since, some of
// which are for them.
func (s *Store) ForgetRestOf(ctx context.Context, chat, user int64) error {
	if err := s.rdb.Del(ctx, key("v", chat)).Err(); err != nil {
		return fmt.Errorf("forget rest: %w", err)
	}
	return s.ForgetDead(ctx, user)
}

// HeldAside is what was set aside because it could not be read.
type HeldAside struct {
	HeldRecord
	// What is c for a conversation, j:REF and j:REF/NUMBER for parts of jobs, o for a
	// reply, i for an update, m for a letter.
	What string `json:"what"`
	Why  string `json:"why"` // newer or broken
}

// heldAside are the entries of a chat; with user not 0 those of that person and the
// group's jobs.
func heldAside(list []string, user int64) []HeldAside {
	var out []HeldAside
	for _, whole := range list {
		e, ok := asideEntry(whole)
		job := strings.HasPrefix(e.place, placeJob)
		if !ok || user != 0 && !job && e.place != placeConversation+":"+strconv.FormatInt(user, 10) {
			continue
		}
		_, _, data, err := split(e.raw)
		if job && err == nil {
			data = withoutTokens(asJSON(data, e.raw, nil))
		} else {
			data = asJSON(nil, e.raw, ErrBroken)
		}
		out = append(out, HeldAside{HeldRecord{At: e.at, Data: data}, e.place, e.why})
	}
	return out
}

// HeldAccess is somebody's access, and what of the trail names them.
type HeldAccess struct {
	Number  int        `json:"number,omitempty"`
	As      Standing   `json:"as,omitempty"`
	Invites bool       `json:"invites,omitempty"`
	Until   *time.Time `json:"until,omitempty"`
	Entry
	Trail []HeldRecord `json:"trail,omitempty"`
}

// heldAccess is what is held of a person's access, nil for nothing.
func (s *Store) heldAccess(ctx context.Context, id int64) (*HeldAccess, error) {
	if id <= 0 {
		return nil, nil
	}
	p, err := s.Person(ctx, id)
	if err != nil {
		return nil, err
	}
	trail, err := s.Trail(ctx)
	if err != nil {
		return nil, err
	}
	h := HeldAccess{Number: p.Number, As: p.As, Invites: p.Invites, Entry: p.Entry}
	if !p.Until.IsZero() {
		h.Until = &p.Until
	}
	for _, t := range trail {
		if t.By == id || t.Who == id {
			data, _ := json.Marshal(t)
			h.Trail = append(h.Trail, HeldRecord{At: t.At, Data: data})
		}
	}
	if p.As == Stranger && h.Trail == nil {
		return nil, nil
	}
	return &h, nil
}
