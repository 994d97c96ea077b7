// Package session keeps conversations in Redis so that nothing is lost: what
// was committed survives the program, and what was not committed did not
// happen. It knows no messaging platform and no questions: the states, replies
// and updates that it holds are bytes.
//
// # Keys
//
// Chats are spread over 1024 buckets, and every key of a chat carries its
// bucket as hash tag. One bucket is one cluster slot, so a single script can
// change a chat's conversation, its seen marks, its outbox and the bucket's
// index of waiting chats together: the index can't miss a chat, whatever dies
// between two commands. A tag for each chat would put the index in another
// slot, out of the script's reach.
//
//	sb:{b}:c:<chat>    string  the conversation (in a group c:<chat>:<user>)
//	sb:{b}:s:<chat>    zset    update ids that were taken, by the second
//	sb:{b}:o:<chat>    list    replies not yet sent, oldest first
//	sb:{b}:i:<chat>    list    updates put off, oldest first
//	sb:{b}:m:<chat>    set     users of a group who have a conversation
//	sb:{b}:p           hash    the index: chats with replies or updates waiting,
//	                           since when, and who has the sending lease
//	sb:{b}:d           zset    chats by when to look whether they are to be
//	                           reminded of anything, see Due
//	sb:{b}:j:<chat>    hash    jobs of the chat: the head of each in REF, each of
//	                           its windows in REF/NUMBER
//	sb:{b}:v:<chat>    list    the last messages with questions that stand in the chat
//	sb:{b}:x:<chat>    list    what could not be read and was set aside
//	sb:{b}:t:<chat>    set     places of the links it made
//	sb:{b}:n:<chat>    string  the number that a group has now, by its first
//	sb:{b}:a:<chat>    string  the first number of a group, by the one it has now
//	sb:{b}:w:<chat>    list    what was said of late to a page in a browser
//	sb:web:<hash>      list    pages of a browser, by a hash of its secret
//	sb:page:<hash>     string  the chat of the page that a link was opened for
//	sb:link:<hash>     string  where a link leads, by a hash of its token
//	sb:{crew}:p        hash    people let in to a bot that is not open to all
//	sb:{crew}:l:<hash> string  a link that lets a person in, by a hash of its token
//	sb:{crew}:t        list    who changed whose access, newest first
//	sb:stranger:<id>   string  a stranger who was told that the bot is closed
//	sb:crew, sb:guests sets    people let in by the version of before
//	sb:menu            string  the languages in which menus were set
//	sb:restore         string  which backup is being restored; see Restore
//	sb:{dead}:d        list    updates that could not be read, newest first
//	sb:{acks}:a        string  written with each batch that replicas must have
//
// Outbox, put-off updates and index entry are gone when all is sent; what a
// quiet chat holds is its conversation and its seen marks.
//
// # Seen marks
//
// A sorted set for each chat, not a key for each update: a short one is kept
// by Redis in one packed block, where a mark takes 12 to 16 bytes, against
// more than 120 for a key with an expiry. Marks past their time are trimmed by
// the chat's later commits, and the whole set goes an hour after [Keep].Seen
// has passed since the last. It is a set and no watermark because updates
// arrive late and reordered.
package session

import (
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/redis/go-redis/v9/logging"
	"github.com/redis/go-redis/v9/maintnotifications"
)

// namePrefix begins the name under which a program's connections stand in CLIENT LIST.
const namePrefix = "sillbot:"

// Keep says how long each kind of record is kept.
type Keep struct {
	Conversation time.Duration // since its last turn
	Seen         time.Duration // of an update id
	Dead         time.Duration // of an update that could not be read
}

// Store is the Redis side of the program. Its methods may be called from
// several goroutines.
type Store struct {
	// Keep may be changed before the store is first used.
	Keep Keep
	// Warnings are what the start-up check found, one sentence each, for the
	// log.
	Warnings []string

	name    string // of its connections
	rdb     redis.UniversalClient
	scripts *batch
	commits *batch // those whose answer people are told; may wait for replicas
	now     func() time.Time
	// Steps from old schemas of each kind of record to the present one.
	states, replies, updates, jobs, people ladder
}

// Over is a store on a client that the caller made, for tests. The store closes
// it.
func Over(ctx context.Context, rdb redis.UniversalClient) (*Store, error) {
	logging.Disable() // the library would write to standard error what it returns as errors
	s := &Store{
		Keep: Keep{Conversation: 90 * 24 * time.Hour, Seen: 48 * time.Hour, Dead: 14 * 24 * time.Hour},
		rdb:  rdb, scripts: newBatch(rdb, lanes, acks{}),
		now: time.Now,
	}
	s.commits = s.scripts
	s.name = namePrefix + rand.Text()[:8]
	switch c := rdb.(type) { // no connection is made yet
	case *redis.Client:
		c.Options().ClientName = s.name
	case *redis.ClusterClient:
		c.Options().ClientName = s.name
	}
	if err := s.Ping(ctx); err != nil {
		s.Close()
		return nil, fmt.Errorf("%w: %w", errAway, err)
	}
	s.Warnings = checkSettings(ctx, s.eachNode)
	return s, nil
}

