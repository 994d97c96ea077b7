package session

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"
)

// The people who may use a bot that is not open to everybody stand in one hash,
// sb:{crew}:p: a field for each person, and "#" for the last number that was
// given. Links that let somebody in, and the trail of what was changed, share its
// slot, so that one script lets a person in, uses the link up and says so.
const (
	peopleKey = "sb:{crew}:p"
	trailKey  = "sb:{crew}:t"
	lastOne   = "#"
)

// The sets in which the version of before kept the people who were let in. They
// are still read; a record in the hash overrules them.
const (
	crewKey  = "sb:crew"
	guestKey = "sb:guests"
)

// Standing is a person's access to a bot that is not open to everybody.
type Standing string

// The standings. They are storage.
const (
	Stranger Standing = ""
	Guest    Standing = "guest" // has a chair in a job, and does nothing else
	Mate     Standing = "mate"  // one of the crew
	Out      Standing = "out"   // was put out; as good as a stranger
)

// Person is somebody's access. Number is theirs for good and never used again;
// 0: it was not given yet.
type Person struct {
	ID      int64
	Number  int
	As      Standing
	Invites bool      // a Mate who may let others into the crew
	Until   time.Time // the last moment; zero: no end
	Entry
	Later bool   // of a later program: nothing of Entry is known
	raw   string // as stored; "": not in the hash
}

// Entry is what is known of how a person came in.
type Entry struct {
	Name   string  `json:"name,omitempty"`
	By     int64   `json:"by,omitempty"` // who let them in, or put them out
	ByName string  `json:"byname,omitempty"`
	At     int64   `json:"at,omitempty"`     // Unix seconds
	Chairs []Chair `json:"chairs,omitempty"` // of a Guest
	Link   string  `json:"link,omitempty"`   // the place of the link they came by
}

// Chair is a chair in another chat's job.
type Chair struct {
	Ref   string `json:"ref"`
	Role  string `json:"role"`
	Owner int64  `json:"owner"`          // chat
	Over  bool   `json:"over,omitempty"` // the job has ended
}

// Trace is one line of the trail: who changed whose access.
type Trace struct {
	At     time.Time `json:"-"`
	What   string    `json:"what"`
	By     int64     `json:"by,omitempty"`
	ByName string    `json:"byname,omitempty"`
	Who    int64     `json:"who,omitempty"`
	Name   string    `json:"name,omitempty"`
	Until  int64     `json:"until,omitempty"` // Unix seconds
	Refs   []string  `json:"refs,omitempty"`  // of jobs
	raw    string
}

// How long the trail goes back, and how many lines it has at the most.
const (
	trailLasts = 365 * 24 * time.Hour
	mostTraces = 500
)

// May is as what the person may use the bot at a moment.
func (p Person) May(now time.Time) Standing {
	if p.As == Out || !p.Until.IsZero() && now.After(p.Until) {
		return Out
	}
	if p.As == Guest && len(p.Chairs) > 0 && !slices.ContainsFunc(p.Chairs, func(c Chair) bool { return !c.Over }) {
		return Stranger
	}
	if p.As != Guest && p.As != Mate { // what only a later program knows lets nobody in
		return Stranger
	}
	return p.As
}

// head is what of a person the script reads: it writes the number behind it.
func (p Person) head() string {
	invites, until := "-", int64(0)
	if p.Invites {
		invites = "+"
	}
	if !p.Until.IsZero() {
		until = p.Until.Unix()
	}
	return fmt.Sprintf("%s:%s:%d:", p.As, invites, until)
}

