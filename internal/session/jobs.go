package session

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"
)

// Part is one stored part of a job: the head, or one window. Rev is another one
// after every change, and 0 where nothing is stored.
type Part struct {
	Window int // the window's number, from 1; 0: the head
	Rev    int64
	Data   []byte // nil: nothing is stored
	Err    error  // ErrNewer or ErrBroken; Data is nil then
}

// partField is the field of the chat's hash that a part is stored in.
func partField(ref string, window int) string {
	if window == 0 {
		return ref
	}
	return ref + "/" + strconv.Itoa(window)
}

// LoadJob reads the head of a job of a chat and the windows asked for, all as
// they were at one moment, in one round trip. The first part is the head, the
// rest in the order asked for. A part that is not there comes back without
// data, and one that can't be read has Err.
func (s *Store) LoadJob(ctx context.Context, chat int64, ref string, windows ...int) ([]Part, error) {
	parts, fields := []Part{{}}, []string{ref}
	for _, window := range windows {
		parts, fields = append(parts, Part{Window: window}), append(fields, partField(ref, window))
	}
	raw, err := s.rdb.HMGet(ctx, key("j", chat), fields...).Result()
	if err != nil {
		return nil, fmt.Errorf("load job: %w", err)
	}
	for i, v := range raw {
		text, stored := v.(string)
		if !stored {
			continue
		}
		parts[i].Rev, parts[i].Data, parts[i].Err = s.jobs.open([]byte(text))
	}
	return parts, nil
}

// LoadJobs reads every job of a chat with all its windows, as they were at one
// moment, by reference. The first part of each is the head, without data if it
// is not there. A part that can't be read has Err.
func (s *Store) LoadJobs(ctx context.Context, chat int64) (map[string][]Part, error) {
	fields, err := s.rdb.HGetAll(ctx, key("j", chat)).Result()
	if err != nil {
		return nil, fmt.Errorf("load jobs: %w", err)
	}
	jobs := map[string][]Part{}
	for field, text := range fields {
		ref, window, _ := strings.Cut(field, "/") // no window: the head
		if jobs[ref] == nil {
			jobs[ref] = make([]Part, 1)
		}
		var p Part
		p.Rev, p.Data, p.Err = s.jobs.open([]byte(text))
		if window == "" {
			jobs[ref][0] = p
			continue
		}
		p.Window, _ = strconv.Atoi(window) // as partField wrote it
		jobs[ref] = append(jobs[ref], p)
	}
	return jobs, nil
}

// JobChange is what a turn does to a job of the chat. The turn is stale when any
// part in Read or Write has another revision than it had when it was loaded.
type JobChange struct {
	Ref   string
	Read  []Part // stay as they are; only Rev counts
	Write []Part // as they are to be; without Data they are deleted
}

// jobArgs are the triples that the script takes: field, revision and record. An
// empty record leaves the part alone.
func (s *Store) jobArgs(c JobChange, now time.Time) []any {
	args := make([]any, 0, 3*(len(c.Read)+len(c.Write)))
	for _, p := range c.Read {
		args = append(args, partField(c.Ref, p.Window), p.Rev, "")
	}
	for _, p := range c.Write {
		record := []byte(deletePart)
		if p.Data != nil {
			record = s.jobs.seal(revAfter(p.Rev, now), p.Data)
		}
		args = append(args, partField(c.Ref, p.Window), p.Rev, record)
	}
	return args
}

// deletePart stands for the record of a part that is to be deleted. No record
// begins with it.
const deletePart = "-"

// linkKey hides the token: whoever reads the keys can't use the links.
func linkKey(token string) string { return "sb:link:" + linkHash(token) }

func linkHash(token string) string {
	sum := sha256.Sum256([]byte(token))
	return base64.RawURLEncoding.EncodeToString(sum[:16])
}

// A link that was used or withdrawn stays behind empty, so that a process that was
// stopped in the middle of writing it does not bring it back.
var putLinkScript = redis.NewScript(`
if redis.call('GET', KEYS[1]) == '' then return 0 end
redis.call('SET', KEYS[1], ARGV[1], 'PX', ARGV[2])
return 1
`)