// connect is a client for url. With once it tries each command once.
func connect(list string, once bool) (redis.UniversalClient, error) {
	tries := 0 // the library's own number
	if once {
		tries = -1
	}
	if isSentinel(list) {
		o, err := sentinel(list)
		if err != nil {
			return nil, err
		}
		o.MaxRetries = cmp.Or(tries, o.MaxRetries)
		return redis.NewFailoverClient(o), nil
	}
	var addrs []string
	for _, a := range strings.Split(list, ",") {
		if a = strings.TrimSpace(a); a != "" {
			addrs = append(addrs, a)
		}
	}
	if len(addrs) == 0 {
		return nil, errors.New("redis address is empty")
	}
	if !strings.Contains(addrs[0], "://") {
		addrs[0] = "redis://" + addrs[0]
	}
	if !strings.Contains(list, ",") {
		o, err := redis.ParseURL(addrs[0])
		if err != nil {
			return nil, withoutURL(err)
		}
		o.ContextTimeoutEnabled = true
		o.MaintNotificationsConfig = &maintnotifications.Config{Mode: maintnotifications.ModeDisabled}
		o.MaxRetries = cmp.Or(tries, o.MaxRetries)
		return redis.NewClient(o), nil
	}
	u, err := url.Parse(addrs[0])
	if err != nil {
		return nil, withoutURL(err)
	}
	q := u.Query()
	for _, a := range addrs[1:] {
		if _, rest, ok := strings.Cut(a, "://"); ok {
			a = rest
		}
		q.Add("addr", a[strings.LastIndex(a, "@")+1:])
	}
	u.RawQuery = q.Encode()
	o, err := redis.ParseClusterURL(u.String())
	if err != nil {
		return nil, withoutURL(err)
	}
	o.ContextTimeoutEnabled = true
	o.MaxRedirects = 8 // a moving slot answers "try again" for a moment
	o.MaintNotificationsConfig = &maintnotifications.Config{Mode: maintnotifications.ModeDisabled}
	return redis.NewClusterClient(o), nil
}

// withoutURL removes the address, which may hold a password, from a parse
// error.
func withoutURL(err error) error {
	if u, ok := errors.AsType[*url.Error](err); ok {
		err = u.Err
		if strings.Contains(err.Error(), "invalid port") {
			err = errors.New("invalid port")
		}
	}
	return fmt.Errorf("redis address: %w", err)
}

// errAway is a Redis that does not answer when it is first asked.
var errAway = errors.New("redis does not answer")

// failedIn says in what an error came up; nil if there is none.
func failedIn(doing string, err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%s: %w", doing, err)
}

// Close ends the connections.
func (s *Store) Close() error {
	s.scripts.close()
	if s.commits == s.scripts {
		return s.rdb.Close()
	}
	s.commits.close()
	return errors.Join(s.commits.rdb.Close(), s.rdb.Close())
}

// Ping is nil when Redis answers; of a cluster, when every master does.
func (s *Store) Ping(ctx context.Context) error {
	return s.eachNode(ctx, func(ctx context.Context, c *redis.Client) error {
		return c.Ping(ctx).Err()
	})
}

func (s *Store) eachNode(ctx context.Context, do func(context.Context, *redis.Client) error) error {
	switch c := s.rdb.(type) {
	case *redis.ClusterClient:
		return c.ForEachMaster(ctx, do)
	case *redis.Client:
		return do(ctx, c)
	}
	return fmt.Errorf("unknown redis client %T", s.rdb)
}

// buckets is part of the layout of the keys: to change it is to start an empty
// database.
const buckets = 1024

func bucketOf(chat int64) int { return int(uint64(chat) % buckets) }

func key(kind string, chat int64) string {
	b := append(make([]byte, 0, 40), "sb:{"...)
	b = append(strconv.AppendInt(b, int64(bucketOf(chat)), 10), "}:"...)
	return string(strconv.AppendInt(append(append(b, kind...), ':'), chat, 10))
}

func indexKey(bucket int) string { return "sb:{" + strconv.Itoa(bucket) + "}:p" }

// Key names one conversation: a chat, or one person in a group.
type Key struct {
	Chat, User int64
	Group      bool
}

func (k Key) conversation() string {
	if !k.Group {
		return key("c", k.Chat)
	}
	return key("c", k.Chat) + ":" + strconv.FormatInt(k.User, 10)
}

// Conversation is a stored state. Rev changes with every change and is 0 where
// nothing is stored.
type Conversation struct {
	Rev   int64
	Data  []byte
	Value any       // what a commit of this process made Data of; nil for what was read
	cared time.Time // when the chat's seen marks were last trimmed
}

// Load reads a conversation in one round trip. It gives ErrNewer for a record
// of a later program, and ErrBroken for one that can't be read; Rev is set
// even then, so that a turn can be committed that leaves the record alone.
func (s *Store) Load(ctx context.Context, k Key) (Conversation, error) {
	raw, err := s.rdb.Get(ctx, k.conversation()).Bytes()
	if errors.Is(err, redis.Nil) {
		return Conversation{}, nil
	}
	if err != nil {
		return Conversation{}, fmt.Errorf("load: %w", err)
	}
	rev, second, data, err := s.states.openNamed(raw)
	c := Conversation{Rev: rev, Data: data}
	if n, err := strconv.ParseInt(second, 10, 64); err == nil {
		c.cared = time.Unix(n, 0)
	}
	return c, err
}