// person reads a record. What stands before the payload holds in every schema, so
// a later program's record still says who may come in.
func (s *Store) person(id int64, raw string) (Person, error) {
	p := Person{ID: id, raw: raw}
	_, head, payload, err := s.people.openNamed([]byte(raw))
	part := strings.Split(head, ":")
	if len(part) != 4 {
		return p, fmt.Errorf("person: %w", ErrBroken)
	}
	until, err1 := strconv.ParseInt(part[2], 10, 64)
	number, err2 := strconv.Atoi(part[3])
	if err1 != nil || err2 != nil {
		return p, fmt.Errorf("person: %w", ErrBroken)
	}
	p.As, p.Invites, p.Number = Standing(part[0]), part[1] == "+", number
	if until != 0 {
		p.Until = time.Unix(until, 0)
	}
	if err == nil {
		err = json.Unmarshal(payload, &p.Entry)
	}
	if p.Later = errors.Is(err, ErrNewer); err != nil && !p.Later {
		return p, fmt.Errorf("person: %w", ErrBroken)
	}
	return p, nil
}

// Person is somebody's access. A record that can't be read is a Stranger's.
func (s *Store) Person(ctx context.Context, id int64) (Person, error) {
	var stored *redis.StringCmd
	var mate, guest *redis.BoolCmd
	_, err := s.rdb.Pipelined(ctx, func(p redis.Pipeliner) error {
		stored = p.HGet(ctx, peopleKey, strconv.FormatInt(id, 10))
		mate, guest = p.SIsMember(ctx, crewKey, id), p.SIsMember(ctx, guestKey, id)
		return nil
	})
	if err != nil && !errors.Is(err, redis.Nil) {
		return Person{}, fmt.Errorf("person: %w", err)
	}
	if raw := stored.Val(); raw != "" {
		p, err := s.person(id, raw)
		if err != nil {
			p.As = Stranger
		}
		return p, nil
	}
	p := Person{ID: id}
	switch {
	case mate.Val():
		p.As = Mate
	case guest.Val():
		p.As = Guest
	}
	return p, nil
}