// PutLink makes a token lead to data for as long as keep. The owner's chat has the list of its links, so that Forget finds them.
func (s *Store) PutLink(ctx context.Context, owner int64, token string, data []byte, keep time.Duration) error {
	return s.putLink(ctx, owner, linkKey(token), data, keep)
}

func (s *Store) putLink(ctx context.Context, owner int64, place string, data []byte, keep time.Duration) error {
	list := key("t", owner)
	if err := s.rdb.SAdd(ctx, list, place).Err(); err != nil {
		return fmt.Errorf("put link: %w", err)
	}
	if err := s.rdb.Expire(ctx, list, s.Keep.Conversation).Err(); err != nil {
		return fmt.Errorf("put link: %w", err)
	}
	return failedIn("put link", putLinkScript.Run(ctx, s.rdb, []string{place}, data, keep.Milliseconds()).Err())
}

// Link is where a token leads, nil for nowhere.
func (s *Store) Link(ctx context.Context, token string) ([]byte, error) {
	data, err := found("link", s.rdb.Get(ctx, crewLinkKey(token)))
	if err != nil || len(data) > 0 {
		return data, err
	}
	data, err = found("link", s.rdb.Get(ctx, linkKey(token)))
	data, _, _ = bytes.Cut(data, []byte{'\n'}) // who it is kept for, see LetIn
	if len(data) == 0 {
		return nil, err
	}
	return data, err
}

// found is what a key holds, nil for a key that is not there.
func found(doing string, cmd *redis.StringCmd) ([]byte, error) {
	data, err := cmd.Bytes()
	if errors.Is(err, redis.Nil) {
		return nil, nil
	}
	return data, failedIn(doing, err)
}

// crewLinkKey is the place of a link into the crew.
func crewLinkKey(token string) string { return crewLinksKey + linkHash(token) }

const crewLinksKey = "sb:{crew}:l:"

// CrewPlace is what Entry.Link has of who came by that token.
func CrewPlace(token string) string { return linkHash(token) }

// CrewLinkLeft is how much longer a crew link leads somewhere; below 0: it does not, or
// is of the version of before.
func (s *Store) CrewLinkLeft(ctx context.Context, token string) (time.Duration, error) {
	left, err := s.rdb.PTTL(ctx, crewLinkKey(token)).Result()
	return left, failedIn("link", err)
}

// PutCrewLink does as PutLink for a link that lets a person into the crew.
func (s *Store) PutCrewLink(ctx context.Context, owner int64, token string, data []byte, keep time.Duration) error {
	return s.putLink(ctx, owner, crewLinkKey(token), data, keep)
}

// DropLink makes a token lead nowhere.
func (s *Store) DropLink(ctx context.Context, token string) error {
	for _, place := range []string{crewLinkKey(token), linkKey(token)} {
		err := s.rdb.SetArgs(ctx, place, "", redis.SetArgs{Mode: "XX", KeepTTL: true}).Err()
		if err != nil && !errors.Is(err, redis.Nil) {
			return fmt.Errorf("drop link: %w", err)
		}
	}
	return nil
}

// LetLinksGo takes links off the list of a chat that are another chat's now. They go on
// leading.
func (s *Store) LetLinksGo(ctx context.Context, owner int64, tokens []string) error {
	links := make([]any, len(tokens))
	for i, token := range tokens {
		links[i] = linkKey(token)
	}
	return failedIn("let links go", s.rdb.SRem(ctx, key("t", owner), links...).Err())
}

// forgetLinks deletes the links that a chat has made. Each is in a slot of its
// own.
func (s *Store) forgetLinks(ctx context.Context, chat int64) error {
	list := key("t", chat)
	links, err := s.rdb.SMembers(ctx, list).Result()
	if err != nil {
		return fmt.Errorf("forget links: %w", err)
	}
	for _, link := range links {
		if err := s.rdb.Del(ctx, link).Err(); err != nil {
			return fmt.Errorf("forget links: %w", err)
		}
	}
	return failedIn("forget links", s.rdb.Del(ctx, list).Err())
}