// People are all who were let in or put out, by their numbers. Who was let in by
// the version of before gets one now.
func (s *Store) People(ctx context.Context) ([]Person, error) {
	var stored *redis.MapStringStringCmd
	var mates, guests *redis.StringSliceCmd
	_, err := s.rdb.Pipelined(ctx, func(p redis.Pipeliner) error {
		stored = p.HGetAll(ctx, peopleKey)
		mates, guests = p.SMembers(ctx, crewKey), p.SMembers(ctx, guestKey)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("people: %w", err)
	}
	found := map[int64]Person{}
	for field, raw := range stored.Val() {
		id, err := strconv.ParseInt(field, 10, 64)
		if err != nil {
			continue
		}
		if p, err := s.person(id, raw); err == nil { // a broken one lets nobody in
			found[id] = p
		}
	}
	for _, before := range []struct {
		set *redis.StringSliceCmd
		as  Standing
	}{{mates, Mate}, {guests, Guest}} {
		for _, field := range before.set.Val() {
			id, err := strconv.ParseInt(field, 10, 64)
			if _, known := found[id]; known || err != nil {
				continue
			}
			found[id], err = s.ChangePerson(ctx, id, func(p *Person) (bool, *Trace) { return p.raw == "" && p.As == before.as, nil })
			if err != nil {
				return nil, err
			}
		}
	}
	return slices.SortedFunc(maps.Values(found), func(a, b Person) int { return cmp.Compare(a.Number, b.Number) }), nil
}

// One script changes a person's record, uses up the link that they came by and
// writes the trail, or does none of it: 0 when what was read has changed, 2 when
// the link is gone.
var personScript = redis.NewScript(`
local people, trail, link = unpack(KEYS)
local person, old, first, last, trace, most, keep, leads, maker, made = unpack(ARGV)
if link and redis.call('GET', link) ~= leads then return 2 end
if (redis.call('HGET', people, person) or '') ~= old then return 0 end
if maker ~= '' and (redis.call('HGET', people, maker) or '') ~= made then return 0 end
if first == '' then
	redis.call('HDEL', people, person)
else
	local number = string.match(old, '^%d+ %d+ [^ ]*:(%d+) ')
	local had = redis.call('HGET', people, '` + lastOne + `') or '0'
	if not number and not string.match(had, '^%d%d?%d?%d?%d?%d?%d?%d?$') then -- written oddly
		had = 0
		for _, p in ipairs(redis.call('HVALS', people)) do had = math.max(had, tonumber(string.match(p, '^%d+ %d+ [^ ]*:(%d+) ') or 0)) end
		redis.call('HSET', people, '` + lastOne + `', had)
	end
	number = number or redis.call('HINCRBY', people, '` + lastOne + `', 1)
	redis.call('HSET', people, person, first .. number .. last)
end
if link then redis.call('SET', link, '', 'KEEPTTL') end
if trace ~= '' then
	redis.call('LPUSH', trail, trace)
	redis.call('LTRIM', trail, 0, most - 1)
	redis.call('EXPIRE', trail, keep)
end
return 1
`)

// cameBy is the link that lets a person in, and who made it, as that was read.
type cameBy struct {
	place, data string
	maker       Person
}

// ChangePerson changes somebody's access in one step: change gets them as they
// are, and says whether anything is to be written, and the line for the trail, nil
// for none. As a Stranger the record is deleted. It is called again when somebody
// else was faster.
func (s *Store) ChangePerson(ctx context.Context, id int64, change func(*Person) (bool, *Trace)) (Person, error) {
	p, _, err := s.changePerson(ctx, id, nil, change)
	return p, err
}

func (s *Store) changePerson(ctx context.Context, id int64, by *cameBy, change func(*Person) (bool, *Trace)) (p Person, linked bool, err error) {
	const tries = 20
	for range tries {
		if p, err = s.Person(ctx, id); err != nil {
			return p, false, err
		}
		old := p
		write, trace := change(&p)
		if !write {
			return p, true, nil
		}
		if p.As == Stranger { // or else the sets of before would let them in again
			if err := s.leaveSets(ctx, id); err != nil {
				return old, false, err
			}
		}
		done, err := s.scripts.run(ctx, personScript, s.personKeys(by), s.personArgs(old, p, by, trace)...).Int()
		switch {
		case err != nil:
			return old, false, fmt.Errorf("change person: %w", err)
		case done == 2: // used up, by this very call if its answer was lost and it was sent again
			p, err = s.Person(ctx, id)
			return p, crewLinksKey+p.Link == by.place, err
		case done == 1:
			if p.As == Out {
				err = s.leaveSets(ctx, id)
			}
			if err != nil {
				return p, true, err
			}
			p, err = s.Person(ctx, id)
			return p, true, err
		}
	}
	return p, false, fmt.Errorf("change person: changed %d times meanwhile", tries)
}

func (s *Store) personKeys(by *cameBy) []string {
	keys := []string{peopleKey, trailKey}
	if by != nil {
		keys = append(keys, by.place)
	}
	return keys
}

func (s *Store) personArgs(old, p Person, by *cameBy, trace *Trace) []any {
	now := s.now()
	first, last, line := "", "", ""
	if p.As != Stranger {
		payload, _ := json.Marshal(p.Entry) // it has no values that could not be
		rev, _, _, _ := s.people.openNamed([]byte(old.raw))
		first, last = string(s.people.seal(revAfter(rev, now), []byte(p.head()))), " "+string(payload)
	}
	if trace != nil {
		payload, _ := json.Marshal(trace)
		line = string(s.people.seal(now.UnixMilli(), payload))
	}
	args := []any{p.ID, old.raw, first, last, line, mostTraces, seconds(trailLasts)}
	if by == nil {
		return append(args, "", "", "")
	}
	if by.maker.ID == 0 {
		return append(args, by.data, "", "")
	}
	return append(args, by.data, by.maker.ID, by.maker.raw)
}

func (s *Store) leaveSets(ctx context.Context, id int64) error {
	_, err := s.rdb.Pipelined(ctx, func(p redis.Pipeliner) error {
		p.SRem(ctx, crewKey, id)
		p.SRem(ctx, guestKey, id)
		return nil
	})
	return failedIn("leave sets", err)
}

// Trail is who changed whose access, the newest first. What is older than a year
// is deleted with it.
func (s *Store) Trail(ctx context.Context) ([]Trace, error) {
	lines, err := s.rdb.LRange(ctx, trailKey, 0, -1).Result()
	if err != nil {
		return nil, fmt.Errorf("trail: %w", err)
	}
	var trail []Trace
	oldest := s.now().Add(-trailLasts).UnixMilli()
	for _, raw := range lines {
		at, payload, err := s.people.open([]byte(raw))
		if at < oldest {
			if err := s.rdb.LRem(ctx, trailKey, 0, raw).Err(); err != nil {
				return nil, fmt.Errorf("trail: %w", err)
			}
			continue
		}
		t := Trace{raw: raw}
		if err == nil && json.Unmarshal(payload, &t) == nil {
			t.At = time.UnixMilli(at)
			trail = append(trail, t)
		}
	}
	return trail, nil
}

// Trim deletes what is older than a year: lines of the trail, and who was put out, or
// whose time was over, that long ago.
func (s *Store) Trim(ctx context.Context) error {
	if _, err := s.Trail(ctx); err != nil {
		return err
	}
	people, err := s.People(ctx)
	if err != nil {
		return err
	}
	oldest := s.now().Add(-trailLasts)
	long := func(p Person) bool {
		return p.As == Out && !p.Later && time.Unix(p.At, 0).Before(oldest) || !p.Until.IsZero() && p.Until.Before(oldest)
	}
	for _, p := range people {
		if !long(p) {
			continue
		}
		if _, err := s.ChangePerson(ctx, p.ID, func(p *Person) (bool, *Trace) {
			gone := long(*p)
			if gone {
				p.As = Stranger
			}
			return gone, nil
		}); err != nil {
			return err
		}
	}
	return nil
}

// Lines are replaced where they stand: others may be written meanwhile.
var replaceScript = redis.NewScript(`
local new = {}
for i = 1, #ARGV, 2 do new[ARGV[i]] = ARGV[i + 1] end
for i, line in ipairs(redis.call('LRANGE', KEYS[1], 0, -1)) do
	if new[line] then redis.call('LSET', KEYS[1], i - 1, new[line]) end
end
return 1
`)

// Dismiss makes a person a stranger again, and takes number and name out of the
// trail and of who was let in by them.
func (s *Store) Dismiss(ctx context.Context, id int64) error {
	if _, err := s.ChangePerson(ctx, id, func(p *Person) (bool, *Trace) {
		was := p.As != Stranger || p.raw != ""
		p.As = Stranger
		return was, nil
	}); err != nil {
		return err
	}
	people, err := s.People(ctx)
	if err != nil {
		return err
	}
	for _, other := range people {
		if other.By != id {
			continue
		}
		if _, err := s.ChangePerson(ctx, other.ID, func(p *Person) (bool, *Trace) {
			write := p.By == id
			if write {
				p.By, p.ByName = 0, ""
			}
			return write, nil
		}); err != nil {
			return err
		}
	}
	return s.leaveTrail(ctx, id)
}

func (s *Store) leaveTrail(ctx context.Context, id int64) error {
	trail, err := s.Trail(ctx)
	if err != nil {
		return err
	}
	var args []any
	for _, t := range trail {
		if t.By != id && t.Who != id {
			continue
		}
		if t.By == id {
			t.By, t.ByName = 0, ""
		}
		if t.Who == id {
			t.Who, t.Name, t.Refs = 0, "", nil
		}
		payload, _ := json.Marshal(t)
		args = append(args, t.raw, s.people.seal(t.At.UnixMilli(), payload))
	}
	if args == nil {
		return nil
	}
	return failedIn("leave trail", replaceScript.Run(ctx, s.rdb, []string{trailKey}, args...).Err())
}

// Told says once an hour, however many programs ask, that a stranger is to be told that
// the bot is closed. It is all that is kept of a stranger.
func (s *Store) Told(ctx context.Context, id int64) (first bool, err error) {
	first, err = s.rdb.SetNX(ctx, "sb:stranger:"+strconv.FormatInt(id, 10), "1", time.Hour).Result()
	return first, failedIn("told", err)
}
